// A name's text does not outlive the name.
// uses: rookery_base
// expect: deleted.*text
#include "base/name.h"

rookery::base::CameraName name();

#ifdef WRONG
std::string_view text() { return name().text(); }
#else
std::size_t length() {
  const auto kept = name();
  return std::string_view(kept.text()).size();
}
#endif
