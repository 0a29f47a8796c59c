// Cameras, people and tokens from the command line: the contract that scripts rely on.
#include <gtest/gtest.h>

#include <fstream>

#include "tests/cli/rookery_program.h"
#include "tests/support/needs.h"

namespace rookery::test {
namespace {

using testing::Test;

TEST(CameraCommand, AddListSetRemove) {
  const Home home;
  ASSERT_EQ(home.run({"camera", "add", "anvil", "http://127.0.0.1:8081/stream", "--still",
                      "http://127.0.0.1:8080/still"})
                .exit_code,
            0);
  auto list = home.run_json({"camera", "list"});
  ASSERT_EQ(list.size(), 1U);
  EXPECT_EQ(list[0]["name"].as_string(), "anvil");
  EXPECT_EQ(list[0]["source"].as_string(), "stream");
  EXPECT_EQ(list[0]["stream_address"].as_string(), "http://127.0.0.1:8081/stream");
  EXPECT_EQ(list[0]["record"].as_string(), "always");

  EXPECT_EQ(home.run({"camera", "set", "anvil", "--record", "never", "--keep-hours", "48"}).exit_code, 0);
  list = home.run_json({"camera", "list"});
  EXPECT_EQ(list[0]["record"].as_string(), "never");
  EXPECT_EQ(list[0]["keep_for_h"].as_int64(), 48);
  EXPECT_EQ(list[0]["stream_address"].as_string(), "http://127.0.0.1:8081/stream");

  EXPECT_EQ(home.run({"camera", "remove", "anvil"}).exit_code, 0);
  EXPECT_TRUE(home.run_json({"camera", "list"}).empty());
}

TEST(CameraCommand, ChangingOneThingLeavesHowPicturesCome) {
  const Home home;
  ASSERT_EQ(home.run({"camera", "add", "bobbin", "--still", "http://127.0.0.1:8080/still"}).exit_code, 0);
  ASSERT_EQ(home.run({"camera", "add", "bay", "--pushed"}).exit_code, 0);
  ASSERT_EQ(home.run({"camera", "set", "bobbin", "--title", "Gear"}).exit_code, 0);
  ASSERT_EQ(home.run({"camera", "set", "bay", "--title", "Bay"}).exit_code, 0);
  const auto list = home.run_json({"camera", "list"});
  EXPECT_EQ(list[0].at("source").as_string(), "stills");
  EXPECT_EQ(list[1].at("source").as_string(), "pushed");
  EXPECT_EQ(home.run({"camera", "set", "bay", "--keep-hours", "-5"}).exit_code, 2);
}

TEST(ArchiveCommand, AFolderWithoutACatalogIsNotSound) {
  const Home home;
  EXPECT_EQ(home.run({"archive", "check"}).exit_code, 2);
  EXPECT_FALSE(std::filesystem::exists(home.path()));
}

// Whoever mistypes --home must not get an empty home that looks like a station without cameras.
TEST(Home, CommandsThatNeedOneMakeNone) {
  const std::vector<std::vector<std::string>> commands = {
      {"camera", "list"},
      {"camera", "set", "anvil", "--title", "Anvil"},
      {"camera", "remove", "anvil"},
      {"person", "list"},
      {"person", "remove", "Marta"},
      {"person", "password", "Marta", "--password-stdin"},
      {"token", "new", "anvil"},
      {"token", "list", "anvil"},
      {"token", "revoke", "anvil", "1"},
      {"export", "anvil", "--from", "2026-03-01T12:00:00Z", "--to", "2026-03-01T12:10:00Z", "-o", "a.mkv"},
      {"replay", "anvil"},
      {"archive", "check"},
      {"archive", "rebuild"},
  };
  const Home home;
  for (const auto& words : commands) {
    const Ended ended = home.run(words, "a long password\n");
    EXPECT_EQ(ended.exit_code, 2) << words[0] << " " << words[1];
    EXPECT_NE(ended.err.find(home.path().string()), std::string::npos) << ended.err;
    EXPECT_NE(ended.err.find("--home"), std::string::npos) << ended.err;
    EXPECT_FALSE(std::filesystem::exists(home.path())) << words[0] << " " << words[1];
  }
}

TEST(Home, TheFirstCameraOrPersonMakesOneAndSaysSo) {
  const Home first;
  EXPECT_EQ(first.run({"camera", "add", "anvil", "not an address"}).exit_code, 2);
  EXPECT_FALSE(std::filesystem::exists(first.path()));
  const Ended made = first.run({"camera", "add", "anvil", "http://127.0.0.1:81/stream"});
  EXPECT_EQ(made.exit_code, 0);
  EXPECT_NE(made.err.find("made a new home in " + first.path().string()), std::string::npos) << made.err;
  const Ended second = first.run({"camera", "add", "bobbin", "http://127.0.0.2:81/stream"});
  EXPECT_EQ(second.err, "");
  const Home other;
  EXPECT_EQ(other.run({"person", "add", "Marta", "--password-stdin"}, "a long password\n").exit_code, 0);
  EXPECT_EQ(other.run_json({"person", "list"}).size(), 1U);
}

TEST(Home, ALostCatalogIsToldFromAHomeThatIsNone) {
  const Home home;
  std::filesystem::create_directories(home.path() / "archive" / "anvil");
  for (const auto& words : std::vector<std::vector<std::string>>{
           {"camera", "list"}, {"camera", "add", "bobbin", "http://127.0.0.1:81/stream"}}) {
    const Ended ended = home.run(words);
    EXPECT_EQ(ended.exit_code, 2);
    EXPECT_NE(ended.err.find("archive rebuild"), std::string::npos) << ended.err;
  }
  EXPECT_FALSE(std::filesystem::exists(home.path() / "catalog.db"));
  EXPECT_EQ(home.run({"archive", "rebuild"}).exit_code, 0);
  EXPECT_EQ(home.run({"camera", "list"}).exit_code, 0);
}

TEST(CameraCommand, RefusesNamesThatAreNone) {
  const Home home;
  for (const std::string& name :
       {std::string("a/b"), std::string(".."), std::string(300, 'x'), std::string("Back Door")}) {
    const Ended ended = home.run({"camera", "add", name, "http://127.0.0.1/stream"});
    EXPECT_EQ(ended.exit_code, 2) << name;
    EXPECT_NE(ended.err.find("camera name"), std::string::npos) << ended.err;
    EXPECT_EQ(ended.err.find('\n'), ended.err.size() - 1) << "one line: " << ended.err;
  }
}

TEST(CameraCommand, RefusesAddressesThatAreNone) {
  const Home home;
  for (const char* address :
       {"", "192.0.2.1/stream", "ftp://192.0.2.1/", "http://", "http://h:99999/", "rtsp://h/x"}) {
    const Ended ended = home.run({"camera", "add", "anvil", address});
    EXPECT_EQ(ended.exit_code, 2) << address;
    EXPECT_FALSE(ended.err.empty());
  }
  EXPECT_FALSE(std::filesystem::exists(home.path()));
}

TEST(CameraCommand, TwoCamerasCannotShareAName) {
  const Home home;
  ASSERT_EQ(home.run({"camera", "add", "cog", "http://127.0.0.1:1/s"}).exit_code, 0);
  const auto lines = home.run_json({"camera", "add", "cog", "http://127.0.0.1:2/s"});
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_EQ(lines[0].at("error").as_object().at("code").as_string(), "already-exists");
  EXPECT_EQ(home.run({"camera", "add", "cog", "http://127.0.0.1:2/s"}).exit_code, 2);
}

TEST(CameraCommand, ABoardsPasswordIsNeverShownNorStoredInClear) {
  const Home home;
  ASSERT_EQ(home.run({"camera", "add", "kiln", "http://127.0.0.1:1/s", "--user", "hall", "--password-stdin"},
                     "tidewrack\n")
                .exit_code,
            0);
  const Ended listed = home.run({"camera", "list", "--json"});
  EXPECT_EQ(listed.out.find("tidewrack"), std::string::npos);
  EXPECT_NE(listed.out.find("\"has_password\":true"), std::string::npos);
  for (const auto& entry : std::filesystem::recursive_directory_iterator(home.path())) {
    if (!entry.is_regular_file()) continue;
    std::ifstream in(entry.path(), std::ios::binary);
    const std::string bytes{std::istreambuf_iterator<char>(in), {}};
    EXPECT_EQ(bytes.find("tidewrack"), std::string::npos) << entry.path();
  }
}

TEST(PersonCommand, PasswordComesFromStandardInput) {
  const Home home;
  EXPECT_EQ(home.run({"person", "add", "ann", "--role", "owner", "--password-stdin"}, "saltmarsh reeds\n")
                .exit_code,
            0);
  EXPECT_EQ(home.run({"person", "add", "ann", "--role", "viewer", "--password-stdin"}, "saltmarsh reeds\n")
                .exit_code,
            2);
  EXPECT_EQ(home.run({"person", "add", "bea", "--role", "viewer", "--password-stdin"}, "short\n").exit_code,
            2);
  EXPECT_EQ(home.run({"person", "add", "bea", "--role", "admiral", "--password-stdin"}, "saltmarsh reeds\n")
                .exit_code,
            2);
  EXPECT_EQ(home.run({"person", "add", "bea", "--role", "viewer"}).exit_code, 2);
  const auto list = home.run_json({"person", "list"});
  ASSERT_EQ(list.size(), 1U);
  EXPECT_EQ(list[0].at("role").as_string(), "owner");
}

TEST(PersonCommand, TheLastOwnerStays) {
  const Home home;
  ASSERT_EQ(home.run({"person", "add", "ann", "--role", "owner", "--password-stdin"}, "saltmarsh reeds\n")
                .exit_code,
            0);
  EXPECT_NE(home.run({"person", "remove", "ann"}).exit_code, 0);
  EXPECT_EQ(home.run_json({"person", "list"}).size(), 1U);
}

TEST(TokenCommand, PrintsTheTokenAlone) {
  const Home home;
  ASSERT_EQ(home.run({"camera", "add", "cog", "http://127.0.0.1:1/s"}).exit_code, 0);
  const Ended made = home.run({"token", "new", "cog", "--label", "printer"});
  ASSERT_EQ(made.exit_code, 0);
  // 32 bytes as base64url without padding: 43 characters and a line end.
  EXPECT_EQ(made.out.size(), 44U) << made.out;
  EXPECT_EQ(made.out.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_\n"),
            std::string::npos);

  const auto list = home.run_json({"token", "list", "cog"});
  ASSERT_EQ(list.size(), 1U);
  EXPECT_EQ(list[0].at("label").as_string(), "printer");
  EXPECT_EQ(home.run({"token", "revoke", "cog", std::to_string(list[0].at("id").as_int64())}).exit_code, 0);
  EXPECT_TRUE(home.run_json({"token", "list", "cog"}).empty());
  EXPECT_EQ(home.run({"token", "new", "nobody"}).exit_code, 2);
}

TEST(CommandLine, UnknownWordsAreBadUse) {
  const Home home;
  EXPECT_EQ(run_program({ROOKERY_PROGRAM}).exit_code, 2);
  EXPECT_EQ(run_program({ROOKERY_PROGRAM, "dance"}).exit_code, 2);
  EXPECT_EQ(
      home.run({"export", "cog", "--from", "noon", "--to", "2026-03-01T12:00:00Z", "-o", "x.mkv"}).exit_code,
      2);
  EXPECT_EQ(run_program({ROOKERY_PROGRAM, "--version"}).exit_code, 0);
  EXPECT_EQ(run_program({ROOKERY_PROGRAM, "camera", "add", "--help"}).exit_code, 0);
}

TEST(CommandLine, TheManualNamesEveryCommand) {
  const std::string page = run_program({ROOKERY_PROGRAM, "manual"}).out;
  for (const char* command : {"rookery serve", "rookery demo", "rookery camera add", "rookery person add",
                              "rookery token new", "rookery export", "rookery listen", "rookery replay",
                              "rookery archive check", "rookery archive rebuild"}) {
    EXPECT_NE(page.find(command), std::string::npos) << command;
  }
}

TEST(Home, ThatIsAFileIsBadUse) {
  const TempFolder folder;
  const auto file = folder.path() / "file";
  std::ofstream(file) << "not a folder";
  const Ended ended = run_program({ROOKERY_PROGRAM, "camera", "list", "--home", file.string()});
  EXPECT_EQ(ended.exit_code, 2) << ended.err;
  EXPECT_NE(ended.err.find(file.string()), std::string::npos) << ended.err;
}

TEST(Home, ACatalogOfANewerProgramIsLeftAlone) {
  ROOKERY_NEEDS_PROGRAM("sqlite3", "sqlite3");
  const Home home;
  ASSERT_EQ(home.run({"camera", "add", "cog", "http://127.0.0.1:1/s"}).exit_code, 0);
  ASSERT_EQ(
      run_program({"sqlite3", (home.path() / "catalog.db").string(), "PRAGMA user_version = 9999"}).exit_code,
      0);
  const Ended ended = home.run({"camera", "list"});
  EXPECT_EQ(ended.exit_code, 3);
  EXPECT_NE(ended.err.find("9999"), std::string::npos) << ended.err;
  ASSERT_EQ(
      run_program({"sqlite3", (home.path() / "catalog.db").string(), "SELECT count(*) FROM sqlite_schema"})
          .exit_code,
      0);
}

}  // namespace
}  // namespace rookery::test
