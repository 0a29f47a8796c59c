// Dropout: what was seen of one camera round a time without pictures, and the clues in it. Pure: what is seen
// comes from gap_recorder.h, what it means is for causes.h.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "camera/frame.h"

namespace rookery::camera {

// How one attempt to get pictures ended.
enum class AttemptEnd : std::uint8_t {
  silence,         // connected, pictures stopped, given up by us
  reset,           // the other side says that it knows nothing of this connection
  closed,          // in order
  cut,             // closed in the middle of a picture or a chunk
  unheard,         // connected, and not a byte of an answer until we gave up
  closed_unheard,  // connected, and closed without a byte
  refused,         // nothing listens on that port
  no_answer,       // connecting took too long, or the network says that there is nobody at that address
  no_name,         // the name has no address
  error_status,    // an HTTP status of 4xx or 5xx
  no_pictures,     // an answer that is no picture, or pictures none of which is whole
  other,
};

// One question during a gap.
enum class ProbeKind : std::uint8_t { connect, echo };  // a TCP connection closed at once; an ICMP echo
enum class ProbeAnswer : std::uint8_t { answered, refused, nothing, not_allowed };

struct PictureSeen {
  base::MonoTime at{};
  std::uint32_t bytes = 0;
  std::optional<base::Microseconds> stamp;  // of the board's own clock: since its boot
  std::optional<float> luma;                // mean, 0 to 255; only of the first and last after a gap
  std::uint64_t connection = 0;             // of this camera, counted up
};

struct AttemptSeen {
  base::MonoTime at{};
  AttemptEnd how = AttemptEnd::other;
  int status = 0;  // HTTP, for error_status
  bool had_pictures = false;
};

struct ProbeSeen {
  base::MonoTime at{};  // when it was answered or given up
  ProbeKind kind = ProbeKind::connect;
  ProbeAnswer answer = ProbeAnswer::nothing;
  base::Microseconds took{};
};

// What the kernel knows of the connection, once a second.
struct LinkSample {
  base::MonoTime at{};
  base::Microseconds round_trip{};  // 0: not known
  base::Microseconds
      since_last_ack{};            // anything that the board's network stack sent, keep-alive answers too
  std::uint32_t segments = 0;      // with data, of this connection so far
  std::uint32_t out_of_order = 0;  // of those
  std::uint64_t connection = 0;
};

// The station's own work came late: timers of its reading loop.
struct LateSeen {
  base::MonoTime at{};
  base::Microseconds by{};
};

// The other cameras of this station when the gap began: how many gave pictures, and how many of them stopped
// within ± 2 s.
struct OthersSeen {
  int near_live = 0;  // on the same network (address prefix)
  int near_gaps = 0;
  int far_live = 0;
  int far_gaps = 0;
};

// Everything that was seen of one dropout. Times are monotonic.
struct DropoutSeen {
  std::uint64_t number = 0;  // of this camera since the station started, from 1
  base::MonoTime began{};    // the last picture before it
  base::WallTime began_wall{};
  std::optional<base::MonoTime> back;  // the first picture after it; none: not back yet
  base::MonoTime looked{};             // what is said here holds at this time
  std::vector<PictureSeen> before;     // the last ones, at most 64
  std::vector<PictureSeen> after;      // the first ones, at most 64
  FramePtr first_after, last_after;    // of those, until their brightness is read; null: not known
  std::vector<base::MonoTime> broken;  // pictures that were not whole: 30 s before, and during
  std::vector<AttemptSeen> attempts;   // that ended since it began
  std::vector<ProbeSeen> probes;
  std::vector<LinkSample> link;        // from 30 s before
  std::vector<LateSeen> late;          // from 2 s before
  std::vector<float> bytes_by_minute;  // mean size of pictures of the last 30 whole minutes, oldest first
  base::MonoTime streaming_since{};    // when the connection that dropped began to give pictures
  OthersSeen others;
  bool announced = false;        // the board told its name to the network again
  bool address_changed = false;  // it is somewhere else now
  bool disk_full = false;
};

// --- clues: each is one of few values; the first means "not known" and weighs nothing ---

enum class OldConnection : std::uint8_t {
  unknown,
  went_on,
  reset,
  closed,
  cut,
  given_up,   // silent
  kept_alive  // the same, but its network stack acknowledged it to the end
};
enum class Retries : std::uint8_t {
  unknown,
  none_needed,
  unheard,
  closed_unheard,
  wrong_answer,
  refused,
  no_answer,
  no_name
};
enum class Restart : std::uint8_t { unknown, stamp_back, stamp_on };
enum class Reach : std::uint8_t {
  unknown,
  answered,         // whatever was asked, until it started anew, if it did
  answered_silent,  // the same, and no picture came for long after the first answer
  never,
  came_back,  // not at first, from some moment on always
  went_away,  // at first, and not later
  patchy
};
enum class Others : std::uint8_t { unknown, alone, some, most, everywhere };
enum class LinkBefore : std::uint8_t { unknown, calm, troubled, bad };
enum class OwnReader : std::uint8_t { unknown, on_time, late };
enum class Burst : std::uint8_t { unknown, none, burst };
enum class Broken : std::uint8_t { unknown, none, some, many };
enum class Exposure : std::uint8_t { unknown, settled, ramp };
enum class Age : std::uint8_t { unknown, fresh, settled };  // of the connection: under 10 s, or more
enum class Length : std::uint8_t { unknown, under_4_s, under_15_s, under_90_s, longer };
enum class Warmth : std::uint8_t { unknown, flat, rising };
enum class Place : std::uint8_t { unknown, same, moved };
enum class Announced : std::uint8_t { unknown, again };
// When it started, after the last picture; answered: it answered after that picture, and only then started.
enum class Booted : std::uint8_t { unknown, at_once, later, answered };

// The clues of one dropout with the numbers that they were read from.
struct Evidence {
  OldConnection old_connection{};
  Retries retries{};
  Restart restart{};
  Reach reach{};
  Others others{};
  LinkBefore link_before{};
  OwnReader own_reader{};
  Burst burst{};
  Broken broken{};
  Exposure exposure{};
  Age age{};
  Length length{};
  Warmth warmth{};
  Place place{};
  Announced announced{};
  Booted booted{};

