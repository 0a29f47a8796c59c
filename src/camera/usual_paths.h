// Where boards of this kind usually have their pictures: what `find` asks of a board that says nothing
// itself.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace rookery::camera {

// Common practice, from memory, no source: firmwares name them as they like. The order is that of asking.
inline constexpr std::array<std::string_view, 5> kUsualStillPaths = {"/still", "/capture", "/jpg",
                                                                     "/still.jpg", "/image.jpg"};
inline constexpr std::array<std::string_view, 3> kUsualStreamPaths = {"/stream", "/mjpeg", "/"};

// Stills and control on 80, the stream on 81; many boards use one port; 8080 and 8081 also (common practice).
inline constexpr std::array<std::uint16_t, 2> kUsualStillPorts = {80, 8080};

// Where the stream is when stills are on `still_port`: on the next port, else on the same.
inline constexpr std::array<std::uint16_t, 2> stream_ports_beside(std::uint16_t still_port) {
  return {static_cast<std::uint16_t>(still_port + 1), still_port};
}

}  // namespace rookery::camera
