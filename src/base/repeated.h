// A trouble that goes on is said when it begins, and again each hour.
#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "base/time.h"

namespace rookery::base {

// strand-bound.
class Repeated {
 public:
  // Whether to say `trouble` at `now`: it is another than before, or an hour has gone since it was said.
  bool is_news(const std::string& trouble, MonoTime now) {
    if (said_ && trouble == trouble_ && now - *said_ < std::chrono::hours(1)) return false;
    trouble_ = trouble;
    said_ = now;
    return true;
  }
  // It is over: the next one is news.
  void clear() { said_.reset(); }

 private:
  std::string trouble_;
  std::optional<MonoTime> said_;
};

}  // namespace rookery::base
