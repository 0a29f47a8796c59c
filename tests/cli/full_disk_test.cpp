// The real station on a small disk: filled while it runs, and full before there is a home. Catalog and
// recordings share that disk.
#include <gtest/gtest.h>

#include <signal.h>

#include <fstream>
#include <set>
#include <thread>

#include <boost/json.hpp>

#include "tests/cli/rookery_program.h"
#include "tests/cli/test_board.h"
#include "tests/support/needs.h"
#include "tests/support/small_disk.h"

namespace rookery::test {
namespace {

constexpr std::chrono::seconds kDeadline{60};
constexpr std::size_t kDiskBytes = 16u << 20;
constexpr std::uint64_t kFramesPerSecond = 120;

template <class Done>
bool eventually(Done done) {
  const auto until = std::chrono::steady_clock::now() + kDeadline;
  while (std::chrono::steady_clock::now() < until) {
    if (done()) return true;
    std::this_thread::yield();
  }
  return false;
}

enum class Sizes { steady, stepping };

// 120 pictures. Stepping: their size changes every 60, and each change begins a new segment, so that there is
// something to delete long before a segment's usual ten minutes are over.
std::vector<sim::Bytes> pictures(Sizes sizes) {
  std::vector<sim::Bytes> made;
  for (unsigned i = 0; i < 120; ++i)
    made.push_back(board_picture(sizes == Sizes::stepping && i >= 60 ? 656 : 640, 480, i, 90));
  return made;
}

// A station with two boards whose home is on a small disk, and an owner who is signed in.
class FullDisk {
 public:
  explicit FullDisk(Sizes sizes = Sizes::stepping)
      : anvil_(pictures(sizes), kFramesPerSecond), bobbin_(pictures(sizes), kFramesPerSecond) {
    std::filesystem::create_directories(home());
    std::ofstream(home() / "rookery.toml") << "keep_free_gib = 0.002\n";
  }

  Ended run(std::vector<std::string> words, const std::string& input = {}) const {
    words.insert(words.begin(), ROOKERY_PROGRAM);
    words.insert(words.end(), {"--home", home().string()});
    return run_program(words, input);
  }
  void set_up() {
    ASSERT_EQ(run({"camera", "add", "anvil", anvil_.address()}).exit_code, 0);
    ASSERT_EQ(run({"camera", "add", "bobbin", bobbin_.address()}).exit_code, 0);
    ASSERT_EQ(
        run({"person", "add", "Marta", "--role", "owner", "--password-stdin"}, "a long password\n").exit_code,
        0);
  }
  void begin() {
    ASSERT_TRUE(disk.mounted()) << disk.refusal();
    ASSERT_NO_FATAL_FAILURE(set_up());
    ASSERT_NO_FATAL_FAILURE(serve());
    ASSERT_NO_FATAL_FAILURE(sign_in());
  }
  // Keeps what there is as soon as there is something, and waits for a few more that nobody keeps.
  void keep_the_first(std::set<std::string>& kept) {
    ASSERT_TRUE(eventually([&] {
      keep(true);
      return !(kept = kept_files()).empty();
    })) << station->err();
    ASSERT_TRUE(eventually([&] { return files(".mkv").size() >= kept.size() + 3; })) << station->err();
  }
  void serve() {
    station = std::make_unique<Background>(std::vector<std::string>{
        ROOKERY_PROGRAM, "serve", "--home", home().string(), "--listen", "127.0.0.1:0", "--json"});
    const auto line = station->read_line();
    ASSERT_TRUE(line.has_value()) << station->err();
    const auto said = boost::json::parse(*line).as_object();
    ASSERT_TRUE(said.contains("address")) << *line;
    address_ = std::string(said.at("address").as_string());
  }
  void sign_in() {
    ASSERT_TRUE(eventually([&] {
      return api("POST", "/api/v1/sign-in", R"({"name":"Marta","password":"a long password"})", true) ==
             "204";
    })) << station->err();
  }

