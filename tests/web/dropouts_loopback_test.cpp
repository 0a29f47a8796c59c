// Dropouts over HTTP: the newest first, page by page, what they have in common, and who sees them.
#include <gtest/gtest.h>

#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

using namespace std::chrono_literals;

class DropoutsApi : public testing::Test {
 protected:
  DropoutsApi() {
    hall_.add_camera("anvil");
    const base::WallTime now = hall_.station().clock().wall();
    for (int n = 0; n < 3; ++n) {
      archive::Dropout dropout(WebStation::name("anvil"));
      dropout.began = now - n * 10min - 123us;
      if (n != 0) dropout.back = dropout.began + 7500ms;
      for (std::size_t c = 0; c < camera::kCauses; ++c)
        dropout.ranking.causes[c] = {static_cast<camera::Cause>(c), c == 0 ? 0.9 : 0.01};
      if (n == 1) dropout.ranking.named = camera::Cause::supply;
      dropout.ranking.verdict = "a verdict";
      dropout.ranking.remedy = "a remedy";
      dropout.ranking.evidence = {"No picture for 7.5 s"};
      hall_.station().dropouts().put_later(dropout);
    }
    EXPECT_TRUE(hall_.station().catalog().flush());
  }
  Answer get(const std::string& query) {
    return hall_.ask("GET", "/api/v1/cameras/anvil/dropouts" + query, hall_.owner());
  }
  WebStation hall_;
};

TEST_F(DropoutsApi, TheNewestComeFirstWithCausesEvidenceAndASummary) {
  const Answer answer = get("");
  ASSERT_EQ(answer.status, 200u) << answer.body;
  const auto body = answer.json();
  const auto& list = body.at("dropouts").as_array();
  ASSERT_EQ(list.size(), 3u);
  EXPECT_TRUE(list[0].at("back").is_null());
  EXPECT_TRUE(list[0].at("cause").is_null());
  EXPECT_EQ(list[1].at("cause").as_string(), "supply");
  EXPECT_NEAR(list[1].at("length_s").to_number<double>(), 7.5, 0.002);
  EXPECT_EQ(list[1].at("causes").as_array().size(), camera::kCauses);
  EXPECT_EQ(list[1].at("evidence").as_array()[0].as_string(), "No picture for 7.5 s");
  EXPECT_EQ(body.at("summary").at("text").as_string(),
            "In the last 30 days: 3 dropouts, 1 supply, 2 not enough to tell");
}

TEST_F(DropoutsApi, PagesGoOnWhereTheLastEnded) {
  std::string query = "?limit=1";
  int seen = 0;
  for (;;) {
    const auto body = get(query).json();
    seen += static_cast<int>(body.at("dropouts").as_array().size());
    if (body.at("next").is_null()) break;
    ASSERT_LE(seen, 3);
    query = "?limit=1&before=" + std::string(body.at("next").as_string());
  }
  EXPECT_EQ(seen, 3);
}

TEST_F(DropoutsApi, WhatIsWrongIsSaid) {
  for (const char* query : {"?limit=0", "?limit=501", "?limit=x", "?before=yesterday"})
    EXPECT_EQ(get(query).status, 422u) << query;
  EXPECT_EQ(hall_.ask("GET", "/api/v1/cameras/cog/dropouts", hall_.owner()).status, 404u);
  EXPECT_EQ(hall_.ask("GET", "/api/v1/cameras/anvil/dropouts", "").status, 401u);
}

}  // namespace
}  // namespace rookery::test
