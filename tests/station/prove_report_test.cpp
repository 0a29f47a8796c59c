// The page that an acceptance test leaves behind.
#include "station/prove_report.h"

#include <gtest/gtest.h>

#include "station/svg_graph.h"

namespace rookery::station {
namespace {

camera::Measurements measured() {
  camera::Measurements out;
  out.camera = "bobbin <&>";
  out.address = "http://192.0.2.17:81/stream";
  out.began = base::parse_rfc3339("2026-03-01T12:00:00.5Z").value();
  out.received = out.whole = 100;
  out.lasted_s = 20;
  out.intervals.count = 99;
  out.intervals.frames_per_s = 3;
  out.intervals.p50 = camera::Millis(333);
  out.intervals.longest = camera::Millis(400);
  for (int i = 0; i < 20; ++i) out.intervals_ms.push_back({i * 1.0, 333.0});
  out.level_each = {{0, 100}, {40, 120}};
  return out;
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t out = 0;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++out;
  return out;
}

TEST(ProveReport, SaysWhatDecidedAndLeadsThere) {
  const camera::Measurements m = measured();
  const camera::Acceptance acceptance = camera::judge(m);
  ASSERT_EQ(acceptance.overall, camera::Verdict::marginal) << acceptance.why;
  const std::string html = prove_report(m, acceptance);
  EXPECT_NE(html.find("<p>Decided by: <a href=\"#frame-rate\">Frame rate</a></p>"), std::string::npos);
  EXPECT_EQ(count(html, "<tr id=\"frame-rate\""), 1U);
  EXPECT_EQ(count(html, "<tr id="), camera::kAcceptanceLimits.size());
  EXPECT_NE(html.find(", 1 marginal, "), std::string::npos);
  EXPECT_NE(html.find(" not measured.</p>"), std::string::npos);
}

TEST(ProveReport, TimesAreAPersonsAndTextIsEscaped) {
  const std::string html = prove_report(measured(), camera::judge(measured()));
  EXPECT_NE(html.find("2026-03-01 12:00:00 UTC"), std::string::npos);
  EXPECT_NE(html.find("bobbin &lt;&amp;&gt;"), std::string::npos);
  EXPECT_EQ(html.find("<&>"), std::string::npos);
}

TEST(ProveReport, GraphsOverTimeHaveOneSpanAndTheirUnitInTheTitle) {
  const std::string html = prove_report(measured(), camera::judge(measured()));
  EXPECT_EQ(count(html, ">40 s</text>"), 2U)
      << "of the intervals, though they end before, and of the brightness";
  EXPECT_NE(html.find("<figcaption>Brightness, grey levels</figcaption>"), std::string::npos);
  EXPECT_NE(html.find("<figcaption>How often which interval came, times</figcaption>"), std::string::npos);
}

}  // namespace
}  // namespace rookery::station
