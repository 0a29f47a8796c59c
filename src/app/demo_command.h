// rookery demo: a station with the eight boards of the Saltmarsh Repair Hall. Stands beside the floors since
// only it, the tests and the benchmarks link sim/.
#pragma once

#include "cli/cli.h"

namespace rookery::app {

void add_demo_command(CLI::App& app, cli::Context& context);

}  // namespace rookery::app
