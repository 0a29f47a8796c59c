// So is one that holds a value.
// uses: rookery_base
// expect: nodiscard
#include "base/result.h"

rookery::base::Result<int> count();

#ifdef WRONG
void careless() { count(); }
#else
int careful() { return count().value_or(0); }
#endif
