// The terminal that text is printed on, where there is one: how wide it is, and whether it takes colours.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace rookery::cli {

// Columns that text takes on a terminal: characters, pictographs two. Combining marks are counted as well.
std::size_t columns(std::string_view text);

// `text` broken at spaces so that no line is wider than `width`, each line but the first behind `indent`
// spaces; the first is thought to begin behind as many. A word that is wider by itself is broken where the
// line ends. Line ends in `text` stay. `width` 0: as it is, but for the indent.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t width);

// immutable value.
struct Terminal {
  std::size_t width = 0;  // columns; 0: this is no terminal, or its width is not known
  bool colours = false;

  // `text` in bold, or in the amber that says "look here" (ECMA-48 SGR); as it is where there are no colours.
  std::string bold(std::string_view text) const;
  std::string amber(std::string_view text) const;
};

// What stands behind a descriptor now: windows are resized. No colours where $NO_COLOR is set or $TERM is
// "dumb".
Terminal terminal_at(int descriptor);

}  // namespace rookery::cli
