// Noise: the standard deviation of what differs from pixel to pixel without being detail.
#pragma once

#include <optional>

#include "jpeg/luma_plane.h"

namespace rookery::vision {

// σ in grey levels by Immerkær 1996 (σ = √(π/2)/(6·N)·Σ|I ∗ [1 −2 1; −2 4 −2; 1 −2 1]|), over the flattest
// blocks only, since the measure takes fine texture for noise. Coarse JPEG tables hide noise: it is the noise
// of the picture as sent. Nothing when fewer than a twentieth of the picture's 16×16 blocks is neither dark
// nor bright to the end of the scale. any-thread.
std::optional<double> compute_noise(const jpeg::LumaPlane& plane);

}  // namespace rookery::vision
