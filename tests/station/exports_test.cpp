// Exports are bound by bytes and by what stays free on the disk; the oldest finished ones go first.
#include "station/exports.h"

#include <gtest/gtest.h>

#include <thread>

#include "station/export_room.h"
#include "tests/archive/archive_support.h"

namespace rookery::station {
namespace {

using archive::ExportFormat;
using archive::ExportRequest;
using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr std::int64_t kPerson = 1;

class ExportsTest : public archive::test::Hall {
 protected:
  void SetUp() override {
    archive::test::add_people(*catalog, 2);
    archive::Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 200, milliseconds{100});
    recorder.flush();
  }
  ExportRequest request(seconds from = seconds{0}, seconds to = seconds{20},
                        ExportFormat format = ExportFormat::matroska) const {
    return ExportRequest(anvil, archive::test::kNoon + from, archive::test::kNoon + to, format);
  }
  ExportView finish(Exports& exports, ExportRequest what, std::int64_t person = kPerson) {
    return finish(exports, exports.start(person, std::move(what)));
  }
  ExportView finish(Exports& exports, const base::Result<ExportView>& started) {
    EXPECT_TRUE(started.has_value()) << started.error().text();
    // Long: its thread yields to all others.
    const auto until = std::chrono::steady_clock::now() + seconds{100};
    auto view = exports.find(started->id);
    while (view && (view->state == ExportState::waiting || view->state == ExportState::working) &&
           std::chrono::steady_clock::now() < until) {
      std::this_thread::yield();
      view = exports.find(started->id);
    }
    EXPECT_TRUE(view.has_value());
    return *view;
  }
  std::size_t files() const {
    std::size_t count = 0;
    for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder.path() / "exports"))
      ++count;
    return count;
  }
  // How large one export of everything is.
  std::uint64_t size_of_one() {
    Exports exports{*catalog, clock, {}};
    return finish(exports, request()).result->bytes;
  }
};

TEST_F(ExportsTest, TheOldestFinishedGoesWhenANewOneNeedsItsBytes) {
  const std::uint64_t one = size_of_one();
  Exports exports{*catalog, clock, {2 * one + one / 2, 0}};
  std::vector<std::string> ids;
  for (int i = 0; i < 3; ++i) {
    const auto view = finish(exports, request());
    ASSERT_EQ(view.state, ExportState::done) << (view.error ? view.error->text() : "");
    ids.push_back(view.id);
    clock.pass(seconds{1});
  }
  EXPECT_FALSE(exports.find(ids[0]).has_value());
  EXPECT_TRUE(exports.find(ids[1]).has_value());
  EXPECT_TRUE(exports.find(ids[2]).has_value());
  EXPECT_EQ(files(), 2u);
  EXPECT_LE(exports.bytes(), exports.limits().most_bytes);
}

TEST_F(ExportsTest, ALapseIsMadeFollowedAndFetchedAsAnExport) {
  Exports exports{*catalog, clock, {}};
  archive::LapseRequest lapse;
  lapse.what = "anvil";
  lapse.format = archive::FilmFormat::webm;
  lapse.length_s = 1;
  const auto view = finish(exports, exports.start_lapse(kPerson, request(), lapse));
  ASSERT_EQ(view.state, ExportState::done) << (view.error ? view.error->text() : "");
  EXPECT_EQ(view.result->frames, 25u);
  EXPECT_EQ(view.result->bytes, std::filesystem::file_size(view.file));
  EXPECT_EQ(view.file.extension(), ".webm");
  EXPECT_EQ(view.file_name, "anvil 2026-03-01 12.00.00Z lapse.webm");
  ASSERT_TRUE(view.lapse_result.has_value());
  EXPECT_NEAR(view.lapse_result->speed, 20, 1.5);
}

TEST_F(ExportsTest, ALapseOfASpanWithoutRecordingSaysWhatThereIs) {
  Exports exports{*catalog, clock, {}};
  archive::LapseRequest lapse;
  lapse.what = "anvil";
  const auto view = finish(exports, exports.start_lapse(kPerson, request(seconds{400}, seconds{500}), lapse));
  ASSERT_EQ(view.state, ExportState::failed);
  EXPECT_EQ(view.error->code, base::ErrorCode::not_found);
  EXPECT_NE(view.error->remedy.find("2026-03-01T12:00:"), std::string::npos) << view.error->remedy;
}

