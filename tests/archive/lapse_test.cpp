// A lapse from pictures to a film: what is shown, what is left out and told, and what a person may ask for.
#include "archive/lapse.h"

#include <gtest/gtest.h>

#include "archive/film_text.h"
#include "base/printable.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::archive {
namespace {

using base::Microseconds;
using Bytes = std::vector<std::byte>;
using std::chrono::milliseconds;
using std::chrono::seconds;

struct Shot {
  Microseconds at{0};
  Bytes bytes;
};

// Pictures that lie in memory; their first one was taken when it is told so.
class Shots final : public PictureSource {
 public:
  explicit Shots(std::vector<Shot> shots, std::optional<base::WallTime> first_at = {})
      : shots_(std::move(shots)), first_at_(first_at) {}

  base::Result<std::optional<Microseconds>> step() override {
    if (shots_.empty()) return base::Error(base::ErrorCode::not_found, "shots", "nothing is recorded");
    if (at_ == shots_.size()) return std::optional<Microseconds>{};
    return std::optional(shots_[at_++].at - shots_.front().at);
  }
  base::Result<std::span<const std::byte>> read() & override {
    return std::span<const std::byte>(shots_[at_ - 1].bytes);
  }
  std::optional<base::WallTime> first_at() const override {
    if (!first_at_) return {};
    return *first_at_ + shots_.front().at;
  }
  double passed() const override { return static_cast<double>(at_) / static_cast<double>(shots_.size()); }

 private:
  std::vector<Shot> shots_;
  std::optional<base::WallTime> first_at_;
  std::size_t at_ = 0;
};

std::vector<Shot> steady_shots(int count, Microseconds every, int width_px = 160, int height_px = 120) {
  std::vector<Shot> shots;
  for (int number = 0; number < count; ++number)
    shots.push_back({every * number, test::make_picture(width_px, height_px, static_cast<unsigned>(number))});
  return shots;
}

class LapseTest : public ::testing::Test {
 protected:
  base::Result<LapseResult> make(const std::vector<Shot>& shots) {
    return make_lapse(
        [&] {
          ++opened;
          return std::unique_ptr<PictureSource>(std::make_unique<Shots>(shots, first_at));
        },
        request, file,
        [this](double share) {
          EXPECT_GE(share, shown);
          shown = share;
          return true;
        });
  }
  LapseTest() {
    request.what = "anvil";
    request.length_s = 1;
  }
  // Whether there is nothing in the folder but what `expected` says.
  std::size_t files() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder.path()), {}));
  }

  test::TempFolder folder;
  std::filesystem::path file = folder.path() / "film.mp4";
  LapseRequest request;
  std::optional<base::WallTime> first_at;
  double shown = 0;
  int opened = 0;  // how often the pictures were gone over
};

TEST_F(LapseTest, SharesTheSpanOutOverTheFilm) {
  first_at = base::WallTime(std::chrono::hours(500'000));
  const auto made = make(steady_shots(300, seconds{1}));
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_EQ(made->frames, 25);
  EXPECT_EQ(made->pictures, 300u);
  EXPECT_DOUBLE_EQ(made->length_s, 1);
  EXPECT_NEAR(made->speed, 299.0 / 24 * 25, 20);
  EXPECT_LE(made->first, seconds{5});
  EXPECT_GE(made->last, seconds{294});
  EXPECT_EQ(made->first_at, first_at);
  EXPECT_EQ(made->width_px, 160);
  EXPECT_EQ(made->height_px, 120);
  EXPECT_EQ(made->bytes, std::filesystem::file_size(file));
  EXPECT_EQ(files(), 1u) << "nothing is left beside it";
  EXPECT_EQ(shown, 1);
}

TEST_F(LapseTest, ASpeedSaysTheLength) {
  request.speed = 100;
  const auto made = make(steady_shots(401, seconds{1}));
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_EQ(made->frames, 100);
}

TEST_F(LapseTest, NothingIsShownTwice) {
  const auto two = make(steady_shots(2, seconds{60}));
  ASSERT_TRUE(two) << two.error().text();
  EXPECT_EQ(two->frames, 2);
  request.existing = Existing::replace;
  shown = 0;
  const auto one = make(steady_shots(1, seconds{1}));
  ASSERT_TRUE(one) << one.error().text();
  EXPECT_EQ(one->frames, 1);
  shown = 0;
  const auto few = make(steady_shots(30, seconds{1}));
  ASSERT_TRUE(few) << few.error().text();
  EXPECT_EQ(few->frames, 25);
}

TEST_F(LapseTest, WithoutAnyPictureTheSourceSaysWhy) {
  const auto made = make({});
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, base::ErrorCode::not_found);
  EXPECT_EQ(files(), 0u);
}

TEST_F(LapseTest, DamagedPicturesAreLeftOutAndCounted) {
  auto shots = steady_shots(300, seconds{1});
  for (std::size_t n = 0; n < shots.size(); n += 7) shots[n].bytes.resize(shots[n].bytes.size() / 3);
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_GT(made->bad, 20u);
  EXPECT_EQ(made->frames, 25);
}

TEST_F(LapseTest, NothingButDamageIsAnError) {
  auto shots = steady_shots(300, seconds{1});
  for (auto& shot : shots) shot.bytes.resize(100);
  const auto made = make(shots);
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, base::ErrorCode::not_found);
  EXPECT_EQ(files(), 0u);
}