  double gap_s = 0;  // so far, if it is not over
  bool over = false;
  double usual_interval_s = 0;                            // median before
  double gap_bound_s = 0;                                 // max(3 m, m + 6·1.4826·MAD)
  double ended_after_s = 0;                               // the old connection, since the gap began
  std::optional<double> uptime_before_s, uptime_after_s;  // the board's own, round the gap
  std::optional<double> booted_after_s;                   // the gap began, when it restarted
  int echoes = 0, echoes_answered = 0;
  int connects = 0, connects_answered = 0;
  bool old_socket_answered = false;      // its network stack still acknowledged during the gap
  int others_live = 0, others_gaps = 0;  // on its network
  int far_live = 0, far_gaps = 0;        // on others
  double out_of_order_share = 0;         // of segments, 10 s before
  double round_trip_s = 0, round_trip_usual_s = 0;
  double late_s = 0;  // own, longest during the gap
  int burst_pictures = 0;
  int broken_pictures = 0;
  double luma_first = 0, luma_settled = 0;
  double streamed_for_s = 0;  // the connection that dropped
  double bytes_rise = 0;      // ratio of the last minutes to those before
  int attempts_failed = 0;    // by the kind in `retries`
  int attempts_all = 0;
  int status = 0;
  bool disk_full = false;
};

// Reads the brightness of the first and the last picture after the dropout, and lets go of them. Decodes: not
// for an I/O thread. What cannot be decoded stays without.
void read_brightness(DropoutSeen& seen);

// any-thread.
Evidence read_evidence(const DropoutSeen& seen);

// "silence", "reset", …: for the log and the API.
std::string_view name_of(AttemptEnd end);

}  // namespace rookery::camera
