// Real people, cut out of a film of a street, walk through its empty street and through a photograph of
// another (both from Debian's package opencv-doc) while the light changes: the detector finds them, and only
// them.
#include <gtest/gtest.h>

#include "bench/motion/composites.h"
#include "bench/motion/film.h"
#include "tests/outside/film.h"

namespace rookery {
namespace {

constexpr int kEvery = 2;          // of the film's 10 pictures a second: 5 remain
constexpr int kFilm = 150;         // the first 30 s of it
constexpr int kPictures = 5 * 75;  // 75 s of each composite

class MotionComposites : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_FILM();
    film_ = bench::read_pictures("vtest.avi", kEvery, kFilm);
    ASSERT_EQ(film_.size(), static_cast<std::size_t>(kFilm));
    std::vector<sim::Picture> some;
    for (std::size_t i = 0; i < film_.size(); i += 6) some.push_back(film_[i]);
    street_ = bench::median_of(some);
    walks_ = bench::cut_walks(film_, street_);
    ASSERT_GE(walks_.size(), 5U);
  }

  std::vector<sim::Picture> film_;
  sim::Picture street_;
  std::vector<bench::Walk> walks_;
};

// The numbers of long runs are in docs/motion.md; this is a floor below them.
TEST_F(MotionComposites, PeopleAreFoundInTimeUnderChangingLightAndNothingElseIs) {
  const auto other = bench::read_pictures("leuvenA.jpg", 1, 1);
  ASSERT_EQ(other.size(), 1U);
  bench::CompositeScore score;
  unsigned seed = 1;
  for (const sim::Picture* background : std::array<const sim::Picture*, 2>{&street_, &other[0]})
    for (const bench::Light light : {bench::Light::ramp, bench::Light::lamp})
      score.add(bench::score_composite({*background, light, 1, seed++}, walks_, kPictures));
  ASSERT_GE(score.truths, 8);
  EXPECT_GE(score.found, 0.98 * score.truths);
  EXPECT_EQ(score.false_events, 0);
  EXPECT_EQ(score.views, 0);
  ASSERT_FALSE(score.start_errors_s.empty());
  std::ranges::sort(score.start_errors_s);
  EXPECT_LE(std::abs(score.start_errors_s[score.start_errors_s.size() / 2]), 0.5);
}

// The score can fail: people who cannot be seen are not found, and light alone is no motion.
TEST_F(MotionComposites, WhoCannotBeSeenIsMissedAndTheLampIsALamp) {
  const auto score = bench::score_composite({street_, bench::Light::lamp, 0, 1}, walks_, kPictures);
  EXPECT_GT(score.truths + score.small_truths, 0);
  EXPECT_EQ(score.found + score.small_found, 0);
  EXPECT_EQ(score.false_events, 0);
  EXPECT_EQ(score.lamps, 1);  // 75 s and one switch, at 50 s
}

}  // namespace
}  // namespace rookery
