// How a conductor is made, as the sums with a wire in them ask for it.
#pragma once

#include <span>
#include <string_view>

#include "plan/field.h"
#include "plan/wire.h"

namespace rookery::plan {

std::span<const Choice> strand_choices();
// What was chosen in the field "strands".
Strands strands_of(const Values& values);

}  // namespace rookery::plan