// Cut short they can still be decoded in part, so such a one may be shown.
TEST_F(LapseTest, WhereAllAreDamagedEachIsCountedOnce) {
  auto shots = steady_shots(60, seconds{1}, 320, 240);
  for (std::size_t n = 0; n < shots.size(); ++n) {
    if (n < 50) shots[n].bytes.resize(shots[n].bytes.size() * 2 / 3);
  }
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_GE(made->bad, 30u);
  EXPECT_LE(made->bad, 50u);
  EXPECT_LE(made->bad, made->looked_at);
}

TEST_F(LapseTest, APictureTooNarrowForAFilmIsRefusedInWords) {
  for (const auto& [width, height] : {std::pair{2, 2000}, {2000, 2}}) {
    shown = 0;
    const auto made = make(steady_shots(60, seconds{1}, width, height));
    ASSERT_FALSE(made);
    EXPECT_EQ(made.error().code, base::ErrorCode::invalid_value) << made.error().text();
    EXPECT_NE(made.error().detail.find("px"), std::string::npos) << made.error().text();
  }
}

TEST_F(LapseTest, ANarrowPictureAmongOthersIsFramed) {
  auto shots = steady_shots(30, seconds{1});
  shots[7].bytes = test::make_picture(2, 2000, 1);
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_LE(made->resized, 1);
}

TEST_F(LapseTest, APictureOfAnotherSizeIsFramedAndTold) {
  auto shots = steady_shots(300, seconds{1});
  for (std::size_t n = 150; n < shots.size(); ++n) shots[n].bytes = test::make_picture(128, 128, 1);
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_NEAR(made->resized, 12, 2);
  EXPECT_EQ(made->width_px, 160);
}

TEST_F(LapseTest, OneOddPictureAtTheStartDoesNotDecideTheSize) {
  for (const int count : {300, 30}) {  // with a choice and without
    auto shots = steady_shots(count, seconds{1});
    shots.front().bytes = test::make_picture(64, 48, 1);
    request.existing = Existing::replace;
    shown = 0;
    const auto made = make(shots);
    ASSERT_TRUE(made) << made.error().text();
    EXPECT_EQ(made->width_px, 160);
    EXPECT_LE(made->resized, 1);
  }
}

// The first way only counts the pictures; choosing goes over them again, and may take a minute.
TEST_F(LapseTest, AnAnimatedPictureIsBoundBeforeAnythingIsChosen) {
  request.format = FilmFormat::webp;
  request.width_px = 3840;
  request.length_s = 2;
  const auto made = make(steady_shots(120, seconds{1}));
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, base::ErrorCode::too_large);
  EXPECT_NE(made.error().detail.find("50 frames of 3840×2880 px"), std::string::npos) << made.error().detail;
  EXPECT_NE(made.error().remedy.find("MP4"), std::string::npos);
  EXPECT_EQ(opened, 1);
  EXPECT_EQ(files(), 0u);
}

TEST_F(LapseTest, AFilmHigherThanAnyScreenIsRefusedBeforeAnythingIsChosen) {
  request.width_px = 640;
  const auto made = make(steady_shots(60, seconds{1}, 16, 512));
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, base::ErrorCode::too_large);
  EXPECT_EQ(opened, 1);
}

