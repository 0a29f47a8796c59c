#include "plan/strand_choice.h"

#include <array>

namespace rookery::plan {

std::span<const Choice> strand_choices() {
  static constexpr std::array kStrands = {
      Choice{"flexible", "Stranded, flexible (IEC 60228 class 5)"},
      Choice{"solid", "Solid, or a few strands (IEC 60228 class 1 and 2)"},
      Choice{"nominal", "Full copper cross-section, as tables of gauges state it"},
  };
  return kStrands;
}

Strands strands_of(const Values& values) {
  const std::string_view word = values.choice("strands");
  if (word == "solid") return Strands::solid;
  return word == "nominal" ? Strands::nominal : Strands::flexible;
}

}  // namespace rookery::plan
