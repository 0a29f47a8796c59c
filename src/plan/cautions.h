// What to be careful about, in one place, so that it is said alike wherever harm is possible.
#pragma once

#include "plan/answer.h"

namespace rookery::plan {

Note mains_caution();    // the mains side of a printer's supply
Note short_caution();    // a supply that can give many amperes
Note wiring_caution();   // any wiring that is left alone for years
Note lithium_caution();  // cells and power banks
Note solder_caution();
Note lamp_caution();     // glare of the board's own lamp
Note filming_caution();  // people in the picture

}  // namespace rookery::plan
