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

// What is asked for is called as it is typed, and what is proposed can be typed.
TEST(PlanCommand, WhatIsMissingIsAskedForAsItIsTyped) {
  const Ended told = run({"supply", "--length", "2 m"});
  EXPECT_EQ(told.exit_code, 2);
  EXPECT_NE(told.err.find("--source: is missing: "), std::string::npos) << told.err;
  EXPECT_NE(told.err.find("give it, such as supply-24"), std::string::npos) << told.err;
  EXPECT_EQ(told.err.find("source="), std::string::npos) << told.err;
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
  for (const char* word : {"--current", "--length", "--size: is missing"}) {
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

const std::vector<std::string> kWire = {"wire", "--current", "0.5 A", "--length", "2 m", "--size", "0.5 mm2"};

Ended draw(const fs::path& file) {
  std::vector<std::string> words = kWire;
  words.insert(words.end(), {"--drawing", file.string()});
  return run(words);
}

TEST(PlanCommand, ADrawingGoesIntoAPipeOrDeviceAndBehindALink) {
  const TempFolder folder;
  const fs::path link = folder.path() / "link.svg";
  write_file(folder.path() / "real.svg", "old");
  fs::create_symlink("real.svg", link);
  EXPECT_EQ(draw(link).exit_code, 0);
  EXPECT_TRUE(fs::is_symlink(link));
  EXPECT_TRUE(read_file(folder.path() / "real.svg").starts_with("<svg "));
  const fs::path pipe = folder.path() / "pipe";
  ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
  Background reader({"sh", "-c", "head -c 5 " + pipe.string() + "; echo"});
  EXPECT_EQ(draw(pipe).exit_code, 0);
  EXPECT_TRUE(fs::is_fifo(pipe));
  EXPECT_EQ(reader.read_line().value_or(""), "<svg ");
  // Through links of our own: a program that replaced what it is given would not spoil this computer.
  const auto linked = [&](const std::string& device) {
    fs::create_symlink("/dev/" + device, folder.path() / device);
    return folder.path() / device;
  };
  EXPECT_EQ(draw(linked("null")).exit_code, 0);
  EXPECT_TRUE(fs::is_character_file(folder.path() / "null"));
  const Ended both = draw(linked("stdout"));
  EXPECT_TRUE(both.out.starts_with("<svg ")) << both.out.substr(0, 80);
  EXPECT_NE(both.out.find("Holds. "), std::string::npos);
  EXPECT_EQ(draw(linked("full")).exit_code, 3);
}

TEST(PlanCommand, OutputThatDoesNotArriveIsToldAndExitsWithThree) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, kHall);
  const std::string wire = " plan wire --current 0.5A --length 2m --size 0.5mm2";
  const fs::path out = folder.path() / "stdout";
  fs::create_symlink("/dev/stdout", out);
  for (const std::string& command :
       {wire, wire + " --json", wire + " --drawing " + out.string(),
        " plan sheet " + plan.string() + " --camera anvil",
        " plan sheet " + plan.string() + " --camera anvil -o " + out.string(), std::string(" --help"),
        std::string(" --version"), std::string(" manual")}) {
    const Ended told = run_program({"sh", "-c", ROOKERY_PROGRAM + command + " > /dev/full"});
    EXPECT_EQ(told.exit_code, 3) << command << told.err;
    EXPECT_TRUE(told.err.find("standard output") != std::string::npos ||
                told.err.find(out.string()) != std::string::npos)
        << command << told.err;
  }
  EXPECT_EQ(run_program({"sh", "-c", ROOKERY_PROGRAM + wire + " >&-"}).exit_code, 3);
  // A mistake stays one.
  EXPECT_EQ(run_program({"sh", "-c", ROOKERY_PROGRAM + wire + " --current x > /dev/full"}).exit_code, 2);
}

TEST(PlanCommand, WhatIsTypedIsRepeatedShortAndObeyedByNoTerminal) {
  const Ended told = run({"wire", "--current", "\x1b[31m\xff", "--length", "1,000", "--size", "2awg2",
                          "--strands", std::string(90'000, 'x')});
  EXPECT_EQ(told.exit_code, 2);
  EXPECT_EQ(told.err.find('\x1b'), std::string::npos) << told.err;
  EXPECT_NE(told.err.find("\\x1b[31m\ufffd"), std::string::npos) << told.err;
  EXPECT_NE(told.err.find("may part thousands"), std::string::npos) << told.err;
  EXPECT_LT(told.err.size(), 2000U);
  std::string accents(36, 'a');
  for (int i = 0; i < 30; ++i) accents += "\u00e9";
  const Ended json = run({"wire", "--current", accents, "--length", "1 m", "--size", "22 AWG", "--json"});
  boost::system::error_code error;
  boost::json::parse(json.out, error);
  EXPECT_FALSE(error) << json.out;
}

TEST(PlanSheet, IsNotWrittenOverWhatItIsMadeFrom) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, kHall);
  fs::create_symlink("hall.toml", folder.path() / "link.html");
  fs::create_symlink("hall.toml", folder.path() / "sheet-bobbin.html");
  for (const char* name : {"hall.toml", "link.html", "sheet.html"}) {
    const Ended told = run({"sheet", plan.string(), "-o", (folder.path() / name).string()});
    EXPECT_EQ(told.exit_code, 2) << name;
    EXPECT_NE(told.err.find("which the output is made from"), std::string::npos) << told.err;
    EXPECT_EQ(read_file(plan), kHall);
  }
  EXPECT_FALSE(fs::exists(folder.path() / "sheet-anvil.html")) << "nothing is written unless all can be";
}

TEST(PlanSheet, WhatIsNoNameOfAFileIsRefused) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, kHall);
  fs::create_directory(folder.path() / "w");
  for (const std::string& out : {std::string(), folder.path().string() + "/w/", folder.path().string() + "/w",
                                 folder.path().string() + "/new/"}) {
    const Ended told = run({"sheet", plan.string(), "-o", out});
    EXPECT_EQ(told.exit_code, 2) << out;
    EXPECT_TRUE(told.out.empty()) << told.out;
    EXPECT_EQ(told.err.find("cable"), std::string::npos) << told.err;
  }
  EXPECT_TRUE(fs::is_empty(folder.path() / "w"));
  EXPECT_EQ(draw("").exit_code, 2);
  EXPECT_EQ(run({"sheet", folder.path().string()}).exit_code, 2);
}

