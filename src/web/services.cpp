#include "web/services.h"

namespace rookery::web {

std::shared_ptr<PartMaker> Services::part_maker(const camera::Feed* feed) {
  const std::scoped_lock lock(makers_mutex_);
  std::erase_if(makers_, [](const auto& entry) { return entry.second.expired(); });
  std::shared_ptr<PartMaker> maker = makers_[feed].lock();
  if (!maker) {
    maker = std::make_shared<PartMaker>();
    makers_[feed] = maker;
  }
  return maker;
}

}  // namespace rookery::web
