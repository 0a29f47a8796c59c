// What the tests of segments share: a file with frames in it, and its bytes.
#pragma once

#include <fstream>
#include <iterator>

#include <gtest/gtest.h>

#include "archive/matroska_writer.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::archive::test {

using Bytes = std::vector<std::byte>;

inline const base::WallTime kNoon =
    std::chrono::sys_days{std::chrono::year{2026} / 3 / 1} + std::chrono::hours{12};

inline Bytes bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  const std::vector<char> chars{std::istreambuf_iterator<char>(in), {}};
  const auto* first = reinterpret_cast<const std::byte*>(chars.data());
  return {first, first + chars.size()};
}

inline void write_bytes(const std::filesystem::path& file, std::span<const std::byte> bytes) {
  std::ofstream out(file, std::ios::binary | std::ios::trunc);
  out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
}

inline std::unique_ptr<MatroskaWriter> begin_segment(const std::filesystem::path& file,
                                                     base::WallTime date = kNoon,
                                                     camera::PixelSize size = {64, 48},
                                                     Disk& disk = real_disk()) {
  auto made = disk.create(file);
  EXPECT_TRUE(made.has_value()) << made.error().text();
  auto writer =
      MatroskaWriter::begin(std::shared_ptr<DiskFile>(std::move(made).value()), {"anvil", date, size});
  EXPECT_TRUE(writer.has_value()) << writer.error().text();
  return std::move(writer).value();
}

}  // namespace rookery::archive::test
