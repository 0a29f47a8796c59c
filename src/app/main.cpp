// The program: the command line, and the demo with its make-believe workshop.
#include <iostream>

#include "app/demo_command.h"
#include "cli/cli.h"

int main(int argc, char** argv) {
  rookery::cli::Context context(std::cin, std::cout, std::cerr);
  return rookery::cli::run(argc, argv, context, {rookery::app::add_demo_command});
}
