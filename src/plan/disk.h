// Disks and cards: what recordings take, how long they are kept, and how long the medium lasts.
#pragma once

#include <span>

#include "plan/units.h"

namespace rookery::plan {

// Written when `cameras` send pictures of `picture` bytes at `rate`, and `share` of the time is recorded.
BytesPerSecond recorded_rate(int cameras, Bytes picture, Hertz rate, double share);

// What of a disk is not for recordings.
struct DiskRoom {
  double reserved = 0;  // share that the file system keeps back. ext4: 5 %
  Bytes taken;          // by other things
  Bytes keep_free;      // by the station's setting; counts as half of the disk at most
};

// What is left for recordings; nought when nothing is.
Bytes room_on(Bytes disk, const DiskRoom& room);
// The smallest disk with that much room.
Bytes disk_for(Bytes recordings, const DiskRoom& room);

// What flash takes before its cells wear out: each cell `cycles` times, while `amplification` bytes are
// written inside for each that is written from outside.
Bytes flash_endurance(Bytes capacity, double cycles, double amplification);
// Cards made for recording. Source: the low end of 117 to 234 TB for each 128 GB, as quoted by others.
Bytes endurance_card(Bytes capacity);

// Sizes that are usual, smallest first; common practice, no source.
std::span<const Bytes> usual_disks();
// The smallest usual disk of more than `least`; whole terabytes when no usual one is so large (then it takes
// several). What show_value writes of it with three digits is read back as it is.
Bytes usual_disk_for(Bytes least);
// The largest disk that the sum holds for.
inline const Bytes kLargestDisk = Bytes::from_value(1e15);

// What a card of the speed class A1 takes. Source: as quoted by others.
inline const BytesPerSecond kCardWriteRate = BytesPerSecond::from_value(10e6);

}  // namespace rookery::plan
