// Dynamic programming over the windows, Viterbi's way. A window is worked at once the three after it are
// closed, since what changed to stay is known only later.
#include "vision/lapse_choice.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "vision/lapse_window.h"

namespace rookery::vision {
namespace {

constexpr std::size_t kAhead = 3;
constexpr std::size_t kBehind = 3;
constexpr double kDarkestLight = 4;  // grey levels: darker medians are noise
constexpr double kMostStops = 2;
// Unlikeness is a mean over the cells in which something moves, and over this share of all at least.
constexpr double kLeastMoving = 0.05;
// A picture of less than half the usual sharpness is blurred, of less than four fifths the more the less.
constexpr double kBlurred = 0.5;
constexpr double kSharp = 0.8;

base::Error bad_option(std::string what) {
  return {base::ErrorCode::invalid_value, "lapse", std::move(what)};
}

bool within(double value, double least, double most) { return value >= least && value <= most; }

base::Result<void> check(const LapseOptions& o) {
  if (o.width < 4 || o.width > 160 || o.height < 4 || o.height > 160)
    return bad_option(fmt::format("thumbnails of {}×{} cells: give 4 to 160", o.width, o.height));
  if (!std::isfinite(o.slots.first_s) || !std::isfinite(o.slots.every_s) || o.slots.every_s <= 0)
    return bad_option(fmt::format("slots from {} s, every {} s: give an interval above 0", o.slots.first_s,
                                  o.slots.every_s));
  if (o.slots.count < 1 || o.slots.count > kMostLapseSlots)
    return bad_option(fmt::format("{} slots: give 1 to {}", o.slots.count, kMostLapseSlots));
  if (!(o.window > 0 && o.window < 0.5))
    return bad_option(fmt::format("a window of {} intervals: give above 0 to below 0.5", o.window));
  if (o.most_in_window < 2 || o.most_in_window > 250)
    return bad_option(fmt::format("{} pictures in a window: give 2 to 250", o.most_in_window));
  for (const double weight : {o.weights.spacing, o.weights.head, o.weights.unusable, o.weights.light}) {
    if (!within(weight, 0, 1e6)) return bad_option(fmt::format("a weight of {}: give 0 to 1e6", weight));
  }
  return base::ok();
}

}  // namespace

base::Result<LapseSlots> share_out_slots(double from_s, double to_s, int count) {
  if (count < 1 || count > kMostLapseSlots)
    return bad_option(fmt::format("{} slots: give 1 to {}", count, kMostLapseSlots));
  if (!std::isfinite(from_s) || !std::isfinite(to_s) || !std::isfinite(to_s - from_s) || to_s <= from_s)
    return bad_option(fmt::format("from {} s to {} s: the end has to come after the start", from_s, to_s));
  if (count == 1) return LapseSlots{to_s, to_s - from_s, 1};
  return LapseSlots{from_s, (to_s - from_s) / (count - 1), count};
}

std::vector<std::uint8_t> still_cells(const LapseChoice& choice) {
  constexpr float kSeldom = 0.05F;
  std::vector<std::uint8_t> still;
  for (std::size_t c = 0; c < choice.growth.size(); ++c)
    still.push_back(choice.growth[c] < kSeldom && choice.head[c] < kSeldom ? 1 : 0);
  return still;
}

std::vector<int> leave_out_dark(LapseChoice& choice, double share) {
  std::vector<double> lights;
  lights.reserve(choice.frames.size());
  for (const LapseFrame& frame : choice.frames) lights.push_back(frame.light);
  if (lights.empty()) return {};
  const auto bright =
      lights.begin() + static_cast<std::ptrdiff_t>(0.9 * static_cast<double>(lights.size() - 1));
  std::nth_element(lights.begin(), bright, lights.end());
  const double least = share * *bright;
  const auto dark = [least](const LapseFrame& frame) { return frame.light < least; };
  const auto count = static_cast<std::size_t>(std::ranges::count_if(choice.frames, dark));
  if (4 * (choice.frames.size() - count) < choice.frames.size()) return {};
  std::vector<int> slots;
  for (const LapseFrame& frame : choice.frames) {
    if (dark(frame)) slots.push_back(frame.slot);
  }
  std::erase_if(choice.frames, dark);
  return slots;
}

class LapseChooser::Body {
 public:
  explicit Body(const LapseOptions& options)
      : o_(options),
        cells_(static_cast<std::size_t>(options.width) * static_cast<std::size_t>(options.height)),
        growth_(cells_),
        head_(cells_) {}

