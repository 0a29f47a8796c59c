// A frame's bytes do not outlive the frame.
// uses: rookery_camera
// expect: deleted.*view
#include "camera/frame.h"

rookery::camera::Frame frame();

#ifdef WRONG
std::span<const std::byte> bytes() { return frame().view(); }
#else
std::size_t size() {
  const auto kept = frame();
  return kept.view().size();
}
#endif
