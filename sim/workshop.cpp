#include "sim/workshop.h"

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>

#include <sys/resource.h>
#include <unistd.h>

#include <atomic>
#include <thread>

#include "base/log.h"
#include "sim/scene_source.h"
#include "sim/truth_file.h"

namespace rookery::sim {
namespace {

struct Place {
  std::string_view name;
  std::string_view description;
  Framing framing;
  bool one_port;
};

// In the order of scene_names(). The framings differ on purpose: a workshop's boards are never all of one
// make.
constexpr std::array<Place, 8> kPlaces{{
    {"anvil", "Printer with a sliding bed", Framing::chunked_stamp, false},
    {"bobbin", "Printer in its lit case", Framing::chunked_stamp, false},
    {"cog", "Printer with three arms", Framing::chunked_no_stamp, false},
    {"seedlings", "Seedling shelf", Framing::dashes_in_parameter, true},
    {"counter", "Front counter", Framing::boundary_after, false},
    {"back-door", "Back door by night", Framing::word_until_close, false},
    {"kiln", "Kiln room", Framing::chunked_stamp, false},
    {"bay", "Loading bay", Framing::http_1_0, true},
}};

SceneTime s(double seconds) { return SceneTime(static_cast<std::int64_t>(seconds * 1e6)); }

void give_troubles(std::string_view name, Faults& faults) {
  if (name == "kiln") {
    // The supply sinks for a while, and once in a few minutes so far that the board resets.
    faults.schedule(Fault::supply_sag, s(22), s(6), 0.35, s(47));
    faults.schedule(Fault::supply_sag, s(95), s(4), 0.7, s(150));
    faults.schedule(Fault::brown_out, s(99), s(1), 2.5, s(150));
    faults.at_random(Fault::truncated, 0.002, 0.6);
  } else if (name == "bay") {
    faults.schedule(Fault::slow_radio, s(35), s(14), 900, s(80));
    faults.schedule(Fault::stall, s(70), s(0.15), 6, s(120));
    faults.at_random(Fault::grey_fill, 0.002, 0.6);
  } else if (name == "back-door") {
    faults.at_random(Fault::hot, 0.05, 7);
  } else if (name == "counter") {
    faults.schedule(Fault::mains_bands, s(50), s(15), 0.08, s(110));
  }
}

// Whether a picture of half the size is still one that scenes can be made for.
bool can_be_rough(Size size) {
  return size.width >= 320 && size.height >= 240 && size.width % 4 == 0 && size.height % 4 == 0;
}

}  // namespace

struct Workshop::Body {
  explicit Body(WorkshopOptions options_) : options(options_), work(context.get_executor()) {}

  void render_scenes();
  void render(std::size_t place, bool rough);

