// What goes wrong in a make-believe camera's life, and why so.
#pragma once

#include "bench/causes/world.h"

namespace rookery::bench {

// Each puts what happens from `at` on into the world, and says what it is and how long it lasts.
Fault hiccup(World& world, double at);
Fault plan(World& world, camera::Cause cause, double at);

}  // namespace rookery::bench
