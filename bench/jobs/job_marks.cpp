#include "bench/jobs/job_marks.h"

#include <algorithm>

#include <fmt/format.h>

namespace rookery::bench {
namespace {

using sim::JobTruth;
using vision::JobSign;

constexpr double kGrace = 30;     // seconds
constexpr double kMessAt = 0.05;  // of the picture
constexpr double kStartTold = 200;

bool is_so(const JobTruth& t, JobSign sign) {
  switch (sign) {
    case JobSign::finished:
      return t.finished;
    case JobSign::still:
      return t.stalled;
    case JobSign::not_growing:
      return t.barren_since_s && t.under_way && !t.stalled && !t.paused;
    case JobSign::detached:
      return t.detached_since_s.has_value();
    case JobSign::shifted:
      return t.shifted_since_s.has_value();
    case JobSign::mess:
      return t.mess_share > 0;
    case JobSign::knocked:
      return t.knocked;
    case JobSign::covered:
      return t.covered;
    case JobSign::unsharp:
      return t.unsharp;
  }
  return false;
}

bool is_view(JobSign sign) {
  return sign == JobSign::knocked || sign == JobSign::covered || sign == JobSign::unsharp;
}
bool view_lost(const JobTruth& t) { return t.knocked || t.covered || t.unsharp; }
bool is_spoilt(const JobTruth& t) { return t.detached_since_s || t.stalled || view_lost(t); }

double allowed(JobSign sign, double still_after_s) {
  switch (sign) {
    case JobSign::detached:
    case JobSign::knocked:
    case JobSign::covered:
      return 60;
    case JobSign::finished:
    case JobSign::unsharp:
      return 120;
    case JobSign::still:
      return still_after_s + kGrace;
    case JobSign::not_growing:
    case JobSign::shifted:
      return 1'200;
    case JobSign::mess:
      return 0;
  }
  return 0;
}

// The first stretch in which it is so.
struct Spell {
  bool any = false;
  double from = 0;
  double to = 0;  // of its last moment
  double by = 0;  // to be said by then
  bool due = false;
};

// When it began to be so: exactly, where that is known.
double onset(const JobMoment& m, JobSign sign) {
  if (sign == JobSign::detached) return *m.truth.detached_since_s;
  if (sign == JobSign::shifted) return *m.truth.shifted_since_s;
  return m.at_s;
}

// When it must have been said: what goes by with a person in the picture does not count, and for `still` the
// time begins anew. Nothing: the spell ends before.
std::optional<double> time_is_up(const std::vector<JobMoment>& moments, const Spell& spell, JobSign sign,
                                 double still_after_s) {
  const double may_take = allowed(sign, still_after_s);
  double counted = 0;
  double before = spell.from;
  for (const JobMoment& m : moments) {
    if (m.at_s <= spell.from) continue;
    if (m.at_s > spell.to) return std::nullopt;
    if (!m.truth.hand) counted += m.at_s - before;
    if (m.truth.hand && sign == JobSign::still) counted = 0;
    if (counted >= may_take) return m.at_s;
    before = m.at_s;
  }
  return std::nullopt;
}

Spell spell_of(const std::vector<JobMoment>& moments, JobSign sign, double still_after_s) {
  Spell spell;
  double five = -1;
  for (const JobMoment& m : moments) {
    if (m.at_s < 0) continue;
    if (!is_so(m.truth, sign)) {
      if (spell.any) break;
      continue;
    }
    if (!spell.any) spell.from = onset(m, sign);
    spell.any = true;
    spell.to = m.at_s;
    if (five < 0 && m.truth.mess_share >= kMessAt) five = m.at_s;
  }
  if (!spell.any) return spell;
  const bool mess = sign == JobSign::mess;
  const std::optional<double> by = mess ? (five > spell.from ? std::optional(five) : std::nullopt)
                                        : time_is_up(moments, spell, sign, still_after_s);
  spell.by = by.value_or(spell.to);
  spell.due = by.has_value();
  if (is_view(sign)) return spell;
  for (const JobMoment& m : moments) {
    if (m.at_s >= spell.from && m.at_s <= spell.by && view_lost(m.truth)) spell.due = false;
  }
  return spell;
}

class Marking {
 public:
  Marking(const std::vector<JobMoment>& moments, const std::vector<Told>& told, double still_after_s)
      : moments_(moments), told_(told), still_after_s_(still_after_s) {}

  JobMarks mark() {
    for (int i = 0; i < kSigns; ++i) {
      mark_spell(static_cast<JobSign>(i));
      mark_others(static_cast<JobSign>(i));
    }
    for (std::size_t i = 0; i + 1 < moments_.size(); ++i) {
      if (moments_[i].at_s < 0) continue;
      const double hours = (moments_[i + 1].at_s - moments_[i].at_s) / 3600;
      marks_.hours += hours;
      if (!is_spoilt(moments_[i].truth)) marks_.clean_hours += hours;
    }
    return std::move(marks_);
  }

 private:
  void note(JobSign sign, std::string_view what, double at_s, double before_s) {
    marks_.notes.push_back({fmt::format("{} {} at {:.0f} s", sign_name(sign), what, at_s), at_s, before_s});
  }

