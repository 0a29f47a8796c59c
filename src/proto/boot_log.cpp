#include "proto/boot_log.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "proto/wlan_reasons.h"

namespace rookery::proto {
namespace {

using std::chrono::milliseconds;

// Starts kept for the spacing of a loop. Any number above three does.
constexpr std::size_t kKeptStarts = 16;
// Kinds of lines counted apart: there are about 15, with codes; a hostile log could make up codes without
// end.
constexpr std::size_t kMostKinds = 64;
// From so many starts in a row for one reason it is a loop (common practice, no source).
constexpr std::uint64_t kLoop = 3;
// How far the spacing of an even loop strays from its mean (common practice, no source).
constexpr double kEven = 0.2;
// A loop has ended when the board has been up for so many times its period.
constexpr int kCalm = 3;

constexpr const char* kMemory =
    "Switch the extra memory on in the program's settings, or choose a smaller picture.";
constexpr const char* kSilent =
    "Check that the board has power, that its TX goes to the adapter's RX and ground to ground, that this is "
    "the adapter's port; then press reset.";

std::string key_of(const BootFact& fact) {
  const std::string name(name_of(fact.kind));
  switch (fact.kind) {
    case BootFactKind::reset:
    case BootFactKind::panic:
      return name;
    case BootFactKind::camera_failed:
      return fmt::format("{} 0x{:x}", name, fact.code);
    case BootFactKind::join_failed:
    case BootFactKind::send_failed:
      return fmt::format("{} {}", name, fact.code);
    default:
      return fact.detail.empty() ? name : fmt::format("{} {}", name, fact.detail);
  }
}

bool is_fault(ResetCause cause) {
  return cause == ResetCause::brown_out || cause == ResetCause::panic || cause == ResetCause::watchdog ||
         cause == ResetCause::flash;
}

bool is_even(const std::vector<milliseconds>& spans) {
  if (spans.size() < 2) return false;
  const auto [least, most] = std::ranges::minmax_element(spans);
  milliseconds sum{0};
  for (const milliseconds span : spans) sum += span;
  const double mean = static_cast<double>(sum.count()) / static_cast<double>(spans.size());
  return static_cast<double>(most->count()) <= mean * (1 + kEven) &&
         static_cast<double>(least->count()) >= mean * (1 - kEven);
}

double seconds(milliseconds span) { return std::chrono::duration<double>(span).count(); }

std::string counted(std::uint64_t count, std::string_view what) {
  return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

}  // namespace

std::string_view name_of(BoardState state) {
  constexpr std::array<std::string_view, 12> kNames = {"silent",  "unclear",     "started",   "joined",
                                                       "serving", "programming", "looping",   "flash",
                                                       "crashed", "no-camera",   "no-memory", "not-joined"};
  return kNames.at(static_cast<std::size_t>(state));
}

void BootLog::take(const BootLine& line) {
  ++lines_;
  if (const auto stamp = board_stamp_ms(line.text)) run_.last_stamp_ms = stamp;
  const auto fact = read_boot_line(line.text);
  if (!fact) return;
  ResetCause cause = ResetCause::unknown;
  if (fact->kind == BootFactKind::reset) {
    cause = cause_of(*fact);
    begin_run(*fact, cause, line.at);
  } else {
    note(*fact);
  }
  run_.last = fact->kind;
  if (!is_new(key_of(*fact)) && fact->kind != BootFactKind::reset) return;
  SinceStart since_boot;
  if (run_.last_stamp_ms) since_boot = milliseconds(*run_.last_stamp_ms);
  tell_({fact->kind, line.number, line.at, since_boot, words_for(*fact, cause), fact->evidence});
}

// Some builds restart "by software" after the brown-out detector or a crash: what was said before counts more
// than the code.
ResetCause BootLog::cause_of(const BootFact& reset) const {
  const ResetCause by_code = reset_cause(reset.code);
  const bool by_program = by_code == ResetCause::software || by_code == ResetCause::watchdog;
  if (run_.brown_out && (by_program || by_code == ResetCause::power_on)) return ResetCause::brown_out;
  if (run_.panic && by_program) return ResetCause::panic;
  if (run_.flash && by_program) return ResetCause::flash;
  if (run_.last == BootFactKind::task_watchdog && by_program) return ResetCause::watchdog;
  return by_code;
}

void BootLog::begin_run(const BootFact& reset, ResetCause cause, SinceStart at) {
  if (!recent_.empty()) {
    recent_.back().ran_ms = run_.last_stamp_ms;
    recent_.back().served = !run_.address.empty();
  }
  ++starts_;
  ++causes_[cause];
  streak_ = !recent_.empty() && recent_.back().cause == cause ? streak_ + 1 : 1;
  if (recent_.size() == kKeptStarts) recent_.pop_front();
  recent_.push_back({cause, at, std::nullopt, false});
  run_ = {};
  run_.started = true;
  run_.mode = reset.mode;
  // In a loop everything would be told again each time.
  if (streak_ < kLoop) told_.clear();
}

void BootLog::note(const BootFact& fact) {
  switch (fact.kind) {
    case BootFactKind::waiting_for_download:
      run_.mode = BootMode::programming;
      break;
    case BootFactKind::flash_unreadable:
      run_.flash = true;
      break;
    case BootFactKind::brown_out:
      run_.brown_out = true;
      break;
    case BootFactKind::panic:
      run_.panic = true;
      break;
    case BootFactKind::camera_failed:
      run_.camera_error = fact.code;
      break;
    case BootFactKind::camera_detected:
      run_.camera_error.reset();
      run_.sensor = fact.detail;
      break;
    case BootFactKind::no_frame_memory:
      run_.no_memory = true;
      break;
    case BootFactKind::join_failed:
      run_.join_reason = fact.code;
      run_.joined = false;
      break;
    case BootFactKind::joined:
      run_.joined = true;
      run_.join_reason.reset();
      break;
    case BootFactKind::address:
      run_.address = fact.detail;
      run_.joined = true;
      run_.join_reason.reset();
      break;
    default:
      break;
  }
}

bool BootLog::is_new(const std::string& key) {
  if (const auto counted = counts_.find(key); counted != counts_.end()) {
    ++counted->second;
  } else {
    ++counts_[counts_.size() < kMostKinds ? key : "others"];
  }
  if (told_.size() >= kMostKinds) return false;
  return told_.insert(key).second;
}

// How long the board was up between the starts of the streak that are kept: by our clock, else by its own.
std::vector<milliseconds> BootLog::intervals() const {
  std::vector<milliseconds> out;
  const std::size_t kept = std::min<std::size_t>(recent_.size(), streak_);
  for (std::size_t i = recent_.size() - kept; i + 1 < recent_.size(); ++i) {
    const Start& start = recent_[i];
    const Start& after = recent_[i + 1];
    if (start.at && after.at) {
      out.push_back(*after.at - *start.at);
    } else if (start.ran_ms) {
      out.emplace_back(*start.ran_ms);
    }
  }
  return out;
}

// Whoever presses reset three times, or sends three programs, makes no loop; an even beat does.
bool BootLog::is_looping(SinceStart now, const BootSummary& so_far) const {
  if (streak_ < kLoop) return false;
  const Start& last = recent_.back();
  if (last.cause == ResetCause::deep_sleep) return false;
  if (!is_fault(last.cause) && !so_far.period_even) return false;
  if (now && last.at && so_far.period) return *now - *last.at < kCalm * *so_far.period;
  // A stored log: the board's own clock tells how long it has been up.
  if (so_far.period && run_.last_stamp_ms && milliseconds(*run_.last_stamp_ms) >= kCalm * *so_far.period)
    return false;
  const bool served_before = recent_[recent_.size() - 2].served;
  return run_.address.empty() || served_before;
}

BootSummary BootLog::summary(SinceStart now) const {
  BootSummary out;
  out.lines = lines_;
  out.starts = starts_;
  out.counts = counts_;
  out.address = run_.address;
  judge(now, out);
  return out;
}

void BootLog::judge(SinceStart now, BootSummary& out) const {
  if (run_.mode == BootMode::programming) {
    out.state = BoardState::programming;
    out.verdict = "in programming mode";
    out.next = remedy_for(BootMode::programming);
    return;
  }
  const auto spans = intervals();
  if (streak_ >= kLoop && !spans.empty()) {
    milliseconds sum{0};
    for (const milliseconds span : spans) sum += span;
    out.period = sum / static_cast<std::int64_t>(spans.size());
    out.period_even = is_even(spans);
  }
  if (!is_looping(now, out)) {
    out.period.reset();
    out.period_even = false;
    judge_run(now, out);
    return;
  }
  const ResetCause cause = recent_.back().cause;
  out.state = BoardState::looping;
  out.restarts = streak_;
  const double period_s = out.period ? seconds(*out.period) : 0;
  const std::string beat = !out.period       ? "again and again"
                           : out.period_even ? fmt::format("every {:.1f} s", period_s)
                                             : fmt::format("about every {:.1f} s", period_s);
  out.verdict = fmt::format("restarts {} by {} ({})", beat, words_for(cause), counted(streak_, "start"));
  out.next = remedy_for(cause);
  if (run_.mode != BootMode::wrong_flash_voltage) return;
  out.verdict += ", with the wrong flash voltage";
  out.next = remedy_for(run_.mode);
}

// What is wrong since the last start, the gravest first. Returns false when nothing is.
bool BootLog::judge_faults(BootSummary& out) const {
  const auto bad = [&out](BoardState state, std::string verdict, std::string next) {
    out.state = state;
    out.verdict = std::move(verdict);
    out.next = std::move(next);
    return true;
  };
  const std::string where = run_.address.empty() ? "" : fmt::format(", though it serves at {}", run_.address);
  const bool strap = run_.mode == BootMode::wrong_flash_voltage;
  if (run_.flash || (strap && !run_.joined && run_.sensor.empty() && !run_.camera_error)) {
    return bad(BoardState::flash,
               strap ? "cannot read its program: wrong flash voltage" : "cannot read its program",
               strap ? remedy_for(run_.mode) : remedy_for(ResetCause::flash));
  }
  if (run_.brown_out || run_.panic) {
    const ResetCause cause = run_.brown_out ? ResetCause::brown_out : ResetCause::panic;
    return bad(BoardState::crashed,
               fmt::format("stopped by a {}, and no start was heard after it", words_for(cause)),
               remedy_for(cause));
  }
  if (run_.camera_error) {
    return bad(BoardState::no_camera,
               fmt::format("the camera was not found (0x{:x}){}", *run_.camera_error, where),
               words_for_camera_error(*run_.camera_error).next);
  }
  if (run_.no_memory) return bad(BoardState::no_memory, "no memory for pictures" + where, kMemory);
  if (run_.join_reason) {
    const WlanReason reason = wlan_reason(*run_.join_reason);
    return bad(BoardState::not_joined,
               fmt::format("not in the network: {} (reason {})", reason.meaning, *run_.join_reason),
               std::string(reason.next));
  }
  return false;
}

void BootLog::judge_run(SinceStart now, BootSummary& out) const {
  if (judge_faults(out)) return;
  std::vector<std::string> said;
  if (run_.started) said.emplace_back("started");
  if (!run_.sensor.empty() && run_.address.empty())
    said.push_back(fmt::format("has its sensor ({})", run_.sensor));
  if (run_.joined) said.emplace_back("joined");
  if (!run_.address.empty()) said.push_back("serves at " + run_.address);
  if (said.empty()) {
    out.state = lines_ == 0 ? BoardState::silent : BoardState::unclear;
    out.verdict = lines_ == 0 && now ? fmt::format("nothing heard in {:.0f} s", seconds(*now))
                  : lines_ == 0
                      ? "nothing heard"
                      : fmt::format("{} heard, but none tells how the board is", counted(lines_, "line"));
    out.next = lines_ == 0 ? kSilent : "Press reset while this listens.";
    return;
  }
  out.state = !run_.address.empty() ? BoardState::serving
              : run_.joined         ? BoardState::joined
                                    : BoardState::started;
  out.good = true;
  out.verdict = fmt::format("{}{}", fmt::join(said, ", "), afterwards());
}

// What a board that is well now went through before: "; before that 2 restarts by brown-out".
std::string BootLog::afterwards() const {
  std::string out;
  for (const auto& [cause, count] : causes_) {
    if (is_fault(cause)) out += fmt::format("; {} by {}", counted(count, "restart"), words_for(cause));
  }
  std::uint64_t broken = 0;
  for (const auto& [key, count] : counts_) {
    if (key.starts_with(name_of(BootFactKind::capture_fault))) broken += count;
  }
  if (broken > 0) out += fmt::format("; {} dropped", counted(broken, "broken picture"));
  return out;
}

}  // namespace rookery::proto
