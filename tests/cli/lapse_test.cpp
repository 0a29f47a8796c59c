// rookery lapse: a film of pictures, as a person asks for it.
#include <gtest/gtest.h>

#include <sys/stat.h>

#include <fstream>

#include "tests/cli/rookery_program.h"
#include "tests/support/crossing.h"
#include "tests/support/small_disk.h"

namespace rookery::test {
namespace {

class LapseCommand : public testing::Test {
 protected:
  static constexpr int kPictures = 120;

  static void SetUpTestSuite() {
    for (int i = 0; i < kPictures; ++i) {
      const auto one = crossing_at(i * 0.1);
      pictures().insert(pictures().end(), one.begin(), one.end());
    }
  }
  static std::vector<std::byte>& pictures() {
    static std::vector<std::byte> made;
    return made;
  }
  LapseCommand() {
    std::ofstream out(source_, std::ios::binary);
    out.write(reinterpret_cast<const char*>(pictures().data()),
              static_cast<std::streamsize>(pictures().size()));
  }
  Ended run(std::vector<std::string> more) const {
    more.insert(more.begin(), {"lapse", source_, "--frames-per-s", "1", "-o", film_});
    return home_.run(more);
  }

  Home home_;
  TempFolder folder_;
  std::string source_ = (folder_.path() / "job.mjpeg").string();
  std::string film_ = (folder_.path() / "job.mp4").string();
};

TEST_F(LapseCommand, SaysWhatTheFilmIs) {
  const auto told = home_.run_json({"lapse", source_, "--frames-per-s", "1", "-o", film_, "--length", "1s"});
  ASSERT_EQ(told.size(), 1u);
  EXPECT_EQ(told[0].at("file").as_string(), film_);
  EXPECT_EQ(told[0].at("frames").to_number<int>(), 25);
  EXPECT_EQ(told[0].at("pictures").to_number<int>(), kPictures);
  EXPECT_NEAR(told[0].at("speed").to_number<double>(), 124, 8);
  EXPECT_TRUE(std::filesystem::exists(film_));
}

TEST_F(LapseCommand, ASpeedMayBeWrittenAsPeopleWriteIt) {
  for (const std::string speed : {"60", "60x", "60×"}) {
    const Ended made = run({"--speed", speed, "--force"});
    EXPECT_EQ(made.exit_code, 0) << made.err;
    EXPECT_NE(made.out.find("60× as fast"), std::string::npos) << made.out;
  }
}

TEST_F(LapseCommand, AFileThatIsThereIsNotReplacedUnasked) {
  ASSERT_EQ(run({"--length", "1"}).exit_code, 0);
  const auto before = std::filesystem::last_write_time(film_);
  const Ended again = run({"--length", "1"});
  EXPECT_EQ(again.exit_code, 2);
  EXPECT_NE(again.err.find("--force"), std::string::npos) << again.err;
  EXPECT_EQ(std::filesystem::last_write_time(film_), before);
  EXPECT_EQ(run({"--length", "1", "--force"}).exit_code, 0);
}

TEST_F(LapseCommand, WhatItIsMadeOfIsNeverReplaced) {
  const auto link = folder_.path() / "link.mp4";
  std::filesystem::create_symlink(source_, link);
  for (const std::string& out : {source_, link.string()}) {
    const Ended made =
        home_.run({"lapse", source_, "--frames-per-s", "1", "--format", "mp4", "--force", "-o", out});
    EXPECT_EQ(made.exit_code, 2) << made.out;
    EXPECT_NE(made.err.find("is what the film is made of"), std::string::npos) << made.err;
    EXPECT_EQ(std::filesystem::file_size(source_), pictures().size());
  }
}

TEST_F(LapseCommand, AnEndingMayBeInCapitalsAndMustNotContradict) {
  const auto out = [this](const char* name) { return (folder_.path() / name).string(); };
  EXPECT_EQ(home_.run({"lapse", source_, "--length", "1", "-o", out("A.MP4")}).exit_code, 0);
  const Ended other = home_.run({"lapse", source_, "--length", "1", "-o", out("b.mp4"), "--format", "webp"});
  EXPECT_EQ(other.exit_code, 2);
  EXPECT_NE(other.err.find("is no name for webp"), std::string::npos) << other.err;
  EXPECT_FALSE(std::filesystem::exists(out("b.mp4")));
}

TEST_F(LapseCommand, APipeIsNoSource) {
  const auto pipe = folder_.path() / "pipe.mjpeg";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  const Ended made = home_.run({"lapse", pipe.string(), "-o", film_});
  EXPECT_EQ(made.exit_code, 2);
  EXPECT_NE(made.err.find("save the pictures as a file first"), std::string::npos) << made.err;
}

TEST_F(LapseCommand, WhatIsNoNumberIsNoRate) {
  for (const char* verb : {"lapse", "replay"}) {
    const Ended made = home_.run({verb, source_, "--frames-per-s", "nan"});
    EXPECT_EQ(made.exit_code, 2) << verb << made.out;
  }
}

TEST_F(LapseCommand, AFileThatSaysNoTimesIsToldAsThat) {
  const Ended made = run({"--length", "1"});
  EXPECT_EQ(made.exit_code, 0) << made.err;
  EXPECT_NE(made.err.find("says no times; taken as 1 pictures a second"), std::string::npos) << made.err;
}

TEST_F(LapseCommand, ANameWithAColonIsAFileAndNoProtocol) {
  for (const char* name : {"12:00.mp4", "tcp:127.0.0.1:9.mp4", "pipe:1.mp4"}) {
    const Ended made = run_program({"sh", "-c",
                                    "cd '" + folder_.path().string() +
                                        "' && '" ROOKERY_PROGRAM "' lapse ./job.mjpeg "
                                        "--frames-per-s 1 --length 1 -o '" +
                                        name + "'"});
    EXPECT_EQ(made.exit_code, 0) << made.err;
    EXPECT_GT(std::filesystem::file_size(folder_.path() / name), 1000u);
  }
}

TEST_F(LapseCommand, ANameThatATerminalWouldObeyIsShownEscaped) {
  const std::string name = (folder_.path() / "a\x1b[2Jb\nc.mp4").string();
  for (const bool again : {false, true}) {
    const Ended made = home_.run({"lapse", source_, "--frames-per-s", "1", "--length", "1", "-o", name});
    EXPECT_EQ(made.exit_code, again ? 2 : 0) << made.err;
    EXPECT_EQ((made.out + made.err).find('\x1b'), std::string::npos);
    EXPECT_NE((made.out + made.err).find("a\\x1b[2Jb\\nc.mp4"), std::string::npos) << made.out << made.err;
  }
}

TEST_F(LapseCommand, ALinkIsFollowed) {
  const auto link = folder_.path() / "link.mp4";
  std::filesystem::create_symlink(film_, link);
  const Ended made =
      home_.run({"lapse", source_, "--frames-per-s", "1", "--length", "1", "-o", link.string()});
  EXPECT_EQ(made.exit_code, 0) << made.err;
  EXPECT_TRUE(std::filesystem::is_symlink(link));
  EXPECT_TRUE(std::filesystem::is_regular_file(film_));
}

TEST_F(LapseCommand, AFolderOrADeviceIsNoFilm) {
  for (const std::string& out : {folder_.path().string(), std::string("/dev/null")}) {
    const Ended made =
        home_.run({"lapse", source_, "--frames-per-s", "1", "--format", "mp4", "--force", "-o", out});
    EXPECT_EQ(made.exit_code, 2) << out << made.out;
  }
  EXPECT_TRUE(std::filesystem::is_character_file("/dev/null"));
}

TEST_F(LapseCommand, WithoutANameItIsNamedAfterItsSource) {
  const Ended made = run_program({"sh", "-c",
                                  "cd '" + folder_.path().string() +
                                      "' && '" ROOKERY_PROGRAM "' lapse ./job.mjpeg "
                                      "--frames-per-s 1 --length 1 --format webm"});
  EXPECT_EQ(made.exit_code, 0) << made.err;
  EXPECT_TRUE(std::filesystem::exists(folder_.path() / "job-lapse.webm")) << made.out;
}

TEST_F(LapseCommand, WhatCannotBeMeantIsSaidBeforeAnythingIsMade) {
  const std::vector<std::pair<std::vector<std::string>, std::string>> wrong = {
      {{"--length", "0"}, "Give seconds"},
      {{"--length", "soon"}, "Give seconds"},
      {{"--length", "2:00:01"}, "3600"},
      {{"--speed", "fast"}, "how many times"},
      {{"--speed", "0.5"}, "how many times"},
      {{"--size", "9000"}, "3840"},
      {{"--length", "3", "--speed", "9"}, "--"},
      {{"--format", "gif"}, "webp"},
      {{"--rate", "0"}, "1"},
  };
  for (const auto& [words, said] : wrong) {
    const Ended made = run(words);
    EXPECT_EQ(made.exit_code, 2) << words[1];
    EXPECT_NE(made.err.find(said), std::string::npos) << words[1] << ": " << made.err;
    EXPECT_FALSE(std::filesystem::exists(film_));
  }
}

TEST_F(LapseCommand, AnEndingThatIsNoFilmIsRefused) {
  const Ended made = home_.run({"lapse", source_, "-o", (folder_.path() / "job.gif").string()});
  EXPECT_EQ(made.exit_code, 2);
  EXPECT_NE(made.err.find(".mp4, .webm or .webp"), std::string::npos) << made.err;
}

TEST_F(LapseCommand, WhatIsNeitherFileNorCameraIsSaid) {
  const Ended made = home_.run({"lapse", "no such thing"});
  EXPECT_EQ(made.exit_code, 2);
  EXPECT_NE(made.err.find("no camera is called so"), std::string::npos) << made.err;
}

TEST_F(LapseCommand, FewPicturesMakeAShortFilmAndThatIsSaid) {
  const Ended made = run({"--length", "1:00"});
  EXPECT_EQ(made.exit_code, 0);
  EXPECT_NE(made.err.find("only 120 pictures"), std::string::npos) << made.err;
}

TEST_F(LapseCommand, AFullDiskIsSaidAndNothingIsLeft) {
  support::SmallDisk disk(256 << 10);
  ROOKERY_NEEDS(disk.mounted(), disk.refusal());
  disk.fill(2 << 10);
  const Ended made = home_.run(
      {"lapse", source_, "--frames-per-s", "1", "-o", (disk.path() / "job.mp4").string(), "--size", "1920"});
  EXPECT_EQ(made.exit_code, 3);
  EXPECT_NE(made.err.find("space"), std::string::npos) << made.err;
  EXPECT_FALSE(std::filesystem::exists(disk.path() / "job.mp4"));
  int left = 0;
  for (const auto& entry : std::filesystem::directory_iterator(disk.path()))
    left += entry.path().extension() == ".part";
  EXPECT_EQ(left, 0);
}

}  // namespace
}  // namespace rookery::test
