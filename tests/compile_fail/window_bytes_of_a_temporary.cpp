// The bytes in a window last until it moves or ends.
// uses: rookery_archive
// expect: bytes.*rvalue|discards qualifiers
#include "archive/ebml.h"

using rookery::archive::ByteSource;

#ifdef WRONG
auto bytes(const ByteSource& source) { return rookery::archive::ebml::Window(source).bytes(0, 4); }
#else
auto count(const ByteSource& source) {
  rookery::archive::ebml::Window window(source);
  return window.bytes(0, 4).size();
}
#endif
