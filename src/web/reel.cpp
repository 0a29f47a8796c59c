#include "web/reel.h"

namespace rookery::web {
namespace {

using base::WallTime;

class RecordedReel final : public Reel {
 public:
  RecordedReel(archive::Catalog& catalog, base::CameraName camera)
      : store_(catalog), camera_(camera), playback_(catalog, std::move(camera)) {}

  Frame seek(WallTime at) override { return playback_.seek(at); }
  Frame next() override { return playback_.next(); }
  Frame previous() override { return playback_.previous(); }
  Time peek_next() override { return playback_.peek_next(); }
  Time peek_previous() override { return playback_.peek_previous(); }
  base::Result<std::vector<archive::Span>> spans(WallTime from, WallTime to) override {
    return store_.spans(camera_, from, to, kGap);
  }

 private:
  archive::SegmentStore store_;
  base::CameraName camera_;
  archive::Playback playback_;
};

Look failed(base::Error error) {
  Look out;
  out.what = Look::failed;
  out.error = std::move(error);
  return out;
}

Look only(Look::What what, WallTime until = {}) {
  Look out;
  out.what = what;
  out.until = until;
  return out;
}

// A frame as an answer; a recording that has none there any more (removed meanwhile) is at its end.
Look shown(Reel::Frame frame) {
  if (!frame) return failed(std::move(frame).error());
  Look out;
  if (!frame->has_value()) return out;
  out.what = Look::show;
  out.frame = std::move(*frame);
  return out;
}

// A jump from `current` forward to `found` must not pass over a gap: then it ends at the gap's near edge.
Look forward_jump(Reel& reel, WallTime current, WallTime target) {
  Look jump = shown(reel.seek(target));
  if (jump.what != Look::show || jump.frame->at - current <= kGap) return jump;
  auto spans = reel.spans(current, jump.frame->at);
  if (!spans) return failed(std::move(spans).error());
  if (spans->size() < 2 || spans->front().to <= current) return jump;
  return shown(reel.seek(spans->front().to));
}

Look look_forward(Reel& reel, WallTime current, WallTime target) {
  const Reel::Time next = reel.peek_next();
  if (!next) return failed(next.error());
  if (!next->has_value()) return only(Look::end);
  if (**next - current > kGap) return only(Look::gap, **next);
  if (**next > target) return only(Look::wait, **next);
  return forward_jump(reel, current, target);
}

// The first frame from `at` on.
Look first_from(Reel& reel, WallTime at) {
  Look found = shown(reel.seek(at));
  if (found.what == Look::show && found.frame->at < at) return shown(reel.next());
  return found;
}

Look backward_jump(Reel& reel, WallTime current, WallTime target) {
  Look jump = shown(reel.seek(target));
  if (jump.what != Look::show) return jump;
  if (target - jump.frame->at > kGap) return shown(reel.next());  // the target lies in a gap: its far edge
  if (current - jump.frame->at <= kGap) return jump;
  auto spans = reel.spans(jump.frame->at, current);
  if (!spans) return failed(std::move(spans).error());
  if (spans->size() < 2 || spans->back().from >= current) return jump;
  return first_from(reel, spans->back().from);
}

Look look_backward(Reel& reel, WallTime current, WallTime target) {
  const Reel::Time previous = reel.peek_previous();
  if (!previous) return failed(previous.error());
  if (!previous->has_value()) return only(Look::end);
  if (current - **previous > kGap) return only(Look::gap, **previous);
  if (**previous < target) return only(Look::wait, **previous);
  return backward_jump(reel, current, target);
}

}  // namespace

std::unique_ptr<Reel> recorded_reel(archive::Catalog& catalog, base::CameraName camera) {
  return std::make_unique<RecordedReel>(catalog, std::move(camera));
}

WallTime PlayClock::target(base::MonoTime now) const {
  const std::chrono::duration<double, std::micro> passed = now - since;
  return from + base::Microseconds(static_cast<std::int64_t>(passed.count() * speed));
}

base::Microseconds PlayClock::due_in(WallTime at, base::MonoTime now) const {
  const double left = static_cast<double>((at - target(now)).count()) / speed;
  return base::Microseconds(std::max<std::int64_t>(0, static_cast<std::int64_t>(std::ceil(left))));
}

Look look(Reel& reel, WallTime current, WallTime target, double speed) {
  return speed > 0 ? look_forward(reel, current, target) : look_backward(reel, current, target);
}

}  // namespace rookery::web