TEST_F(ExportsTest, ADayLaterItIsGoneThoughNobodyAsksForAnother) {
  ExportLimits limits;
  limits.look_every = milliseconds{5};
  Exports exports{*catalog, clock, limits};
  const auto view = finish(exports, request());
  ASSERT_EQ(view.state, ExportState::done);
  ASSERT_EQ(files(), 1u);
  clock.pass(std::chrono::hours{24} - seconds{1});
  EXPECT_TRUE(exports.find(view.id).has_value());
  clock.pass(seconds{2});
  const auto until = std::chrono::steady_clock::now() + seconds{30};
  while (exports.find(view.id).has_value() && std::chrono::steady_clock::now() < until)
    std::this_thread::yield();
  EXPECT_FALSE(exports.find(view.id).has_value());
  EXPECT_EQ(files(), 0u);
}

TEST_F(ExportsTest, NobodyTakesTheRoomOfAnotherPersonsExports) {
  Exports exports{*catalog, clock, {}};
  const auto owners = finish(exports, request(seconds{0}, seconds{1}), 2);
  ASSERT_EQ(owners.state, ExportState::done);
  std::vector<std::string> ids;
  for (int i = 0; i < 9; ++i) {
    clock.pass(seconds{1});
    ids.push_back(finish(exports, request(seconds{0}, seconds{1})).id);
  }
  EXPECT_TRUE(exports.find(owners.id).has_value());
  EXPECT_FALSE(exports.find(ids.front()).has_value());  // the ninth of the same person
  EXPECT_TRUE(exports.find(ids[1]).has_value());

  // Nor the queue: one person's sixth is told to come back, another's first is taken.
  base::ErrorCode refused{};
  for (int i = 0; i < 30 && refused != base::ErrorCode::busy; ++i) {
    const auto one_more = exports.start(kPerson, request());
    if (!one_more) refused = one_more.error().code;
  }
  EXPECT_EQ(refused, base::ErrorCode::busy);
  EXPECT_TRUE(exports.start(2, request()).has_value());
}

TEST_F(ExportsTest, OneThatCanNeverFitIsRefusedAtOnceWithTheNumbers) {
  const std::uint64_t one = size_of_one();
  Exports exports{*catalog, clock, {one / 2, 0}};
  const auto refused = exports.start(kPerson, request());
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().code, base::ErrorCode::too_large);
  EXPECT_NE(refused.error().detail.find("MB"), std::string::npos) << refused.error().text();
  EXPECT_FALSE(refused.error().remedy.empty());
  // A piece of it fits.
  EXPECT_EQ(finish(exports, request(seconds{0}, seconds{5})).state, ExportState::done);
}

TEST_F(ExportsTest, OneWhoseSizeNobodyKnewFailsWhenItGrowsTooLarge) {
  Exports exports{*catalog, clock, {1000, 0}};
  const auto view = finish(exports, request(seconds{0}, seconds{20}, ExportFormat::mp4));
  ASSERT_EQ(view.state, ExportState::failed);
  EXPECT_EQ(view.error->code, base::ErrorCode::too_large) << view.error->text();
  EXPECT_EQ(files(), 0u);
  EXPECT_EQ(exports.bytes(), 0u);
}

TEST_F(ExportsTest, TheRecordingsRoomIsLeftAlone) {
  disk.pretended_free_bytes = 1'000'000;
  Exports exports{*catalog, clock, {1ull << 40, 1'999'000}, disk};
  const auto refused = exports.start(kPerson, request());
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(refused.error().code, base::ErrorCode::disk_full);
  EXPECT_NE(refused.error().detail.find("1.0 MB of the disk are free"), std::string::npos)
      << refused.error().text();
  disk.pretended_free_bytes = 100'000'000;
  EXPECT_EQ(finish(exports, request()).state, ExportState::done);
}

TEST_F(ExportsTest, FinishedOnesGoForTheDiskAsWell) {
  Exports exports{*catalog, clock, {1ull << 40, 1'000'000}, disk};
  disk.pretended_free_bytes = 100'000'000;
  const auto first = finish(exports, request());
  ASSERT_EQ(first.state, ExportState::done);
  // As if something else had filled the disk: only what the first takes is left above the floor.
  disk.pretended_free_bytes = 500'001;
  clock.pass(seconds{1});
  const auto started = exports.start(kPerson, request(seconds{0}, seconds{10}));
  EXPECT_TRUE(started.has_value()) << started.error().text();
}

TEST(ExportRoom, CountsWhatIsWrittenAlreadyAndWhatStaysFree) {
  const ExportLimits limits{1000, 400};
  const archive::DiskSpace space{500, 10'000};
  const auto room = export_room(limits, space, 300, 50);
  EXPECT_EQ(room.by_bound, 700u);
  EXPECT_EQ(room.floor_bytes, 200u);
  EXPECT_EQ(room.by_disk, 350u);
  EXPECT_EQ(room.most(), 350u);
  EXPECT_EQ(export_room(limits, {100, 10'000}, 2000, 0).most(), 0u);
}

}  // namespace
}  // namespace rookery::station
