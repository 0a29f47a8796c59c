// What the two clocks say cannot be subtracted from each other, nor one be shown as the other.
// uses: rookery_base
// expect: invalid operands|no match for
// expect: no matching function|could not convert|cannot convert|no known conversion
#include "base/time.h"

using namespace rookery::base;

#ifdef WRONG
auto age(const Clock& clock, WallTime since) { return clock.mono() - since; }
std::string shown(const Clock& clock) { return to_rfc3339(clock.mono()); }
#else
auto age(const Clock& clock, WallTime since) { return clock.wall() - since; }
std::string shown(const Clock& clock) { return to_rfc3339(clock.wall()); }
#endif