  // The answer's body; its status when `status_only`.
  std::string api(const std::string& method, const std::string& path, const std::string& body = {},
                  bool status_only = false) const {
    const auto jar = (folder_.path() / "jar").string();
    std::vector<std::string> words = {"curl", "-s", "-m", "20",   "-b", jar,
                                      "-c",   jar,  "-X", method, "-H", "Origin: " + address_};
    if (!body.empty()) words.insert(words.end(), {"-H", "Content-Type: application/json", "-d", body});
    if (status_only) words.insert(words.end(), {"-o", "/dev/null", "-w", "%{http_code}"});
    words.push_back(address_ + path);
    return run_program(words).out;
  }
  boost::json::object get(const std::string& path) const {
    boost::system::error_code bad;
    const auto value = boost::json::parse(api("GET", path), bad);
    return bad || !value.is_object() ? boost::json::object() : value.as_object();
  }
  // Sums over both cameras' recorders: "bytes_written", "lost", …
  std::int64_t sum(const char* counter) const {
    std::int64_t total = 0;
    const auto answer = get("/api/v1/cameras");
    if (!answer.contains("cameras")) return -1;
    for (const auto& camera : answer.at("cameras").as_array())
      total += camera.at("status").at("recorder").at(counter).to_number<std::int64_t>();
    return total;
  }
  std::string keep(bool kept) const {
    std::string all;
    for (const char* camera : {"anvil", "bobbin"}) {
      all += api("PUT", std::string("/api/v1/cameras/") + camera + "/kept",
                 std::string(R"({"from":"2020-01-01T00:00:00Z","to":"2100-01-01T00:00:00Z","kept":)") +
                     (kept ? "true}" : "false}"));
    }
    return all;
  }
  // Files below archive/ with this ending.
  std::set<std::string> files(const std::string& ending) const {
    std::set<std::string> found;
    std::error_code gone;
    for (std::filesystem::recursive_directory_iterator it(home() / "archive", gone), end; !gone && it != end;
         it.increment(gone)) {
      if (it->path().string().ends_with(ending)) found.insert(it->path().string());
    }
    return found;
  }
  std::set<std::string> kept_files() const {
    std::set<std::string> kept;
    for (const std::string& mark : files(".kept")) kept.insert(mark.substr(0, mark.size() - 5));
    return kept;
  }
  void expect_all_there(const std::set<std::string>& kept) const {
    for (const std::string& file : kept) EXPECT_TRUE(std::filesystem::exists(file)) << file;
  }
  std::filesystem::path home() const { return disk.path() / "home"; }

  support::SmallDisk disk{kDiskBytes};
  std::unique_ptr<Background> station;

