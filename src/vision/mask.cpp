#include "vision/mask.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

namespace rookery::vision {
namespace {

using base::Error;
using base::ErrorCode;

constexpr int kMostPicture = 65535;

base::Error malformed(std::string detail) {
  return Error(ErrorCode::malformed, "mask", std::move(detail),
               "A mask reads \"80x60@640x480:\" and the lengths of its runs.");
}

// Takes a number and then `after` (nothing for 0) off the front.
bool take(std::string_view& text, int& number, char after) {
  const auto [end, failed] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (failed != std::errc()) return false;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  if (after == 0) return true;
  if (text.empty() || text.front() != after) return false;
  text.remove_prefix(1);
  return true;
}

}  // namespace

base::Result<Mask> Mask::make(int columns, int rows, int picture_width_px, int picture_height_px,
                              std::vector<bool> ignored) {
  const auto wrong = [](std::string detail) {
    return Error(ErrorCode::invalid_value, "mask", std::move(detail));
  };
  if (columns < 1 || columns > kMostSide || rows < 1 || rows > kMostSide)
    return wrong(fmt::format("{}×{} cells; each side has 1 to {}", columns, rows, kMostSide));
  if (picture_width_px < 1 || picture_width_px > kMostPicture || picture_height_px < 1 ||
      picture_height_px > kMostPicture)
    return wrong(fmt::format("a picture of {}×{} px", picture_width_px, picture_height_px));
  if (ignored.size() != static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows))
    return wrong(fmt::format("{} cells given, {}×{} are {}", ignored.size(), columns, rows, columns * rows));
  Mask mask;
  if (std::ranges::find(ignored, true) == ignored.end()) return mask;
  mask.columns_ = columns;
  mask.rows_ = rows;
  mask.picture_width_px_ = picture_width_px;
  mask.picture_height_px_ = picture_height_px;
  mask.ignored_ = std::move(ignored);
  return mask;
}

std::vector<std::uint8_t> Mask::over(int width, int height) const {
  const auto cells =
      static_cast<std::size_t>(std::max(width, 0)) * static_cast<std::size_t>(std::max(height, 0));
  std::vector<std::uint8_t> covered(cells, 0);
  if (empty()) return covered;
  for (int y = 0, cell = 0; y < height; ++y) {
    const int row = (2 * y + 1) * rows_ / (2 * height);
    for (int x = 0; x < width; ++x, ++cell) {
      const int column = (2 * x + 1) * columns_ / (2 * width);
      covered[static_cast<std::size_t>(cell)] = ignores(column, row) ? 1 : 0;
    }
  }
  return covered;
}

std::string Mask::text() const {
  if (empty()) return {};
  std::string text = fmt::format("{}x{}@{}x{}:", columns_, rows_, picture_width_px_, picture_height_px_);
  bool now = false;
  std::size_t run = 0;
  for (const bool cell : ignored_) {
    if (cell != now) {
      text += fmt::format("{},", run);
      run = 0;
      now = cell;
    }
    ++run;
  }
  return text + fmt::format("{}", run);
}

base::Result<Mask> Mask::parse(std::string_view text) {
  if (text.empty()) return Mask();
  int columns = 0;
  int rows = 0;
  int width = 0;
  int height = 0;
  if (!take(text, columns, 'x') || !take(text, rows, '@') || !take(text, width, 'x') ||
      !take(text, height, ':'))
    return malformed("its size is not written as \"80x60@640x480:\"");
  if (columns < 1 || columns > kMostSide || rows < 1 || rows > kMostSide)
    return malformed(fmt::format("{}×{} cells; each side has 1 to {}", columns, rows, kMostSide));
  const auto cells = static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows);
  std::vector<bool> ignored;
  ignored.reserve(cells);
  for (bool now = false;; now = !now) {
    int run = 0;
    if (!take(text, run, 0) || run < 0 || static_cast<std::size_t>(run) > cells - ignored.size())
      return malformed("its runs are not numbers that fit");
    ignored.insert(ignored.end(), static_cast<std::size_t>(run), now);
    if (text.empty()) break;
    if (text.front() != ',') return malformed("its runs are not separated by commas");
    text.remove_prefix(1);
  }
  return make(columns, rows, width, height, std::move(ignored));
}

}  // namespace rookery::vision