  void mark_spell(JobSign sign) {
    const Spell spell = spell_of(moments_, sign, still_after_s_);
    if (!spell.any) return;
    // The last of what was said in time, and whether it was said at all.
    bool said = false;
    bool stands = false;
    int dropped = 0;
    for (const Told& told : told_) {
      if (told.report.sign != sign || told.told_s < spell.from || told.told_s > spell.to) continue;
      dropped += told.report.over && said ? 1 : 0;
      said = said || !told.report.over;
      if (told.told_s <= spell.by) stands = !told.report.over;
      if (told.report.over) stands = false;
    }
    if (!spell.due) return;
    const bool fault = sign == JobSign::finished && was_barren(spell.from);
    SignMarks& marks = fault ? marks_.finished_after_fault : marks_.signs[static_cast<std::size_t>(sign)];
    ++marks.due;
    marks.dropped += dropped;
    ++(stands ? marks.right : said ? marks.late : marks.missed);
    if (!stands) note(sign, said ? "late: so" : "missed: so", spell.from, spell.from - 10);
    if (dropped > 0) note(sign, "said to be over while it was so", spell.from, spell.from - 10);
  }

  bool was_barren(double s) const {
    for (const JobMoment& m : moments_) {
      if (m.at_s <= s && m.truth.barren_since_s) return true;
    }
    return false;
  }

  // Whether any moment of the last seconds before s is so.
  template <class Is>
  bool lately(double s, double seconds, Is is) const {
    return std::ranges::any_of(
        moments_, [&](const JobMoment& m) { return m.at_s <= s && m.at_s >= s - seconds && is(m.truth); });
  }

  bool stood_long_enough(double s) const {
    return !lately(s, still_after_s_ - kGrace, [](const JobTruth& t) { return !t.stalled; });
  }

  void mark_others(JobSign sign) {
    SignMarks& marks = marks_.signs[static_cast<std::size_t>(sign)];
    for (auto told = told_.begin(); told != told_.end(); ++told) {
      if (told->report.sign != sign || told->report.over) continue;
      const double s = told->told_s;
      const bool so = lately(s, kGrace, [sign](const JobTruth& t) { return is_so(t, sign); });
      if (so && (sign != JobSign::still || stood_long_enough(s))) continue;
      // A stall that is called its end is false, whatever else a stall is called.
      const bool spoilt = !so && lately(s, kGrace, is_spoilt) && sign != JobSign::finished;
      if (spoilt) {
        ++marks.beside;
        continue;
      }
      ++marks.wrong;
      const bool back = std::any_of(told, told_.end(), [sign](const Told& later) {
        return later.report.sign == sign && later.report.over;
      });
      marks.taken_back += back ? 1 : 0;
      note(sign, back ? "false, taken back:" : "false:", s, std::max(0.0, told->report.before_s));
    }
  }

  const std::vector<JobMoment>& moments_;
  const std::vector<Told>& told_;
  double still_after_s_;
  JobMarks marks_;
};

void mark_begun(JobMarks& marks, const std::vector<JobMoment>& moments, const std::vector<Begun>& begun) {
  if (moments.empty() || moments.front().at_s > -60) return;
  ++marks.begun_due;
  bool right = false;
  for (const Begun& b : begun) {
    const bool fits = b.set_s >= -30 && b.set_s <= 60 && b.told_s <= kStartTold;
    right = right || fits;
    const bool finished = std::ranges::any_of(
        moments, [&](const JobMoment& m) { return m.at_s <= b.set_s && m.truth.finished; });
    if (!fits && (b.told_s < kStartTold || finished)) {
      ++marks.begun_wrong;
      marks.notes.push_back(
          {fmt::format("start told at {:.0f} s, set at {:.0f} s", b.told_s, b.set_s), b.told_s, b.set_s});
    }
  }
  marks.begun_right += right ? 1 : 0;
  if (!right) marks.notes.push_back({"start not told in time", 120, -20});
}

}  // namespace

std::string_view sign_name(JobSign sign) {
  constexpr std::string_view kNames[] = {"finished", "still",   "not-growing", "detached", "shifted",
                                         "mess",     "knocked", "covered",     "unsharp"};
  return kNames[static_cast<std::size_t>(sign)];
}

void JobMarks::add(const JobMarks& other) {
  const auto join = [](SignMarks& a, const SignMarks& b) {
    a.due += b.due;
    a.right += b.right;
    a.late += b.late;
    a.missed += b.missed;
    a.wrong += b.wrong;
    a.taken_back += b.taken_back;
    a.beside += b.beside;
    a.dropped += b.dropped;
  };
  for (std::size_t i = 0; i < signs.size(); ++i) join(signs[i], other.signs[i]);
  join(finished_after_fault, other.finished_after_fault);
  hours += other.hours;
  clean_hours += other.clean_hours;
  begun_due += other.begun_due;
  begun_right += other.begun_right;
  begun_wrong += other.begun_wrong;
}

int JobMarks::false_stops() const {
  int all = 0;
  for (const JobSign sign : {JobSign::detached, JobSign::still, JobSign::knocked, JobSign::covered})
    all += signs[static_cast<std::size_t>(sign)].wrong;
  return all;
}

JobMarks mark_job(const std::vector<JobMoment>& moments, const std::vector<Told>& told,
                  const std::vector<Begun>& begun, double still_after_s) {
  JobMarks marks = Marking(moments, told, still_after_s).mark();
  mark_begun(marks, moments, begun);
  return marks;
}

}  // namespace rookery::bench
