#include "station/replay.h"

#include <fmt/format.h>

#include "jpeg/luma_grid.h"

namespace rookery::station {
namespace {

using base::Microseconds;

constexpr std::string_view kWhere = "replay";

// One going through a source.
class Run {
 public:
  Run(archive::PictureSource& source, const ReplaySettings& settings,
      const std::function<void(const vision::MotionEvent&)>& on_event)
      : source_(source),
        on_event_(on_event),
        pace_(settings.rate),
        watch_(settings.sensitivity, settings.mask) {}

  void pass(Microseconds at);
  base::Result<ReplayReport> finish();

 private:
  void look(Microseconds at);
  void tell(const std::optional<vision::MotionEvent>& event);
  void note_bad(Microseconds at, std::string_view why);

  archive::PictureSource& source_;
  const std::function<void(const vision::MotionEvent&)>& on_event_;
  Pace pace_;
  vision::MotionWatch watch_;
  jpeg::LumaGrid grid_;
  std::optional<Microseconds> last_;
  ReplayReport report_;
};

void Run::pass(Microseconds at) {
  ++report_.pictures;
  if (last_ && at <= *last_) {
    ++report_.earlier;
    return;
  }
  if (last_ && at - *last_ <= ReplayReport::kPause) report_.covered += at - *last_;
  last_ = at;
  if (pace_.take(at)) look(at);
}

void Run::look(Microseconds at) {
  const auto jpeg = source_.read();
  if (!jpeg) return note_bad(at, jpeg.error().detail);
  if (auto decoded = jpeg::compute_luma_grid(*jpeg, grid_); !decoded)
    return note_bad(at, decoded.error().detail);
  if (grid_.damaged) return note_bad(at, "a part of its data is damaged");
  ++report_.looked_at;
  tell(watch_.add(grid_, at));
}

void Run::tell(const std::optional<vision::MotionEvent>& event) {
  if (!event) return;
  ++report_.events;
  on_event_(*event);
}

void Run::note_bad(Microseconds at, std::string_view why) {
  if (report_.bad++ == 0)
    report_.first_bad = fmt::format("at {:.3f} s: {}", std::chrono::duration<double>(at).count(), why);
}

base::Result<ReplayReport> Run::finish() {
  tell(watch_.finish());
  if (report_.looked_at == 0) {
    return base::Error(
        base::ErrorCode::damaged, std::string(kWhere),
        fmt::format("none of {} pictures can be decoded; the first {}", report_.bad, report_.first_bad));
  }
  return std::move(report_);
}

}  // namespace

bool Pace::take(Microseconds at) {
  if (due_ && at + step_ / 8 < *due_) return false;
  due_ = due_ ? *due_ + step_ : at + step_;
  if (*due_ <= at) *due_ = at + step_;  // fewer come than asked for, or there was a pause
  return true;
}

base::Result<ReplayReport> replay(archive::PictureSource& source, const ReplaySettings& settings,
                                  const std::function<void(const vision::MotionEvent&)>& on_event,
                                  const std::function<bool()>& go_on) {
  Run run(source, settings, on_event);
  for (;;) {
    auto at = source.step();
    if (!at) return std::move(at).error();
    if (!*at) return run.finish();
    run.pass(**at);
    if (!go_on()) {
      return base::Error(base::ErrorCode::cancelled, std::string(kWhere), "stopped before the end");
    }
  }
}

}  // namespace rookery::station
