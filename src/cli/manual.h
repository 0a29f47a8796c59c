// The manual page, written from the command line's own help so that the two cannot disagree.
#pragma once

#include <string>

#include <CLI/CLI.hpp>

namespace rookery::cli {

// man(7) source of rookery(1).
std::string manual_page(const CLI::App& app, const std::string& version);

}  // namespace rookery::cli
