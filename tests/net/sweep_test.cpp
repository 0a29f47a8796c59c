#include "net/sweep.h"

#include <gtest/gtest.h>

namespace rookery::net {
namespace {

LocalPrefix prefix(const char* own, int length) {
  return {"wlan0", boost::asio::ip::make_address_v4(own), length};
}

TEST(SweepPlan, LeavesOutTheOwnTheFirstAndTheLastAddress) {
  const SweepPlan plan = plan_sweep({prefix("192.0.2.2", 29)}, {80, 8080});
  std::vector<std::string> targets;
  for (const auto& one : plan.targets) targets.push_back(one.to_string());
  EXPECT_EQ(targets,
            (std::vector<std::string>{"192.0.2.1", "192.0.2.3", "192.0.2.4", "192.0.2.5", "192.0.2.6"}));
  EXPECT_NE(plan.text().find("5 addresses (192.0.2.0/29 on wlan0)"), std::string::npos) << plan.text();
}

TEST(SweepPlan, SaysAtWhichPortsItKnocks) {
  EXPECT_NE(plan_sweep({prefix("192.0.2.1", 24)}, {80}).text().find("on TCP port 80, at most"),
            std::string::npos);
  const SweepPlan three = plan_sweep({prefix("192.0.2.1", 24)}, {8090, 80, 8080});
  EXPECT_NE(three.text().find("on TCP port 8090, or 80, then 8080 where that is refused, at most"),
            std::string::npos)
      << three.text();
}

TEST(SweepPlan, ANetworkLargerThanItsBoundIsNotSweptAndSaid) {
  const SweepPlan plan = plan_sweep({prefix("10.0.0.1", 21), prefix("192.0.2.1", 22)}, {80, 8080});
  EXPECT_EQ(plan.targets.size(), 1021u);
  ASSERT_EQ(plan.too_large.size(), 1u);
  EXPECT_NE(plan.text().find("10.0.0.0/21 on wlan0, which is larger than /22"), std::string::npos)
      << plan.text();
}

TEST(SweepPlan, TwoInterfacesOnOneNetworkAreSweptOnce) {
  EXPECT_EQ(plan_sweep({prefix("192.0.2.1", 30), prefix("192.0.2.2", 30)}, {80, 8080}).targets.size(), 0u);
  EXPECT_EQ(plan_sweep({prefix("192.0.2.1", 29), prefix("192.0.2.2", 29)}, {80, 8080}).targets.size(), 4u);
}

TEST(SweepPlan, OddPrefixesHaveTheirAddresses) {
  EXPECT_EQ(plan_sweep({prefix("192.0.2.1", 31)}, {80, 8080}).targets.size(), 1u);
  EXPECT_EQ(plan_sweep({prefix("192.0.2.1", 32)}, {80, 8080}).targets.size(), 0u);
  EXPECT_EQ(plan_sweep({prefix("255.255.255.254", 24)}, {80, 8080}).targets.size(), 253u);
  EXPECT_EQ(plan_sweep({prefix("192.0.2.1", 0)}, {80, 8080}).targets.size(), 0u);
}

}  // namespace
}  // namespace rookery::net
