// Whatever bytes come and however they are split, the multipart reader says the same and holds to its bounds.
// Input: one byte of choices, then the body.
#include <cstdint>
#include <string>
#include <string_view>

#include "fuzz/promise.h"
#include "tests/proto/multipart_support.h"

namespace {

using namespace rookery::proto;
using rookery::fuzz::require;

// In pieces whose sizes follow from the seed.
Heard listen_in_pieces(std::string_view boundary, std::string_view body, std::uint32_t seed,
                       MultipartLimits limits) {
  MultipartReader reader(boundary, limits);
  Heard heard;
  while (!body.empty()) {
    seed = seed * 1664525u + 1013904223u;
    const std::string piece(body.substr(0, 1 + (seed >> 24) % 37));
    body.remove_prefix(piece.size());
    reader.push(bytes_of(piece));
    drain(reader, heard);
  }
  reader.finish();
  drain(reader, heard);
  heard.stray_bytes = reader.stray_bytes();
  return heard;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::uint8_t choices = data[0];
  const std::string_view body(reinterpret_cast<const char*>(data + 1), size - 1);

  if (const auto type = parse_content_type(body.substr(0, 200))) {
    const auto boundary = boundary_of(*type);
    require(!boundary || (!boundary->empty() && boundary->size() <= kMaxBoundaryBytes),
            "a boundary has 1 to 256 bytes");
  }

  const std::string_view boundary = (choices & 1) != 0 ? "--B" : (choices & 2) != 0 ? "simple boundary" : "B";
  MultipartLimits limits;
  if ((choices & 4) != 0) limits.max_part_bytes = choices;
  if ((choices & 8) != 0) limits.max_part_header_bytes = choices;
  if ((choices & 16) != 0) limits.max_preamble_bytes = choices;

  const Heard whole = listen(boundary, body, body.size() + 1, limits);
  for (const Heard& other :
       {listen(boundary, body, 1, limits), listen_in_pieces(boundary, body, choices, limits)}) {
    require(other.log == whole.log, "splits say the same as the whole");
    require(whole.fatal || other.stray_bytes == whole.stray_bytes, "splits count the same stray bytes");
  }
  std::size_t delivered = 0;
  for (const auto& part : whole.parts) {
    require(part.body.size() <= limits.max_part_bytes, "no part over its bound");
    delivered += part.body.size();
  }
  require(delivered <= body.size(), "no byte is delivered twice");
  return 0;
}
