// `rookery archive state` and `rookery archive confirm-clock`, under the command that archive_command.cpp
// adds.
#pragma once

#include "cli/cli.h"

namespace rookery::cli {

void add_archive_state(CLI::App& archive, Context& context);

}  // namespace rookery::cli