 private:
  TempFolder folder_;
  TestBoard anvil_;
  TestBoard bobbin_;
  std::string address_;
};

TEST(FullDiskStation, FilledWhileItRunsTheOldestGoesNothingKeptGoesAndNothingIsLost) {
  ROOKERY_NEEDS_SMALL_DISK();
  ROOKERY_NEEDS_PROGRAM("curl", "curl");
  FullDisk hall;
  ASSERT_NO_FATAL_FAILURE(hall.begin());
  // What is there first, somebody wants to keep; of the next ones nobody thinks.
  ASSERT_TRUE(eventually([&] { return hall.files(".mkv").size() >= 2; })) << hall.station->err();
  std::set<std::string> kept;
  ASSERT_NO_FATAL_FAILURE(hall.keep_the_first(kept));
  const auto early = hall.files(".mkv");
  ASSERT_TRUE(eventually([&] {
    return hall.sum("bytes_written") > 3 * static_cast<std::int64_t>(kDiskBytes);
  })) << hall.station->err();
  EXPECT_EQ(hall.sum("lost"), 0) << hall.station->err();
  hall.expect_all_there(kept);
  const auto now = hall.files(".mkv");
  for (const std::string& file : early) EXPECT_TRUE(kept.contains(file) || !now.contains(file)) << file;
  EXPECT_NE(hall.station->err().find("of the disk are kept free"), std::string::npos) << hall.station->err();
  EXPECT_EQ(hall.run({"camera", "list"}).exit_code, 0);
  const Ended check = hall.run({"archive", "check"});
  EXPECT_EQ(check.exit_code, 0) << check.out << check.err;
  EXPECT_EQ(hall.station->end(SIGTERM), 0);
  const Ended after = hall.run({"archive", "check"});
  EXPECT_EQ(after.exit_code, 0) << after.out << after.err << hall.station->err();
}

// Ten minutes do not fit on the disk: all there is are two segments in work.
TEST(FullDiskStation, SmallerThanASegmentTheOldestOfWhatIsInWorkGoes) {
  ROOKERY_NEEDS_SMALL_DISK();
  ROOKERY_NEEDS_PROGRAM("curl", "curl");
  FullDisk hall(Sizes::steady);
  ASSERT_NO_FATAL_FAILURE(hall.begin());
  ASSERT_TRUE(eventually([&] {
    return hall.sum("bytes_written") > 3 * static_cast<std::int64_t>(kDiskBytes);
  })) << hall.station->err();
  EXPECT_EQ(hall.sum("lost"), 0) << hall.station->err();
  EXPECT_EQ(hall.station->end(SIGTERM), 0);
  const Ended after = hall.run({"archive", "check"});
  EXPECT_EQ(after.exit_code, 0) << after.out << after.err;
}

// Somebody else fills the disk, the power goes, and comes back with the disk as it was: what nobody kept
// makes room for the catalog, what the crash left is mended, and recording goes on.
TEST(FullDiskStation, AfterAPowerCutOnAFullDiskItStartsMendsAndGoesOn) {
  ROOKERY_NEEDS_SMALL_DISK();
  ROOKERY_NEEDS_PROGRAM("curl", "curl");
  FullDisk hall;
  ASSERT_NO_FATAL_FAILURE(hall.begin());
  std::set<std::string> kept;
  ASSERT_NO_FATAL_FAILURE(hall.keep_the_first(kept));
  EXPECT_EQ(hall.station->end(SIGKILL), 128 + SIGKILL);
  hall.disk.fill();
  ASSERT_NO_FATAL_FAILURE(hall.serve());
  ASSERT_NO_FATAL_FAILURE(hall.sign_in());
  ASSERT_TRUE(eventually([&] { return hall.sum("written") > 60; })) << hall.station->err();
  hall.expect_all_there(kept);
  hall.disk.make_room();
  EXPECT_EQ(hall.station->end(SIGTERM), 0);
  const Ended after = hall.run({"archive", "check"});
  EXPECT_EQ(after.exit_code, 0) << after.out << after.err << hall.station->err();
}

TEST(FullDiskStation, FullBeforeThereIsAHomeIsSaidClearly) {
  ROOKERY_NEEDS_SMALL_DISK();
  support::SmallDisk disk{1u << 20};
  ASSERT_TRUE(disk.mounted()) << disk.refusal();
  disk.fill();
  for (const auto& words : std::vector<std::vector<std::string>>{
           {ROOKERY_PROGRAM, "serve", "--listen", "127.0.0.1:0"},
           {ROOKERY_PROGRAM, "camera", "add", "anvil", "http://127.0.0.1:81/stream"}}) {
    auto all = words;
    all.insert(all.end(), {"--home", (disk.path() / "home").string()});
    const Ended ended = run_program(all);
    EXPECT_EQ(ended.exit_code, 3) << ended.err;
    EXPECT_NE(ended.err.find("no space left"), std::string::npos) << ended.err;
    EXPECT_NE(ended.err.find("0.0 of 1.0 MB are free"), std::string::npos) << ended.err;
  }
}

}  // namespace
}  // namespace rookery::test