  base::Result<void> add(const LapsePicture& picture);
  base::Result<LapseChoice> finish();
  std::size_t bytes() const;

 private:
  // What is left of a window once it has been worked at.
  struct Kept {
    int slot = 0;
    std::size_t first = 0;  // in members_ and backs_
  };
  struct Member {
    double at_s;
    std::uint32_t number;
    float head_share;
    float light;
    float unusable;
  };

  void close_window();
  void work(std::size_t index);
  void judge_sharpness(LapseWindow& window, std::span<const LapseWindow* const> around) const;
  void step(const LapseWindow* before, const LapseWindow& window, std::span<const std::uint8_t> grown);
  double alone(const WindowPicture& picture) const {
    return o_.weights.head * picture.head_share + o_.weights.unusable * picture.unusable;
  }
  std::size_t single(const LapseWindow& window) const;
  std::vector<const LapseWindow*> some(std::size_t from, std::size_t to) const;

  const LapseOptions o_;
  const std::size_t cells_;
  std::size_t seen_ = 0;
  std::size_t usable_ = 0;
  std::size_t in_windows_ = 0;
  double last_s_ = -std::numeric_limits<double>::infinity();
  std::optional<LapseWindow> open_;
  std::deque<LapseWindow> windows_;  // closed ones, those worked at first
  std::size_t worked_ = 0;           // so many of windows_ are
  std::vector<double> costs_;        // of the best row to each picture of the last window worked at
  std::vector<Kept> kept_;
  std::vector<Member> members_;
  std::vector<std::uint8_t> backs_;  // of each member, which of the window before leads to it
  std::vector<std::uint32_t> growth_;
  std::vector<std::uint32_t> head_;
};

base::Result<void> LapseChooser::Body::add(const LapsePicture& picture) {
  const auto refused = [&](std::string why) {
    return bad_option(fmt::format("picture {}: {}", seen_, std::move(why)));
  };
  if (picture.cells.size() != cells_)
    return refused(fmt::format("{} cells instead of {}×{}", picture.cells.size(), o_.width, o_.height));
  if (!std::isfinite(picture.at_s)) return refused("its time is no number");
  if (picture.at_s <= last_s_)
    return refused(fmt::format("at {} s it is not after the one before, at {} s", picture.at_s, last_s_));
  if (!within(picture.dark_share, 0, 1) || !within(picture.bright_share, 0, 1))
    return refused(
        fmt::format("{} of it dark and {} bright: give 0 to 1", picture.dark_share, picture.bright_share));
  if (!within(picture.sharpness, 0, std::numeric_limits<double>::max()))
    return refused(fmt::format("a sharpness of {}: give 0 or more", picture.sharpness));
  if (seen_ == std::numeric_limits<std::uint32_t>::max()) return refused("there are too many");
  const std::size_t number = seen_++;
  last_s_ = picture.at_s;
  const double place = (picture.at_s - o_.slots.first_s) / o_.slots.every_s;
  const double nearest = std::round(place);
  if (!within(nearest, 0, o_.slots.count - 1) || std::abs(place - nearest) > o_.window) return base::ok();
  ++in_windows_;
  const int slot = static_cast<int>(nearest);
  if (open_ && open_->slot() != slot) close_window();
  if (!open_) open_.emplace(slot, cells_);
  const double share = (place - nearest + o_.window) / (2 * o_.window);
  open_->take(picture, number, std::min(o_.most_in_window - 1, static_cast<int>(share * o_.most_in_window)));
  return base::ok();
}

void LapseChooser::Body::close_window() {
  open_->close();
  windows_.push_back(std::move(*open_));
  open_.reset();
  while (worked_ + kAhead < windows_.size()) work(worked_);
}

std::vector<const LapseWindow*> LapseChooser::Body::some(std::size_t from, std::size_t to) const {
  std::vector<const LapseWindow*> out;
  for (std::size_t i = from; i < std::min(to, windows_.size()); ++i) out.push_back(&windows_[i]);
  return out;
}

void LapseChooser::Body::judge_sharpness(LapseWindow& window,
                                         std::span<const LapseWindow* const> around) const {
  std::vector<double> known;
  for (const LapseWindow* one : around) {
    if (one->usual_sharpness() > 0) known.push_back(one->usual_sharpness());
  }
  if (known.empty()) return;
  std::ranges::sort(known);
  const double usual = known[known.size() / 2];
  for (WindowPicture& picture : window.pictures()) {
    if (picture.sharpness <= 0) continue;
    const double lacking = (kSharp - picture.sharpness / usual) / (kSharp - kBlurred);
    picture.unusable = std::max(picture.unusable, std::clamp(lacking, 0.0, 1.0));
  }
}

void LapseChooser::Body::work(std::size_t index) {
  LapseWindow& window = windows_[index];
  const std::size_t first = index >= kBehind ? index - kBehind : 0;
  const auto around = some(first, index + kAhead + 1);
  judge_sharpness(window, around);
  const auto grown = grown_cells(some(first, index), some(index, index + kAhead));
  const auto head = learn_head(window, around, grown);
  for (std::size_t c = 0; c < cells_; ++c) {
    growth_[c] += grown[c];
    head_[c] += head[c];
  }
  const LapseWindow* before = index > 0 ? &windows_[index - 1] : nullptr;
  step(before, window, grown);
  for (const WindowPicture& picture : window.pictures()) usable_ += picture.unusable < 1 ? 1 : 0;
  if (index > 0) windows_[index - 1].forget_cells();
  ++worked_;
  if (worked_ > kBehind + 1) {
    windows_.pop_front();
    --worked_;
  }
}

// The picture that a rule takes which looks at one window alone.
std::size_t LapseChooser::Body::single(const LapseWindow& window) const {
  const double centre = o_.slots.first_s + window.slot() * o_.slots.every_s;
  std::size_t best = 0;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < window.size(); ++i) {
    const double off = o_.rule == LapseRule::even
                           ? std::abs(window.pictures()[i].at_s - centre)
                           : static_cast<double>(unlike_sum(window.cells(i), window.median()));
    if (off < least) {
      least = off;
      best = i;
    }
  }
  return best;
}

