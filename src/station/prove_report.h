// The report of an acceptance test as one HTML page: no script, nothing loaded from anywhere, fit for
// printing.
#pragma once

#include <string>

#include "camera/acceptance.h"

namespace rookery::station {

// Verdicts with evidence, limits, sources and remedies; graphs; the first and the last picture. Everything
// that came from the board or a person is escaped. Holds no secret.
std::string prove_report(const camera::Measurements& measured, const camera::Acceptance& acceptance);

}  // namespace rookery::station
