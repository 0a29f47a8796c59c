// JobWatch: all that it has learned, as bytes. docs/job-watch.md.
#include <algorithm>
#include <cmath>

#include "vision/job_body.h"
#include "vision/job_state.h"

namespace rookery::vision {
namespace {

using base::Error;
using base::ErrorCode;

constexpr std::uint32_t kMagic = 0x574A4B52;  // "RKJW", the least byte first
constexpr std::uint32_t kVersion = 4;
constexpr int kMostSide = 8192;  // cells
constexpr double kMost_s = 400 * 86'400.0;
constexpr float kMostValue = 1e5F;  // of a cell, grey levels
constexpr std::size_t kMostStills = 64;
constexpr std::size_t kMostHistory = 240;

Error malformed(const char* detail) {
  return {ErrorCode::malformed, "what was learned of a job", detail, "It is learned anew."};
}

}  // namespace

template <class Archive>
void JobWatch::Body::visit(Archive& a) {
  a(width_, height_, at_s_, last_s_);
  for (Sign& one : signs_) a(one.stands, one.since_s, one.gone_s, one.judged_s, one.sure);
  a(before_, busy_, active_, usual_cells_, stirs_, active_s_, spacing_s_, quiet_from_s_, longest_quiet_s_,
    pause_s_, darkness_, dim_);
  const auto pictures = [&a](auto& of) {
    auto count = static_cast<std::uint32_t>(of.size());
    a(count);
    if (of.size() != count) of.resize(std::min<std::size_t>(count, kMostStills));
    for (auto& one : of) a(one);
  };
  pictures(slot_);
  a(slot_from_s_, typical_, lowest_, highest_, first_stills_, slot_stills_, outside_, slots_, growth_,
    grown_);
  pictures(lately_);
  seen_.visit(a);
  a(rest_.flat, rest_.from_s, rest_.broken_s);
  a(aged_s_, parked_, unparked_, relit_s_);
  news_.visit(a);
  a(looked_s_, loose_s_, loose_kept_, loose_share_, usual_weight_, in_usual_place_);
}

std::vector<std::byte> JobWatch::Body::save() const {
  StateWriter out;
  std::uint32_t magic = kMagic;
  std::uint32_t version = kVersion;
  out(magic, version);
  Body copy = *this;  // visit() may change what it visits
  copy.visit(out);
  return out.take();
}

base::Result<void> JobWatch::Body::restore(std::span<const std::byte> saved) {
  StateReader in(saved);
  std::uint32_t magic = 0;
  std::uint32_t version = 0;
  in(magic, version);
  if (!in.good() || magic != kMagic) return malformed("it does not begin as it should");
  if (version != kVersion)
    return Error(ErrorCode::newer_version, "what was learned of a job", fmt::format("version {}", version),
                 "It is learned anew.");
  Body made(options_);
  made.visit(in);
  if (!in.good() || !in.at_end()) return malformed("its length is wrong, or a number is none");
  if (made.width_ < 0 || made.height_ < 0 || made.width_ > kMostSide || made.height_ > kMostSide)
    return malformed("its size is none");
  const std::size_t cells = static_cast<std::size_t>(made.width_) * static_cast<std::size_t>(made.height_);
  const auto fits = [cells](const auto& one) { return one.size() == cells; };
  bool all = fits(made.before_) && fits(made.busy_) && fits(made.typical_) && fits(made.outside_) &&
             fits(made.growth_) && fits(made.lowest_) && fits(made.highest_) &&
             made.active_.size() <= kActive && made.seen_.fits(cells) &&
             made.news_.fits(made.width_, made.height_) &&
             (made.rest_.flat.empty() || fits(made.rest_.flat)) && made.grown_.size() <= kMostHistory;
  for (const Cells& one : made.slot_) all = all && fits(one);
  for (const auto& one : made.lately_) all = all && fits(one);
  if (!all) return malformed("its parts do not fit together");
  // What no picture can have led to would be divided by, or lead out of the range of whole numbers.
  const auto can_be = [](const Cells& one) {
    return std::ranges::all_of(one, [](float value) { return std::fabs(value) <= kMostValue; });
  };
  all = can_be(made.before_) && can_be(made.busy_) && can_be(made.typical_) && can_be(made.lowest_) &&
        can_be(made.highest_) && can_be(made.rest_.flat) && std::ranges::all_of(made.slot_, can_be);
  const double cells_moved[] = {made.usual_cells_, made.usual_weight_};
  for (const double one : cells_moved) all = all && one >= 0 && one <= 4 * static_cast<double>(cells) + 4;
  if (!all || made.stirs_ < 0 || made.stirs_ > 1 || made.spacing_s_ < 0 || made.spacing_s_ > kMost_s)
    return malformed("a number in it cannot be");
  // One that is still to come would blind the watch until then.
  const double times[] = {made.last_s_,   made.quiet_from_s_, made.rest_.from_s,
                          made.aged_s_,   made.relit_s_,      made.slot_from_s_,
                          made.looked_s_, made.loose_s_,      0};
  const double now_s = std::max(made.at_s_, 0.0);
  const bool signs_past = std::ranges::all_of(made.signs_, [now_s](const Sign& one) {
    return one.since_s <= now_s && one.gone_s <= now_s && one.judged_s <= now_s;
  });
  if (made.at_s_ > kMost_s || !signs_past || *std::ranges::max_element(times) > now_s)
    return malformed("a time in it is still to come");
  for (std::uint8_t& one : made.active_) one = one != 0 ? 1 : 0;
  *this = std::move(made);
  return base::ok();
}

}  // namespace rookery::vision
