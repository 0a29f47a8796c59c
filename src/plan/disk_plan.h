// What the parts of the subject "disk" share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plan/answer.h"
#include "plan/disk.h"

namespace rookery::plan {

enum class Medium { ssd, hard_disk, card, endurance_card };

struct DiskPlan {
  int cameras = 0;
  Bytes picture;
  Hertz rate;
  bool always = true;
  double events = 1;  // share of the time with events, what goes before and after them included
  DiskRoom room;
  Bytes disk;
  bool disk_found = false;  // nobody gave one: the smallest usual one for `wanted`
  Seconds wanted;           // how long recordings shall be kept
  Medium medium = Medium::ssd;
  std::optional<Bytes> endurance;  // as the maker states it
  double cycles = 0;
  double amplification = 1;
  Seconds life_wanted;
  std::optional<BytesPerSecond> write_rate;  // that the medium takes; nothing when it is not known

  double share() const { return always ? 1 : events; }
  BytesPerSecond average() const { return recorded_rate(cameras, picture, rate, share()); }
  BytesPerSecond peak() const { return recorded_rate(cameras, picture, rate, 1); }
  Bytes recordings() const { return room_on(disk, room); }
  Seconds kept() const { return Seconds::from_value((recordings().value()) / average().value()); }
  // More than kLargestDisk where no disk of this sum is enough.
  Bytes needed() const { return disk_for(Bytes::from_value(average().value() * wanted.value()), room); }
  // Nothing for a hard disk, which writing does not wear.
  std::optional<Bytes> endures() const;
  std::optional<Seconds> life() const;
};

// What the life is reckoned from.
std::string endurance_words(const DiskPlan& plan);
// "5.87 years", "over 50 years", "not worn by writing".
std::string life_words(const DiskPlan& plan);
std::vector<Step> disk_steps(const DiskPlan& plan);
std::string disk_drawing(const DiskPlan& plan);

// "12.3 days", never in years; below a day in hours.
std::string show_days(Seconds time);
std::string show_bytes(Bytes bytes);

}  // namespace rookery::plan
