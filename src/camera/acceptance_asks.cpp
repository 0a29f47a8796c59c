#include "camera/acceptance_inner.h"

#include <algorithm>

#include <fmt/format.h>

namespace rookery::camera::acceptance_inner {
namespace {

const AcceptanceLimit& limit_of(Heading heading) {
  return *std::find_if(kAcceptanceLimits.begin(), kAcceptanceLimits.end(),
                       [&](const AcceptanceLimit& limit) { return limit.heading == heading; });
}

// Below it, what was measured as a size is not one (common practice, no source).
constexpr std::size_t kFewestOfASize = 5;

}  // namespace

Finding judged(Heading heading, double value, std::string evidence) {
  Finding out;
  out.limit = &limit_of(heading);
  out.value = value;
  out.evidence = std::move(evidence);
  const auto within = [&](double bound) {
    return out.limit->more_is_better ? value >= bound : value <= bound;
  };
  out.verdict = within(out.limit->fit)        ? Verdict::fit
                : within(out.limit->marginal) ? Verdict::marginal
                                              : Verdict::unfit;
  return out;
}

Finding unfit(Heading heading, std::string evidence) {
  Finding out;
  out.limit = &limit_of(heading);
  out.evidence = std::move(evidence);
  out.verdict = Verdict::unfit;
  return out;
}

Finding not_measured(Heading heading, std::string why) {
  Finding out;
  out.limit = &limit_of(heading);
  out.evidence = std::move(why);
  return out;
}

std::string count_of(std::uint64_t number, std::string_view what) {
  return fmt::format("{} {}{}", number, what, number == 1 ? "" : "s");
}

Finding still(const Measurements& m) {
  if (m.stills.asked == 0)
    return not_measured(Heading::still,
                        m.stills.why_not.empty() ? "no still was asked for" : m.stills.why_not);
  if (m.stills.answered == 0) {
    // Asked for and never answered is a finding, and not a hole in the test.
    return unfit(Heading::still, fmt::format("{} asked for, none came: {}", count_of(m.stills.asked, "still"),
                                             m.stills.why_not));
  }
  return judged(Heading::still, m.stills.p50.count(),
                fmt::format("median {:.0f} ms, longest {:.0f} ms, {} of {} came", m.stills.p50.count(),
                            m.stills.longest.count(), m.stills.answered, m.stills.asked));
}

Finding still_age(const Measurements& m) {
  if (!m.stills.oldest) {
    // A lamp would tell, where stills come and their stamps do not.
    const bool lamp_would = m.stills.answered > 0 && !m.lamp;
    return not_measured(Heading::still_age,
                        m.stills.why_no_age.empty()
                            ? "no still was asked for"
                            : m.stills.why_no_age + (lamp_would ? "; the lamp may tell (--lamp)" : ""));
  }
  return judged(Heading::still_age, m.stills.oldest->count(), m.stills.age_evidence);
}

Finding second_viewer(const Measurements& m) {
  if (!m.second_viewer) return not_measured(Heading::second_viewer, m.why_no_second_viewer);
  const SecondViewer& second = *m.second_viewer;
  std::string_view answer;
  switch (second.answer) {
    case SecondViewer::Answer::served:
      answer = "a second viewer is served as well";
      break;
    case SecondViewer::Answer::waits:
      answer = "a second viewer connects and hears nothing, as on most boards";
      break;
    case SecondViewer::Answer::refused:
      answer = "a second viewer is refused";
      break;
    case SecondViewer::Answer::closed:
      answer = "a second viewer's connection is closed";
      break;
  }
  // A first viewer that was cut off has no gap that could be measured: worse than any.
  const double gap_ms =
      second.first_suffered ? std::max(second.first_longest.count(), 1e4) : second.first_longest.count();
  return judged(Heading::second_viewer, gap_ms,
                fmt::format("{}; {}", answer,
                            second.first_suffered
                                ? "the first one lost its stream over it"
                                : fmt::format("the first one's longest interval meanwhile was {:.0f} ms",
                                              second.first_longest.count())));
}

Finding lamp(const Measurements& m) {
  if (!m.lamp) return not_measured(Heading::lamp, "not asked for (--lamp)");
  if (!m.lamp->why_not.empty()) return not_measured(Heading::lamp, m.lamp->why_not);
  if (m.lamp->restarts > 0 || m.lamp->dropouts > 0) {
    return unfit(Heading::lamp, fmt::format("with the lamp on the board restarted {} and dropped out {}",
                                            count_of(static_cast<std::uint64_t>(m.lamp->restarts), "time"),
                                            count_of(static_cast<std::uint64_t>(m.lamp->dropouts), "time")));
  }
  constexpr std::size_t kFewest = 10;
  if (m.lamp->intervals.count < kFewest || m.intervals.count < kFewest)
    return not_measured(Heading::lamp, "too few pictures came with the lamp on or off");
  const double on = m.lamp->intervals.p50.count();
  const double off = m.intervals.p50.count();
  return judged(Heading::lamp, on / std::max(off, 0.1),
                fmt::format("median {:.0f} ms on, {:.0f} ms off; p95 {:.0f} and {:.0f} ms", on, off,
                            m.lamp->intervals.p95.count(), m.intervals.p95.count()));
}

// Against the most that any smaller size gave: a radio or a supply that gives way carries less of large
// pictures, while a slower sensor alone carries more.
Finding sizes(const Measurements& m) {
  if (!m.sizes) return not_measured(Heading::sizes, "not asked for (--sizes)");
  std::string evidence;
  double most = 0, kept = 1;
  std::vector<SizeStep> steps = m.sizes->steps;
  std::ranges::sort(steps, {}, [](const SizeStep& one) { return one.size.width_px * one.size.height_px; });
  for (const SizeStep& step : steps) {
    if (step.intervals.count < kFewestOfASize) continue;
    evidence +=
        fmt::format("{}{}×{} px: {:.2f} frames/s of {:.1f} kB, {:.2f} Mbit/s{}", evidence.empty() ? "" : "; ",
                    step.size.width_px, step.size.height_px, step.intervals.frames_per_s, step.bytes / 1e3,
                    step.bit_per_s() / 1e6, step.broken > 0 ? fmt::format(", {} broken", step.broken) : "");
    if (most > 0) kept = std::min(kept, step.bit_per_s() / most);
    most = std::max(most, step.bit_per_s());
  }
  if (!m.sizes->why_not.empty())
    evidence += fmt::format("{}{}", evidence.empty() ? "" : "; ", m.sizes->why_not);
  const bool two = steps.size() >= 2 && steps.front().size != steps.back().size;
  if (!two) {
    return not_measured(Heading::sizes, evidence.empty()
                                            ? "the test ended before"
                                            : fmt::format("fewer than two sizes were seen; {}", evidence));
  }
  return judged(Heading::sizes, kPercent * kept, std::move(evidence));
}

}  // namespace rookery::camera::acceptance_inner
