// rookery plan sheet and rookery plan settings: what is made of a plan file.
#pragma once

#include "cli/cli.h"

namespace rookery::cli {

void add_plan_sheet(CLI::App& plan, Context& context);
void add_plan_settings(CLI::App& plan, Context& context);

}  // namespace rookery::cli
