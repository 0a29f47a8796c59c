// The verdict of an acceptance test: measurements in; fit, marginal or unfit for each heading and overall
// out. No I/O.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "camera/acceptance_limits.h"
#include "camera/measurements.h"

namespace rookery::camera {

enum class Verdict { fit, marginal, unfit };

// "fit", "marginal", "unfit".
std::string_view name_of(Verdict verdict);

// One heading. Either a verdict with its number, or why it was not measured; never a guess.
struct Finding {
  const AcceptanceLimit* limit = nullptr;  // of kAcceptanceLimits
  std::optional<Verdict> verdict;
  std::optional<double> value;  // in the limit's unit; none also where no number says it ("none came")
  std::string evidence;         // one or two sentences with numbers and units; why not, when there is none
};

struct Acceptance {
  std::vector<Finding> findings;   // in the order of the table, one a heading
  std::optional<Verdict> overall;  // nothing: too little was seen for one; `why` says what
  std::string why;                 // which headings decided
};

// Overall is the worst of all headings that were measured. Without frame rate (stills: without any picture)
// nothing is proven.
Acceptance judge(const Measurements& measured);

// "at least 5 frames/s fit, at least 2 marginal": a heading's limits in words.
std::string words_of(const AcceptanceLimit& limit);

}  // namespace rookery::camera
