#include "web/status_board.h"

#include <boost/json/serialize.hpp>

#include "web/camera_json.h"

namespace rookery::web {

std::shared_ptr<const StatusSnapshot> StatusBoard::snapshot(std::chrono::milliseconds age) {
  const std::scoped_lock lock(mutex_);
  const base::MonoTime now = station_.clock().mono();
  if (newest_ && now - made_ < age) return newest_;
  auto made = std::make_shared<StatusSnapshot>();
  for (const station::CameraView& view : station_.cameras()) {
    made->emplace(view.settings.name, StatusTexts{boost::json::serialize(status_json(view, true)),
                                                  boost::json::serialize(status_json(view, false))});
  }
  newest_ = std::move(made);
  made_ = now;
  return newest_;
}

}  // namespace rookery::web
