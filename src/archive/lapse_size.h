// Inner: the size of a lapse's film, and whether a film of it can be made.
#pragma once

#include <cstddef>
#include <span>

#include "archive/lapse.h"
#include "camera/frame.h"

namespace rookery::archive {

// Of a film of `frames` pictures of the size `picture`, above 0 px; its card comes to them. Even numbers, in
// the picture's shape. Errors: invalid_value (too narrow), too_large (too high; or an animated picture, which
// is held whole, of too many pixels).
base::Result<camera::PixelSize> film_size(camera::PixelSize picture, std::size_t frames,
                                          const LapseRequest& request);

// Whether film_size() can be said before the pictures are chosen. `frames`: as wanted. `pictures`: the sizes
// of some of them; which the film takes is not known yet, so it is the errors of film_size() where no size
// makes a film. No error is no promise.
base::Result<void> check_sizes(std::span<const camera::PixelSize> pictures, std::size_t frames,
                               const LapseRequest& request);

}  // namespace rookery::archive