TEST(PlanSheet, SeveralGoIntoOnePipe) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  write_file(plan, kHall);
  fs::create_symlink("/dev/stdout", folder.path() / "stdout");
  const Ended told = run({"sheet", plan.string(), "-o", (folder.path() / "stdout").string()});
  for (const char* name : {"<h1>Build sheet: anvil</h1>", "<h1>Build sheet: bobbin</h1>"})
    EXPECT_NE(told.out.find(name), std::string::npos) << name;
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
    EXPECT_EQ(text.find("loud"), std::string::npos) << "a network's key belongs into no sheet";
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

TEST(PlanSettings, AllOfThemOrNone) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  const fs::path settings = folder.path() / "board.h";
  const fs::path out = folder.path() / "out";
  write_file(plan, kHall);
  write_file(settings, "{{name}}\n");
  const auto fill = [&](std::vector<std::string> more = {}) {
    std::vector<std::string> words = {"settings", settings.string(), plan.string(), "-o", out.string()};
    words.insert(words.end(), more.begin(), more.end());
    return run(words);
  };
  fs::create_directory(out);
  write_file(out / "bobbin-board.h", "mine");
  const Ended taken = fill();
  EXPECT_EQ(taken.exit_code, 2);
  EXPECT_NE(taken.err.find("bobbin-board.h: there already, so nothing was written"), std::string::npos)
      << taken.err;
  EXPECT_FALSE(fs::exists(out / "anvil-board.h"));
  // A folder in the way of one of them.
  fs::remove(out / "bobbin-board.h");
  fs::create_directory(out / "bobbin-board.h");
  EXPECT_EQ(fill({"--replace"}).exit_code, 2);
  EXPECT_FALSE(fs::exists(out / "anvil-board.h"));
  // Two names for one file.
  fs::remove(out / "bobbin-board.h");
  fs::create_symlink("anvil-board.h", out / "bobbin-board.h");
  const Ended one = fill();
  EXPECT_EQ(one.exit_code, 2);
  EXPECT_NE(one.err.find("are one file"), std::string::npos) << one.err;
  EXPECT_FALSE(fs::exists(out / "anvil-board.h"));
  fs::remove(out / "bobbin-board.h");
  EXPECT_EQ(fill().exit_code, 0);
  EXPECT_EQ(read_file(out / "bobbin-board.h"), "bobbin\n");
  EXPECT_EQ(std::distance(fs::directory_iterator(out), {}), 2) << "no temporary file is left";
  EXPECT_EQ(run({"settings", settings.string(), plan.string(), "-o", ""}).exit_code, 2);
}

TEST(PlanSettings, TextsComeOutAsThemselvesAndAnEmptyOneIsNamed) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  const fs::path settings = folder.path() / "board.h";
  const fs::path out = folder.path() / "out";
  write_file(plan,
             "[[camera]]\nname = \"anvil\"\n[camera.settings]\nnetwork = \"no\"\nkey = \"\"\npin = "
             "0x10\nlamp = false\n");
  write_file(settings, "{{network}} [{{key}}] {{pin}} {{lamp}}{{#lamp}} lit{{/lamp}}\n");
  const Ended told = run({"settings", settings.string(), plan.string(), "-o", out.string()});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  EXPECT_EQ(read_file(out / "anvil-board.h"), "no [] 0x10 false\n");
  EXPECT_NE(told.err.find("anvil: key is empty in board.h"), std::string::npos) << told.err;
}

TEST(PlanSettings, WhatNestsTooDeepIsToldInWords) {
  const TempFolder folder;
  const fs::path plan = folder.path() / "hall.toml";
  const fs::path settings = folder.path() / "board.h";
  std::string dots;
  std::string sections;
  for (int i = 0; i < 40'000; ++i) dots += "a.";
  for (int i = 0; i < 20'000; ++i) sections += "{{#name}}";
  write_file(plan, "[" + dots + "a]\n");
  const Ended toml = run({"sheet", plan.string()});
  EXPECT_EQ(toml.exit_code, 2) << toml.err;
  EXPECT_NE(toml.err.find("hall.toml line 1"), std::string::npos) << toml.err;
  write_file(plan, kHall);
  write_file(settings, sections);
  const Ended mustache =
      run({"settings", settings.string(), plan.string(), "-o", (folder.path() / "out").string()});
  EXPECT_EQ(mustache.exit_code, 2) << mustache.err;
  EXPECT_NE(mustache.err.find("more than 16 sections"), std::string::npos) << mustache.err;
}

}  // namespace
}  // namespace rookery::test
