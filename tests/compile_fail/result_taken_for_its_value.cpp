// A Result is not the value: whoever wants the value has seen that there is one.
// uses: rookery_base
// expect: no viable|could not convert|cannot convert
#include "base/result.h"

rookery::base::Result<int> count();

#ifdef WRONG
int hasty() { return count(); }
#else
int patient() {
  auto counted = count();
  return counted ? *counted : -1;
}
#endif
