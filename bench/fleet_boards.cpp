// Many boards in one process, for benchmarks: each serves the JPEGs of a folder in a loop, with the moment of
// sending written into a comment segment, so that a reader can tell how long a picture was on its way.
//
//   fleet_boards COUNT FRAMES-PER-S FOLDER [step]
//
// Each board has its own beat, evenly spread over a period, as boards with crystals of their own have on
// average; "step" lets all send at the same moment, the worst that can be. Prints one stream address a line,
// then an empty line; runs until standard input ends, then prints how many frames went out in all.
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <thread>

#include "bench/stamp.h"
#include "sim/board.h"

namespace {

using Picture = std::vector<std::uint8_t>;

std::vector<Picture> read_pictures(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  std::vector<Picture> pictures;
  for (const auto& file : files) {
    std::ifstream in(file, std::ios::binary);
    pictures.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  }
  return pictures;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4 && argc != 5) {
    std::cerr << "fleet_boards COUNT FRAMES-PER-S FOLDER [step]\n";
    return 2;
  }
  const int count = std::atoi(argv[1]);
  const auto pictures = std::make_shared<const std::vector<Picture>>(read_pictures(argv[3]));
  const double frames_per_second = std::atof(argv[2]);
  if (count < 1 || pictures->empty() || frames_per_second <= 0) return 2;
  const bool in_step = argc == 5 && std::string_view(argv[4]) == "step";
  const rookery::base::Microseconds period(static_cast<std::int64_t>(1e6 / frames_per_second));

  boost::asio::io_context io;
  std::vector<std::unique_ptr<rookery::sim::Board>> boards;
  for (int i = 0; i < count; ++i) {
    rookery::sim::BoardOptions options;
    options.frames_per_second = frames_per_second;
    options.beat = in_step ? rookery::base::Microseconds{} : period * i / count;
    auto next = std::make_shared<std::size_t>(static_cast<std::size_t>(i) % pictures->size());
    auto source =
        std::make_shared<rookery::sim::FunctionSource>([pictures, next](const rookery::sim::FrameRequest&) {
          *next = (*next + 1) % pictures->size();
          return std::make_shared<const Picture>(
              rookery::bench::with_stamp((*pictures)[*next], std::chrono::steady_clock::now()));
        });
    boards.push_back(std::make_unique<rookery::sim::Board>(io.get_executor(), options, source));
    if (auto started = boards.back()->start(); !started) {
      std::cerr << started.error().text() << '\n';
      return 3;
    }
    std::cout << boards.back()->stream_address() << '\n';
  }
  std::cout << std::endl;

  std::thread thread([&io] {
    const auto work = boost::asio::make_work_guard(io);
    io.run();
  });
  std::string line;
  while (std::getline(std::cin, line)) {
  }
  std::uint64_t sent = 0;
  for (const auto& board : boards) sent += board->counts().frames_sent;
  std::cout << sent << std::endl;
  io.stop();
  thread.join();
  return 0;
}
