#include "cli/listen_ear.h"

#include <unistd.h>

#include <cmath>
#include <iostream>

#include <fmt/format.h>

#include "cli/stop_signal.h"

namespace rookery::cli {
namespace {

using proto::Baud;
using proto::BootFinding;
using proto::BootSummary;
using std::chrono::milliseconds;

// A board says something within a second of its reset; whoever plugs it in needs a few.
constexpr milliseconds kSilence{10000};

double seconds(milliseconds span) { return std::chrono::duration<double>(span).count(); }
double rounded(milliseconds span) { return std::round(seconds(span) * 1000) / 1000; }

// Below so many columns a finding has its number and time on a line of their own.
constexpr std::size_t kNarrow = 60;

// Of a live board since the listening began; of a stored log since the board's own start, by its stamps.
std::string time_text(const BootFinding& finding, bool live) {
  const proto::SinceStart at = live ? finding.at : finding.since_boot;
  return at ? fmt::format("{:.2f} s", seconds(*at)) : std::string();
}

// The line, and under it what it means and what to do.
std::string to_text(const BootFinding& finding, bool live, bool with_next, const Terminal& terminal) {
  const std::string time = time_text(finding, live);
  const bool narrow = terminal.width > 0 && terminal.width < kNarrow;
  const std::string front = narrow
                                ? fmt::format("line {}{}{}\n  ", finding.line, time.empty() ? "" : "  ", time)
                                : fmt::format("{:>6}{:>10}  ", finding.line, time);
  const std::size_t indent = narrow ? 2 : front.size();
  const std::string under = '\n' + std::string(indent, ' ');
  const std::string meaning = wrapped(finding.words.meaning, indent, terminal.width);
  std::string out = front + wrapped(finding.evidence, indent, terminal.width) + under +
                    (finding.words.weight == proto::Weight::bad ? terminal.amber(meaning) : meaning);
  if (with_next) out += under + wrapped("To do: " + finding.words.next, indent, terminal.width);
  return out;
}

boost::json::object to_json(const BootFinding& finding) {
  boost::json::object out{{"what", "line"}, {"line", finding.line}};
  if (finding.at) out["at_s"] = rounded(*finding.at);
  if (finding.since_boot) out["since_boot_s"] = rounded(*finding.since_boot);
  out["kind"] = proto::name_of(finding.kind);
  out["weight"] = proto::name_of(finding.words.weight);
  out["evidence"] = finding.evidence;
  out["meaning"] = finding.words.meaning;
  out["next"] = finding.words.next;
  return out;
}

}  // namespace

Ear::Ear(Context& context, bool live, std::optional<Baud> given)
    : context_(context),
      live_(live),
      given_(given.has_value()),
      search_(live ? given : given.value_or(Baud{})),
      log_([this](const BootFinding& finding) { tell(finding); }),
      lines_([this](const proto::BootLine& line) { log_.take(line); }) {}

// What to do is said once: in a loop it would stand under every start. There are as many as there are
// constants.
void Ear::tell(const BootFinding& finding) {
  const bool with_next = !finding.words.next.empty() && said_.insert(finding.words.next).second;
  context_.print(to_json(finding), to_text(finding, live_, with_next, context_.terminal()));
}

// On `err`, so that what is on `out` is the log and the verdict alone.
void Ear::say(std::string_view text) {
  const Terminal terminal = &context_.err == &std::cerr ? terminal_at(STDERR_FILENO) : Terminal();
  context_.err << wrapped(text, 0, terminal.width) << '\n' << std::flush;
}

std::optional<Baud> Ear::hear(std::string_view bytes, proto::SinceStart at) {
  const Baud before = search_.rate();
  const auto step = search_.push(bytes);
  lines_.push(step.text, at);
  if (step.restart) lines_.drop_begun();
  if (live_ && search_.verdict() == proto::RateVerdict::garbage) say_rate(before, std::nullopt);
  if (step.go_to) left_ = before;
  return step.go_to;
}

void Ear::say_rate(Baud from, std::optional<Baud> to) {
  if (said_no_rate_) return;
  if (!to) {
    said_no_rate_ = true;
    say(fmt::format("Garbage at {} bits a second: the rate is another.", from.bits_per_s));
  } else if (search_.refused() < proto::kUsualRates.size()) {
    say(fmt::format("Garbage at {} bits a second: the rate is another. Trying {}.", from.bits_per_s,
                    to->bits_per_s));
  } else {
    said_no_rate_ = true;
    say("No usual rate makes text of what comes. Going on through them.");
  }
}

void Ear::say_new_rate() { say_rate(left_, rate()); }

void Ear::hear_nothing(milliseconds now) {
  if (said_silent_ || now < kSilence || search_.bytes() > 0) return;
  said_silent_ = true;
  const BootSummary sum = log_.summary(now);
  say("Nothing heard for 10 s. " + sum.next);
}

// What stands in the way of a verdict though bytes came: none when a line said something, or no byte came.
std::optional<std::string> Ear::rate_state() const {
  if (search_.bytes() == 0 || !log_.summary(std::nullopt).counts.empty()) return std::nullopt;
  if (search_.refused() > 0 || search_.verdict() == proto::RateVerdict::garbage) return "garbage";
  if (lines_.lines() > 0) return std::nullopt;
  return "too-little";
}

BootSummary Ear::summary(proto::SinceStart now) const {
  BootSummary sum = log_.summary(now);
  const auto state = rate_state();
  if (!state) return sum;
  const std::string bytes = fmt::format("{} byte{}", search_.bytes(), search_.bytes() == 1 ? "" : "s");
  if (*state == "too-little") {
    sum.verdict = fmt::format("{} heard, too few to tell whether this is text", bytes);
    sum.next = "Press reset while this listens.";
  } else if (!live_) {
    sum.verdict = fmt::format("{} that are no text: stored at a wrong rate, or no log", bytes);
    sum.next = "Listen to the board again with `rookery listen PORT`, which finds the rate.";
  } else if (given_) {
    sum.verdict = fmt::format("garbage at {} bits a second: the rate is another", rate().bits_per_s);
    sum.next = "Leave --rate away: the usual rates are tried in turn.";
  } else {
    sum.verdict = fmt::format("{} heard, text at none of the rates tried", bytes);
    sum.next =
        "Listen longer while the board starts; if it stays so, check that ground goes to ground, and give "
        "the "
        "rate of the board's program with --rate.";
  }
  return sum;
}

void Ear::sum_up(proto::SinceStart now) {
  lines_.push(search_.finish(), now);
  lines_.finish();
  const BootSummary sum = summary(live_ ? now : std::nullopt);
  boost::json::object counts;
  for (const auto& [kind, count] : sum.counts) counts[kind] = count;
  boost::json::object object{
      {"what", "verdict"},          {"state", rate_state().value_or(std::string(proto::name_of(sum.state)))},
      {"good", sum.good},           {"verdict", sum.verdict},
      {"next", sum.next},           {"lines", sum.lines},
      {"bytes", search_.bytes()},   {"starts", sum.starts},
      {"counts", std::move(counts)}};
  if (!sum.address.empty()) object["address"] = sum.address;
  if (sum.restarts > 0) object["restarts"] = sum.restarts;
  if (sum.period) object["period_s"] = rounded(*sum.period);
  if (sum.period) object["period_even"] = sum.period_even;
  if (live_) object["rate"] = rate().bits_per_s;
  if (live_ && now) object["heard_s"] = rounded(*now);
  const Terminal terminal = context_.terminal();
  const std::string verdict = wrapped("Verdict: " + sum.verdict, 0, terminal.width);
  std::string text = sum.good ? terminal.bold(verdict) : terminal.amber(verdict);
  if (!sum.next.empty()) text += '\n' + wrapped("To do: " + sum.next, 0, terminal.width);
  // The terminal has written ^C where the cursor stood.
  if (terminal.width > 0 && asked_to_stop() && !context_.json) context_.out << '\n';
  context_.print(object, text);
  say_sum(sum, now);
  context_.exit_code = sum.good ? kDone : kCheckFailed;
}

void Ear::say_sum(const BootSummary& sum, proto::SinceStart now) {
  std::string out = fmt::format("{} line{}", sum.lines, sum.lines == 1 ? "" : "s");
  if (live_ && now) out += fmt::format(" in {:.0f} s", seconds(*now));
  if (live_) out += fmt::format(", at {} bits a second", rate().bits_per_s);
  for (const auto& [kind, count] : sum.counts) {
    if (count > 1) out += fmt::format("; {} {} times", kind, count);
  }
  say(out + '.');
}

}  // namespace rookery::cli
