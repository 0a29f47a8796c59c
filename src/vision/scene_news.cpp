#include "vision/scene_news.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <span>

namespace rookery::vision {
namespace {

constexpr int kBlocksInRow = 40;
constexpr std::size_t kRemembered = 180;  // stills: a quarter of an hour, at one each 5 s
constexpr std::size_t kWaiting = 8;       // looks until a still is remembered: what is new is so for so long
constexpr std::size_t kRecent = 13;       // … until how new it was counts as usual
constexpr std::size_t kKnown = 72;        // stills, before anything is new
constexpr std::size_t kSomeKnown = 20;    // … before how new things are is learned
constexpr std::uint32_t kSettled = 3;     // looks after a lamp was switched
constexpr std::uint32_t kLongestPause = 100;  // looks
constexpr std::uint32_t kVisit = 60;          // looks in which what a person brings is not remembered
constexpr std::uint32_t kLong = 1'000;
constexpr std::uint32_t kLies = 3;  // looks, until what does not move at the edge is remembered
constexpr float kLamp = 0.25F;      // change of the light from look to look, natural logarithm
constexpr float kLeastLight = 0.01F;
constexpr float kNew = 2;                  // grey levels beyond the usual, root mean square of 3×3 blocks
constexpr float kFullLight = 0.5F;         // in less light the noise is stronger
constexpr float kForget = 1 - 1.0F / 180;  // of what is usual, a look
constexpr float kQuarters = 4;             // steps of `recent_`, a grey level
constexpr int kAbove = 1;                  // rows: what is usual in one is so a little above and below,
constexpr int kBelow = 3;                  // as a machine rises while it works
constexpr std::size_t kAtEdge = 2;         // blocks: a person comes in from somewhere
constexpr float kMoved = 3;                // grey levels, root mean square of 3×3 blocks
constexpr double kMostLying = 0.085;       // of the picture; who stands there takes more,
constexpr double kWidestLying = 0.3;       // … or more of its lower edge

int side_for(int width) { return std::max(2, (width + kBlocksInRow - 1) / kBlocksInRow); }

// Squares of the differences, summed over 3 blocks of a row; the ends are not asked for.
void sum_rows(std::span<const std::uint8_t> a, std::span<const std::uint8_t> b,
              std::vector<std::uint32_t>& squares, std::vector<std::uint32_t>& sums) {
  for (std::size_t i = 0; i < a.size(); ++i) {
    const int apart = int{a[i]} - int{b[i]};
    squares[i] = static_cast<std::uint32_t>(apart * apart);
  }
  for (std::size_t i = 1; i + 1 < a.size(); ++i) sums[i] = squares[i - 1] + squares[i] + squares[i + 1];
}

}  // namespace

void SceneNews::begin(int width, int height) {
  *this = SceneNews{};
  if (width <= 0 || height <= 0) return;
  grid_width_ = width;
  side_ = side_for(width);
  width_ = width / side_;
  height_ = height / side_;
  if (width_ < 3 || height_ < 3) width_ = height_ = 0;
  usual_.assign(blocks(), 0);
  new_.assign(blocks(), 0);
}

void SceneNews::look(const Look& look) {
  if (blocks() == 0) return;
  const float light = std::max(kLeastLight, look.light);
  if (blind_ > 0) --blind_;
  if (light_ > 0 && std::fabs(std::log(light / light_)) > kLamp) blind_ = std::max(blind_, kSettled);
  light_ = light;
  const std::vector<std::uint8_t> still = in_blocks(look.flat);
  const Cells apart = apart_from_known(still);
  find_new(apart, light);
  const AtEdge edge = at_edge(still, light);
  last_ = still;
  lies_ = edge.all >= kAtEdge && edge.moved < kAtEdge ? std::min(lies_ + 1, kLong) : 0;
  const bool someone = is_someone(edge);
  const bool tells = known() >= kKnown && blind_ == 0 && !someone;
  const auto found = static_cast<float>(count_of(new_)) / static_cast<float>(blocks());
  shares_.push_back(tells ? found : 0);
  usual_place_.push_back(look.in_usual_place && !someone ? 1 : 0);
  if (shares_.size() > kLasting) {
    shares_.erase(shares_.begin());
    usual_place_.erase(usual_place_.begin());
  }
  // Who stays for long has moved something for good. What does not move is a shadow of another light, or
  // somebody who only watches, and is known after a while.
  const bool visit = edge.all >= kAtEdge && lies_ < kLies;
  visited_ = visit && known() >= kKnown ? std::min(visited_ + 1, kLong) : 0;
  if (!look.works || !look.learn || (visited_ > 0 && visited_ <= kVisit)) return;
  if (known() >= kSomeKnown) learn_usual(apart);
  remember(still);
}

// Means of the cells of each block.
std::vector<std::uint8_t> SceneNews::in_blocks(const Cells& flat) const {
  std::vector<std::uint8_t> out(blocks());
  const auto stride = static_cast<std::size_t>(grid_width_);
  const auto side = static_cast<std::size_t>(side_);
  const auto columns = static_cast<std::size_t>(width_);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const std::size_t corner = i / columns * side * stride + i % columns * side;
    float sum = 0;
    for (std::size_t row = 0; row < side; ++row) {
      for (std::size_t column = 0; column < side; ++column) sum += flat[corner + row * stride + column];
    }
    const float mean = sum / static_cast<float>(side * side);
    out[i] = static_cast<std::uint8_t>(std::clamp(mean + 0.5F, 0.0F, 255.0F));
  }
  return out;
}

