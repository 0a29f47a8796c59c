#include "bench/jobs/drawn_jobs.h"

#include <cmath>
#include <fstream>
#include <stdexcept>
#include <type_traits>

#include <fmt/format.h>

namespace rookery::bench {
namespace {

constexpr std::size_t kCells = std::size_t{kGridWidth} * kGridHeight;
static_assert(std::is_trivially_copyable_v<sim::JobTruth>);
constexpr std::size_t kStill = sizeof(double) + sizeof(sim::JobTruth) + kCells;

std::size_t stills_of(const JobCase& job, double every_s) {
  return static_cast<std::size_t>(std::ceil(job.lasts_s / every_s));
}

template <class T>
void put(std::ostream& out, const T* at, std::size_t bytes) {
  out.write(reinterpret_cast<const char*>(at), static_cast<std::streamsize>(bytes));
}
template <class T>
void get(std::istream& in, T* at, std::size_t bytes) {
  in.read(reinterpret_cast<char*>(at), static_cast<std::streamsize>(bytes));
}

void draw(const JobCase& job, double every_s, const std::filesystem::path& file) {
  const std::filesystem::path part = file.string() + ".part";
  std::ofstream out(part, std::ios::binary);
  film_case(job, every_s, [&](const JobStill& still) {
    put(out, &still.at_s, sizeof still.at_s);
    put(out, &still.truth, sizeof still.truth);
    put(out, still.grid.cells.data(), kCells);
  });
  out.close();
  if (!out) throw std::runtime_error(fmt::format("{} cannot be written", part.string()));
  std::filesystem::rename(part, file);
}

}  // namespace

void film_drawn(const JobCase& job, double every_s, const std::filesystem::path& folder,
                const std::function<void(const JobStill&)>& take) {
  if (folder.empty()) return film_case(job, every_s, take);
  const auto file = folder / fmt::format("{}{}.stills", job.held ? "held-" : "", job.seed);
  std::error_code none;
  if (std::filesystem::file_size(file, none) != stills_of(job, every_s) * kStill) draw(job, every_s, file);
  std::ifstream in(file, std::ios::binary);
  for (std::size_t i = 0; i < stills_of(job, every_s); ++i) {
    JobStill still;
    still.grid = {kGridWidth, kGridHeight, std::vector<std::uint8_t>(kCells), false};
    get(in, &still.at_s, sizeof still.at_s);
    get(in, &still.truth, sizeof still.truth);
    get(in, still.grid.cells.data(), kCells);
    if (!in) throw std::runtime_error(fmt::format("{} cannot be read", file.string()));
    take(still);
  }
}

}  // namespace rookery::bench
