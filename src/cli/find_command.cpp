// rookery find [--watch] [--seconds N] [--sweep] [--type T]… [--no-ask]
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <mutex>
#include <thread>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>

#include "archive/board_store.h"
#include "archive/camera_store.h"
#include "base/log.h"
#include "base/time.h"
#include "camera/finder.h"
#include "camera/found_words.h"
#include "cli/cli.h"
#include "cli/stop_signal.h"
#include "web/found_json.h"

namespace rookery::cli {
namespace {

using camera::FoundBoard;
using Clock = std::chrono::steady_clock;

// How much longer than --seconds is waited for boards that are being asked.
constexpr std::chrono::seconds kGrace{5};
constexpr std::chrono::milliseconds kLook{50};

struct FindArgs {
  bool watch = false;
  double seconds = 3;
  bool sweep = false;
  bool no_ask = false;
  std::vector<std::string> types;
};

// The cameras of a home, where there is one: what is known and not asked.
class KnownCameras {
 public:
  explicit KnownCameras(std::filesystem::path home) : home_(std::move(home)) {}

  // A home that is not there has no cameras. Errors: those of Catalog::open.
  base::Result<void> read() {
    std::error_code none;
    if (!std::filesystem::exists(home_ / "catalog.db", none)) return base::ok();
    auto catalog = archive::Catalog::open(home_);
    if (!catalog) return catalog.error();
    auto list = archive::CameraStore(**catalog).list();
    if (!list) return list.error();
    auto known = archive::BoardStore(**catalog).known(*list);
    if (!known) return known.error();
    const std::lock_guard lock(mutex_);
    known_ = std::move(*known);
    return base::ok();
  }

  std::vector<camera::KnownBoard> get() const {
    const std::lock_guard lock(mutex_);
    return known_;
  }

 private:
  const std::filesystem::path home_;
  mutable std::mutex mutex_;
  std::vector<camera::KnownBoard> known_;
};

// A finder with the thread that it runs on.
class RunningFinder {
 public:
  explicit RunningFinder(camera::FinderOptions options)
      : finder_(std::in_place, io_.get_executor(), std::move(options)), thread_([this] { io_.run(); }) {
    finder_->start();
  }
  ~RunningFinder() {
    finder_->stop(std::chrono::seconds(5));
    io_.stop();
    thread_.join();
    finder_.reset();
  }
  RunningFinder(const RunningFinder&) = delete;
  RunningFinder& operator=(const RunningFinder&) = delete;
  const camera::Finder& get() const { return *finder_; }

 private:
  boost::asio::io_context io_{1};
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{io_.get_executor()};
  std::optional<camera::Finder> finder_;
  std::thread thread_;
};

// Columns that text takes on a terminal: characters, pictographs two. Combining marks are counted as well.
std::size_t columns(std::string_view text) {
  std::size_t out = 0;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if ((byte & 0xc0) != 0x80) ++out;
    if (byte >= 0xf0) ++out;
  }
  return out;
}

std::string padded(const std::string& text, std::size_t width) {
  return text + std::string(width - std::min(width, columns(text)), ' ');
}

using Row = std::array<std::string, 6>;

std::string ports_of(const FoundBoard& board) { return fmt::format("{}", fmt::join(board.ports, ", ")); }

// A board's line, and one more for each further address.
void add_rows(const FoundBoard& board, std::vector<Row>& rows) {
  std::string name = board.name.empty() ? "-" : proto::printable(board.name, 63);
  if (board.name_twice) name += " (name twice)";
  std::string maker = camera::maker_words(board);
  if (maker.empty()) maker = "-";
  const std::string address = board.addresses.empty() ? "-" : board.addresses.front().to_string();
  rows.push_back(
      {name, address, ports_of(board), maker, camera::answer_words(board), camera::camera_words(board)});
  for (std::size_t i = 1; i < board.addresses.size(); ++i)
    rows.push_back({"", board.addresses[i].to_string()});
}

std::string table(const std::vector<FoundBoard>& boards) {
  std::vector<Row> rows{{"NAME", "ADDRESS", "PORT", "MAKER PART", "ANSWERS", "CAMERA"}};
  for (const FoundBoard& board : boards) add_rows(board, rows);
  std::array<std::size_t, 6> widths{};
  for (const Row& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], columns(row[i]));
  }
  std::string out;
  for (const Row& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) line += padded(row[i], widths[i]) + "  ";
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + '\n';
  }
  return out;
}

// How to go on with the first camera that is new.
std::string advice(const std::vector<FoundBoard>& boards) {
  std::string out;
  if (std::ranges::any_of(boards, &FoundBoard::name_twice))
    out += "Two boards claim one name: give each a name of its own, or add them by address.\n";
  for (const FoundBoard& board : boards) {
    if (board.known || !board.answers || board.answers->kind != camera::BoardAnswers::Kind::camera) continue;
    const std::string& stream = board.answers->stream_address;
    out += fmt::format("To add it: rookery camera add {} {}\n", camera::suggested_name(board),
                       stream.empty() ? "--still " + board.answers->still_address : stream);
    break;
  }
  return out;
}

constexpr const char* kNothingFound =
    "Nothing was found. What to check:\n"
    "  - Is this computer on the same network as the board? A board has 2.4 GHz only; guest networks are "
    "apart.\n"
    "  - Does the access point pass multicast between its stations? Look for \"isolation\", \"multicast\n"
    "    filter\" or \"IGMP snooping\" in its settings.\n"
    "  - Does the board announce itself? Many do not, or only their host name: `rookery find --sweep` "
    "knocks\n"
    "    at each address of the own network instead.\n"
    "  - Has it power and the right password? Its serial log tells.\n";