void LapseChooser::Body::step(const LapseWindow* before, const LapseWindow& window,
                              std::span<const std::uint8_t> grown) {
  kept_.push_back({window.slot(), members_.size()});
  for (const WindowPicture& picture : window.pictures()) {
    members_.push_back({picture.at_s, static_cast<std::uint32_t>(picture.number),
                        static_cast<float>(picture.head_share), static_cast<float>(picture.light),
                        static_cast<float>(picture.unusable)});
  }
  backs_.resize(members_.size());
  const bool whole = o_.rule == LapseRule::likest;
  constexpr double kNever = std::numeric_limits<double>::infinity();
  std::vector<double> costs(window.size(), kNever);
  const std::size_t only = whole ? 0 : single(window);
  const std::size_t from = whole ? 0 : only;
  const std::size_t to = whole ? window.size() : only + 1;
  if (before == nullptr) {
    for (std::size_t j = from; j < to; ++j) costs[j] = alone(window.pictures()[j]);
    costs_ = std::move(costs);
    return;
  }
  // What grew is the same in both; so it counts for nothing.
  const auto without_growth = [&](const LapseWindow& one) {
    std::vector<LapseCell> all;
    all.reserve(one.size() * cells_);
    for (std::size_t i = 0; i < one.size(); ++i) {
      const auto picture = one.cells(i);
      for (std::size_t c = 0; c < cells_; ++c) all.push_back(grown[c] != 0 ? LapseCell{0} : picture[c]);
    }
    return all;
  };
  const std::vector<LapseCell> then = without_growth(*before);
  const std::vector<LapseCell> now = without_growth(window);
  double moving = 0;
  for (std::size_t c = 0; c < cells_; ++c)
    moving += grown[c] == 0 && std::max(before->spread()[c], window.spread()[c]) > 2 * kLapseUnit ? 1 : 0;
  const double scale = 1 / (kLapseUnit * std::max(moving, kLeastMoving * static_cast<double>(cells_)));
  const double apart = (window.slot() - before->slot()) * o_.slots.every_s;
  for (std::size_t j = from; j < to; ++j) {
    const WindowPicture& here = window.pictures()[j];
    const auto cells_here = std::span(now).subspan(j * cells_, cells_);
    std::size_t best = 0;
    for (std::size_t i = 0; i < before->size(); ++i) {
      if (costs_[i] == kNever) continue;
      const WindowPicture& there = before->pictures()[i];
      const double off = (here.at_s - there.at_s - apart) / o_.slots.every_s;
      const double stops =
          std::abs(std::log2(std::max(here.light, kDarkestLight) / std::max(there.light, kDarkestLight)));
      const double known =
          costs_[i] + o_.weights.spacing * off * off + o_.weights.light * std::min(stops, kMostStops);
      if (known >= costs[j]) continue;
      const double cost = known + scale * unlike_sum(std::span(then).subspan(i * cells_, cells_), cells_here);
      if (cost >= costs[j]) continue;
      costs[j] = cost;
      best = i;
    }
    costs[j] += alone(here);
    backs_[kept_.back().first + j] = static_cast<std::uint8_t>(best);
  }
  costs_ = std::move(costs);
}