// The first is read for its size beforehand, but does not decide it.
TEST_F(LapseTest, OneOddPictureAtTheStartRefusesNoFilm) {
  request.width_px = 640;
  request.length_s = 0.4;
  auto shots = steady_shots(60, seconds{1});
  shots[0].bytes = steady_shots(1, seconds{1}, 16, 512)[0].bytes;
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_EQ(made->height_px, 480);
}

// 25 frames of 3840×2880 fit, 50 do not; which are dark is known only when all were looked at.
TEST_F(LapseTest, WhereTheDarkMayBeLeftOutAnAnimatedPictureIsBoundByTheRest) {
  request.format = FilmFormat::webp;
  request.width_px = 3840;
  request.length_s = 2;
  request.lit_only = true;
  const auto made = make(steady_shots(120, seconds{1}));
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, base::ErrorCode::too_large);
  EXPECT_GT(opened, 1) << "only when they were chosen was it known";
  request.length_s = 8;
  opened = 0;
  shown = 0;
  ASSERT_FALSE(make(steady_shots(480, seconds{1})));
  EXPECT_EQ(opened, 1) << "a quarter of 200 is too much as well";
}

TEST_F(LapseTest, WhereItCannotBeWrittenNothingIsReadFirst) {
  file = folder.path() / "no such folder" / "film.mp4";
  int opened = 0;
  const auto made = make_lapse(
      [&] {
        ++opened;
        return std::unique_ptr<PictureSource>(std::make_unique<Shots>(steady_shots(60, seconds{1})));
      },
      request, file, [](double) { return true; });
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, base::ErrorCode::not_found);
  EXPECT_EQ(opened, 0);
}

TEST_F(LapseTest, ItIsToldWhetherThereWasAChoice) {
  const auto few = make(steady_shots(40, seconds{1}));
  ASSERT_TRUE(few) << few.error().text();
  EXPECT_FALSE(few->chosen);
  EXPECT_EQ(few->wanted, 25);
  request.existing = Existing::replace;
  request.length_s = 10;
  shown = 0;
  const auto short_film = make(steady_shots(40, seconds{1}));
  ASSERT_TRUE(short_film) << short_film.error().text();
  EXPECT_EQ(short_film->wanted, 250);
  EXPECT_EQ(short_film->frames, 40);
}

TEST_F(LapseTest, TimesThatGoBackAreLeftOut) {
  auto shots = steady_shots(300, seconds{1});
  for (std::size_t n = 200; n < 220; ++n) shots[n].at -= seconds{100};
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_EQ(made->earlier, 20u);
  EXPECT_EQ(made->pictures, 280u);
}

TEST_F(LapseTest, WhereNothingWasRecordedTheFilmGoesOnBehind) {
  auto shots = steady_shots(300, seconds{1});
  for (std::size_t n = 150; n < shots.size(); ++n) shots[n].at += seconds{300};
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_GT(made->empty, 8);
  EXPECT_EQ(made->frames + made->empty, 25);
}

TEST_F(LapseTest, WhatIsDarkIsLeftOutWhenAsked) {
  auto shots = steady_shots(300, seconds{1});
  for (std::size_t n = 0; n < shots.size(); ++n) {
    if (n % 60 >= 40) shots[n].bytes = test::make_flat_picture(160, 120, 20);
  }
  const auto all = make(shots);
  ASSERT_TRUE(all) << all.error().text();
  EXPECT_EQ(all->dark, 0);
  request.existing = Existing::replace;
  request.lit_only = true;
  shown = 0;
  const auto lit = make(shots);
  ASSERT_TRUE(lit) << lit.error().text();
  EXPECT_GT(lit->dark, 4);
  EXPECT_EQ(lit->frames + lit->dark + lit->empty, 25);
}

TEST_F(LapseTest, WhatIsDarkIsLeftOutWithoutAChoiceToo) {
  auto shots = steady_shots(30, seconds{1});
  for (std::size_t n = 10; n < 20; ++n) shots[n].bytes = test::make_flat_picture(160, 120, 20);
  request.lit_only = true;
  const auto made = make(shots);
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_FALSE(made->chosen);
  EXPECT_GE(made->dark, 8);
  EXPECT_EQ(made->frames + made->dark, 25);
}