// What a line of --watch says of a board; it is told again when that changes.
std::string watch_text(const FoundBoard& board) {
  std::vector<std::string> addresses;
  addresses.reserve(board.addresses.size());
  for (const auto& address : board.addresses) addresses.push_back(address.to_string());
  std::string name = board.name.empty() ? "-" : proto::printable(board.name, 63);
  if (board.name_twice) name += " (name twice)";
  return fmt::format("{}  {}  port {}  {}  {}  {}", padded(name, 16),
                     addresses.empty() ? "-" : fmt::format("{}", fmt::join(addresses, ", ")), ports_of(board),
                     board.hardware ? board.hardware->text() : "-", camera::answer_words(board),
                     camera::camera_words(board));
}

class Watch {
 public:
  explicit Watch(Context& context) : context_(context) {}

  // Tells what is other than at the last look. `settled`: boards that are still being asked are told too.
  void look(const std::vector<FoundBoard>& boards) {
    std::map<std::string, FoundBoard> now;
    for (const FoundBoard& board : boards) now.emplace(board.key + '\n' + board.name, board);
    for (const auto& [key, board] : told_) {
      if (!now.contains(key)) say("gone", board);
    }
    for (const auto& [key, board] : now) {
      const auto before = told_.find(key);
      if (before == told_.end()) {
        say("found", board);
      } else if (watch_text(before->second) != watch_text(board)) {
        say("changed", board);
      }
    }
    told_ = std::move(now);
  }
  bool any() const { return any_; }

 private:
  void say(const char* what, const FoundBoard& board) {
    any_ = true;
    const std::string time = base::to_rfc3339(base::SystemClock().wall());
    boost::json::object object{{"at", time}, {"what", what}};
    for (auto& [key, value] : web::found_json(board)) object[key] = std::move(value);
    context_.print(object, fmt::format("{}  {:<7}  {}", time, what, watch_text(board)));
  }

  Context& context_;
  std::map<std::string, FoundBoard> told_;
  bool any_ = false;
};

base::Result<void> watch(Context& context, const camera::Finder& finder, KnownCameras& known) {
  Watch told(context);
  auto read_again = Clock::now() + std::chrono::seconds(5);
  while (!asked_to_stop()) {
    if (const auto error = finder.error()) return *error;
    told.look(finder.boards());
    if (Clock::now() > read_again) {
      static_cast<void>(known.read());  // one that cannot be read now stays as it was
      read_again = Clock::now() + std::chrono::seconds(5);
    }
    std::this_thread::sleep_for(kLook);
  }
  context.exit_code = told.any() ? kDone : kCheckFailed;
  return base::ok();
}

base::Result<void> list(const FindArgs& args, Context& context, const camera::Finder& finder) {
  const auto begin = Clock::now();
  const auto span = std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(args.seconds));
  for (;;) {
    if (const auto error = finder.error()) return *error;
    const auto spent = Clock::now() - begin;
    const bool enough = spent >= span && (finder.settled() || (!args.sweep && spent >= span + kGrace));
    if (enough || asked_to_stop()) break;
    context.show_progress("Looking", std::min(0.99, std::chrono::duration<double>(spent) / span));
    std::this_thread::sleep_for(kLook);
  }
  context.end_progress();
  const std::vector<FoundBoard> boards = finder.boards();
  if (boards.empty()) {
    context.err << kNothingFound;
    context.exit_code = kCheckFailed;
    return base::ok();
  }
  if (context.json) {
    for (const FoundBoard& board : boards) context.print(web::found_json(board), {});
    return base::ok();
  }
  context.out << table(boards) << std::flush;
  context.err << advice(boards);
  return base::ok();
}

base::Result<void> say_sweep(Context& context) {
  auto prefixes = net::local_prefixes();
  if (!prefixes) return prefixes.error();
  context.err << "The sweep " << net::plan_sweep(*prefixes).text() << ".\n" << std::flush;
  return base::ok();
}

base::Result<void> find(const FindArgs& args, Context& context) {
  for (const std::string& type : args.types) {
    if (!net::is_service_type(type))
      return base::Error(base::ErrorCode::invalid_value, "--type",
                         fmt::format("\"{}\" is no service type", proto::printable(type, 80)),
                         "Write it like _http._tcp.");
  }
  KnownCameras known(context.home);
  if (auto read = known.read(); !read) return read;
  if (args.sweep) {
    if (auto said = say_sweep(context); !said) return said;
  }
  stop_on_signals();
  camera::FinderOptions options;
  options.types.insert(options.types.end(), args.types.begin(), args.types.end());
  options.ask = !args.no_ask;
  options.sweep = args.sweep;
  options.known = [&known] { return known.get(); };
  const RunningFinder running(std::move(options));
  return args.watch ? watch(context, running.get(), known) : list(args, context, running.get());
}

}  // namespace

void add_find_command(CLI::App& app, Context& context) {
  CLI::App* command = app.add_subcommand(
      "find", "List the boards on the own network: address, maker part, answers, known or new");
  auto args = std::make_shared<FindArgs>();
  command->add_flag("--watch", args->watch, "Go on, and tell what comes, changes and goes");
  command->add_option("--seconds", args->seconds, "Listen for so long (0.5 to 600)")
      ->check(CLI::Range(0.5, 600.0))
      ->capture_default_str();
  command->add_flag(
      "--sweep", args->sweep,
      "Also knock at each address of the own IPv4 networks up to /22; says first what it will do");
  command->add_option("--type", args->types, "Ask for this service type as well, such as _camera._tcp");
  command->add_flag("--no-ask", args->no_ask, "Do not ask what is new for a still and a stream");
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = find(*args, context); !done) {
      const bool use = done.error().code == base::ErrorCode::invalid_value;
      context.fail(done.error(), use ? kBadUse : kCouldNot);
    }
  });
}

}  // namespace rookery::cli
