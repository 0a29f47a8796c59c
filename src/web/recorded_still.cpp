#include "web/recorded_still.h"

#include "archive/playback.h"
#include "jpeg/walk.h"
#include "web/answers.h"
#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

struct Still {
  camera::FramePtr frame;
  int width_px = 0;
};

// Of the recording, or, where that has nothing younger, of a job's stills.
Result<std::optional<archive::RecordedFrame>> nearest_before(archive::Catalog& catalog,
                                                             const StillWanted& wanted) {
  std::optional<archive::RecordedFrame> nearest;
  for (const archive::Track track : {archive::Track::recording, archive::Track::stills}) {
    auto found = archive::Playback(catalog, wanted.camera, track).seek(wanted.at);
    if (!found) return std::move(found).error();
    if (!*found || (*found)->at > wanted.at) continue;
    if (!nearest || (*found)->at > nearest->at) nearest = std::move(*found);
  }
  return nearest;
}

Result<Still> read_still(const Call& call, const std::function<Result<StillWanted>()>& find) {
  auto wanted = find();
  if (!wanted) return std::move(wanted).error();
  auto width = width_of(call.request);
  if (!width) return std::move(width).error();
  auto found = nearest_before(call.station().catalog(), *wanted);
  if (!found) return std::move(found).error();
  if (!*found) {
    return Error(ErrorCode::not_found, wanted->camera.text(),
                 "nothing is recorded at or before " + base::to_rfc3339(wanted->at));
  }
  archive::RecordedFrame& still = **found;
  camera::PixelSize size;
  const auto walked = jpeg::walk(still.bytes);
  if (const auto* info = std::get_if<jpeg::PictureInfo>(&walked)) size = {info->width_px, info->height_px};
  return Still{std::make_shared<camera::Frame>(std::move(still.bytes), still.at, base::MonoTime{}, 0, size),
               *width};
}

}  // namespace

// Lent: as the header says.
boost::asio::awaitable<Response> answer_recorded_still(Call& call,
                                                       std::function<Result<StillWanted>()> find) {
  auto read = [&call, find = std::move(find)] { return read_still(call, find); };
  auto reading = run_on(call.station().reading(), std::move(read));
  Result<Still> found = co_await std::move(reading);
  if (!found) co_return problem(found.error());
  auto scaling = call.station().sizes().at_width(found->frame, found->width_px);
  camera::FramePtr still = co_await std::move(scaling);
  if (!still) {
    co_return problem(Error(ErrorCode::damaged, "recorded still", "the recorded picture cannot be scaled",
                            "Ask for it without width."));
  }
  Response response;
  response.set("Content-Type", "image/jpeg");
  response.set("Cache-Control", "private, no-store");
  response.set("X-Recorded", base::to_rfc3339(still->arrived));
  response.body = std::move(still);
  co_return response;
}

}  // namespace rookery::web
