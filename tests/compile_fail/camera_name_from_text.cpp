// A camera's name is checked by parse(); there is no way around it.
// uses: rookery_base
// expect: private|protected
#include "base/name.h"

using rookery::base::CameraName;

#ifdef WRONG
CameraName unchecked() { return CameraName("../x"); }
#else
rookery::base::Result<CameraName> checked() { return CameraName::parse("../x"); }
#endif
