// What boards announce in TXT records, and names from the network made fit to be shown.
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

#include "fuzz/promise.h"
#include "proto/txt_record.h"

using rookery::fuzz::require;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto bytes = std::as_bytes(std::span(data, size));
  const auto txt = rookery::proto::parse_txt(bytes);
  std::size_t held = 0;
  for (const auto& [key, value] : txt.pairs) {
    require(!key.empty() && key.find('=') == std::string::npos, "a key is there and holds no \"=\"");
    require(txt.find(key) == std::string_view(value), "the first of a key is the one that is found");
    held += key.size() + value.size();
  }
  require(held <= size, "no byte is made up");
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const std::string shown = rookery::proto::printable(text, 100);
  require(shown.size() <= 103, "what is shown is bounded");
  for (const char c : shown)
    require(static_cast<unsigned char>(c) >= 0x20 && c != 0x7f, "nothing steers a terminal");
  require(rookery::proto::printable(shown, 200) == shown, "what is shown is text");
  return 0;
}
