#include "cli/listen_ear.h"

#include <cmath>

#include <fmt/format.h>

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

std::string time_column(proto::SinceStart at, bool live) {
  if (!live) return {};
  return at ? fmt::format("{:>8.2f} s", seconds(*at)) : fmt::format("{:>10}", "");
}

// The line, and under it what it means and what to do.
std::string to_text(const BootFinding& finding, bool live, bool with_next) {
  const std::string front = fmt::format("{:>6}{}  ", finding.line, time_column(finding.at, live));
  const std::string under(front.size(), ' ');
  std::string out = fmt::format("{}{}\n{}{}", front, finding.evidence, under, finding.words.meaning);
  if (with_next) out += fmt::format("\n{}To do: {}", under, finding.words.next);
  return out;
}

boost::json::object to_json(const BootFinding& finding) {
  boost::json::object out{{"what", "line"}, {"line", finding.line}};
  if (finding.at) out["at_s"] = rounded(*finding.at);
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
  context_.print(to_json(finding), to_text(finding, live_, with_next));
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

// On `err`, so that what is on `out` is the log and the verdict alone.
void Ear::say_rate(Baud from, std::optional<Baud> to) {
  if (said_no_rate_) return;
  if (!to) {
    said_no_rate_ = true;
    context_.err << fmt::format("Garbage at {} bits a second: the rate is another.\n", from.bits_per_s);
  } else if (search_.refused() < proto::kUsualRates.size()) {
    context_.err << fmt::format("Garbage at {} bits a second: the rate is another. Trying {}.\n",
                                from.bits_per_s, to->bits_per_s);
  } else {
    said_no_rate_ = true;
    context_.err << "No usual rate makes text of what comes. Going on through them.\n";
  }
  context_.err.flush();
}

void Ear::say_new_rate() { say_rate(left_, rate()); }

void Ear::hear_nothing(milliseconds now) {
  if (said_silent_ || now < kSilence || search_.bytes() > 0) return;
  said_silent_ = true;
  const BootSummary sum = log_.summary(now);
  context_.err << "Nothing heard for 10 s. " << sum.next << '\n' << std::flush;
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
  std::string text = "Verdict: " + sum.verdict;
  if (!sum.next.empty()) text += "\nTo do: " + sum.next;
  context_.print(object, text);
  say_sum(sum, now);
  context_.exit_code = sum.good ? kDone : kCheckFailed;
}

void Ear::say_sum(const BootSummary& sum, proto::SinceStart now) const {
  std::string out = fmt::format("{} line{}", sum.lines, sum.lines == 1 ? "" : "s");
  if (live_ && now) out += fmt::format(" in {:.0f} s", seconds(*now));
  if (live_) out += fmt::format(", at {} bits a second", rate().bits_per_s);
  for (const auto& [kind, count] : sum.counts) {
    if (count > 1) out += fmt::format("; {} {} times", kind, count);
  }
  context_.err << out << ".\n" << std::flush;
}

}  // namespace rookery::cli
