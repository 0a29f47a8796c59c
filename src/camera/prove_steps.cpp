// What an acceptance test tells the board to do: switch its lamp, change its size, and both back again.
#include <algorithm>

#include <fmt/format.h>

#include "camera/prove_run.h"

namespace rookery::camera {
namespace {

// Ours (common practice, no source).
constexpr milliseconds kBetweenLampStills{100};
constexpr int kMostLampStills = 8;         // boards have at most four buffers (board reports)
constexpr double kBrighter = 5;            // grey levels, and a twentieth of the level before
constexpr milliseconds kSizeTakes{5'000};  // until pictures have another size
constexpr std::size_t kFewestOfASize = 5;

}  // namespace

// One control request; a board that answers none while it streams is let go meanwhile.
Result<void> ProveRun::set(std::string_view stage, const std::string& key, int value) {
  const Profile& profile = *options_.profile;
  auto host = with_sign_in(pulled_address());
  if (!host) return host.error();
  auto address = profile.control_at(*host, key, value);
  if (!address) return address.error();
  const bool let_go = !profile.control->while_streaming && !is_over_;
  if (let_go) stop_pull();
  auto done = ask<Result<void>>(stage, kAskLimit,
                                [&](net::HttpClient& client) { return fetch_control(client, *address); });
  if (let_go && going_) pull_.start();
  return done;
}

void ProveRun::switch_lamp_off(bool was_on) {
  // Also when it did not answer: it may have heard. A board that just restarted may not hear it the first
  // time; its lamp is off then.
  const auto off = set("switching the lamp", options_.profile->lamp->key, options_.profile->lamp->off);
  if (was_on && !off) cut_short_ = "the lamp may still be on: " + off.error().text();
}

void ProveRun::watch_lamp(milliseconds length) {
  lamp_.emplace();
  const Status before = pull_.status();
  const int restarts_before = books_.restarts();
  const auto on = set("switching the lamp", options_.profile->lamp->key, options_.profile->lamp->on);
  if (!on) lamp_->why_not = "the lamp could not be switched on: " + on.error().text();
  if (on) {
    books_.phase(ProvePhase::lamp);
    static_cast<void>(watch("lamp on", length));
    lamp_->intervals = books_.intervals(ProvePhase::lamp);
    lamp_->restarts = books_.restarts() - restarts_before;
    lamp_->dropouts = static_cast<int>(pull_.status().counters.dropouts - before.counters.dropouts);
  }
  switch_lamp_off(on.has_value());
  books_.phase(ProvePhase::plain);
}

std::optional<StillSeen> ProveRun::one_still(std::string_view stage) {
  const auto address = with_sign_in(options_.settings.still_address);
  if (!address) return std::nullopt;
  auto seen = ask<Result<StillSeen>>(
      stage, kAskLimit, [&](net::HttpClient& client) { return fetch_still(client, *address, clock_); });
  if (!seen || !going_) return std::nullopt;
  for (const MonoTime next = now() + kBetweenLampStills; now() < next && pump(stage);) {
  }
  return *seen;
}

// The lamp as a clock: a still that was asked for after it went on and does not show it is older than that.
// At the very end, without a stream, so that neither the lamp nor the asking disturbs what else is measured.
void ProveRun::find_age_by_lamp(StillMeasures& stills) {
  constexpr std::string_view kStage = "how old stills are";
  const ProfileLamp& lamp = *options_.profile->lamp;
  static_cast<void>(one_still(kStage));  // the first may be of long ago
  const auto dark = one_still(kStage);
  if (!dark) {
    stills.why_no_age = "no still came at the end";
    return;
  }
  const auto on = set(kStage, lamp.key, lamp.on);
  const MonoTime lit = now();
  const double bright = dark->level + std::max(kBrighter, dark->level / 20);
  Millis oldest{};
  int old = 0;
  bool seen = false;
  for (int i = 0; on && !seen && going_ && i < kMostLampStills; ++i) {
    const auto still = one_still(kStage);
    if (!still) break;
    seen = still->level > bright;
    if (seen) break;
    ++old;
    oldest = still->asked - lit;
  }
  switch_lamp_off(on.has_value());
  if (!seen) {
    stills.why_no_age = !on ? "the lamp could not be switched on: " + on.error().text()
                            : "the lamp makes the picture no brighter, so it does not tell";
    return;
  }
  stills.oldest = oldest;
  stills.age_evidence =
      old == 0
          ? "the first still that was asked for after the lamp went on shows it"
          : fmt::format(
                "{} asked for after the lamp went on still {} the dark, the last of them {:.0f} ms after",
                old == 1 ? "the first still" : fmt::format("the first {} stills", old),
                old == 1 ? "showed" : "show", oldest.count());
}

Result<int> ProveRun::fetch_value(std::string_view stage, const std::string& key) {
  auto host = with_sign_in(pulled_address());
  if (!host) return host.error();
  auto address = options_.profile->status_at(*host);
  if (!address) return address.error();
  const bool let_go = !options_.profile->status->while_streaming;
  if (let_go) stop_pull();
  auto value = ask<Result<int>>(
      stage, kAskLimit, [&](net::HttpClient& client) { return fetch_status_value(client, *address, key); });
  if (let_go && going_) pull_.start();
  return value;
}

Result<SizeStep> ProveRun::watch_size(int value, bool is_new, milliseconds length) {
  const PixelSize before = pull_.status().size;
  if (auto done = set("changing the size", options_.profile->sizes->key, value); !done) return done.error();
  // What is on its way still has the old size.
  const MonoTime until = now() + kSizeTakes;
  while (is_new && now() < until && pull_.status().size == before && pump("changing the size")) {
  }
  books_.phase(ProvePhase::sizes);  // anew
  const std::uint64_t broken_before = pull_.status().counters.rejected_total();
  static_cast<void>(watch(fmt::format("size {}", value), length));
  SizeStep out;
  out.value = value;
  out.size = pull_.status().size;
  out.intervals = books_.intervals_now();
  out.bytes = books_.bytes_now();
  out.broken = pull_.status().counters.rejected_total() - broken_before;
  if (out.intervals.count < kFewestOfASize && going_) {
    return Error(ErrorCode::timed_out, fmt::format("size {}", value),
                 fmt::format("{} pictures came in {:.0f} s", out.intervals.count,
                             std::chrono::duration<double>(length).count()));
  }
  return out;
}

// Whatever happened before: the board gets its own size again, and its pictures must show it.
void ProveRun::set_size_back(int value, PixelSize before) {
  const auto back = set("setting the size back", options_.profile->sizes->key, value);
  const MonoTime until = now() + kSizeTakes;
  while (back && now() < until && pull_.status().size != before && pump("setting the size back")) {
  }
  sizes_->set_back = back && (pull_.status().size == before || !going_);
  if (!sizes_->set_back) {
    cut_short_ = fmt::format("the board may still send another size than before ({}×{} px; {} {}): {}",
                             before.width_px, before.height_px, options_.profile->sizes->key, value,
                             back ? "its pictures are of another size" : back.error().text());
  }
}

void ProveRun::watch_sizes(milliseconds length) {
  sizes_.emplace();
  const ProfileSizes& wanted = *options_.profile->sizes;
  // Without knowing what to go back to, nothing is changed.
  const auto own = fetch_value("asking for the size", wanted.key);
  if (!own) {
    sizes_->why_not =
        "the board does not tell its present size, so it could not be set back: " + own.error().text();
    return;
  }
  const PixelSize before = pull_.status().size;
  int present = *own;
  books_.phase(ProvePhase::sizes);
  for (const int value : wanted.steps) {
    if (!going_ || !cut_short_.empty()) break;
    auto step = watch_size(value, value != present, length);
    present = value;
    if (!step) {
      sizes_->why_not = step.error().text();
      break;
    }
    if (going_) sizes_->steps.push_back(std::move(*step));
  }
  set_size_back(*own, before);
  books_.phase(ProvePhase::plain);
}

}  // namespace rookery::camera
