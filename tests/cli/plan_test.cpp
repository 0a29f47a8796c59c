// The sums, sheets and settings files from the command line. What the sums say: tests/plan/.
#include <sys/stat.h>

#include <gtest/gtest.h>

#include <fstream>

#include "tests/cli/rookery_program.h"
#include "tests/support/needs.h"

namespace rookery::test {
namespace {

namespace fs = std::filesystem;

Ended run(std::vector<std::string> words) {
  words.insert(words.begin(), {ROOKERY_PROGRAM, "plan"});
  return run_program(words);
}

std::string read_file(const fs::path& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

void write_file(const fs::path& path, std::string_view text) {
  std::ofstream out(path);
  out << text;
}

constexpr std::string_view kHall = R"(
station = "http://192.0.2.10:7420"
[every.wire]
size = "0.5 mm2"
current = "0.4 A"
length = "1.5 m"
[every.settings]
network = "hall"
key = 'loud "quote" \ and key'
[[camera]]
name = "anvil"
[[camera]]
name = "bobbin"
[camera.wire]
length = "60 m"
)";

TEST(PlanCommand, AnswersWithASourceAndALimit) {
  const Ended told = run({"wire", "--current", "0,5 A", "--length", "2 m", "--size", "22awg"});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  for (const char* word :
       {"Holds. ", "Limits", "How it was reckoned", "Source: ", "Assumed, since nothing was given"}) {
    EXPECT_NE(told.out.find(word), std::string::npos) << word << "\n" << told.out;
  }
}

TEST(PlanCommand, WhatDoesNotHoldExitsWithOne) {
  const Ended told = run({"wire", "--current", "1 A", "--length", "20 m", "--size", "28 AWG", "--json"});
  EXPECT_EQ(told.exit_code, 1) << told.err;
  EXPECT_EQ(boost::json::parse(told.out).at("verdict").as_string(), "fails");
}

TEST(PlanCommand, EveryMistakeHasALineOfItsOwn) {
  const Ended told = run({"wire", "--current", "24 MV", "--length", "far"});
  EXPECT_EQ(told.exit_code, 2);
  EXPECT_EQ(std::count(told.err.begin(), told.err.end(), '\n'), 3) << told.err;
  for (const char* word : {"wire: current", "wire: length", "wire: size: is missing"}) {
    EXPECT_NE(told.err.find(word), std::string::npos) << word << "\n" << told.err;
  }
  EXPECT_EQ(run({"anchor"}).exit_code, 2);
  EXPECT_EQ(run({}).exit_code, 2);
}

TEST(PlanCommand, WritesItsDrawing) {
  const TempFolder folder;
  const fs::path file = folder.path() / "wire.svg";
  const Ended told =
      run({"wire", "--current", "0.5 A", "--length", "2 m", "--size", "0.5 mm2", "--drawing", file.string()});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  EXPECT_TRUE(read_file(file).starts_with("<svg ")) << read_file(file);
  const Ended lost = run({"wire", "--current", "0.5 A", "--length", "2 m", "--size", "0.5 mm2", "--drawing",
                          (folder.path() / "no" / "such.svg").string()});
  EXPECT_EQ(lost.exit_code, 2);
  EXPECT_NE(lost.err.find("no/such.svg"), std::string::npos) << lost.err;
}

TEST(PlanSheet, IsOneFileACameraAndTellsTheWorst) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, kHall);
  const fs::path out = folder.path() / "sheet.html";
  const Ended both = run({"sheet", plan.string(), "-o", out.string()});
  EXPECT_EQ(both.exit_code, 1) << both.err;  // bobbin's wire is too long
  EXPECT_NE(read_file(folder.path() / "sheet-anvil.html").find("Build sheet: anvil"), std::string::npos);
  EXPECT_NE(read_file(folder.path() / "sheet-bobbin.html").find("does not hold"), std::string::npos);
  const Ended one = run({"sheet", plan.string(), "--camera", "anvil", "-o", out.string(), "--json"});
  EXPECT_EQ(one.exit_code, 0) << one.err;
  const auto json = boost::json::parse(one.out).as_object();
  EXPECT_EQ(json.at("camera").as_string(), "anvil");
  EXPECT_EQ(json.at("file").as_string(), out.string());
  for (const std::string& text : {read_file(out), one.out, both.out}) {
    EXPECT_EQ(text.find("quote"), std::string::npos) << "a network's key belongs into no sheet";
  }
  EXPECT_EQ(run({"sheet", plan.string(), "--camera", "cog"}).exit_code, 2);
  EXPECT_EQ(run({"sheet", (folder.path() / "none.toml").string()}).exit_code, 2);
}

