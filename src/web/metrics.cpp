#include "web/metrics.h"

#include "jpeg/walk.h"

namespace rookery::web {
namespace {

using View = station::CameraView;

struct Family {
  std::string_view name;
  std::string_view type;  // counter or gauge
  std::string_view unit;  // also the name's last word, as the format asks; empty: none
  std::string_view help;
  double (*value)(const View&);
};

template <class Number>
double plain(Number number) {
  return static_cast<double>(number);
}

constexpr Family kFamilies[] = {
    {"rookery_frames_received", "counter", "", "Frames whose end was seen or that were given up.",
     [](const View& v) { return plain(v.status.counters.received); }},
    {"rookery_frames_published", "counter", "", "Whole frames that were handed on.",
     [](const View& v) { return plain(v.status.counters.published); }},
    {"rookery_parts_rejected", "counter", "", "Parts of the stream that were given up.",
     [](const View& v) { return plain(v.status.counters.rejected_parts); }},
    {"rookery_camera_bytes", "counter", "bytes", "Bytes of the frames that were handed on.",
     [](const View& v) { return plain(v.status.counters.bytes); }},
    {"rookery_connects", "counter", "", "Connections to the board that were established.",
     [](const View& v) { return plain(v.status.counters.connects); }},
    {"rookery_connections_lost", "counter", "", "Connections to the board that ended by themselves.",
     [](const View& v) { return plain(v.status.counters.lost); }},
    {"rookery_dropouts", "counter", "", "Times that pictures stayed away, with the connection or without.",
     [](const View& v) { return plain(v.status.counters.dropouts); }},
    {"rookery_frames_taken", "counter", "", "Frames that the recorder took.",
     [](const View& v) { return plain(v.recorder.taken); }},
    {"rookery_frames_written", "counter", "", "Frames that the recorder wrote.",
     [](const View& v) { return plain(v.recorder.written); }},
    {"rookery_frames_lost", "counter", "", "Frames that the recorder could not write.",
     [](const View& v) { return plain(v.recorder.lost); }},
    {"rookery_recorded_bytes", "counter", "bytes", "Bytes that the recorder wrote.",
     [](const View& v) { return plain(v.recorder.bytes_written); }},
    {"rookery_frames_queued", "gauge", "", "Frames that wait for the recorder.",
     [](const View& v) { return plain(v.recorder.queued); }},
    {"rookery_viewers", "gauge", "", "Who watches at this moment.",
     [](const View& v) { return plain(v.viewers); }},
    {"rookery_viewer_frames_skipped", "counter", "",
     "Frames that viewers left out because newer ones came before they were ready.",
     [](const View& v) { return plain(v.viewers_skipped); }},
    {"rookery_pictures_looked_at", "counter", "", "Pictures that were looked at for motion.",
     [](const View& v) { return plain(v.looked_at); }},
    {"rookery_events", "counter", "", "Events that have ended.",
     [](const View& v) { return plain(v.events_ended); }},
    {"rookery_pre_roll_bytes", "gauge", "bytes", "Pictures held in memory for the time before an event.",
     [](const View& v) { return plain(v.pre_roll.bytes); }},
    {"rookery_frame_rate", "gauge", "", "Frames in a second, over the last 5 s.",
     [](const View& v) { return v.status.frames_per_s; }},
    {"rookery_jitter_seconds", "gauge", "seconds",
     "How unevenly frames come: differences of the intervals between them, smoothed as by RFC 3550.",
     [](const View& v) { return std::chrono::duration<double>(v.status.jitter).count(); }},
    {"rookery_last_frame_timestamp_seconds", "gauge", "seconds",
     "When the last whole frame came, since 1970; 0 before the first.",
     [](const View& v) {
       const auto at = v.status.last_frame_at.value_or(base::WallTime{}).time_since_epoch();
       return std::chrono::duration<double>(at).count();
     }},
    {"rookery_live", "gauge", "", "1 while the camera is live.",
     [](const View& v) { return v.status.state == camera::State::live ? 1.0 : 0.0; }},
};

void add_head(std::string& out, std::string_view name, std::string_view type, std::string_view unit,
              std::string_view help) {
  out += fmt::format("# TYPE {} {}\n", name, type);
  if (!unit.empty()) out += fmt::format("# UNIT {} {}\n", name, unit);
  out += fmt::format("# HELP {} {}\n", name, help);
}

void add_rejected(std::string& out, std::span<const View> cameras) {
  add_head(out, "rookery_frames_rejected", "counter", "", "Broken frames, by what was wrong with them.");
  for (const View& view : cameras) {
    for (std::size_t kind = 0; kind < view.status.counters.rejected.size(); ++kind) {
      out += fmt::format("rookery_frames_rejected_total{{camera=\"{}\",kind=\"{}\"}} {}\n",
                         view.settings.name.text(), jpeg::name_of(static_cast<jpeg::BrokenKind>(kind)),
                         view.status.counters.rejected[kind]);
    }
  }
}

// What reaches the disk later than it happened.
void add_own(std::string& out, const StationCounters& own) {
  const auto add = [&out](std::string_view name, std::string_view type, std::string_view help,
                          std::uint64_t value) {
    add_head(out, name, type, "", help);
    out += fmt::format("{}{} {}\n", name, type == "counter" ? "_total" : "", value);
  };
  add("rookery_catalog_entries_written", "counter", "Queued catalog entries that were written.",
      own.catalog.committed);
  add("rookery_catalog_entries_replaced", "counter", "Queued catalog entries that newer ones made needless.",
      own.catalog.replaced);
  add("rookery_catalog_entries_given_up", "counter", "Queued catalog entries that could not be written.",
      own.catalog.given_up);
  add("rookery_catalog_entries_waiting", "gauge", "Queued catalog entries that wait to be written.",
      own.catalog.waiting);
  add("rookery_late_flushes", "counter", "Flushes of recordings that came later than one second.",
      own.flushes.flushes);
  add_head(out, "rookery_flush_gap_max_seconds", "gauge", "seconds",
           "Longest time that passed between two flushes of recordings, of the late ones.");
  out += fmt::format("rookery_flush_gap_max_seconds {}\n",
                     std::chrono::duration<double>(own.flushes.longest).count());
}

}  // namespace

std::string metrics_text(std::span<const station::CameraView> cameras,
                         const std::optional<StationCounters>& own) {
  std::string out;
  for (const Family& family : kFamilies) {
    add_head(out, family.name, family.type, family.unit, family.help);
    const std::string_view suffix = family.type == "counter" ? "_total" : "";
    for (const View& view : cameras) {
      out += fmt::format("{}{}{{camera=\"{}\"}} {}\n", family.name, suffix, view.settings.name.text(),
                         family.value(view));
    }
  }
  add_rejected(out, cameras);
  if (own) add_own(out, *own);
  out += "# EOF\n";
  return out;
}

}  // namespace rookery::web
