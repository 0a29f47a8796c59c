// Who may look for boards. What is found: tests/find/.
#include <gtest/gtest.h>

#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

TEST(FoundApi, OnlyOwnersLookForBoards) {
  WebStation hall;
  hall.add_camera("anvil");
  const std::string viewer =
      hall.add_person("Ines", archive::Role::viewer, std::set{WebStation::name("anvil")});
  EXPECT_EQ(hall.ask("GET", "/api/v1/found", viewer).status, 403U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/found/sweep", viewer).status, 403U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/found", "").status, 401U);
}

}  // namespace
}  // namespace rookery::test
