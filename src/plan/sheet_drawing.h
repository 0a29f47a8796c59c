// The wiring of a build sheet as a drawing: boxes with their pins by function, wires with letters and
// colours.
#pragma once

#include <string>
#include <vector>

#include "plan/sheet.h"

namespace rookery::plan {

std::string wiring_drawing(const std::vector<SheetWire>& wires);

}  // namespace rookery::plan
