// The limits of the acceptance test, all in one table, each with where it comes from. docs/prove.md shows it;
// a test holds the two together.
#pragma once

#include <array>
#include <string_view>

namespace rookery::camera {

enum class Heading {
  frame_rate,
  intervals,
  jitter,
  frame_bytes,
  sag,
  round_trip,
  loss,
  broken,
  still,
  still_age,
  second_viewer,
  dropouts,
  restarts,
  settling,
  sharpness,
  noise,
  clipping,
  banding,
  pixels,
  frozen,
  upright,
  lamp,
  sizes,
};

struct AcceptanceLimit {
  Heading heading;
  std::string_view id;     // in JSON
  std::string_view title;  // for people
  std::string_view unit;
  bool more_is_better;
  double fit;       // at least (at most) this is fit …
  double marginal;  // … this marginal, beyond unfit. A hint, or what has no unfit, ends in kNoUnfit
  std::string_view source;
  std::string_view remedy;  // for what is not fit
};

inline constexpr double kNoUnfit = 1e300;

// Sources: "board reports" are builders' reports and makers' driver sources of boards of this kind.
inline constexpr std::array<AcceptanceLimit, 23> kAcceptanceLimits = {{
    {Heading::frame_rate, "frame-rate", "Frame rate", "frames/s", true, 5, 2, "common practice",
     "Choose a smaller picture or coarser JPEG quality on the board; bring the aerial nearer to the access "
     "point"},
    {Heading::intervals, "intervals", "Longest gap between pictures", "ms", false, 1000, 3000,
     "common practice", "Look at the radio first (aerial, channel, metal nearby), then at the supply"},
    {Heading::jitter, "jitter", "Jitter, as a share of the usual interval", "%", false, 25, 60,
     "RFC 3550 §6.4.1 for the estimator; limits are common practice",
     "Uneven arrival is the radio's: another channel, a better place for the aerial, radio sleep switched "
     "off"},
    {Heading::frame_bytes, "frame-bytes", "Largest picture, as a share of the board's frame buffer", "%",
     false, 80, 100,
     "driver source: the buffer holds width · height / 5 bytes, what does not fit is dropped or cut",
     "Choose a coarser JPEG quality or a smaller picture: bright, detailed scenes overflow the buffer"},
    {Heading::sag, "sag", "Frame rate kept when pictures are large", "%", true, 80, 50, "common practice",
     "The radio limits the rate: smaller pictures, or a better radio path"},
    {Heading::round_trip, "round-trip", "TCP round trip", "ms", false, 20, 100,
     "board reports: 6–10 ms without radio sleep, 64 ms on average with it; rate ≤ window 5744 B / round "
     "trip",
     "Switch radio sleep off on the board; look at the signal at its place"},
    {Heading::loss, "loss", "Segments out of order or lost on the way", "%", false, 1, 5, "common practice",
     "Interference or a weak signal: another channel, another place, a better aerial"},
    {Heading::broken, "broken", "Broken pictures", "%", false, 0.3, 2,
     "board reports: 0.03–0.3 % of pictures are damaged on boards that work",
     "Check the supply (5 V 2 A, short leads) and the sensor's ribbon; a slower sensor clock often helps"},
    {Heading::still, "still", "Time for one still", "ms", false, 1000, 4000,
     "board reports: 161 ms at 800×600; a board gives up after 4 s",
     "Look at the radio; stills wait on boards with one port while somebody streams"},
    {Heading::still_age, "still-age", "Age of a still when it comes", "ms", false, 1000, 10'000,
     "common practice; board reports: stills are one to four pictures old, as the buffers are filled when "
     "emptied",
     "Ask twice and take the second, or let the station pull the stream; fewer frame buffers, or always the "
     "newest "
     "picture, in the board's program"},
    {Heading::second_viewer, "second-viewer", "First viewer's longest gap while a second one asks", "ms",
     false, 1000, kNoUnfit, "common practice",
     "Let nobody but the station ask this board; the station serves any number of viewers"},
    {Heading::dropouts, "dropouts", "Times the stream dropped out", "", false, 0, 1, "common practice",
     "Supply, radio or heat: `rookery listen` on its serial line tells which; see also restarts"},
    {Heading::restarts, "restarts", "Restarts of the board", "", false, 0, 1, "common practice",
     "A restart while streaming is nearly always the supply: 5 V 2 A, short thick leads, 470 µF at the "
     "board. If you "
     "cycled its power yourself, that was it"},
    {Heading::settling, "settling", "Time until the exposure has settled", "s", false, 5, 15,
     "board reports: up to 5 s after a start",
     "Let the first pictures go by; light that changes during the test looks the same"},
    {Heading::sharpness, "sharpness", "Sharpness: MTF50 of the sharpest edge", "cycles/px", true, 0.15, 0.08,
     "ISO 12233:2014 for the measure; limits are common practice (a Gaussian blur of σ px has 0.1874/σ)",
     "Turn the lens until an edge at working distance is sharp, and take the film off the lens"},
    {Heading::noise, "noise", "Noise", "grey levels", false, 3, 8,
     "Immerkær 1996 for the measure; limits are common practice",
     "More light on the scene; a hot sensor is noisy: shade it, give it air"},
    {Heading::clipping, "clipping", "Picture cut off at black or white", "%", false, 20, 40,
     "common practice; above 40 % a watched camera counts as badly exposed",
     "Turn the camera away from windows and lamps, or light the scene more evenly"},
    {Heading::banding, "banding", "Bands of flickering light", "% of brightness", false, 1, 10,
     "common practice",
     "Exposure times of whole half-periods of the mains (k/100 s at 50 Hz, k/120 s at 60 Hz), or lamps that "
     "do not "
     "flicker"},
    {Heading::pixels, "pixels", "Hot and dead pixels", "", false, 5, 50, "common practice",
     "A few do no harm; many come with heat or age: cool the board, or change the sensor"},
    {Heading::frozen, "frozen", "Times the picture stood still to the last byte", "", false, 0, 0,
     "common practice: three times the same bytes over at least 2 s",
     "The sensor hangs while the board answers: check its ribbon and supply, update the board's program"},
    {Heading::upright, "upright", "Which way up (a hint: light usually comes from above)", "", false, 0,
     kNoUnfit, "common practice",
     "Look at the stills. If it is upside down, set the turn in the board's own settings"},
    {Heading::lamp, "lamp", "Time per picture with the lamp on, against off", "×", false, 1.25, 2,
     "common practice",
     "The supply sags under the lamp: 5 V 2 A, short thick leads, a capacitor at the board"},
    {Heading::sizes, "sizes", "Throughput kept as pictures grow", "%", true, 80, 50, "common practice",
     "Stay below the size at which it falls; the radio or the supply gives way there"},
}};

}  // namespace rookery::camera
