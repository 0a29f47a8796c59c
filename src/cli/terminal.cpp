#include "cli/terminal.h"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>

#include <fmt/format.h>

namespace rookery::cli {
namespace {

// Narrower than that, text is unreadable however it is broken (ours).
constexpr std::size_t kLeastText = 16;

bool continues(char c) { return (static_cast<unsigned char>(c) & 0xc0) == 0x80; }

// The front of `text` that takes at most `width` columns, at least one character; in bytes.
std::size_t fitting(std::string_view text, std::size_t width) {
  std::size_t end = 0;
  while (end < text.size()) {
    std::size_t next = end + 1;
    while (next < text.size() && continues(text[next])) ++next;
    if (end > 0 && columns(text.substr(0, next)) > width) break;
    end = next;
  }
  return end;
}

void wrap_line(std::string_view line, std::size_t indent, std::size_t width, std::string& out) {
  while (columns(line) > width) {
    const std::size_t fits = fitting(line, width);
    // A space right behind what fits is a place to break as well.
    const std::size_t space = line.substr(0, fits + 1).rfind(' ');
    const bool at_space = space != std::string_view::npos && space > 0;
    out += line.substr(0, at_space ? space : fits);
    out += '\n' + std::string(indent, ' ');
    line.remove_prefix(at_space ? space + 1 : fits);
  }
  out += line;
}

}  // namespace

std::size_t columns(std::string_view text) {
  std::size_t out = 0;
  for (const char c : text) {
    if (!continues(c)) ++out;
    if (static_cast<unsigned char>(c) >= 0xf0) ++out;
  }
  return out;
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t width) {
  const std::size_t room =
      width == 0 ? std::string_view::npos : std::max(kLeastText, width - std::min(width, indent));
  std::string out;
  for (;;) {
    const auto end = text.find('\n');
    wrap_line(text.substr(0, end), indent, room, out);
    if (end == std::string_view::npos) return out;
    out += '\n' + std::string(indent, ' ');
    text.remove_prefix(end + 1);
  }
}

std::string Terminal::bold(std::string_view text) const {
  return colours ? fmt::format("\x1b[1m{}\x1b[0m", text) : std::string(text);
}

std::string Terminal::amber(std::string_view text) const {
  return colours ? fmt::format("\x1b[1;33m{}\x1b[0m", text) : std::string(text);
}

Terminal terminal_at(int descriptor) {
  Terminal out;
  if (::isatty(descriptor) == 0) return out;
  winsize size{};
  if (::ioctl(descriptor, TIOCGWINSZ, &size) == 0) out.width = size.ws_col;
  const char* none = std::getenv("NO_COLOR");  // NOLINT(concurrency-mt-unsafe): nobody sets the environment
  const char* kind = std::getenv("TERM");      // NOLINT(concurrency-mt-unsafe)
  out.colours = (none == nullptr || *none == '\0') && kind != nullptr && std::string_view(kind) != "dumb";
  return out;
}

}  // namespace rookery::cli
