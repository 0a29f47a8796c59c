// Real people walking through real still pictures while the light changes: the truth is what was pasted.
#pragma once

#include <optional>
#include <random>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "bench/motion/cutouts.h"
#include "sim/encoder.h"
#include "vision/motion_watch.h"

namespace rookery::bench {

inline constexpr int kComposite_hz = 5;                  // pictures a second
inline constexpr std::size_t kComposite_bytes = 30'000;  // a JPEG of the empty picture in steady light

// What the light does for the whole length; together: all of it.
enum class Light : std::uint8_t {
  steady,
  ramp,     // gain 0.75 to 1.25 and offset ±10, to and fro within 2 min
  gamma,    // 0.75 to 1.33, to and fro within 2 min
  lamp,     // every 50 s a lamp goes on or off, which reaches one side by half, the other by a fifth
  banding,  // rows ±4 %, six to a picture, rolling
  together,
};
inline constexpr std::array kLights{Light::steady, Light::ramp,    Light::gamma,
                                    Light::lamp,   Light::banding, Light::together};
std::string_view name_of(Light light);

// Somebody who was pasted.
struct Pasted {
  base::Microseconds start;  // of the first picture
  base::Microseconds end;    // of the last
  vision::CellBox box;       // all that they pass
  double share = 0;          // of the picture, their box at its largest
};

// Where, under what light, and how plainly they are seen. Borrows the background.
struct Setting {
  const sim::Picture& background;
  Light light = Light::steady;
  float opacity = 1;  // of people: below 1 they stand out less, as at dusk or in clothes like the ground's
  unsigned seed = 1;
};

// Makes picture after picture: a pause of 12 to 30 s, a walk at some place in some size, and so on. Noise of
// a sensor on top. Borrows the walks. The same seed makes the same pictures.
class Composite {
 public:
  Composite(const Setting& setting, const std::vector<Walk>& walks);
  // The n-th picture, n counting up from 0. Valid until the next call.
  const sim::Picture& next() &;
  base::Microseconds at() const { return base::Microseconds(1'000'000 / kComposite_hz) * (count_ - 1); }
  // Up to the last picture that was made; who is still walking is not among them.
  const std::vector<Pasted>& pasted() const& { return pasted_; }
  bool somebody() const { return walk_ != nullptr; }

 private:
  void begin_walk();
  void shine();

  const Setting setting_;
  const std::vector<Walk>& walks_;
  std::mt19937 random_;
  sim::Picture picture_;
  int count_ = 0;
  int pause_;  // pictures until the next walk
  const Walk* walk_ = nullptr;
  std::size_t step_ = 0;
  float scale_ = 1;
  bool mirrored_ = false;
  sim::Point origin_;
  Pasted now_;
  std::vector<Pasted> pasted_;
};

struct CompositeScore {
  int truths = 0;  // that had 1 % of the picture at some moment
  int found = 0;
  int small_truths = 0;  // … that had not
  int small_found = 0;
  int false_events = 0;
  int lamps = 0;  // events by light, which is what they should be
  int views = 0;  // … by another view, which they should not
  double hours = 0;
  std::vector<double> start_errors_s;  // event's start − truth's, of those found
  std::vector<Pasted> missed;          // of at least 1 %
  std::vector<vision::MotionEvent> wrong;
  void add(const CompositeScore& other);
};

// Lets the detector look at `pictures` of a composite, encoded as a board would.
CompositeScore score_composite(const Setting& setting, const std::vector<Walk>& walks, int pictures,
                               vision::Sensitivity sensitivity = {});
// The quality at which its empty picture has kComposite_bytes.
int composite_quality(const Setting& setting);

}  // namespace rookery::bench
