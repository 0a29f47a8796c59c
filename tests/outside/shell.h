// What a shell command prints, as bytes: truth from other people's programs.
#pragma once

#include <cstddef>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "tests/support/program.h"

namespace rookery::outside {

// Throws when the command fails, with what it said.
inline std::vector<std::byte> output_of(const std::string& command) {
  const test::Ended ended = test::run_program({"sh", "-c", command});
  if (ended.exit_code != 0) throw std::runtime_error(command + ": " + ended.err);
  const auto bytes = std::as_bytes(std::span(ended.out));
  return {bytes.begin(), bytes.end()};
}

}  // namespace rookery::outside
