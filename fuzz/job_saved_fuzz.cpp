// Whatever bytes come as what was learned of a job: the watch restores them or says why not and is unchanged;
// what it restored goes on being told of numbers that are some, and is saved as it can be restored.
#include <cmath>
#include <cstdint>
#include <span>

#include "fuzz/promise.h"
#include "vision/job_watch.h"

namespace {

using namespace rookery;
using fuzz::require;

void require_sound(const vision::JobWatch& watch) {
  const vision::JobNow now = watch.now();
  require(now.moving_share >= 0 && now.moving_share <= 1, "what moves is a share");
  require(now.grown_share >= 0 && now.grown_share <= 1, "what grew is a share");
  require(std::isfinite(now.quiet_s) && std::isfinite(now.grown_per_hour), "what is so is a number");
  const vision::JobFacts facts = watch.facts();
  require(std::isfinite(facts.lasted_s) && std::isfinite(facts.longest_quiet_s), "times are numbers");
  require(
      facts.moving_share >= 0 && facts.moving_share <= 1 && facts.grown_share >= 0 && facts.grown_share <= 1,
      "facts are shares");
  const auto cells = static_cast<std::size_t>(watch.width()) * static_cast<std::size_t>(watch.height());
  require(watch.growth().size() == cells, "growth has a value a cell");
}

// Stills of the size that the state has, and of another one.
void go_on(vision::JobWatch& watch, const std::uint8_t* data, std::size_t size) {
  double at_s = 0;
  for (int i = 0; i < 24; ++i) {
    jpeg::LumaGrid grid;
    const bool other = i % 8 == 7 || watch.width() == 0 || watch.width() > 64 || watch.height() > 64;
    grid.width = other ? 12 : watch.width();
    grid.height = other ? 9 : watch.height();
    const auto cells = static_cast<std::size_t>(grid.width * grid.height);
    for (std::size_t c = 0; c < cells; ++c)
      grid.cells.push_back(size == 0 ? 0 : data[(c * 7 + static_cast<std::size_t>(i) * 13) % size]);
    at_s += i % 5 == 4 ? 700 : 5;
    for (const vision::JobReport& report : watch.add(grid, at_s)) {
      require(report.strength >= 0 && report.strength <= 1, "a strength is a share");
      require(std::isfinite(report.at_s) && std::isfinite(report.before_s), "a report has times");
      require(vision::job_sign_named(vision::name_of(report.sign)) == report.sign, "a sign has a name");
    }
    require_sound(watch);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  vision::JobWatchOptions options;
  options.still_after_s = 60;
  vision::JobWatch watch = vision::JobWatch::make(options).value();
  const auto fresh = watch.save();
  if (watch.restore(std::as_bytes(std::span(data, size)))) {
    const auto saved = watch.save();
    vision::JobWatch again = vision::JobWatch::make(options).value();
    require(again.restore(saved).has_value(), "what was saved is restored");
    require(again.save() == saved, "… and saved as it was");
    require_sound(watch);
  } else {
    require(watch.save() == fresh, "what is refused changes nothing");
  }
  go_on(watch, data, size);
  require(vision::JobWatch::make(options).value().restore(watch.save()).has_value(),
          "what went on is restored as well");
  return 0;
}