// Retention goes on while a film is made.
TEST_F(LapseTest, WhatIsRemovedMeanwhileIsLeftOut) {
  first_at = base::WallTime(std::chrono::hours(500'000));
  const auto shots = steady_shots(300, seconds{1});
  int opened = 0;
  const auto made = make_lapse(
      [&] {
        auto left = shots;
        if (++opened > 2) left.erase(left.begin(), left.begin() + 100);
        return std::unique_ptr<PictureSource>(std::make_unique<Shots>(std::move(left), first_at));
      },
      request, file, [](double) { return true; });
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_NEAR(made->frames, 17, 1);
  EXPECT_EQ(made->frames + made->gone, 25);
  EXPECT_EQ(made->bad, 0u) << "what is gone is not damaged";
  EXPECT_GE(made->first, seconds{100});
}

TEST_F(LapseTest, StoppedItLeavesNothingBehind) {
  for (const double until : {0.01, 0.3, 0.6, 0.9}) {
    const auto shots = steady_shots(300, seconds{1});
    const auto made =
        make_lapse([&] { return std::unique_ptr<PictureSource>(std::make_unique<Shots>(shots)); }, request,
                   file, [until](double share) { return share < until; });
    ASSERT_FALSE(made);
    EXPECT_EQ(made.error().code, base::ErrorCode::cancelled);
    EXPECT_EQ(files(), 0u);
  }
}

TEST_F(LapseTest, AFileThatIsThereIsReplacedOnlyWhenAsked) {
  ASSERT_TRUE(make(steady_shots(50, seconds{1})));
  const auto again = make(steady_shots(50, seconds{1}));
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, base::ErrorCode::already_exists);
  request.existing = Existing::replace;
  shown = 0;
  EXPECT_TRUE(make(steady_shots(50, seconds{1})));
}

TEST_F(LapseTest, ACardIsShownForTwoSecondsBefore) {
  request.card = "A vase, anvil";
  request.clock = true;
  const auto made = make(steady_shots(300, seconds{1}));
  ASSERT_TRUE(made) << made.error().text();
  EXPECT_EQ(made->frames, 25 + 50);
  EXPECT_EQ(made->wanted, 25) << "a card does not make the film longer than was asked for";
}

TEST_F(LapseTest, ACardOfManyLinesIsDrawnInThree) {
  for (const char* end : {"\n", "\r\n", "\v", "\u0085", "\u2028", "\u2029"}) {
    std::string words;
    for (int line = 0; line < 5000; ++line) words += std::string("a") + end;
    TextPen pen;
    const int one_px = pen.draw("a", 20, 100, 1).height_px;
    const auto drawn = pen.draw(std::string_view(words).substr(0, 400), 20, 100, 3);
    if (*end != '\n' && *end != '\r') {
      EXPECT_LE(drawn.height_px, 3 * one_px + 3) << base::printable(end);
    }
    request.card = words;
    request.existing = Existing::replace;
    shown = 0;
    EXPECT_TRUE(make(steady_shots(50, seconds{1})));
  }
}

TEST_F(LapseTest, TheFilmIsAsWideAsIsAsked) {
  request.width_px = 101;
  for (const auto format : {FilmFormat::mp4, FilmFormat::webm, FilmFormat::webp}) {
    request.format = format;
    request.existing = Existing::replace;
    shown = 0;
    const auto made = make(steady_shots(60, seconds{1}));
    ASSERT_TRUE(made) << made.error().text();
    EXPECT_EQ(made->width_px, 100);
    EXPECT_EQ(made->height_px, 76);
  }
}

TEST_F(LapseTest, WhatCannotBeMeantIsSaidWithItsRange) {
  const auto shots = steady_shots(10, seconds{1});
  const auto refused = [&](auto change) {
    request = LapseRequest{};
    request.what = "anvil";
    change(request);
    const auto made = make(shots);
    return !made && made.error().code == base::ErrorCode::invalid_value && !made.error().remedy.empty();
  };
  EXPECT_TRUE(refused([](LapseRequest& r) { r.length_s = 0; }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.length_s = -3; }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.length_s = 3601; }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.length_s = std::nan(""); }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.speed = 0.5; }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.speed = std::nan(""); }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.frames_per_s = 0; }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.frames_per_s = 61; }));
  EXPECT_TRUE(refused([](LapseRequest& r) { r.width_px = 10; }));
  EXPECT_EQ(files(), 0u);
}

}  // namespace
}  // namespace rookery::archive
