// A member's array does not outlive the object that was read.
// uses: rookery_web
// expect: array.*rvalue|discards qualifiers
#include "web/fields.h"

rookery::web::Fields fields();

#ifdef WRONG
const boost::json::array* cameras() { return fields().array("cameras"); }
#else
bool has_cameras() {
  auto kept = fields();
  return kept.array("cameras") != nullptr;
}
#endif