// Of each block, with those around it: how far it is from the remembered still in which it is most alike,
// grey levels. 0 at the picture's edge.
Cells SceneNews::apart_from_known(const std::vector<std::uint8_t>& still) const {
  const std::size_t size = blocks();
  const auto row = static_cast<std::size_t>(width_);
  Cells out(size, 0);
  if (known() == 0) return out;
  std::vector<std::uint32_t> least(size, std::numeric_limits<std::uint32_t>::max());
  std::vector<std::uint32_t> squares(size);
  std::vector<std::uint32_t> sums(size);
  for (std::size_t k = 0; k < known(); ++k) {
    sum_rows(still, std::span(remembered_).subspan(k * size, size), squares, sums);
    for (std::size_t i = row; i < size - row; ++i)
      least[i] = std::min(least[i], sums[i - row] + sums[i] + sums[i + row]);
  }
  for (int y = 1; y + 1 < height_; ++y) {
    for (int x = 1; x + 1 < width_; ++x) {
      const auto at = static_cast<std::size_t>(y * width_ + x);
      out[at] = std::sqrt(static_cast<float>(least[at]) / 9);
    }
  }
  return out;
}

float SceneNews::usual_around(int x, int y) const {
  float most = 0;
  for (int row = std::max(0, y - kAbove); row <= std::min(height_ - 1, y + kBelow); ++row)
    most = std::max(most, usual_[static_cast<std::size_t>(row * width_ + x)]);
  return most;
}

void SceneNews::find_new(const Cells& apart, float light) {
  const float limit = kNew * std::max(1.0F, kFullLight / light);
  for (int y = 0; y < height_; ++y) {
    for (int x = 0; x < width_; ++x) {
      const auto at = static_cast<std::size_t>(y * width_ + x);
      new_[at] = apart[at] - usual_around(x, y) > limit ? 1 : 0;
    }
  }
}

SceneNews::AtEdge SceneNews::at_edge(const std::vector<std::uint8_t>& still, float light) const {
  AtEdge edge;
  const float limit = kMoved * std::max(1.0F, kFullLight / light);
  for (int y = 1; y + 1 < height_; ++y) {
    for (int x = 1; x + 1 < width_; ++x) {
      if (y > 1 && y + 2 < height_ && x > 1 && x + 2 < width_) continue;
      if (new_[static_cast<std::size_t>(y * width_ + x)] == 0) continue;
      ++edge.all;
      if (last_.empty() || apart_around(x, y, still, last_) > limit) ++edge.moved;
      if (y + 2 == height_) ++edge.low;
    }
  }
  return edge;
}

// Of 3×3 blocks, grey levels.
float SceneNews::apart_around(int x, int y, const std::vector<std::uint8_t>& a,
                              const std::vector<std::uint8_t>& b) const {
  int squares = 0;
  for (int row = y - 1; row <= y + 1; ++row) {
    for (int column = x - 1; column <= x + 1; ++column) {
      const auto at = static_cast<std::size_t>(row * width_ + column);
      const int apart = int{a[at]} - int{b[at]};
      squares += apart * apart;
    }
  }
  return std::sqrt(static_cast<float>(squares) / 9);
}

