// What bench/jobs counts as right, late, missed and false, on jobs that are told by hand.
#include "bench/jobs/job_marks.h"

#include <functional>

#include <gtest/gtest.h>

namespace rookery::bench {
namespace {

using sim::JobTruth;
using vision::JobSign;

constexpr double kStillAfter = 600;

// Every 5 s from `from`; work begins at 0 and, where nothing else is said, goes on for an hour.
std::vector<JobMoment> job(const std::function<void(double, JobTruth&)>& what, double from = 0,
                           double to = 4'200) {
  std::vector<JobMoment> moments;
  for (double s = from; s <= to; s += 5) {
    JobTruth truth;
    truth.idle = s < 0;
    truth.finished = s >= 3'600;
    truth.under_way = !truth.idle && !truth.finished;
    truth.growing = truth.under_way;
    what(s, truth);
    moments.push_back({s, truth});
  }
  return moments;
}

Told told(JobSign sign, double s, bool over = false) {
  return {
      {.sign = sign, .over = over, .at_s = s, .before_s = s - 10, .strength = 1, .sure = true, .where = {}},
      s};
}

SignMarks marks_of(const std::vector<JobMoment>& moments, const std::vector<Told>& said, JobSign sign) {
  return mark_job(moments, said, {}, kStillAfter).signs[static_cast<std::size_t>(sign)];
}

void nothing(double, JobTruth&) {}
void falls_off(double s, JobTruth& t) {
  if (s < 1'000) return;
  t.detached_since_s = 1'000;
  t.barren_since_s = 1'000;
  t.growing = false;
}

// All that is so, said a second later; what is over, too.
std::vector<Told> truth_fed(const std::vector<JobMoment>& moments) {
  std::vector<Told> said;
  JobTruth before;
  double stalled = 0;
  double barren = 0;
  const auto turn = [&](JobSign sign, bool was, bool is, double s) {
    if (was != is) said.push_back(told(sign, s + 1, !is));
  };
  for (const JobMoment& m : moments) {
    const JobTruth& t = m.truth;
    const double was_stalled = stalled;
    const double was_barren = barren;
    stalled = t.stalled ? stalled + 5 : 0;
    barren = t.barren_since_s && t.under_way ? barren + 5 : 0;
    turn(JobSign::finished, before.finished, t.finished, m.at_s);
    turn(JobSign::detached, before.detached_since_s.has_value(), t.detached_since_s.has_value(), m.at_s);
    turn(JobSign::shifted, before.shifted_since_s.has_value(), t.shifted_since_s.has_value(), m.at_s);
    turn(JobSign::mess, before.mess_share > 0.01, t.mess_share > 0.01, m.at_s);
    turn(JobSign::knocked, before.knocked, t.knocked, m.at_s);
    turn(JobSign::covered, before.covered, t.covered, m.at_s);
    turn(JobSign::unsharp, before.unsharp, t.unsharp, m.at_s);
    turn(JobSign::still, was_stalled > kStillAfter, stalled > kStillAfter, m.at_s);
    turn(JobSign::not_growing, was_barren > 900, barren > 900, m.at_s);
    before = t;
  }
  return said;
}

TEST(JobMarks, WhoeverIsToldTheTruthMakesNoMistake) {
  const std::function<void(double, JobTruth&)> stories[] = {
      nothing,
      falls_off,
      [](double s, JobTruth& t) { t.mess_share = s < 1'000 || s >= 3'600 ? 0 : (s - 1'000) / 10'000; },
      [](double s, JobTruth& t) { t.stalled = s >= 1'000 && s < 2'000; },
      [](double s, JobTruth& t) { t.covered = s >= 1'000 && s < 1'500; },
      [](double s, JobTruth& t) { t.knocked = s >= 1'000; },
      [](double s, JobTruth& t) { t.unsharp = s >= 1'000; },
      [](double s, JobTruth& t) {
        if (s >= 1'000) t.shifted_since_s = 1'000;
      },
      [](double s, JobTruth& t) {
        if (s >= 1'000) t.barren_since_s = 1'000;
      }};
  JobMarks all;
  for (const auto& story : stories) {
    const auto moments = job(story);
    JobMarks marks = mark_job(moments, truth_fed(moments), {}, kStillAfter);
    for (const JobNote& note : marks.notes) ADD_FAILURE() << note.text;
    all.add(marks);
  }
  for (int i = 0; i < kSigns; ++i) {
    const SignMarks& m = all.signs[static_cast<std::size_t>(i)];
    EXPECT_GE(m.due, 1) << i;
    EXPECT_EQ(m.right, m.due) << i;
    EXPECT_EQ(m.wrong + m.beside + m.dropped, 0) << i;
  }
  EXPECT_EQ(all.finished_after_fault.due, 2);
  EXPECT_EQ(all.finished_after_fault.right, 2);
  EXPECT_EQ(all.false_stops(), 0);
  EXPECT_NEAR(all.hours, 9 * 4'200 / 3'600.0, 0.01);
  EXPECT_LT(all.clean_hours, all.hours);
}

TEST(JobMarks, WhatIsSaidInTimeLateOrNotAtAll) {
  const auto moments = job(falls_off);
  EXPECT_EQ(marks_of(moments, {told(JobSign::detached, 1'060)}, JobSign::detached).right, 1);
  EXPECT_EQ(marks_of(moments, {told(JobSign::detached, 1'065)}, JobSign::detached).late, 1);
  EXPECT_EQ(marks_of(moments, {}, JobSign::detached).missed, 1);
  const SignMarks early = marks_of(moments, {told(JobSign::detached, 990)}, JobSign::detached);
  EXPECT_EQ(early.missed, 1);
  EXPECT_EQ(early.wrong, 1);
}

TEST(JobMarks, WhatIsTakenBackWhileItIsSoIsNotRightUnlessSaidAgainInTime) {
  const auto moments = job(nothing);
  const SignMarks back = marks_of(
      moments, {told(JobSign::finished, 3'620), told(JobSign::finished, 3'700, true)}, JobSign::finished);
  EXPECT_EQ(back.right, 0);
  EXPECT_EQ(back.late, 1);
  EXPECT_EQ(back.dropped, 1);
  const SignMarks again = marks_of(
      moments,
      {told(JobSign::finished, 3'620), told(JobSign::finished, 3'650, true), told(JobSign::finished, 3'700)},
      JobSign::finished);
  EXPECT_EQ(again.right, 1);
  EXPECT_EQ(again.dropped, 1);
}

TEST(JobMarks, AnEndThatIsSaidInAPauseIsFalseTakenBackOrNot) {
  const auto moments = job([](double s, JobTruth& t) { t.paused = s >= 1'000 && s < 1'200; });
  const SignMarks marks = marks_of(
      moments,
      {told(JobSign::finished, 1'100), told(JobSign::finished, 1'210, true), told(JobSign::finished, 3'610)},
      JobSign::finished);
  EXPECT_EQ(marks.wrong, 1);
  EXPECT_EQ(marks.taken_back, 1);
  EXPECT_EQ(marks.right, 1);
  // In a stall, too: it is not beside another fault.
  const auto stalled = job([](double s, JobTruth& t) { t.stalled = s >= 1'000 && s < 2'000; });
  EXPECT_EQ(marks_of(stalled, {told(JobSign::finished, 1'500)}, JobSign::finished).wrong, 1);
}

TEST(JobMarks, AStallIsToldWhenTheSetTimeIsOverAndNotBefore) {
  const auto moments = job([](double s, JobTruth& t) { t.stalled = s >= 1'000 && s < 2'000; });
  EXPECT_EQ(marks_of(moments, {told(JobSign::still, 1'600)}, JobSign::still).right, 1);
  EXPECT_EQ(marks_of(moments, {told(JobSign::still, 1'640)}, JobSign::still).late, 1);
  const SignMarks early = marks_of(moments, {told(JobSign::still, 1'200)}, JobSign::still);
  EXPECT_EQ(early.wrong, 1);
  // A short one is not due.
  const auto brief = job([](double s, JobTruth& t) { t.stalled = s >= 1'000 && s < 1'300; });
  EXPECT_EQ(marks_of(brief, {}, JobSign::still).due, 0);
}

TEST(JobMarks, WhatIsFalseIsCountedAgainstCleanHoursAndWhatIsBesideAFaultByItself) {
  const auto clean = job(nothing);
  const JobMarks marks =
      mark_job(clean, {told(JobSign::detached, 500), told(JobSign::covered, 700), told(JobSign::mess, 800)},
               {}, kStillAfter);
  EXPECT_EQ(marks.false_stops(), 2);
  EXPECT_NEAR(marks.clean_hours, 4'200 / 3'600.0, 0.01);
  const auto turned = job([](double s, JobTruth& t) { t.knocked = s >= 1'000; });
  const SignMarks beside = marks_of(turned, {told(JobSign::detached, 1'020)}, JobSign::detached);
  EXPECT_EQ(beside.wrong, 0);
  EXPECT_EQ(beside.beside, 1);
  EXPECT_NEAR(mark_job(turned, {}, {}, kStillAfter).clean_hours, 1'000 / 3'600.0, 0.01);
  // What the camera cannot see is not due.
  EXPECT_EQ(marks_of(turned, {}, JobSign::finished).due, 0);
}

TEST(JobMarks, TimeWithAPersonInThePictureDoesNotCount) {
  const auto hidden = job([](double s, JobTruth& t) {
    falls_off(s, t);
    t.hand = s >= 1'010 && s < 1'050;
  });
  EXPECT_EQ(marks_of(hidden, {told(JobSign::detached, 1'100)}, JobSign::detached).right, 1);
  EXPECT_EQ(marks_of(hidden, {told(JobSign::detached, 1'110)}, JobSign::detached).late, 1);
  // The time after which a stall is told begins anew.
  const auto touched = job([](double s, JobTruth& t) {
    t.stalled = s >= 1'000 && s < 2'500;
    t.hand = s >= 1'300 && s < 1'320;
  });
  EXPECT_EQ(marks_of(touched, {told(JobSign::still, 1'930)}, JobSign::still).right, 1);
  EXPECT_EQ(marks_of(touched, {told(JobSign::still, 1'960)}, JobSign::still).late, 1);
}

TEST(JobMarks, AMessIsDueWhenItComesToATwentieth) {
  const auto grows = [](double most) {
    return job(
        [most](double s, JobTruth& t) { t.mess_share = s < 1'000 ? 0 : std::min(most, (s - 995) / 10'000); });
  };
  // Five hundred seconds later it takes a twentieth.
  EXPECT_EQ(marks_of(grows(0.1), {told(JobSign::mess, 1'480)}, JobSign::mess).right, 1);
  EXPECT_EQ(marks_of(grows(0.1), {told(JobSign::mess, 1'520)}, JobSign::mess).late, 1);
  EXPECT_EQ(marks_of(grows(0.04), {}, JobSign::mess).due, 0);
}

TEST(JobMarks, TheStartOfWork) {
  const auto moments = job(nothing, -300);
  const auto of = [&](std::vector<Begun> begun) { return mark_job(moments, {}, begun, kStillAfter); };
  EXPECT_EQ(of({{100, 10}}).begun_right, 1);
  EXPECT_EQ(of({{100, 10}}).begun_wrong, 0);
  EXPECT_EQ(of({}).begun_right, 0);
  EXPECT_EQ(of({}).begun_due, 1);
  EXPECT_EQ(of({{-100, -150}, {90, 0}}).begun_wrong, 1);
  EXPECT_EQ(of({{300, 0}}).begun_right, 0);
  // Once more after a pause is neither; after the end it is false.
  EXPECT_EQ(of({{90, 0}, {2'000, 1'900}}).begun_wrong, 0);
  EXPECT_EQ(of({{90, 0}, {3'900, 3'800}}).begun_wrong, 1);
  // A job that is seen only from its beginning has no start to tell.
  EXPECT_EQ(mark_job(job(nothing), {}, {}, kStillAfter).begun_due, 0);
}

}  // namespace
}  // namespace rookery::bench
