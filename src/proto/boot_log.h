// Explains a board's serial log: what each line means, what to do next, and how the board is at the end.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "proto/boot_facts.h"
#include "proto/boot_lines.h"
#include "proto/boot_words.h"

namespace rookery::proto {

// immutable value. One line that says something. Texts as in BootFact.
struct BootFinding {
  BootFactKind kind = BootFactKind::reset;
  std::uint64_t line = 0;
  SinceStart at;
  SinceStart since_boot;  // by the board's own stamp, on this line or the last before it since its start
  BootWords words;
  std::string evidence;
};

enum class BoardState {
  silent,       // no line came
  unclear,      // lines, but none that says how it is
  started,      // nothing more was said
  joined,       // in the network, no address of a page was printed
  serving,      // and an address was
  programming,  // waits for a program
  looping,      // restarts again and again
  flash,        // cannot read its program
  crashed,      // the last thing was a brown-out or a panic
  no_camera,    // the sensor was not found
  no_memory,    // no room for pictures
  not_joined,   // refused by the network, or does not find it
};

// A machine word: "serving", "no-camera", …
std::string_view name_of(BoardState state);

// immutable value.
struct BootSummary {
  BoardState state = BoardState::silent;
  bool good = false;    // started, joined or serving
  std::string verdict;  // "started, joined, serves at http://192.0.2.17/"
  std::string next;     // may be empty
  std::string address;  // redacted; empty when none was printed since the last start
  std::uint64_t lines = 0;
  std::uint64_t starts = 0;                         // that were heard
  std::uint64_t restarts = 0;                       // of a loop; 0 when there is none
  std::optional<std::chrono::milliseconds> period;  // of a loop
  bool period_even = false;                         // each within 20 % of it
  std::map<std::string, std::uint64_t> counts;      // "capture-fault NO-EOI": 12
};

// strand-bound. Its memory does not grow with the log.
class BootLog {
 public:
  using Tell = std::function<void(const BootFinding&)>;
  // `tell` is called from take(): for each start, and for the first of a kind of line since then; while a
  // board restarts again and again, for the first of a kind ever. All are counted.
  explicit BootLog(Tell tell) : tell_(std::move(tell)) {}

  void take(const BootLine& line);
  // `now`: how long was listened; none where times are not known.
  BootSummary summary(SinceStart now) const;

 private:
  // A start that was heard.
  struct Start {
    ResetCause cause = ResetCause::unknown;
    SinceStart at;
    std::optional<std::uint32_t> ran_ms;  // by the board's own stamps, until the next
    bool served = false;
  };
  // What was heard since the last one.
  struct Run {
    bool started = false;
    BootMode mode = BootMode::unknown;
    bool joined = false, no_memory = false, flash = false, brown_out = false, panic = false;
    std::optional<std::uint32_t> camera_error, join_reason;
    std::string sensor, address;
    std::optional<std::uint32_t> last_stamp_ms;
    std::optional<BootFactKind> last;
  };

  ResetCause cause_of(const BootFact& reset) const;
  void begin_run(const BootFact& reset, ResetCause cause, SinceStart at);
  void note(const BootFact& fact);
  bool is_new(const std::string& key);
  std::vector<std::chrono::milliseconds> intervals() const;
  bool is_looping(SinceStart now, const BootSummary& so_far) const;
  void judge(SinceStart now, BootSummary& out) const;
  void judge_run(SinceStart now, BootSummary& out) const;
  bool judge_faults(BootSummary& out) const;
  std::string afterwards() const;

  Tell tell_;
  std::uint64_t lines_ = 0, starts_ = 0;
  std::deque<Start> recent_;  // the last of them, oldest first
  std::uint64_t streak_ = 0;  // starts with one cause, up to the last
  std::map<ResetCause, std::uint64_t> causes_;
  Run run_;
  std::map<std::string, std::uint64_t> counts_;
  std::set<std::string> told_;
};

}  // namespace rookery::proto