base::Result<LapseChoice> LapseChooser::Body::finish() {
  if (open_) close_window();
  while (worked_ < windows_.size()) work(worked_);
  const auto none = [](std::string what) {
    return base::Error{base::ErrorCode::not_found, "lapse", std::move(what)};
  };
  if (members_.empty()) return none(fmt::format("none of {} pictures lies in the window of a slot", seen_));
  if (usable_ == 0)
    return none(fmt::format("none of {} pictures is usable: they are damaged, blurred, dark or over-bright",
                            in_windows_));
  LapseChoice choice;
  auto best = static_cast<std::size_t>(std::ranges::min_element(costs_) - costs_.begin());
  choice.cost = costs_[best];
  for (std::size_t k = kept_.size(); k-- > 0;) {
    const std::size_t at = kept_[k].first + best;
    choice.frames.push_back({.picture = members_[at].number,
                             .at_s = members_[at].at_s,
                             .slot = kept_[k].slot,
                             .head_share = static_cast<double>(members_[at].head_share),
                             .light = static_cast<double>(members_[at].light),
                             .unusable = static_cast<double>(members_[at].unusable)});
    best = backs_[at];
  }
  std::ranges::reverse(choice.frames);
  std::size_t next = 0;
  for (int slot = 0; slot < o_.slots.count; ++slot) {
    if (next < kept_.size() && kept_[next].slot == slot) {
      ++next;
    } else {
      choice.empty_slots.push_back(slot);
    }
  }
  const auto shares = [&](const std::vector<std::uint32_t>& counts) {
    std::vector<float> out;
    out.reserve(counts.size());
    for (const std::uint32_t count : counts)
      out.push_back(static_cast<float>(count) / static_cast<float>(kept_.size()));
    return out;
  };
  choice.growth = shares(growth_);
  choice.head = shares(head_);
  return choice;
}

std::size_t LapseChooser::Body::bytes() const {
  std::size_t sum = members_.capacity() * sizeof(Member) + backs_.capacity() +
                    kept_.capacity() * sizeof(Kept) + costs_.capacity() * sizeof(double) +
                    2 * cells_ * sizeof(std::uint32_t);
  for (const LapseWindow& window : windows_) sum += window.bytes();
  if (open_) sum += open_->bytes();
  return sum;
}

LapseChooser::LapseChooser(std::unique_ptr<Body> body) : body_(std::move(body)) {}
LapseChooser::LapseChooser(LapseChooser&&) noexcept = default;
LapseChooser& LapseChooser::operator=(LapseChooser&&) noexcept = default;
LapseChooser::~LapseChooser() = default;

base::Result<LapseChooser> LapseChooser::make(const LapseOptions& options) {
  if (auto good = check(options); !good) return good.error();
  return LapseChooser(std::make_unique<Body>(options));
}

base::Result<void> LapseChooser::add(const LapsePicture& picture) { return body_->add(picture); }
base::Result<LapseChoice> LapseChooser::finish() { return body_->finish(); }
std::size_t LapseChooser::bytes() const { return body_->bytes(); }

}  // namespace rookery::vision
