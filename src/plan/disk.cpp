#include "plan/disk.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace rookery::plan {

BytesPerSecond recorded_rate(int cameras, Bytes picture, Hertz rate, double share) {
  return BytesPerSecond::from_value(cameras * picture.value() * rate.value() * share);
}

Bytes room_on(Bytes disk, const DiskRoom& room) {
  const Bytes left = disk * (1 - room.reserved) - room.taken - std::min(room.keep_free, disk / 2.0);
  return std::max(left, 0_B);
}

Bytes disk_for(Bytes recordings, const DiskRoom& room) {
  const Bytes whole = (recordings + room.taken + room.keep_free) / (1 - room.reserved);
  // On a small disk only half of it is kept free.
  const Bytes small = (recordings + room.taken) / (0.5 - room.reserved);
  return room.reserved < 0.5 ? std::min(whole, small) : whole;
}

Bytes flash_endurance(Bytes capacity, double cycles, double amplification) {
  return capacity * (cycles / amplification);
}

Bytes endurance_card(Bytes capacity) { return capacity * (117e12 / 128e9); }

std::span<const Bytes> usual_disks() {
  static const std::array kSizes = {
      Bytes::from_value(16e9),  Bytes::from_value(32e9),  Bytes::from_value(64e9), Bytes::from_value(128e9),
      Bytes::from_value(256e9), Bytes::from_value(512e9), Bytes::from_value(1e12), Bytes::from_value(2e12),
      Bytes::from_value(4e12),  Bytes::from_value(8e12),  Bytes::from_value(16e12)};
  return kSizes;
}

Bytes usual_disk_for(Bytes least) {
  // What is reckoned back from the days may be beside the truth by a few units of the last place.
  const Bytes safe = least * (1 + 1e-9);
  const auto sizes = usual_disks();
  const auto at = std::find_if(sizes.begin(), sizes.end(), [&](Bytes size) { return size >= safe; });
  return at == sizes.end() ? Bytes::from_value(std::ceil(safe.value() / 1e12) * 1e12) : *at;
}

}  // namespace rookery::plan
