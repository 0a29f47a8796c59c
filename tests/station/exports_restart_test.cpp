// Exports and lapses that were asked for outlive the station's end, in good order or not.
#include <fstream>

#include "archive/export_store.h"
#include "station/exports.h"
#include "tests/archive/archive_support.h"
#include "tests/support/eventually.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using archive::ExportFormat;
using archive::ExportRequest;
using archive::StoredExport;
using test::eventually;

// A disk that keeps whoever asks for its space waiting, but for the thread that made it.
class GatedDisk final : public archive::Disk {
 public:
  std::atomic<bool> is_open{true};
  std::atomic<bool> is_asked{false};
  void open() {
    is_open = true;
    is_open.notify_all();
  }
  base::Result<std::unique_ptr<archive::DiskFile>> create(const std::filesystem::path& file) override {
    return archive::real_disk().create(file);
  }
  base::Result<void> remove(const std::filesystem::path& file) override {
    return archive::real_disk().remove(file);
  }
  base::Result<archive::DiskSpace> space(const std::filesystem::path& folder) override {
    if (std::this_thread::get_id() != maker_ && !is_open) {
      is_asked = true;
      is_open.wait(false);
    }
    return archive::real_disk().space(folder);
  }
  base::Result<void> sync_folder(const std::filesystem::path&) override { return base::ok(); }
  base::Result<void> sync_all(const std::filesystem::path&) override { return base::ok(); }

 private:
  const std::thread::id maker_ = std::this_thread::get_id();
};

class ExportsRestart : public archive::test::Hall {
 protected:
  ExportsRestart() : kept(*catalog) {}
  void SetUp() override {
    archive::test::add_people(*catalog, 2);
    archive::Recorder recorder{*catalog, options(), clock};
    record(recorder, anvil, 200, 100ms);
    recorder.flush();
  }
  ExportRequest span() const {
    return ExportRequest(anvil, archive::test::kNoon, archive::test::kNoon + 20s, ExportFormat::matroska);
  }
  static archive::LapseRequest lapse() {
    archive::LapseRequest lapse;
    lapse.what = "anvil";
    lapse.length_s = 1;
    lapse.frames_per_s = 5;
    lapse.width_px = 64;
    lapse.card = "A vase";
    lapse.clock = true;
    return lapse;
  }
  std::unique_ptr<Exports> run(archive::Disk& on = archive::real_disk()) {
    return std::make_unique<Exports>(*catalog, clock, ExportLimits(), on);
  }
  // The one of this id, once it came to an end.
  static ExportView ended(const Exports& exports, const std::string& id) {
    const auto is_over = [&] {
      const auto view = exports.find(id);
      return view && view->state != ExportState::waiting && view->state != ExportState::working;
    };
    EXPECT_TRUE(eventually(is_over, 100s)) << "its thread yields to all others";
    return exports.find(id).value();
  }
  std::vector<StoredExport> stored() {
    EXPECT_TRUE(catalog->flush());
    return kept.all().value();
  }
  std::vector<std::string> files() const {
    std::vector<std::string> names;
    for (const auto& entry : std::filesystem::directory_iterator(folder.path() / "exports"))
      names.push_back(entry.path().filename().string());
    std::ranges::sort(names);
    return names;
  }
  GatedDisk gate;
  archive::ExportStore kept;
};

TEST_F(ExportsRestart, OneThatIsUnderWayAndThoseThatWaitAreMadeByTheNextStart) {
  gate.is_open = false;
  auto exports = run(gate);
  const std::string first = exports->start_lapse(1, span(), lapse())->id;
  const std::string second = exports->start(2, span())->id;
  ASSERT_TRUE(eventually([&] { return gate.is_asked.load(); }));
  exports->ask_to_stop();
  gate.open();
  exports.reset();
  ASSERT_EQ(stored().size(), 2u);
  for (const StoredExport& one : stored()) {
    EXPECT_TRUE(one.is_wanted());
    EXPECT_EQ(one.begun, 0) << "it was left in good order";
  }
  EXPECT_TRUE(files().empty());

  exports = run();
  const ExportView film = ended(*exports, first);
  ASSERT_EQ(film.state, ExportState::done) << (film.error ? film.error->text() : "");
  EXPECT_EQ(film.person, 1);
  EXPECT_EQ(film.lapse->card, "A vase");
  EXPECT_EQ(film.file_name, "anvil 2026-03-01 12.00.00Z lapse.mp4");
  EXPECT_EQ(std::filesystem::file_size(film.file), film.result->bytes);
  const ExportView file = ended(*exports, second);
  ASSERT_EQ(file.state, ExportState::done);
  EXPECT_EQ(file.result->frames, 200u);
  EXPECT_EQ(files().size(), 2u);
}

