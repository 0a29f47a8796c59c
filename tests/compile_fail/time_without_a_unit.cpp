// A span of time is given with its unit.
// uses: rookery_archive
// expect: no viable overloaded|no match for .*operator=
#include "archive/recorder.h"

void set(rookery::archive::RecorderOptions& options) {
#ifdef WRONG
  options.segment_length = 600;
#else
  options.segment_length = std::chrono::seconds(600);
#endif
}
