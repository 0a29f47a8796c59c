// What is said on the page's WebSocket, as values: orders read from JSON, and the head of a picture.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "camera/frame.h"

namespace rookery::web {

struct ShowOne {
  std::string camera;
  int slot = 0;
  int width_px = 0;
};
struct Show {
  std::vector<ShowOne> cameras;
};
struct Acknowledge {
  std::uint32_t serial = 0;
};
struct Play {
  int slot = 0;
  std::string camera;
  base::WallTime at;
  double speed = 1;
  int width_px = 0;
};
struct Pause {
  int slot = 0;
};
struct Step {
  int slot = 0;
  int frames = 0;
};
struct StopPlaying {
  int slot = 0;
};
using PageWord = std::variant<Show, Acknowledge, Play, Pause, Step, StopPlaying>;

// Errors: malformed (no JSON object: the connection ends), invalid_value (anything else that is wrong with
// it).
base::Result<PageWord> read_page_word(std::string_view text);

inline constexpr std::size_t kPictureHeadBytes = 20;
using PictureHead = std::array<unsigned char, kPictureHeadBytes>;

enum class PictureKind : std::uint8_t { live = 1, playback = 2 };

// docs/formats/live-socket.md, "Picture".
PictureHead picture_head(PictureKind kind, int slot, std::uint32_t serial, const camera::Frame& frame);

}  // namespace rookery::web
