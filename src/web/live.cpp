#include "web/live.h"

#include <boost/asio/post.hpp>

#include "web/answers.h"
#include "web/connection.h"
#include "web/handlers.h"
#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
namespace {

const std::string kOpening = fmt::format("--{}\r\n", kPartBoundary);
const std::string kBetween = fmt::format("\r\n--{}\r\n", kPartBoundary);

// What both live addresses need first. All of it is in memory: no worker is waited for.
struct Wanted {
  base::Result<base::CameraName> name;
  base::Result<int> width;
  std::shared_ptr<camera::Feed> feed;
};

Wanted look_up(Call& call) {
  Wanted wanted{visible_camera(call), width_of(call.request), nullptr};
  if (!wanted.name) return wanted;
  auto feed = call.station().feed(*wanted.name);
  if (feed) {
    wanted.feed = std::move(*feed);
  } else {
    wanted.name = no_such_camera(call.params.front());
  }
  return wanted;
}

// RFC 9110, 5.6.7.
std::string http_time(base::WallTime time) {
  const auto seconds = std::chrono::floor<std::chrono::seconds>(time);
  return fmt::format("{:%a, %d %b %Y %H:%M:%S} GMT", fmt::gmtime(seconds.time_since_epoch().count()));
}

// Whether a field If-None-Match names `tag` (RFC 9110, 13.1.2; weak comparison).
bool names_tag(std::string_view field, std::string_view tag) {
  return field == "*" || field.find(tag) != std::string_view::npos;
}

Response no_frame_yet(const base::CameraName& name) {
  Response response = problem(Error(ErrorCode::busy, name.text(), "there is no picture yet",
                                    "The camera's status tells why; try again in a few seconds."),
                              http::status::service_unavailable);
  response.set("Retry-After", "2");
  return response;
}

}  // namespace

std::string part_head(const camera::Frame& frame) {
  return fmt::format("Content-Type: image/jpeg\r\nContent-Length: {}\r\nX-Arrived: {}\r\n\r\n",
                     frame.bytes.size(), base::to_rfc3339(frame.arrived));
}

std::shared_ptr<const Part> PartMaker::part_for(const camera::FramePtr& frame) {
  const std::scoped_lock lock(mutex_);
  if (newest_ && newest_->frame == frame) return newest_;
  auto made = std::make_shared<const Part>(part_head(*frame), frame);
  // A viewer on another thread may already have shown a newer one: that one stays the shared one.
  if (!newest_ || newest_->frame->arrived_mono <= frame->arrived_mono) newest_ = made;
  return made;
}

// Lent: the connection holds it, and awaits this to its end (router.h).
asio::awaitable<Response> get_live_jpg(Call& call) {
  const Wanted wanted = look_up(call);
  if (!wanted.name) co_return problem(wanted.name.error());
  if (!wanted.width) co_return problem(wanted.width.error());
  camera::FramePtr frame = wanted.feed->latest();
  if (!frame) co_return no_frame_yet(*wanted.name);
  const std::string tag = fmt::format("\"{}-{:x}-{}{}\"", wanted.name->text(),
                                      call.station().started_at().time_since_epoch().count(), frame->number,
                                      *wanted.width > 0 ? fmt::format("-w{}", *wanted.width) : "");
  Response response;
  response.set("ETag", tag);
  response.set("Last-Modified", http_time(frame->arrived));
  response.set("X-Arrived", base::to_rfc3339(frame->arrived));
  // no-cache, not no-store: what is shown again unchanged costs a 304 instead of a picture.
  response.set("Cache-Control", "private, no-cache");
  if (names_tag(call.request.field(http::field::if_none_match), tag)) {
    response.status = http::status::not_modified;
    co_return response;
  }
  auto scaling = call.station().sizes().at_width(frame, *wanted.width);
  frame = co_await std::move(scaling);
  if (!frame) {
    co_return problem(Error(ErrorCode::damaged, wanted.name->text(), "the picture cannot be scaled",
                            "Ask for it without width."));
  }
  response.set("Content-Type", "image/jpeg");
  response.body = std::move(frame);
  co_return response;
}

namespace {

Response stream_answer() {
  Response response;
  response.set("Content-Type", fmt::format("multipart/x-mixed-replace; boundary={}", kPartBoundary));
  response.set("Cache-Control", "no-store");
  response.set("X-Accel-Buffering", "no");  // a proxy in front must not collect what is live
  return response;
}

// Sends every newest frame until the viewer goes, the camera goes, or the sign-in ends.
// Lent: get_live_mjpeg passes on what it was lent itself, and awaits this to its end.
asio::awaitable<void> relay(Call& call, Connection& connection, std::shared_ptr<camera::Feed> feed,
                            int width_px) {
  const std::shared_ptr<PartMaker> parts = call.services.part_maker(feed.get());
  camera::FeedViewer viewer(std::move(feed), connection.executor());
  for (;;) {
    auto waiting = viewer.next();
    camera::FramePtr frame = co_await std::move(waiting);
    if (!frame || connection.ending()) co_return;
    std::shared_ptr<const Part> part;
    if (width_px > 0) {
      auto scaling = call.station().sizes().at_width(frame, width_px);
      frame = co_await std::move(scaling);
      if (!frame) continue;
      part = std::make_shared<const Part>(part_head(*frame), frame);
    } else {
      part = parts->part_for(frame);
    }
    std::array<asio::const_buffer, 3> pieces = {asio::buffer(part->head), asio::buffer(part->frame->bytes),
                                                asio::buffer(kBetween)};
    std::optional<bool> done = connection.try_write(pieces);
    if (!done) {
      auto writing = connection.write(pieces);
      done = co_await std::move(writing);
    }
    if (!*done) co_return;
  }
}

}  // namespace

// Lent: the connection holds both, and awaits this to its end (router.h).
asio::awaitable<void> get_live_mjpeg(Call& call, Connection& connection) {
  const Wanted wanted = look_up(call);
  const bool head_only = call.request.method == http::verb::head;
  if (!wanted.name || !wanted.width) {
    Response refusal = problem(!wanted.name ? wanted.name.error() : wanted.width.error());
    auto refusing = connection.respond(std::move(refusal), head_only, false);
    co_await std::move(refusing);
    co_return;
  }
  Response answer = stream_answer();
  auto beginning = send_stream_head(connection, std::move(answer));
  const bool begun = co_await std::move(beginning);
  if (!begun || head_only) co_return;
  // The caller's copy is the question's own: it is asked on a worker while the stream runs here.
  auto caller = std::make_shared<Caller>(call.caller);
  connection.become_stream([services = &call.services, caller, name = *wanted.name] {
    return still_allowed(*services, *caller, name);
  });
  const std::array<asio::const_buffer, 3> opening = {asio::buffer(kOpening)};
  auto writing = connection.write(opening);
  if (!co_await std::move(writing)) co_return;
  auto relaying = relay(call, connection, wanted.feed, *wanted.width);
  co_await std::move(relaying);
}

}  // namespace rookery::web
