#include "archive/keep_event.h"

#include "archive/camera_store.h"
#include "archive/segment_store.h"

namespace rookery::archive {
namespace {

// Spans of the camera's other kept events that overlap `span`.
base::Result<std::vector<Span>> others_kept(Catalog& catalog, const EventStore& events, const Event& event,
                                            const EventSpan& span) {
  // An event's own span is wider than it by its rolls, which are two minutes at the most.
  constexpr std::chrono::minutes kMostRoll{2};
  auto kept = events.kept_between(event.camera, span.from - kMostRoll, span.to + kMostRoll);
  if (!kept) return kept.error();
  std::vector<Span> spans;
  for (const Event& other : *kept) {
    if (other.id == event.id) continue;
    const auto of_other = span_of(catalog, other);
    if (!of_other) return of_other.error();
    spans.push_back({of_other->from, of_other->to});
  }
  return spans;
}

}  // namespace

base::Result<EventSpan> span_of(Catalog& catalog, const Event& event) {
  const camera::Settings usual(event.camera);
  auto settings = CameraStore(catalog).find(event.camera);
  if (!settings && settings.error().code != base::ErrorCode::not_found) return settings.error();
  const camera::Settings& of_camera = settings ? *settings : usual;
  return EventSpan{event.start - of_camera.pre_roll, event.end + of_camera.post_roll};
}

base::Result<Event> keep_event(Catalog& catalog, std::int64_t id, bool kept) {
  EventStore events(catalog);
  SegmentStore segments(catalog);
  auto event = events.find(id);
  if (!event) return event;
  const auto span = span_of(catalog, *event);
  if (!span) return span.error();
  if (kept) {
    // The recordings first: a mark in the log must not promise what is not kept.
    auto done = segments.set_kept(event->camera, span->from, span->to, true);
    if (!done) return std::move(done).error();
    return events.set_kept(id, true);
  }
  auto let_go = events.set_kept(id, false);
  if (!let_go) return let_go;
  const auto others = others_kept(catalog, events, *event, *span);
  if (!others) return others.error();
  auto done = segments.set_kept(event->camera, span->from, span->to, false, *others);
  if (!done) return std::move(done).error();
  return let_go;
}

}  // namespace rookery::archive
