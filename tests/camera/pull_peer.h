// For tests whose board is a scripted peer: what boards say on the wire, and a pull that listens to it.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <string_view>

#include <fmt/format.h>

#include "camera/pull.h"
#include "tests/camera/pull_support.h"
#include "tests/support/scripted_peer.h"

namespace rookery::camera::test {

inline std::string response(std::string_view status, std::string_view type, std::string_view body) {
  return fmt::format("HTTP/1.1 {}\r\nContent-Type: {}\r\nContent-Length: {}\r\n\r\n{}", status, type,
                     body.size(), body);
}

inline std::string stream_head(std::string_view boundary = "word") {
  return fmt::format("HTTP/1.0 200 OK\r\nContent-Type: multipart/x-mixed-replace; boundary={}\r\n\r\n",
                     boundary);
}

inline std::string part(std::string_view body) {
  return fmt::format("--word\r\nContent-Type: image/jpeg\r\nContent-Length: {}\r\n\r\n{}\r\n", body.size(),
                     body);
}

inline std::string picture(unsigned number) { return text_of(rookery::test::make_picture(64, 48, number)); }

// A pull that runs.
struct Pulling {
  Pulling(Settings settings, PullLimits limits)
      : pull(running.executor(), std::move(settings), limits, clock, 1), seen(pull.feed()) {
    pull.start();
  }
  // Waits for a last error that holds `text`; that error, or what there is at the deadline.
  base::Error wait_for_error(std::string_view text) {
    eventually(
        [&] {
          const auto error = pull.status().last_error;
          return error && error->text().find(text) != std::string::npos;
        },
        std::chrono::seconds(8));
    return pull.status().last_error.value_or(base::Error());
  }
  void expect_error(base::ErrorCode code, std::string_view text) {
    const base::Error error = wait_for_error(text);
    EXPECT_EQ(error.code, code) << error.text();
    EXPECT_NE(error.text().find(text), std::string::npos) << error.text();
    EXPECT_FALSE(error.remedy.empty()) << error.text();
    EXPECT_TRUE(error.where.starts_with("bobbin")) << error.where;
    expect_books_balance(pull.status().counters);
  }

  Running running;
  base::SystemClock clock;
  Pull pull;
  EveryFrame seen;
};

}  // namespace rookery::camera::test
