#include "bench/motion/cutouts.h"

#include <algorithm>
#include <cmath>

namespace rookery::bench {
namespace {

constexpr int kCell_px = 4;
constexpr int kReach_px = 2;  // of the blur that makes edges soft
constexpr int kMargin_px = 4;
constexpr float kNothing = 12;  // difference, grey levels of all three planes together
constexpr float kAll = 32;
constexpr float kOn = 0.3F;  // mean opacity of a cell
constexpr int kLeastCells = 40;
constexpr std::size_t kLeastPictures = 15;
constexpr std::size_t kMostPictures = 40;
constexpr float kLeastWay_px = 40;
constexpr double kAlike = 0.6;  // areas of the same person in two pictures

struct Blob {
  sim::Region box;         // pixels
  std::vector<int> cells;  // of the mask
};

// Opacity of each pixel.
std::vector<float> opacity_of(const sim::Picture& picture, const sim::Picture& background) {
  const int width = picture.size.width;
  const int height = picture.size.height;
  std::vector<int> difference(picture.y.size());
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const auto luma = static_cast<std::size_t>(y * width + x);
      const auto colour = static_cast<std::size_t>(y * picture.half() + x / 2);
      difference[luma] = std::abs(picture.y[luma] - background.y[luma]) +
                         std::abs(picture.u[colour] - background.u[colour]) +
                         std::abs(picture.v[colour] - background.v[colour]);
    }
  }
  std::vector<float> opacity(picture.y.size(), 0);
  constexpr float kArea = (2 * kReach_px + 1) * (2 * kReach_px + 1);
  for (int y = kReach_px; y < height - kReach_px; ++y) {
    for (int x = kReach_px; x < width - kReach_px; ++x) {
      int sum = 0;
      for (int v = y - kReach_px; v <= y + kReach_px; ++v)
        for (int u = x - kReach_px; u <= x + kReach_px; ++u)
          sum += difference[static_cast<std::size_t>(v * width + u)];
      const float mean = static_cast<float>(sum) / kArea;
      opacity[static_cast<std::size_t>(y * width + x)] =
          std::clamp((mean - kNothing) / (kAll - kNothing), 0.0F, 1.0F);
    }
  }
  return opacity;
}

std::vector<bool> cells_on(const std::vector<float>& opacity, sim::Size size) {
  const int columns = size.width / kCell_px;
  const int rows = size.height / kCell_px;
  std::vector<bool> on(static_cast<std::size_t>(columns * rows));
  for (int cell = 0; cell < columns * rows; ++cell) {
    float sum = 0;
    for (int i = 0; i < kCell_px * kCell_px; ++i) {
      const int x = cell % columns * kCell_px + i % kCell_px;
      const int y = cell / columns * kCell_px + i / kCell_px;
      sum += opacity[static_cast<std::size_t>(y * size.width + x)];
    }
    on[static_cast<std::size_t>(cell)] = sum > kOn * kCell_px * kCell_px;
  }
  return on;
}

// Empties `on`.
std::vector<Blob> blobs_of(std::vector<bool> on, sim::Size size) {
  const int columns = size.width / kCell_px;
  const int rows = size.height / kCell_px;
  std::vector<Blob> blobs;
  for (int seed = 0; seed < columns * rows; ++seed) {
    if (!on[static_cast<std::size_t>(seed)]) continue;
    Blob blob{{}, {seed}};
    on[static_cast<std::size_t>(seed)] = false;
    int left = columns, right = 0, top = rows, bottom = 0;
    for (std::size_t next = 0; next < blob.cells.size(); ++next) {
      const int x = blob.cells[next] % columns;
      const int y = blob.cells[next] / columns;
      left = std::min(left, x);
      right = std::max(right, x + 1);
      top = std::min(top, y);
      bottom = std::max(bottom, y + 1);
      for (int v = std::max(0, y - 1); v <= std::min(rows - 1, y + 1); ++v) {
        for (int u = std::max(0, x - 1); u <= std::min(columns - 1, x + 1); ++u) {
          const int cell = v * columns + u;
          if (!on[static_cast<std::size_t>(cell)]) continue;
          on[static_cast<std::size_t>(cell)] = false;
          blob.cells.push_back(cell);
        }
      }
    }
    if (blob.cells.size() < kLeastCells) continue;
    if (left < 2 || top < 2 || right > columns - 2 || bottom > rows - 2) continue;
    blob.box = {left * kCell_px, top * kCell_px, (right - left) * kCell_px, (bottom - top) * kCell_px};
    blobs.push_back(std::move(blob));
  }
  return blobs;
}

