// How alike the neighbouring frames of a film are, by FFmpeg's program.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <string>

#include "tests/support/program.h"

namespace rookery::test {

// The mean of its filter `ssim` over luma, of each frame against the one before, 0 to 1. 0, and a failed
// check, where it tells none.
inline double neighbours_ssim(const std::filesystem::path& film) {
  const Ended told =
      run_program({"ffmpeg", "-nostdin", "-hide_banner", "-i", film.string(), "-filter_complex",
                   "[0:v]split[a][b];[a]trim=start_frame=1,setpts=N/25/TB[late];"
                   "[b]setpts=N/25/TB[early];[late][early]ssim",
                   "-f", "null", "-"});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  const auto at = told.err.find("SSIM Y:");
  EXPECT_NE(at, std::string::npos) << told.err;
  return at == std::string::npos ? 0 : std::stod(told.err.substr(at + 7));
}

}  // namespace rookery::test