// Something new reaches to the picture's edge: an arm, or who stands there. What was flung there lies still,
// at the lower edge, and is smaller.
bool SceneNews::is_someone(const AtEdge& edge) const {
  if (edge.all < kAtEdge) return false;
  const double found = static_cast<double>(count_of(new_)) / static_cast<double>(blocks());
  return lies_ == 0 || edge.all - edge.low >= kAtEdge || found > kMostLying ||
         static_cast<double>(edge.low) > kWidestLying * width_;
}

void SceneNews::learn_usual(const Cells& apart) {
  for (const float one : apart)
    recent_.push_back(static_cast<std::uint8_t>(std::min(255.0F, kQuarters * one)));
  if (recent_.size() <= kRecent * blocks()) return;
  for (std::size_t i = 0; i < usual_.size(); ++i)
    usual_[i] = std::max(usual_[i] * kForget, static_cast<float>(recent_[i]) / kQuarters);
  recent_.erase(recent_.begin(), recent_.begin() + static_cast<std::ptrdiff_t>(blocks()));
}

void SceneNews::remember(const std::vector<std::uint8_t>& still) {
  const auto size = static_cast<std::ptrdiff_t>(blocks());
  waiting_.insert(waiting_.end(), still.begin(), still.end());
  if (waiting_.size() <= kWaiting * blocks()) return;
  if (known() < kRemembered) {
    remembered_.insert(remembered_.end(), waiting_.begin(), waiting_.begin() + size);
  } else {
    std::copy_n(waiting_.begin(), size, remembered_.begin() + static_cast<std::ptrdiff_t>(next_) * size);
    next_ = (next_ + 1) % kRemembered;
  }
  waiting_.erase(waiting_.begin(), waiting_.begin() + size);
}

void SceneNews::relight(const Cells& by) {
  if (blocks() == 0) return;
  Cells brighter(by.size());
  for (std::size_t i = 0; i < by.size(); ++i) brighter[i] = by[i] + 128;
  const std::vector<std::uint8_t> lighter = in_blocks(brighter);
  for (auto* stills : {&remembered_, &waiting_, &last_}) {
    for (std::size_t i = 0; i < stills->size(); ++i) {
      const int lit = int{(*stills)[i]} + int{lighter[i % lighter.size()]} - 128;
      (*stills)[i] = static_cast<std::uint8_t>(std::clamp(lit, 0, 255));
    }
  }
  blind_ = std::max(blind_, kSettled);
}

void SceneNews::pause(std::uint32_t looks) {
  blind_ = std::min(looks, kLongestPause);
  shares_.clear();
  usual_place_.clear();
}

double SceneNews::lasting_share(const Lasting& lasting) const {
  if (shares_.size() < lasting.of) return 0;
  const auto first = static_cast<std::ptrdiff_t>(shares_.size() - lasting.of);
  const auto working = std::count(usual_place_.begin() + first, usual_place_.end(), std::uint8_t{1});
  if (static_cast<std::size_t>(working) < lasting.working) return 0;
  std::vector<float> most(shares_.begin() + first, shares_.end());
  std::sort(most.begin(), most.end(), std::greater<>());
  return static_cast<double>(most[lasting.count - 1]);
}

CellBox SceneNews::where() const {
  const CellBox box = box_of(new_, width_, height_);
  return {side_ * box.x, side_ * box.y, side_ * box.width, side_ * box.height};
}

bool SceneNews::fits(int width, int height) const {
  SceneNews other;
  other.begin(width, height);
  if (grid_width_ != width || side_ != other.side_ || width_ != other.width_ || height_ != other.height_)
    return false;
  const std::size_t size = blocks();
  const auto holds = [size](const auto& stills, std::size_t most) {
    return size == 0 ? stills.empty() : stills.size() % size == 0 && stills.size() <= most * size;
  };
  const auto can_be = [](float one) { return one >= 0 && one <= 256; };
  if (!std::ranges::all_of(usual_, can_be)) return false;
  return holds(remembered_, kRemembered) && holds(waiting_, kWaiting) && holds(recent_, kRecent) &&
         usual_.size() == size && new_.size() == size && next_ < kRemembered && shares_.size() <= kLasting &&
         usual_place_.size() == shares_.size() && light_ >= 0 && blind_ <= kLongestPause &&
         visited_ <= kLong && lies_ <= kLong && (last_.empty() || last_.size() == size);
}

}  // namespace rookery::vision
