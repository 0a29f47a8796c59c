#include "archive/playback.h"

#include <deque>

#include "archive/byte_source.h"
#include "archive/segment_index.h"
#include "archive/segment_path.h"
#include "archive/segment_store.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::Result;
using base::WallTime;

// After this many entries in a row whose files cannot be read, the search is given up rather than a whole
// archive gone through.
constexpr int kMostUnreadable = 1000;

// A segment whose file is open and indexed.
struct OpenSegment {
  Segment entry;
  FileSource source;
  SegmentIndex index;

  OpenSegment(Segment entry_, FileSource source_, SegmentIndex index_)
      : entry(std::move(entry_)), source(std::move(source_)), index(std::move(index_)) {}

  std::size_t count() const { return index.frames().size(); }

  // The last frame not after `at`; none when all are after.
  std::optional<std::size_t> last_until(WallTime at) const {
    const auto frames = index.frames();
    const auto after = std::partition_point(frames.begin(), frames.end(), [&](const IndexedFrame& frame) {
      return index.head().date + base::Milliseconds{frame.at_ms} <= at;
    });
    if (after == frames.begin()) return std::nullopt;
    return static_cast<std::size_t>(after - frames.begin()) - 1;
  }
};
using OpenPtr = std::shared_ptr<OpenSegment>;

// The order in which segments are played: by start, and by entry where the clock was set back exactly. Times
// may overlap then; every frame is still passed once, and a walk always ends.
bool before(const Segment& a, const Segment& b) { return std::tie(a.start, a.id) < std::tie(b.start, b.id); }

struct Place {
  OpenPtr segment;
  std::size_t frame = 0;
  WallTime time() const { return segment->index.time_of(frame); }
};

}  // namespace

struct Playback::Impl {
  Catalog& catalog;
  SegmentStore store;
  const base::CameraName camera;
  const std::filesystem::path archive;
  std::optional<Place> place;
  std::deque<OpenPtr> held;  // at most two, the last used first

  Impl(Catalog& catalog_, base::CameraName camera_, Track track)
      : catalog(catalog_),
        store(catalog_, track),
        camera(std::move(camera_)),
        archive(archive_folder(catalog_.home())) {}

  OpenPtr open(const Segment& entry);
  Result<std::optional<Segment>> entry_after(const Segment& entry);
  Result<std::optional<Segment>> entry_before(const Segment& entry);
  Result<std::optional<Place>> first_place_from(std::optional<Segment> entry);
  Result<std::optional<Place>> last_place_until(std::optional<Segment> entry);
  Result<std::optional<Place>> find(WallTime at);
  Result<std::optional<Place>> after();
  Result<std::optional<Place>> before_this();
  Result<std::optional<RecordedFrame>> go(Result<std::optional<Place>> to);
  Result<std::optional<WallTime>> go_unread(Result<std::optional<Place>> to);
};

// Null when the file cannot be read or holds no frame: playing goes on beside it.
OpenPtr Playback::Impl::open(const Segment& entry) {
  for (auto it = held.begin(); it != held.end(); ++it) {
    if ((*it)->entry.id != entry.id) continue;
    OpenPtr found = *it;
    held.erase(it);
    held.push_front(found);
    if (!found->index.sealed()) (void)found->index.extend(found->source, entry.path);
    return found;
  }
  auto source = FileSource::open(archive / entry.path);
  if (!source) {
    base::log_debug(camera.text(), "playback passes over {}: {}", entry.path, source.error().text());
    return nullptr;
  }
  auto index = SegmentIndex::read(*source, entry.path);
  if (!index || index->frames().empty()) {
    if (!index) base::log_warning(camera.text(), "playback passes over {}", index.error().text());
    return nullptr;
  }
  held.push_front(std::make_shared<OpenSegment>(entry, std::move(source).value(), std::move(index).value()));
  if (held.size() > 2) held.pop_back();
  return held.front();
}

Result<std::optional<Segment>> Playback::Impl::entry_after(const Segment& entry) {
  // Those with the very same start first.
  auto same = store.between(camera, entry.start, entry.start);
  if (!same) return std::move(same).error();
  for (auto& other : *same)
    if (other.start == entry.start && before(entry, other)) return std::optional<Segment>{std::move(other)};
  return store.first_from(camera, entry.start + base::Microseconds{1});
}

Result<std::optional<Segment>> Playback::Impl::entry_before(const Segment& entry) {
  auto same = store.between(camera, entry.start, entry.start);
  if (!same) return std::move(same).error();
  std::optional<Segment> nearest;
  for (auto& other : *same)
    if (other.start == entry.start && before(other, entry)) nearest = std::move(other);
  if (nearest) return nearest;
  return store.last_until(camera, entry.start - base::Microseconds{1});
}

// The first frame of the first readable segment from `entry` on.
Result<std::optional<Place>> Playback::Impl::first_place_from(std::optional<Segment> entry) {
  for (int tries = 0; entry && tries < kMostUnreadable; ++tries) {
    if (OpenPtr segment = open(*entry)) return std::optional<Place>{Place{std::move(segment), 0}};
    auto following = entry_after(*entry);
    if (!following) return std::move(following).error();
    entry = std::move(following).value();
  }
  return std::optional<Place>{};
}

