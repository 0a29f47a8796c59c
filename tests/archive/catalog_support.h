// What the tests of the catalog share.
#pragma once

#include <gtest/gtest.h>

#include "archive/catalog.h"
#include "archive/segment_store.h"

namespace rookery::archive {

inline const base::CameraName kAnvil = base::CameraName::parse("anvil").value();

inline Segment numbered(int number) {
  Segment segment(kAnvil);
  segment.path = fmt::format("anvil/{}.mkv", number);
  segment.start = base::WallTime{std::chrono::seconds{number}};
  segment.end = segment.start;
  segment.bytes = 10;
  return segment;
}

// Why it does not open; an empty error when it does.
inline base::Error refusal(const std::filesystem::path& home) {
  auto opened = Catalog::open(home);
  return opened ? base::Error() : opened.error();
}

}  // namespace rookery::archive
