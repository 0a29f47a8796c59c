// rookery prove: the verdict as text, JSON, report and exit code; what cannot be proven says why.
#include <gtest/gtest.h>

#include <signal.h>

#include <fstream>
#include <sstream>

#include "archive/home_lock.h"
#include "camera/acceptance.h"
#include "camera/acceptance_limits.h"
#include "tests/cli/rookery_program.h"
#include "tests/cli/test_board.h"
#include "tests/support/eventually.h"
#include "tests/support/scripted_peer.h"
#include "tests/support/test_card.h"

namespace rookery::test {
namespace {

constexpr std::uint64_t kFramesPerS = 20;

class ProveCommand : public testing::Test {
 protected:
  // A tenth of a minute: some stills, 6 s of the stream, a second viewer.
  std::vector<std::string> words(const std::string& what, std::vector<std::string> more = {}) const {
    more.insert(more.begin(), {"prove", what, "--minutes", "0.1"});
    return more;
  }
  std::string text_of(const std::filesystem::path& file) const {
    std::ifstream in(file);
    return {std::istreambuf_iterator<char>(in), {}};
  }

  Home home_;
  TempFolder folder_;
};

const boost::json::object* find(const boost::json::object& told, std::string_view heading) {
  for (const auto& finding : told.at("findings").as_array()) {
    if (finding.as_object().at("heading").as_string() == heading) return &finding.as_object();
  }
  return nullptr;
}

TEST_F(ProveCommand, TellsEachHeadingAndWritesAReportThatStandsAlone) {
  TestBoard board(std::make_shared<TestCard>(), kFramesPerS);
  const std::string report = (folder_.path() / "report.html").string();
  std::string address = board.address();
  address.insert(7, "keeper:verysecret@");
  const Ended ended =
      home_.run(words(address, {"--still", board.still_address(), "--report", report, "--json"}));
  // A machine that is busy with other tests may make pictures late: never more than that.
  EXPECT_TRUE(ended.exit_code == 0 || ended.exit_code == 1) << ended.err;
  EXPECT_EQ(std::count(ended.out.begin(), ended.out.end(), '\n'), 1) << ended.out;
  const auto told = boost::json::parse(ended.out).as_object();
  EXPECT_EQ(told.at("findings").as_array().size(), camera::kAcceptanceLimits.size());
  EXPECT_EQ(told.at("width_px").to_number<int>(), 320);
  for (const char* heading : {"noise", "sharpness", "frozen", "broken", "restarts", "still"}) {
    const auto* finding = find(told, heading);
    ASSERT_TRUE(finding) << heading;
    EXPECT_EQ(finding->at("verdict"), "fit") << heading << ": " << finding->at("evidence").as_string();
    EXPECT_TRUE(finding->at("value").is_number()) << heading;
  }
  EXPECT_TRUE(find(told, "lamp")->at("verdict").is_null());

  const std::string html = text_of(report);
  EXPECT_TRUE(html.starts_with("<!doctype html>")) << ended.err;
  EXPECT_EQ(html.find("<script"), std::string::npos);
  EXPECT_EQ(html.find("src=\"http"), std::string::npos);
  EXPECT_EQ(html.find("url("), std::string::npos);
  std::size_t stills = 0;
  for (auto at = html.find("data:image/jpeg;base64,"); at != std::string::npos;
       at = html.find("data:image/jpeg;base64,", at + 1)) {
    ++stills;
  }
  EXPECT_EQ(stills, 2U);
  EXPECT_NE(html.find("<svg"), std::string::npos);
  for (const camera::AcceptanceLimit& limit : camera::kAcceptanceLimits)
    EXPECT_NE(html.find(std::string(limit.title.substr(0, 12))), std::string::npos) << limit.id;
  for (const std::string& text : {html, ended.out, ended.err})
    EXPECT_EQ(text.find("verysecret"), std::string::npos) << text.substr(0, 2000);
}

TEST_F(ProveCommand, WhatIsUnfitEndsWithOneAndSaysWhatToDo) {
  TestBoard board(TestCard::frozen(), kFramesPerS);
  ASSERT_EQ(home_.run({"camera", "add", "bobbin", board.address()}).exit_code, 0);
  const Ended ended = home_.run(words("bobbin"));
  EXPECT_EQ(ended.exit_code, 1) << ended.err;
  EXPECT_NE(ended.out.find("unfit     Times the picture stood still"), std::string::npos) << ended.out;
  EXPECT_NE(ended.out.find("The sensor hangs while the board answers"), std::string::npos) << ended.out;
  EXPECT_NE(ended.out.find("\nOverall: unfit ("), std::string::npos) << ended.out;
  EXPECT_EQ(ended.err, "");  // no progress but on a terminal
}

TEST_F(ProveCommand, WhatIsNoCameraSaysSoAndMakesNoReport) {
  ScriptedPeer page;
  page.always_answer({"HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: 31\r\n\r\n",
                      "<title>A printer</title>Welcome"});
  const std::string report = (folder_.path() / "report.html").string();
  const Ended ended = home_.run(words(page.address("/stream"), {"--report", report}));
  EXPECT_EQ(ended.exit_code, 2) << ended.err;
  EXPECT_NE(ended.err.find("A printer"), std::string::npos) << ended.err;
  EXPECT_FALSE(std::filesystem::exists(report));
  EXPECT_EQ(ended.out, "");
}

TEST_F(ProveCommand, AnAddressThatRefusesIsToldOnceWithWhatToDo) {
  ScriptedPeer closed;
  const std::string address = closed.address("/stream");
  closed.stop_listening();
  const Ended ended = home_.run(words(address));
  EXPECT_EQ(ended.exit_code, 3);
  EXPECT_EQ(ended.out, "");
  EXPECT_TRUE(ended.err.starts_with("rookery: ")) << ended.err;
  EXPECT_EQ(std::count(ended.err.begin(), ended.err.end(), '\n'), 1) << ended.err;
  EXPECT_NE(ended.err.find(address), std::string::npos) << ended.err;
  EXPECT_NE(ended.err.find("refused"), std::string::npos) << ended.err;
  EXPECT_NE(ended.err.find("rookery find"), std::string::npos) << ended.err;
}

TEST_F(ProveCommand, ABoardThatDiesInTheTestIsReportedAsFarAsItWent) {
  TestBoard board(std::make_shared<TestCard>(), kFramesPerS);
  const std::string report = (folder_.path() / "report.html").string();
  Background proving({ROOKERY_PROGRAM, "prove", board.address(), "--minutes", "0.1", "--report", report,
                      "--home", home_.path().string()});
  ASSERT_TRUE(eventually([&] { return board.frames_sent() > 40; })) << proving.err();
  board.faults().turn_on(sim::Fault::freeze);
  std::string out;
  while (const auto line = proving.read_line()) out += *line + "\n";
  const int code = proving.end(0);
  EXPECT_TRUE(code == 0 || code == 1) << code << proving.err();
  EXPECT_NE(out.find("Overall: "), std::string::npos) << out;
  EXPECT_NE(out.find("the stream was down at the end"), std::string::npos) << out;
  EXPECT_NE(text_of(report).find("Acceptance test of"), std::string::npos);
}

TEST_F(ProveCommand, AnInterruptTellsWhatWasMeasuredAndEndsWithThree) {
  for (const int signal : {SIGINT, SIGTERM}) {
    TestBoard board(std::make_shared<TestCard>(), kFramesPerS);
    const std::string report = (folder_.path() / ("report" + std::to_string(signal) + ".html")).string();
    Background proving({ROOKERY_PROGRAM, "prove", board.address(), "--minutes", "30", "--report", report,
                        "--home", home_.path().string(), "--json"});
    ASSERT_TRUE(eventually([&] { return board.frames_sent() > 60; })) << proving.err();
    const int code = proving.end(signal);
    const auto line = proving.read_line();
    ASSERT_TRUE(line) << proving.err();
    const auto told = boost::json::parse(*line).as_object();
    EXPECT_TRUE(told.at("interrupted").as_bool());
    EXPECT_GT(told.at("pictures").to_number<int>(), 20);
    EXPECT_EQ(code, told.at("overall").is_string() && told.at("overall") == "unfit" ? 1 : 3) << *line;
    EXPECT_NE(text_of(report).find("Stopped after"), std::string::npos);
  }
}

TEST_F(ProveCommand, ABoardThatTheStationPullsIsLeftToIt) {
  TestBoard board(std::make_shared<TestCard>(), kFramesPerS);
  ASSERT_EQ(home_.run({"camera", "add", "bobbin", board.address()}).exit_code, 0);
  const auto lock = archive::HomeLock::take(home_.path());
  ASSERT_TRUE(lock);
  for (const std::string& what : {std::string("bobbin"), board.address()}) {
    const Ended ended = home_.run(words(what));
    EXPECT_EQ(ended.exit_code, 3) << ended.err;
    EXPECT_NE(ended.err.find("rookery camera set bobbin --enabled false"), std::string::npos) << ended.err;
  }
  EXPECT_EQ(board.frames_sent(), 0U);
  // Let go, it may be proven while the station runs.
  ASSERT_EQ(home_.run({"camera", "set", "bobbin", "--enabled", "false"}).exit_code, 0);
  EXPECT_NE(home_.run(words("bobbin")).out.find("Overall: "), std::string::npos);
}

TEST_F(ProveCommand, WrongWordsAreBadUse) {
  std::filesystem::create_directories(home_.path() / "profiles");
  std::ofstream(home_.path() / "profiles" / "mine.toml") << "[stream]\npath = \"/video\"\nprot = 81\n";
  struct Wrong {
    std::vector<std::string> words;
    std::string says;
  };
  for (const Wrong& wrong : std::vector<Wrong>{
           {{"prove"}, "neither a camera's name nor an address"},
           {{"prove", "192.0.2.17", "--minutes", "0"}, "--minutes"},
           {{"prove", "192.0.2.17", "--profile", "no-such"}, "two-ports"},
           {{"prove", "192.0.2.17", "--profile", "mine"}, "mine.toml line 3: stream.prot is no setting here"},
           {{"prove", "ftp://192.0.2.17/"}, "ftp"},
           {{"prove", "nobody"}, "nobody"},
           {{"prove", "192.0.2.17", "--report", "/no/such/folder/r.html"}, "no such folder for the report"},
           {{"prove", "--show-profile", "no-such"}, "one-port"},
       }) {
    const Ended ended = home_.run(wrong.words);
    EXPECT_EQ(ended.exit_code, 2) << wrong.says << "\n" << ended.err;
    if (wrong.words.back() != "nobody") {
      EXPECT_NE(ended.err.find(wrong.says), std::string::npos) << ended.err;
    }
    EXPECT_EQ(std::count(ended.err.begin(), ended.err.end(), '\n'), 1) << ended.err;
  }
}

TEST_F(ProveCommand, ProfilesAreListedAndShownAsPatterns) {
  const auto shipped = home_.run_json({"prove", "--profiles"});
  ASSERT_EQ(shipped.size(), 3U);
  EXPECT_EQ(shipped[0].at("name"), "two-ports");
  const Ended shown = home_.run({"prove", "--show-profile", "one-port"});
  EXPECT_EQ(shown.exit_code, 0);
  std::filesystem::create_directories(home_.path() / "profiles");
  std::ofstream(home_.path() / "profiles" / "mine.toml") << shown.out;
  EXPECT_EQ(home_.run_json({"prove", "--profiles"})[0].at("name"), "mine");
}

TEST(ProveGuide, HoldsEveryLimitAsTheProgramHasIt) {
  std::ifstream in(std::string(SOURCE_ROOT) + "/docs/prove.md");
  const std::string guide{std::istreambuf_iterator<char>(in), {}};
  for (const camera::AcceptanceLimit& limit : camera::kAcceptanceLimits) {
    const std::string row = "| `" + std::string(limit.id) + "` | " + std::string(limit.title) + " | " +
                            camera::words_of(limit) + " | " + std::string(limit.source) + " |";
    EXPECT_NE(guide.find(row), std::string::npos) << "missing in docs/prove.md:\n" << row;
  }
}

}  // namespace
}  // namespace rookery::test
