// A Result is looked at, or dropped with (void) and a reason.
// uses: rookery_base
// expect: nodiscard
#include "base/result.h"

rookery::base::Result<void> write();
rookery::base::Result<int> count();

#ifdef WRONG
void careless() { write(); }
#else
bool careful() { return write().has_value() && count().has_value(); }
#endif