Result<std::optional<Place>> Playback::Impl::last_place_until(std::optional<Segment> entry) {
  for (int tries = 0; entry && tries < kMostUnreadable; ++tries) {
    if (OpenPtr segment = open(*entry)) {
      const std::size_t last = segment->count() - 1;
      return std::optional<Place>{Place{std::move(segment), last}};
    }
    auto preceding = entry_before(*entry);
    if (!preceding) return std::move(preceding).error();
    entry = std::move(preceding).value();
  }
  return std::optional<Place>{};
}

Result<std::optional<Place>> Playback::Impl::find(WallTime at) {
  // Where segments overlap, several may hold the moment; the newest frame not after it wins.
  auto covering = store.between(camera, at, at);
  if (!covering) return std::move(covering).error();
  auto latest = store.last_until(camera, at);
  if (!latest) return std::move(latest).error();
  if (*latest) covering->push_back(**latest);
  std::optional<Place> best;
  for (const Segment& entry : *covering) {
    const OpenPtr segment = open(entry);
    const auto frame = segment ? segment->last_until(at) : std::nullopt;
    if (!frame) continue;
    const Place candidate{segment, *frame};
    if (!best || best->time() <= candidate.time()) best = candidate;
  }
  if (best) return best;
  // Nothing readable there: the nearest before, else the first after.
  if (*latest) {
    auto preceding = entry_before(**latest);
    if (!preceding) return std::move(preceding).error();
    auto nearest = last_place_until(std::move(preceding).value());
    if (!nearest || *nearest) return nearest;
  }
  auto first = store.first_from(camera, at);
  if (!first) return std::move(first).error();
  return first_place_from(std::move(first).value());
}

Result<std::optional<Place>> Playback::Impl::after() {
  if (!place) return std::optional<Place>{};
  OpenSegment& segment = *place->segment;
  if (place->frame + 1 >= segment.count() && !segment.index.sealed())
    (void)segment.index.extend(segment.source, segment.entry.path);
  if (place->frame + 1 < segment.count())
    return std::optional<Place>{Place{place->segment, place->frame + 1}};
  auto entry = entry_after(segment.entry);
  if (!entry) return std::move(entry).error();
  return first_place_from(std::move(entry).value());
}

Result<std::optional<Place>> Playback::Impl::before_this() {
  if (!place) return std::optional<Place>{};
  if (place->frame > 0) return std::optional<Place>{Place{place->segment, place->frame - 1}};
  auto entry = entry_before(place->segment->entry);
  if (!entry) return std::move(entry).error();
  return last_place_until(std::move(entry).value());
}

Result<std::optional<RecordedFrame>> Playback::Impl::go(Result<std::optional<Place>> to) {
  if (!to) return std::move(to).error();
  if (!*to) return std::optional<RecordedFrame>{};
  const Place& there = **to;
  auto bytes = read_frame(there.segment->source, there.segment->index.frames()[there.frame]);
  if (!bytes) return std::move(bytes).error();
  place = there;
  return std::optional<RecordedFrame>{RecordedFrame{there.time(), std::move(bytes).value()}};
}

namespace {

Result<std::optional<WallTime>> time_at(Result<std::optional<Place>> place) {
  if (!place) return std::move(place).error();
  if (!*place) return std::optional<WallTime>{};
  return std::optional<WallTime>{(*place)->time()};
}

}  // namespace

Result<std::optional<WallTime>> Playback::Impl::go_unread(Result<std::optional<Place>> to) {
  if (to && *to) place = **to;
  return time_at(std::move(to));
}

Playback::Playback(Catalog& catalog, base::CameraName camera, Track track)
    : impl_(std::make_unique<Impl>(catalog, std::move(camera), track)) {}
Playback::~Playback() = default;

Result<std::optional<RecordedFrame>> Playback::seek(WallTime at) { return impl_->go(impl_->find(at)); }
Result<std::optional<RecordedFrame>> Playback::next() { return impl_->go(impl_->after()); }
Result<std::optional<RecordedFrame>> Playback::previous() { return impl_->go(impl_->before_this()); }
Result<std::optional<WallTime>> Playback::place_at(WallTime at) { return impl_->go_unread(impl_->find(at)); }
Result<std::optional<WallTime>> Playback::step() { return impl_->go_unread(impl_->after()); }

Result<RecordedFrame> Playback::read() {
  if (!impl_->place)
    return base::Error{base::ErrorCode::not_found, impl_->camera.text(), "no recorded frame was gone to"};
  const Place& place = *impl_->place;
  auto bytes = read_frame(place.segment->source, place.segment->index.frames()[place.frame]);
  if (!bytes) return std::move(bytes).error();
  return RecordedFrame{place.time(), std::move(bytes).value()};
}

Result<std::optional<WallTime>> Playback::peek_next() { return time_at(impl_->after()); }
Result<std::optional<WallTime>> Playback::peek_previous() { return time_at(impl_->before_this()); }

}  // namespace rookery::archive