TEST_F(ExportsRestart, WhatAKillLeftHalfWrittenIsThrownAwayAndMadeAnew) {
  StoredExport one("00112233445566778899aabbccddeeff", 1, clock.wall(), span());
  ASSERT_TRUE(kept.add(one));
  ASSERT_TRUE(kept.note_begun(one.id));
  std::filesystem::create_directories(folder.path() / "exports");
  for (const char* name :
       {"00112233445566778899aabbccddeeff.mkv", ".00112233445566778899aabbccddeeff.mkv.part",
        "ffffffffffffffffffffffffffffffff.mp4"})
    std::ofstream(folder.path() / "exports" / name) << "half";
  const auto exports = run();
  const ExportView view = ended(*exports, one.id);
  ASSERT_EQ(view.state, ExportState::done) << (view.error ? view.error->text() : "");
  EXPECT_EQ(view.result->frames, 200u);
  EXPECT_EQ(files(), (std::vector<std::string>{one.id + ".mkv"}));
  EXPECT_GT(std::filesystem::file_size(view.file), 4u);
}

TEST_F(ExportsRestart, OneThatEndsTheStationAgainAndAgainIsGivenUpAndSaid) {
  StoredExport one("00112233445566778899aabbccddeeff", 1, clock.wall(), span());
  ASSERT_TRUE(kept.add(one));
  for (int i = 0; i < Exports::kMostBegun; ++i) ASSERT_TRUE(kept.note_begun(one.id));
  const auto exports = run();
  const ExportView view = exports->find(one.id).value();
  ASSERT_EQ(view.state, ExportState::failed);
  EXPECT_NE(view.error->detail.find("3 times"), std::string::npos) << view.error->text();
  EXPECT_FALSE(stored().front().is_wanted());
}

TEST_F(ExportsRestart, FinishedOnesAreThereForADayAndFailedOnesSayWhy) {
  auto exports = run();
  const ExportView film = ended(*exports, exports->start_lapse(1, span(), lapse())->id);
  ASSERT_EQ(film.state, ExportState::done) << (film.error ? film.error->text() : "");
  const ExportRequest nothing(anvil, archive::test::kNoon + 400s, archive::test::kNoon + 500s,
                              ExportFormat::matroska);
  const ExportView failed = ended(*exports, exports->start(1, nothing)->id);
  ASSERT_EQ(failed.state, ExportState::failed);
  exports.reset();

  exports = run();
  const ExportView again = exports->find(film.id).value();
  EXPECT_EQ(again.state, ExportState::done);
  EXPECT_EQ(again.progress, 1);
  EXPECT_EQ(again.result->bytes, film.result->bytes);
  EXPECT_EQ(again.result->first, film.result->first);
  EXPECT_EQ(again.lapse_result->speed, film.lapse_result->speed);
  EXPECT_EQ(again.lapse_result->wanted, film.lapse_result->wanted);
  EXPECT_TRUE(std::filesystem::exists(again.file));
  EXPECT_EQ(exports->find(failed.id)->error, failed.error);
  exports.reset();

  clock.pass(24h + 1s);  // while the station is off
  ExportLimits limits;
  limits.look_every = 5ms;
  const Exports later(*catalog, clock, limits);
  ASSERT_TRUE(eventually([&] { return !later.find(film.id) && !later.find(failed.id); }));
  EXPECT_TRUE(files().empty());
  EXPECT_TRUE(stored().empty());
}

TEST_F(ExportsRestart, WhatIsCancelledOrWhoseFileIsGoneDoesNotComeBack) {
  auto exports = run();
  const ExportView gone = ended(*exports, exports->start(1, span())->id);
  const ExportView cancelled = ended(*exports, exports->start(1, span())->id);
  ASSERT_TRUE(exports->remove(cancelled.id));
  exports.reset();
  std::filesystem::remove(gone.file);
  exports = run();
  EXPECT_FALSE(exports->find(gone.id).has_value());
  EXPECT_FALSE(exports->find(cancelled.id).has_value());
  EXPECT_TRUE(stored().empty());
  EXPECT_TRUE(files().empty());
}

TEST_F(ExportsRestart, CancelledWhileItIsUnderWayItIsGoneAtOnceAndForGood) {
  gate.is_open = false;
  auto exports = run(gate);
  const std::string id = exports->start_lapse(1, span(), lapse())->id;
  ASSERT_TRUE(eventually([&] { return gate.is_asked.load(); }));
  gate.open();
  ASSERT_TRUE(exports->remove(id));
  EXPECT_FALSE(exports->find(id).has_value());
  exports.reset();
  EXPECT_TRUE(stored().empty());
  EXPECT_TRUE(files().empty());
}

TEST_F(ExportsRestart, WhatSomebodyAskedForGoesWithThem) {
  StoredExport one("00112233445566778899aabbccddeeff", 2, clock.wall(), span());
  ASSERT_TRUE(kept.add(one));
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    db.exec("DELETE FROM person WHERE id = 2");
    return base::ok();
  }));
  EXPECT_TRUE(stored().empty());
  EXPECT_EQ(kept.add(one).error().code, base::ErrorCode::not_found);
  EXPECT_EQ(run()->start(2, span()).error().code, base::ErrorCode::not_found);
}

}  // namespace
}  // namespace rookery::station
