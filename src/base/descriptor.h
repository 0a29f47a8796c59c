// A file descriptor that closes itself.
#pragma once

#include <utility>

#include <unistd.h>

namespace rookery::base {

// Owns one descriptor; -1 is none.
class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept : number_(other.let_go()) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    // By way of a third, so that what was held here is closed now and not with `other`.
    Descriptor taken(std::move(other));
    std::swap(number_, taken.number_);
    return *this;
  }
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }

  int get() const { return number_; }
  explicit operator bool() const { return number_ >= 0; }
  // The caller owns it from now on.
  [[nodiscard]] int let_go() { return std::exchange(number_, -1); }

 private:
  int number_ = -1;
};

}  // namespace rookery::base
