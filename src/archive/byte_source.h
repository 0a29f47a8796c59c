// Inner: bytes at offsets, from a file or from memory.
#pragma once

#include <cstdint>
#include <filesystem>
#include <span>

#include "base/descriptor.h"
#include "base/result.h"

namespace rookery::archive {

class ByteSource {
 public:
  virtual ~ByteSource() = default;
  // Now: a file that is being written grows between calls.
  virtual std::uint64_t size() const = 0;
  // Fills as much of `out` as there is; returns how much. A failing disk reads as the end.
  virtual std::size_t read_at(std::uint64_t offset, std::span<std::byte> out) const = 0;
};

// Borrows the bytes.
class MemorySource final : public ByteSource {
 public:
  explicit MemorySource(std::span<const std::byte> bytes) : bytes_(bytes) {}
  std::uint64_t size() const override { return bytes_.size(); }
  std::size_t read_at(std::uint64_t offset, std::span<std::byte> out) const override;

 private:
  std::span<const std::byte> bytes_;
};

class FileSource final : public ByteSource {
 public:
  // Errors: not_found, no_permission, io.
  static base::Result<FileSource> open(const std::filesystem::path& file);
  explicit FileSource(base::Descriptor handle) : handle_(std::move(handle)) {}
  std::uint64_t size() const override;
  std::size_t read_at(std::uint64_t offset, std::span<std::byte> out) const override;

 private:
  base::Descriptor handle_;
};

}  // namespace rookery::archive
