// Which events there were, in the catalog.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "archive/event_cause.h"
#include "base/name.h"
#include "vision/picture_share.h"

namespace rookery::archive {

// A span in which something happened in one camera's picture. Times are wall clock.
struct Event {
  using Cause = EventCause;
  std::int64_t id = 0;  // given by the station, growing
  base::CameraName camera;
  Cause cause = Cause::motion;
  std::string detail{};               // of Cause::job: the name of a vision::JobSign
  std::optional<std::int64_t> job{};  // … and the job's id
  base::WallTime start;
  base::WallTime end;      // while under way: as far as it is known
  bool under_way = false;  // of a camera that runs; the next start ends what a crash left under way
  double peak = 0;         // share of the picture that moved at the most, 0 to 1; of a job: how strong
  vision::PictureShare region;
  base::WallTime best_at;  // of the picture in which most of it moved
  bool kept = false;       // by a person: it and its recordings stay
  bool has_still = false;  // the picture at best_at is recorded; told by the catalog, not stored

  explicit Event(base::CameraName camera_) : camera(std::move(camera_)) {}
  bool operator==(const Event&) const = default;
};

// A place between two events in the order of the log: the newest first. As text it is a query's `before`.
struct EventCursor {
  base::WallTime start;
  std::int64_t id = 0;

  std::string text() const;
  // Errors: malformed.
  static base::Result<EventCursor> parse(std::string_view text);
  auto operator<=>(const EventCursor&) const = default;
};

// Which events are wanted; what is not given leaves none out.
struct EventQuery {
  std::optional<std::vector<base::CameraName>> cameras = {};
  std::optional<base::WallTime> from = {};  // those that overlap the span
  std::optional<base::WallTime> to = {};
  std::vector<Event::Cause> causes = {};
  double least_peak = 0;
  std::optional<bool> kept = {};
  std::optional<EventCursor> before = {};  // only those further down the log
  std::size_t limit = 50;                  // 1 to 500
};

// A part of the log, the newest first. May hold fewer than were asked for though there are more: an answer
// looks at no more than EventStore::kLookedAt events, however rare those wanted are.
struct EventPage {
  std::vector<Event> events;
  std::optional<EventCursor> next;  // nothing: that was all
};

// any-thread.
class EventStore {
 public:
  static constexpr std::size_t kLookedAt = 60'000;
  static constexpr std::uint64_t kMost = 1'500'000;  // not kept ones, of all cameras

  explicit EventStore(Catalog& catalog) : catalog_(catalog) {}

  // The largest id given so far; 0 before the first.
  base::Result<std::int64_t> last_id() const;
  // Adds it, or brings the one of its id up to date; its `kept` is ignored. Later (Catalog::write_later).
  void put_later(const Event& event);
  // What a crash left under way has ended when it was last heard of. Returns how many.
  base::Result<std::uint64_t> end_all();

  base::Result<EventPage> page(const EventQuery& query) const;
  base::Result<Event> find(std::int64_t id) const;  // Errors: not_found
  // The mark in the log alone; the recordings are SegmentStore's. Returns the event as it is now. Errors:
  // not_found.
  base::Result<Event> set_kept(std::int64_t id, bool kept);
  // Kept events of the camera that overlap the span.
  base::Result<std::vector<Event>> kept_between(const base::CameraName& camera, base::WallTime from,
                                                base::WallTime to) const;
  // Takes the oldest that nobody keeps away, until at most `most` of these are left. Returns how many went.
  base::Result<std::uint64_t> trim(std::uint64_t most = kMost);

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
