// Inner: `rookery job settings`.
#pragma once

#include "cli/cli.h"

namespace rookery::cli {

void add_job_settings_command(CLI::App& job, Context& context);

}  // namespace rookery::cli