sim::Sprite cut(const sim::Picture& picture, const std::vector<float>& opacity, const Blob& blob) {
  const sim::Region box{blob.box.x - kMargin_px, blob.box.y - kMargin_px, blob.box.width + 2 * kMargin_px,
                        blob.box.height + 2 * kMargin_px};
  const int columns = picture.size.width / kCell_px;
  // The blob's cells and those beside them: what belongs to somebody else stays out.
  std::vector<bool> own(static_cast<std::size_t>(columns * picture.size.height / kCell_px));
  for (const int cell : blob.cells)
    for (const int row : {-columns, 0, columns})
      for (const int beside : {-1, 0, 1}) own[static_cast<std::size_t>(cell + row + beside)] = true;
  sim::Sprite sprite{box.width, box.height, {}};
  for (int y = box.y; y < box.y + box.height; ++y) {
    for (int x = box.x; x < box.x + box.width; ++x) {
      const auto luma = static_cast<std::size_t>(y * picture.size.width + x);
      const auto colour = static_cast<std::size_t>(y * picture.half() + x / 2);
      const bool inside = own[static_cast<std::size_t>(y / kCell_px * columns + x / kCell_px)];
      const auto alpha = static_cast<std::uint8_t>(inside ? 255 * opacity[luma] : 0);
      sprite.texels.insert(sprite.texels.end(),
                           {picture.y[luma], picture.u[colour], picture.v[colour], alpha});
    }
  }
  return sprite;
}

bool touch(const sim::Region& a, const sim::Region& b) {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}

struct Following {
  Walk walk;
  Blob last;
  bool seen = true;  // in the picture that is looked at
};

bool same_person(const Blob& before, const Blob& now) {
  const auto [less, more] = std::minmax(before.cells.size(), now.cells.size());
  return touch(before.box, now.box) && static_cast<double>(less) >= kAlike * static_cast<double>(more);
}

void keep(Following& following, std::vector<Walk>& walks) {
  const auto& at = following.walk.at;
  if (at.size() < kLeastPictures) return;
  if (std::hypot(at.back().x - at.front().x, at.back().y - at.front().y) < kLeastWay_px) return;
  walks.push_back(std::move(following.walk));
}

}  // namespace

sim::Region Walk::path() const {
  float left = at[0].x, top = at[0].y, right = left, bottom = top;
  for (std::size_t i = 0; i < at.size(); ++i) {
    left = std::min(left, at[i].x);
    top = std::min(top, at[i].y);
    right = std::max(right, at[i].x + static_cast<float>(sprites[i].width));
    bottom = std::max(bottom, at[i].y + static_cast<float>(sprites[i].height));
  }
  return {static_cast<int>(left), static_cast<int>(top), static_cast<int>(right - left),
          static_cast<int>(bottom - top)};
}

std::vector<Walk> cut_walks(const std::vector<sim::Picture>& pictures, const sim::Picture& background) {
  std::vector<Walk> walks;
  std::vector<Following> followed;
  for (const sim::Picture& picture : pictures) {
    const auto opacity = opacity_of(picture, background);
    std::vector<Following> next;
    for (Following& following : followed) following.seen = false;
    for (Blob& blob : blobs_of(cells_on(opacity, picture.size), picture.size)) {
      const auto before =
          std::ranges::find_if(followed, [&](const auto& f) { return !f.seen && same_person(f.last, blob); });
      Following now;
      if (before != followed.end()) {
        before->seen = true;
        now = std::move(*before);
      }
      now.walk.sprites.push_back(cut(picture, opacity, blob));
      now.walk.at.push_back(
          {static_cast<float>(blob.box.x - kMargin_px), static_cast<float>(blob.box.y - kMargin_px)});
      now.last = std::move(blob);
      if (now.walk.at.size() == kMostPictures)
        keep(now, walks);
      else
        next.push_back(std::move(now));
    }
    for (Following& following : followed)
      if (!following.seen) keep(following, walks);
    followed = std::move(next);
  }
  for (Following& following : followed) keep(following, walks);
  return walks;
}

}  // namespace rookery::bench
