// Bounds as they are told: rounded to the side on which the value that is read, typed back in, still holds.
#pragma once

#include "plan/unit_text.h"

namespace rookery::plan {

// The largest value that show_value can write with so many digits and that is less than `bound` by more than
// what a formula turned round may be beside the truth (a part in 10^9). `bound` is more than zero.
double shown_at_most(double bound, Kind kind, int digits = 3);
// The same the other way: the smallest that is more than `bound`.
double shown_at_least(double bound, Kind kind, int digits = 3);

}  // namespace rookery::plan
