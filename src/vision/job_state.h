// Inner: what a job's watch has learned, as bytes: each member is named once, for writing and for reading.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <span>
#include <type_traits>
#include <vector>

namespace rookery::vision {

// Numbers as the machine has them: the state stays on the computer that made it.
class StateWriter {
 public:
  template <class... Ts>
  void operator()(Ts&... values) {
    (put(values), ...);
  }
  std::vector<std::byte> take() { return std::move(bytes_); }

 private:
  template <class T>
    requires std::is_arithmetic_v<T>
  void put(const T& value) {
    const auto* at = reinterpret_cast<const std::byte*>(&value);
    bytes_.insert(bytes_.end(), at, at + sizeof(T));
  }
  template <class T>
  void put(const std::vector<T>& values) {
    put(static_cast<std::uint32_t>(values.size()));
    for (const T& value : values) put(value);
  }
  std::vector<std::byte> bytes_;
};

// Ends in good() == false for bytes that are cut off, too many, or hold a number that is none.
class StateReader {
 public:
  explicit StateReader(std::span<const std::byte> bytes) : bytes_(bytes) {}
  template <class... Ts>
  void operator()(Ts&... values) {
    (get(values), ...);
  }
  bool good() const { return good_; }
  bool at_end() const { return bytes_.empty(); }

 private:
  template <class T>
    requires std::is_arithmetic_v<T>
  void get(T& value) {
    if (bytes_.size() < sizeof(T)) {
      good_ = false;
      return;
    }
    if constexpr (std::is_same_v<T, bool>) {
      value = bytes_.front() != std::byte{0};
    } else {
      std::memcpy(&value, bytes_.data(), sizeof(T));
    }
    if constexpr (std::is_floating_point_v<T>) {
      if (!std::isfinite(value)) good_ = false;
    }
    bytes_ = bytes_.subspan(sizeof(T));
  }
  template <class T>
  void get(std::vector<T>& values) {
    std::uint32_t count = 0;
    get(count);
    // No element is smaller than a byte: what is not there is not made room for.
    if (!good_ || count > bytes_.size()) {
      good_ = false;
      return;
    }
    values.assign(count, T{});
    for (T& value : values) get(value);
  }
  std::span<const std::byte> bytes_;
  bool good_ = true;
};

}  // namespace rookery::vision