  WorkshopOptions options;
  boost::asio::io_context context;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work;
  std::vector<std::promise<std::shared_ptr<Scene>>> promises;
  std::vector<std::shared_future<std::shared_ptr<Scene>>> scenes;
  std::vector<std::promise<std::shared_ptr<Scene>>> rough_promises;
  std::vector<std::shared_future<std::shared_ptr<Scene>>> rough_scenes;
  std::vector<std::unique_ptr<Board>> boards;
  std::atomic<std::size_t> next_scene{0};
  std::atomic<bool> stopping{false};
  std::vector<std::thread> threads;
};

void Workshop::Body::render(std::size_t place, bool rough) {
  const Size size = rough ? Size{options.size.width / 2, options.size.height / 2} : options.size;
  auto made = make_scene(kPlaces[place].name, options.seed + place, size);
  if (!made) return base::log_error("workshop", "{}", made.error().text());
  (rough ? rough_promises : promises)[place].set_value(std::shared_ptr<Scene>(std::move(*made)));
}

// Each of a few threads takes the next scene until none is left: all roughly first, so that there is
// something to see, then sharply, behind everything else that the computer has to do.
void Workshop::Body::render_scenes() {
  for (std::size_t i = next_scene++; i < 2 * kPlaces.size() && !stopping; i = next_scene++) {
    const bool rough = i < kPlaces.size();
    if (rough && !can_be_rough(options.size)) continue;
    if (!rough) ::setpriority(PRIO_PROCESS, static_cast<id_t>(::gettid()), 10);
    render(i % kPlaces.size(), rough);
  }
}

Workshop::Workshop(WorkshopOptions options) : body_(std::make_unique<Body>(options)) {
  Body& b = *body_;
  b.promises.resize(kPlaces.size());
  b.rough_promises.resize(kPlaces.size());
  for (std::size_t i = 0; i < kPlaces.size(); ++i) {
    const Place& place = kPlaces[i];
    SceneSourceOptions source;
    source.quality = options.quality;
    source.seed = options.seed + i;
    BoardOptions board;
    board.name = place.name;
    board.framing = place.framing;
    board.one_port = place.one_port;
    board.frames_per_second = options.frames_per_second;
    board.seed = options.seed + i;
    auto faults = std::make_shared<Faults>(options.seed + i);
    if (options.troubles) give_troubles(place.name, *faults);
    b.scenes.push_back(b.promises[i].get_future().share());
    b.rough_scenes.push_back(b.rough_promises[i].get_future().share());
    auto pictures = std::make_shared<SceneSource>(b.scenes.back(), source, b.rough_scenes.back());
    b.boards.push_back(std::make_unique<Board>(b.context.get_executor(), board, pictures, faults));
  }
}

Workshop::~Workshop() { stop(); }

base::Result<void> Workshop::start() {
  Body& b = *body_;
  for (const auto& board : b.boards) {
    auto started = board->start();
    if (!started) return started;
  }
  const unsigned painters = std::clamp(std::thread::hardware_concurrency(), 1U, 8U);
  for (unsigned i = 0; i < painters; ++i) b.threads.emplace_back([&b] { b.render_scenes(); });
  for (int i = 0; i < std::clamp(b.options.threads, 1, 8); ++i)
    b.threads.emplace_back([&b] { b.context.run(); });
  return base::ok();
}

void Workshop::stop() {
  Body& b = *body_;
  b.stopping = true;
  for (const auto& board : b.boards) board->stop();
  b.work.reset();
  b.context.stop();
  for (std::thread& thread : b.threads) thread.join();
  b.threads.clear();
}

bool Workshop::wait_until_painted(std::chrono::milliseconds limit) const {
  const auto until = std::chrono::steady_clock::now() + limit;
  const auto& first = can_be_rough(body_->options.size) ? body_->rough_scenes : body_->scenes;
  return std::all_of(first.begin(), first.end(), [until](const auto& scene) {
    return scene.wait_until(until) == std::future_status::ready;
  });
}

int Workshop::sharp() const {
  return static_cast<int>(std::count_if(body_->scenes.begin(), body_->scenes.end(), [](const auto& scene) {
    return scene.wait_for(std::chrono::seconds(0)) == std::future_status::ready;
  }));
}

std::vector<WorkshopCamera> Workshop::cameras() const {
  std::vector<WorkshopCamera> cameras;
  for (std::size_t i = 0; i < kPlaces.size(); ++i) {
    cameras.push_back(WorkshopCamera{std::string(kPlaces[i].name), std::string(kPlaces[i].description),
                                     body_->boards[i]->stream_address(), body_->boards[i]->still_address()});
  }
  return cameras;
}

void Workshop::write_truth(std::ostream& out) const {
  for (std::size_t i = 0; i < kPlaces.size(); ++i)
    sim::write_truth(out, kPlaces[i].name, body_->boards[i]->truth());
}

Board* Workshop::board(std::string_view name) {
  for (std::size_t i = 0; i < kPlaces.size(); ++i) {
    if (kPlaces[i].name == name) return body_->boards[i].get();
  }
  return nullptr;
}

}  // namespace rookery::sim
