// /metrics read by a parser of the OpenMetrics text format that the project did not write: Debian's
// python3-prometheus-client.
#include "tests/support/needs.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

// Prints "family type unit" of each family and "sample labels value" of each sample; fails where the text is
// not valid.
constexpr const char* kParse = R"py(
import sys
from prometheus_client.openmetrics.parser import text_string_to_metric_families
for family in text_string_to_metric_families(sys.stdin.read()):
    print(family.name, family.type, family.unit)
    for sample in family.samples:
        print(sample.name, sorted(sample.labels.items()), float(sample.value))
)py";

Ended parse(const std::string& text) { return run_program({"/usr/bin/python3", "-c", kParse}, text); }

TEST(MetricsReadByAParser, FamiliesUnitsAndSamplesAreWhatIsMeant) {
  ROOKERY_NEEDS(parse("# EOF\n").exit_code == 0,
                "no OpenMetrics parser (Debian package python3-prometheus-client)");
  WebStation hall;
  hall.add_camera("anvil");
  hall.add_camera("back-door");
  hall.push("anvil", make_picture(320, 240, 1));
  const Ended read = parse(hall.ask("GET", "/metrics", hall.owner()).body);
  ASSERT_EQ(read.exit_code, 0) << read.err;
  const auto holds = [&](std::string_view line) { return read.out.find(line) != std::string::npos; };
  EXPECT_TRUE(holds("rookery_frames_published counter \n")) << read.out;
  EXPECT_TRUE(holds("rookery_frames_published_total [('camera', 'anvil')] 1.0\n")) << read.out;
  EXPECT_TRUE(holds("rookery_frames_published_total [('camera', 'back-door')] 0.0\n"));
  EXPECT_TRUE(holds("rookery_jitter_seconds gauge seconds\n"));
  EXPECT_TRUE(holds("rookery_last_frame_timestamp_seconds [('camera', 'back-door')] 0.0\n"));
}

TEST(MetricsReadByAParser, TheParserRefusesWhatIsNotValid) {
  ROOKERY_NEEDS(parse("# EOF\n").exit_code == 0,
                "no OpenMetrics parser (Debian package python3-prometheus-client)");
  EXPECT_NE(parse("# TYPE rookery_live gauge\nrookery_live 1\n").exit_code, 0) << "no end";
  EXPECT_NE(parse("# TYPE rookery_x counter\nrookery_x 1\n# EOF\n").exit_code, 0) << "no _total";
}

}  // namespace
}  // namespace rookery::test
