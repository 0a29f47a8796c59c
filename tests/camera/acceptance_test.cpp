// Measurements become verdicts by the limits of the table, and nothing else.
#include "camera/acceptance.h"

#include <gtest/gtest.h>

#include <cmath>

namespace rookery::camera {
namespace {

SizeStep size_step(PixelSize size, double bytes, double frames_per_s) {
  SizeStep out;
  out.size = size;
  out.bytes = bytes;
  out.intervals.count = 100;
  out.intervals.frames_per_s = frames_per_s;
  return out;
}

// A board without fault, all of it measured.
Measurements sound() {
  Measurements m;
  m.camera = "bobbin";
  m.lasted_s = 300;
  m.size = {640, 480};
  m.received = m.whole = 3000;
  m.stamped = true;
  m.intervals.count = 2999;
  m.intervals.frames_per_s = 10;
  m.intervals.p50 = m.intervals.p95 = m.intervals.p99 = Millis(100);
  m.intervals.longest = Millis(180);
  m.intervals.jitter = Millis(4);
  m.bytes = {20'000, 25'000, 30'000};
  m.sag = Sag{15'000, 28'000, 0.98};
  m.tcp.samples = 300;
  m.tcp.round_trip = Millis(6);
  m.tcp.segments_in = 40'000;
  m.stills = {5, 5, Millis(160), Millis(200), {}, Millis(40), "40 ms for the oldest of 5", {}};
  m.sizes = SizeMeasures{{}, {size_step({320, 240}, 8'000, 25), size_step({640, 480}, 20'000, 12)}, true};
  m.second_viewer = SecondViewer{SecondViewer::Answer::waits, false, Millis(150)};
  m.settling = Settling{true, std::chrono::duration<double>(2.5), std::chrono::duration<double>(20)};
  m.lamp = LampMeasures{};
  m.lamp->intervals = m.intervals;
  m.looks = 300;
  m.laplacian = 210;
  m.edge = vision::SlantedEdge{0.2, 5, 90, true, {300, 200, 48, 32}};
  m.noise = 1.8;
  m.banding_looks = 60;
  m.pixels_told = true;
  return m;
}

Finding find(const Acceptance& acceptance, std::string_view id) {
  for (const Finding& finding : acceptance.findings) {
    if (finding.limit->id == id) return finding;
  }
  ADD_FAILURE() << id;
  return {};
}

TEST(Acceptance, ASoundBoardIsFitInEveryHeading) {
  const Acceptance got = judge(sound());
  ASSERT_EQ(got.findings.size(), kAcceptanceLimits.size());
  for (const Finding& finding : got.findings)
    EXPECT_EQ(finding.verdict, Verdict::fit) << finding.limit->id << ": " << finding.evidence;
  EXPECT_EQ(got.overall, Verdict::fit);
  EXPECT_EQ(got.why, "");
}

// One measurement at a time is set to a value in the unit of its limit.
struct Knob {
  std::string_view id;
  void (*set)(Measurements&, double);
};
constexpr Knob kKnobs[] = {
    {"frame-rate", [](Measurements& m, double v) { m.intervals.frames_per_s = v; }},
    {"intervals", [](Measurements& m, double v) { m.intervals.longest = Millis(v); }},
    {"jitter", [](Measurements& m, double v) { m.intervals.jitter = m.intervals.p50 * (v / 100); }},
    {"frame-bytes", [](Measurements& m, double v) { m.bytes.most = v / 100 * 640 * 480 / 5; }},
    {"sag", [](Measurements& m, double v) { m.sag->share = v / 100; }},
    {"round-trip", [](Measurements& m, double v) { m.tcp.round_trip = Millis(v); }},
    {"loss", [](Measurements& m,
                double v) { m.tcp.out_of_order_in = static_cast<std::uint64_t>(std::lround(v * 400)); }},
    {"broken",
     [](Measurements& m, double v) {
       m.received = 100'000;
       m.broken = {{"no-end", "ends early", static_cast<std::uint64_t>(std::lround(v * 1000))}};
     }},
    {"still", [](Measurements& m, double v) { m.stills.p50 = Millis(v); }},
    {"still-age", [](Measurements& m, double v) { m.stills.oldest = Millis(v); }},
    {"second-viewer", [](Measurements& m, double v) { m.second_viewer->first_longest = Millis(v); }},
    {"dropouts", [](Measurements& m, double v) { m.dropouts = static_cast<std::uint64_t>(std::ceil(v)); }},
    {"restarts", [](Measurements& m, double v) { m.restarts = static_cast<int>(std::ceil(v)); }},
    {"settling", [](Measurements& m, double v) { m.settling->time = std::chrono::duration<double>(v); }},
    {"sharpness", [](Measurements& m, double v) { m.edge->mtf50_cycles_per_px = v; }},
    {"noise", [](Measurements& m, double v) { m.noise = v; }},
    {"clipping", [](Measurements& m, double v) { m.bright = v / 100; }},
    {"banding",
     [](Measurements& m, double v) {
       m.banding = vision::Banding{6.4, v / 100, 40};
     }},
    {"pixels", [](Measurements& m, double v) { m.hot_pixels = static_cast<std::size_t>(std::ceil(v)); }},
    {"frozen", [](Measurements& m, double v) { m.frozen_times = static_cast<int>(std::ceil(v)); }},
    {"upright", [](Measurements& m, double v) { m.upright.may_be_upside_down = v > 0; }},
    {"lamp", [](Measurements& m, double v) { m.lamp->intervals.p50 = m.intervals.p50 * v; }},
    {"sizes", [](Measurements& m, double v) { m.sizes->steps[1].intervals.frames_per_s = 10 * v / 100; }},
};

TEST(Acceptance, EachHeadingTurnsAtItsLimitsAndDecidesTheWhole) {
  ASSERT_EQ(std::size(kKnobs), kAcceptanceLimits.size());
  for (const Knob& knob : kKnobs) {
    const AcceptanceLimit& limit = *find(judge(sound()), knob.id).limit;
    // Just within a bound, and clearly beyond it; whole numbers step by one.
    const double step = limit.unit.empty() ? 1 : 0.02;
    const auto beyond = [&](double bound) {
      return limit.more_is_better ? bound * (1 - step) : std::max(bound * (1 + step), bound + 0.01);
    };
    const auto within = [&](double bound) {
      return limit.more_is_better ? bound * (1 + 1e-6) : bound * (1 - 1e-6);
    };
    const auto expect = [&](double value, Verdict verdict) {
      Measurements measured = sound();
      knob.set(measured, value);
      const Acceptance got = judge(measured);
      EXPECT_EQ(find(got, knob.id).verdict, verdict) << knob.id << " " << value;
      EXPECT_EQ(got.overall, verdict) << knob.id << " " << value;
      if (verdict != Verdict::fit) {
        EXPECT_EQ(got.why, knob.id);
      }
    };
    expect(within(limit.fit), Verdict::fit);
    if (limit.marginal != limit.fit) expect(beyond(limit.fit), Verdict::marginal);
    if (limit.marginal != kNoUnfit) expect(beyond(limit.marginal), Verdict::unfit);
    if (limit.marginal == kNoUnfit) expect(limit.fit + 1e6, Verdict::marginal);
  }
}

struct Hole {
  std::string_view id;
  void (*dig)(Measurements&);
  std::string_view why;
};
constexpr Hole kHoles[] = {
    {"intervals", [](Measurements& m) { m.intervals.count = 19; }, "20 are needed"},
    {"sag",
     [](Measurements& m) {
       m.sag.reset();
       m.why_no_sag = "pictures are of nearly one size";
     },
     "nearly one size"},
    {"round-trip", [](Measurements& m) { m.tcp = {}; }, "told nothing"},
    {"loss", [](Measurements& m) { m.tcp.segments_in = 99; }, "99 segments"},
    {"still",
     [](Measurements& m) {
       m.stills = {};
       m.stills.why_not = "no still address is known";
     },
     "no still address"},
    {"second-viewer",
     [](Measurements& m) {
       m.second_viewer.reset();
       m.why_no_second_viewer = "there is no stream";
     },
     "no stream"},
    {"restarts", [](Measurements& m) { m.stamped = false; }, "no stamps"},
    {"settling", [](Measurements& m) { m.settling.reset(); }, "too few pictures"},
    {"sharpness", [](Measurements& m) { m.edge.reset(); }, "variance of the Laplacian 210"},
    {"noise", [](Measurements& m) { m.noise.reset(); }, "black or white"},
    {"banding", [](Measurements& m) { m.banding_looks = 3; }, "4 are needed"},
    {"pixels", [](Measurements& m) { m.pixels_told = false; }, "5 are needed"},
    {"still-age",
     [](Measurements& m) {
       m.stills.oldest.reset();
       m.stills.why_no_age = "its stills carry no stamp";
     },
     "its stills carry no stamp"},
    {"still-age",
     [](Measurements& m) {
       m.stills.oldest.reset();
       m.stills.why_no_age = "its stills carry no stamp";
       m.lamp.reset();
     },
     "no stamp; the lamp may tell (--lamp)"},
    {"sizes", [](Measurements& m) { m.sizes.reset(); }, "--sizes"},
    {"sizes",
     [](Measurements& m) {
       m.sizes->steps.pop_back();
       m.sizes->why_not = "size 8: 0 pictures came in 10 s";
     },
     "320×240 px: 25.00 frames/s of 8.0 kB, 1.60 Mbit/s; size 8: 0 pictures came"},
    {"lamp", [](Measurements& m) { m.lamp.reset(); }, "--lamp"},
    {"lamp", [](Measurements& m) { m.lamp->why_not = "no board profile says how"; }, "no board profile"},
};

TEST(Acceptance, WhatWasNotMeasuredSaysWhyAndDecidesNothing) {
  for (const Hole& hole : kHoles) {
    Measurements measured = sound();
    hole.dig(measured);
    const Acceptance got = judge(measured);
    const Finding finding = find(got, hole.id);
    EXPECT_FALSE(finding.verdict) << hole.id;
    EXPECT_FALSE(finding.value) << hole.id;
    EXPECT_NE(finding.evidence.find(hole.why), std::string::npos) << hole.id << ": " << finding.evidence;
    if (hole.id != "intervals") {
      EXPECT_EQ(got.overall, Verdict::fit) << hole.id;
    }
  }
}

TEST(Acceptance, WithoutAFrameRateNothingIsProvenButWhatIsUnfitStays) {
  Measurements measured = sound();
  measured.intervals = {};
  const Acceptance got = judge(measured);
  EXPECT_FALSE(got.overall);
  EXPECT_NE(got.why.find("too little was seen"), std::string::npos);
  measured.frozen_times = 1;
  EXPECT_EQ(judge(measured).overall, Verdict::unfit);
}

TEST(Acceptance, ABoardOfStillsIsProvenWithoutAFrameRate) {
  Measurements measured = sound();
  measured.polled = true;
  measured.poll_every = std::chrono::milliseconds(1000);
  const Acceptance got = judge(measured);
  EXPECT_EQ(got.overall, Verdict::fit);
  EXPECT_FALSE(find(got, "frame-rate").verdict);
}

TEST(Acceptance, StillsThatWereAskedForAndNeverCameAreUnfit) {
  Measurements measured = sound();
  measured.stills = {2, 0, {}, {}, "GET http://192.0.2.17/still: connection refused", {}, {}, {}};
  const Finding finding = find(judge(measured), "still");
  EXPECT_EQ(finding.verdict, Verdict::unfit);
  EXPECT_NE(finding.evidence.find("connection refused"), std::string::npos);
}

TEST(Acceptance, ARestartUnderTheLampIsUnfit) {
  Measurements measured = sound();
  measured.lamp->restarts = 1;
  EXPECT_EQ(find(judge(measured), "lamp").verdict, Verdict::unfit);
}

TEST(Acceptance, AFirstViewerThatLostItsStreamIsMarginal) {
  Measurements measured = sound();
  measured.second_viewer->first_suffered = true;
  const Finding finding = find(judge(measured), "second-viewer");
  EXPECT_EQ(finding.verdict, Verdict::marginal);
  EXPECT_NE(finding.evidence.find("lost its stream"), std::string::npos);
}

TEST(Acceptance, ATurnedBoardMayHaveItsLightBelow) {
  Measurements measured = sound();
  measured.upright = {60, 150, true};
  EXPECT_EQ(find(judge(measured), "upright").verdict, Verdict::marginal);
  measured.rotation = 180;
  EXPECT_EQ(find(judge(measured), "upright").verdict, Verdict::fit);
}

TEST(AcceptanceLimits, EachHasASourceARemedyAndAWordOfItsOwn) {
  std::set<std::string_view> ids;
  for (const AcceptanceLimit& limit : kAcceptanceLimits) {
    EXPECT_TRUE(ids.insert(limit.id).second) << limit.id;
    EXPECT_FALSE(limit.source.empty()) << limit.id;
    EXPECT_FALSE(limit.remedy.empty()) << limit.id;
    EXPECT_FALSE(limit.remedy.ends_with('.')) << limit.id;
    if (limit.marginal != kNoUnfit) {
      EXPECT_TRUE(limit.more_is_better ? limit.marginal <= limit.fit : limit.marginal >= limit.fit)
          << limit.id;
    }
  }
  EXPECT_EQ(words_of(kAcceptanceLimits[0]), "fit: at least 5 frames/s; marginal: at least 2 frames/s");
}

}  // namespace
}  // namespace rookery::camera