TEST(PlanSheet, AMistakeHasItsLineAndColumn) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, "[[camera]]\nname = \"anvil\"\n[camera.wire]\nlenght = \"2 m\"\n");
  const Ended told = run({"sheet", plan.string()});
  EXPECT_EQ(told.exit_code, 2);
  EXPECT_NE(told.err.find("hall.toml line 4, column "), std::string::npos) << told.err;
}

// What a QR reader that others wrote reads from the sheet as a browser draws it.
TEST(PlanSheet, ItsCodeIsReadBackFromThePicture) {
  ROOKERY_NEEDS_PROGRAM("zbarimg", "zbar-tools");
  ROOKERY_NEEDS_PROGRAM("chromium", "chromium");
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, kHall);
  const fs::path out = folder.path() / "sheet.html";
  ASSERT_EQ(run({"sheet", plan.string(), "--camera", "anvil", "-o", out.string()}).exit_code, 0);
  const fs::path picture = folder.path() / "sheet.png";
  const Ended drawn =
      run_program({"chromium", "--headless", "--no-sandbox", "--disable-gpu",
                   "--user-data-dir=" + (folder.path() / "profile").string(), "--window-size=900,1300",
                   "--screenshot=" + picture.string(), "file://" + out.string()});
  ASSERT_TRUE(fs::exists(picture)) << drawn.err;
  const Ended read = run_program({"zbarimg", "--raw", "-q", picture.string()});
  EXPECT_EQ(read.out, "http://192.0.2.10:7420/#/camera/anvil\n") << read.err;
}

TEST(PlanSettings, AreFilledForEachCameraAndOnlyForYou) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  const fs::path settings = folder.path() / "board.h.mustache";
  const fs::path out = folder.path() / "out";
  write_file(plan, kHall);
  write_file(settings, "#define NAME \"{{name}}\"\n#define KEY \"{{key}}\"\n");
  const Ended told = run({"settings", settings.string(), plan.string(), "-o", out.string()});
  ASSERT_EQ(told.exit_code, 0) << told.err;
  EXPECT_EQ(read_file(out / "bobbin-board.h"),
            "#define NAME \"bobbin\"\n#define KEY \"loud \\\"quote\\\" \\\\ and key\"\n");
  struct stat status {};
  ASSERT_EQ(::stat((out / "anvil-board.h").c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777U, 0600U);
  EXPECT_EQ(told.out.find("loud"), std::string::npos);
  EXPECT_EQ(told.err.find("loud"), std::string::npos);
  EXPECT_NE(told.err.find("chmod 600"), std::string::npos) << told.err;

  const Ended again = run({"settings", settings.string(), plan.string(), "-o", out.string()});
  EXPECT_EQ(again.exit_code, 2);
  EXPECT_NE(again.err.find("--replace"), std::string::npos) << again.err;
  EXPECT_EQ(run({"settings", settings.string(), plan.string(), "-o", out.string(), "--replace"}).exit_code,
            0);
}

TEST(PlanSettings, OneThatCannotBeFilledLeavesNoneWritten) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  const fs::path settings = folder.path() / "board.h";
  write_file(plan, std::string(kHall) + "[camera.settings]\npin = 4\n");
  write_file(settings, "{{pin}} {{{key}}}\n");
  const Ended told =
      run({"settings", settings.string(), plan.string(), "-o", (folder.path() / "out").string()});
  EXPECT_EQ(told.exit_code, 2);
  EXPECT_NE(told.err.find("asks for pin, which anvil has no value for"), std::string::npos) << told.err;
  EXPECT_EQ(told.err.find("loud"), std::string::npos) << told.err;
  EXPECT_FALSE(fs::exists(folder.path() / "out"));
}

}  // namespace
}  // namespace rookery::test
