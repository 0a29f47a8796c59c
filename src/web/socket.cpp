#include "web/socket.h"

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "base/log.h"
#include "web/cookie.h"
#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace asio = boost::asio;
namespace beast = boost::beast;
namespace json = boost::json;
using boost::system::error_code;
namespace {

constexpr std::string_view kProtocol = "rookery.v1";
constexpr std::size_t kMessageMost_bytes = 64u << 10;
// Texts that wait while the page takes nothing. Only a page that keeps asking without reading gets there.
constexpr std::size_t kTextsMost = 256;

asio::steady_timer endless(const asio::any_io_executor& executor) {
  return asio::steady_timer(executor, asio::steady_timer::time_point::max());
}

}  // namespace

SocketSession::SocketSession(Services& services, Connection& connection, Caller caller)
    : services_(services),
      connection_(connection),
      ws_(connection.carrier()),
      caller_(caller),
      asked_(std::move(caller)),
      finished_(endless(connection.executor())),
      writer_wake_(endless(connection.executor())),
      children_gone_(endless(connection.executor())),
      heard_(std::chrono::steady_clock::now()) {}

bool SocketSession::ask_again() {
  const std::scoped_lock lock(asked_mutex_);
  if (!still_signed_in(services_, asked_)) return false;
  asio::post(connection_.executor(), [self = weak_from_this(), caller = asked_]() mutable {
    if (auto alive = self.lock()) alive->regrant(std::move(caller));
  });
  return true;
}

void SocketSession::regrant(Caller caller) {
  caller_ = std::move(caller);
  std::vector<int> lost;
  for (const auto& [slot, place] : places_) {
    if (!caller_.may_see(place->camera)) lost.push_back(slot);
  }
  for (const int slot : lost) {
    const std::string name = places_.at(slot)->camera.text();
    remove(slot);
    send_problem(no_such_camera(name), slot);
  }
}

void SocketSession::finish(websocket::close_code code, std::string reason) {
  if (finishing_) return;
  finishing_ = true;
  reason_ = websocket::close_reason(code, beast::string_view(reason.data(), reason.size()));
  finished_.cancel();
}

// Starts one of the coroutines that run() waits for. `holds` stays alive until it has ended.
void SocketSession::start(asio::awaitable<void> task, asio::cancellation_signal& cancel, PlacePtr holds) {
  ++children_;
  auto ended = [self = shared_from_this(), holds = std::move(holds)](std::exception_ptr thrown) {
    try {
      if (thrown) std::rethrow_exception(thrown);
    } catch (const boost::system::system_error&) {  // cancelled, or the viewer left
    } catch (const std::exception& error) {
      base::log_error("web", "WebSocket: {}", error.what());
      self->finish(websocket::close_code::internal_error, "the station failed");
    }
    if (--self->children_ == 0) self->children_gone_.cancel();
  };
  asio::co_spawn(connection_.executor(), std::move(task),
                 asio::bind_cancellation_slot(cancel.slot(), std::move(ended)));
}

asio::awaitable<bool> SocketSession::shake_hands(http::request<http::empty_body> upgrade) {
  websocket::stream_base::timeout timeout{};
  timeout.handshake_timeout = services_.options.limits.grace;
  timeout.idle_timeout = websocket::stream_base::none();
  timeout.keep_alive_pings = false;
  ws_.set_option(timeout);
  ws_.set_option(websocket::stream_base::decorator([](websocket::response_type& response) {
    response.set(http::field::sec_websocket_protocol, beast::string_view(kProtocol.data(), kProtocol.size()));
  }));
  ws_.auto_fragment(false);  // a picture is one frame, sent from where it lies
  ws_.read_message_max(0);   // read() bounds messages itself, to close with 1008
  ws_.control_callback(
      [this](websocket::frame_type, beast::string_view) { heard_ = std::chrono::steady_clock::now(); });
  error_code error;
  auto accepting = ws_.async_accept(upgrade, asio::redirect_error(asio::use_awaitable, error));
  co_await std::move(accepting);
  co_return !error;
}

asio::awaitable<void> SocketSession::run(http::request<http::empty_body> upgrade) {
  auto shaking = shake_hands(std::move(upgrade));
  if (!co_await std::move(shaking)) co_return;
  send_text({{"is", "hello"}, {"version", ROOKERY_VERSION}, {"now", base::to_rfc3339(services_.wall())}});
  start(read(), cancel_[0]);
  start(write(), cancel_[1]);
  start(report(), cancel_[2]);
  start(beat(), cancel_[3]);
  error_code woken;
  if (!finishing_) {
    auto waiting = finished_.async_wait(asio::redirect_error(asio::use_awaitable, woken));
    co_await std::move(waiting);
  }
  while (!places_.empty()) remove(places_.begin()->first);
  if (ws_.is_open()) {
    auto closing = ws_.async_close(reason_, asio::redirect_error(asio::use_awaitable, woken));
    co_await std::move(closing);
  }
  connection_.carrier().close();
  for (asio::cancellation_signal& cancel : cancel_) cancel.emit(asio::cancellation_type::terminal);
  while (children_ > 0) {
    auto waiting = children_gone_.async_wait(asio::redirect_error(asio::use_awaitable, woken));
    co_await std::move(waiting);
  }
}

asio::awaitable<void> SocketSession::read() {
  beast::flat_buffer buffer;
  error_code error;
  while (!finishing_) {
    auto reading = ws_.async_read_some(buffer, kMessageMost_bytes + 1 - buffer.size(),
                                       asio::redirect_error(asio::use_awaitable, error));
    co_await std::move(reading);
    if (error) break;
    heard_ = std::chrono::steady_clock::now();
    if (buffer.size() > kMessageMost_bytes) {
      finish(websocket::close_code::policy_error, "a message is larger than 64 KiB");
      co_return;
    }
    if (!ws_.is_message_done()) continue;
    const std::string_view text(static_cast<const char*>(buffer.data().data()), buffer.size());
    auto word = read_page_word(ws_.got_text() ? text : std::string_view{});
    buffer.consume(buffer.size());
    if (word) {
      hear(*word);
    } else if (word.error().code == base::ErrorCode::malformed) {
      finish(websocket::close_code::policy_error, "a message is no JSON object");
      co_return;
    } else {
      send_problem(word.error(), std::nullopt);
    }
  }
  finish(websocket::close_code::normal, "");
}

asio::awaitable<void> SocketSession::write() {
  error_code error;
  while (!finishing_) {
    if (out_.empty()) {
      auto waiting = writer_wake_.async_wait(asio::redirect_error(asio::use_awaitable, error));
      co_await std::move(waiting);
      continue;
    }
    const Out one = std::move(out_.front());
    out_.pop_front();
    const std::array<asio::const_buffer, 2> pieces = {
        one.frame ? asio::buffer(one.head) : asio::buffer(one.text),
        one.frame ? asio::buffer(one.frame->bytes) : asio::const_buffer{}};
    ws_.binary(one.frame != nullptr);
    connection_.note_writing(true);
    auto writing = ws_.async_write(pieces, asio::redirect_error(asio::use_awaitable, error));
    co_await std::move(writing);
    connection_.note_writing(false);
    if (error) break;
    if (one.frame) {
      --pictures_queued_;
      wake_places();
    }
  }
  finish(websocket::close_code::normal, "");
}

asio::awaitable<void> SocketSession::sleep(std::chrono::milliseconds time) {
  asio::steady_timer timer(connection_.executor(), time);
  auto waiting = timer.async_wait(asio::use_awaitable);
  co_await std::move(waiting);
}

// Status of every camera that the person may see: first all, then those that changed.
asio::awaitable<void> SocketSession::report() {
  const auto every = services_.options.limits.tick;
  for (;;) {
    if (!status_queued_) {
      auto look = [this, every] { return services_.status.snapshot(every / 2); };
      auto looking = run_on(services_.station.computing(), std::move(look));
      const std::shared_ptr<const StatusSnapshot> snapshot = co_await std::move(looking);
      std::string text = status_text(*snapshot);
      if (!text.empty()) send_text(std::move(text));
    }
    auto sleeping = sleep(every);
    co_await std::move(sleeping);
  }
}

// Empty when nothing changed. The names of all cameras come along when they are others than before: that is
// how a page learns that one is gone.
std::string SocketSession::status_text(const StatusSnapshot& snapshot) {
  std::string list;
  std::string names;
  std::map<base::CameraName, std::string> now;
  bool same_names = told_names_;
  for (const auto& [name, texts] : snapshot) {
    if (!caller_.may_see(name)) continue;
    const std::string& text = caller_.is_owner() ? texts.owner : texts.viewer;
    const auto known = told_.find(name);
    if (known == told_.end() || known->second != text) list += (list.empty() ? "" : ",") + text;
    same_names = same_names && known != told_.end();
    names += fmt::format("{}\"{}\"", names.empty() ? "" : ",", name.text());
    now.emplace(name, text);
  }
  same_names = same_names && now.size() == told_.size();
  told_ = std::move(now);
  told_names_ = true;
  if (list.empty() && same_names) return {};
  return fmt::format("{{\"is\":\"status\",{}\"cameras\":[{}]}}",
                     same_names ? "" : fmt::format("\"names\":[{}],", names), list);
}

asio::awaitable<void> SocketSession::beat() {
  const ServerLimits& limits = services_.options.limits;
  error_code error;
  while (!error) {
    auto sleeping = sleep(limits.ping_every);
    co_await std::move(sleeping);
    if (std::chrono::steady_clock::now() - heard_ > limits.ping_patience) {
      finish(websocket::close_code::going_away, "nothing was heard for too long");
      co_return;
    }
    const websocket::ping_data nothing;
    auto pinging = ws_.async_ping(nothing, asio::redirect_error(asio::use_awaitable, error));
    co_await std::move(pinging);
  }
}

void SocketSession::send_text(std::string text) {
  // pictures_queued_ also counts the one that is being written and is no longer in out_.
  if (out_.size() >= pictures_queued_ + kTextsMost) {
    finish(websocket::close_code::policy_error, "the page asks, but reads no answers");
    return;
  }
  Out one;
  one.text = std::move(text);
  out_.push_back(std::move(one));
  writer_wake_.cancel();
}

void SocketSession::send_problem(const base::Error& error, std::optional<int> slot) {
  json::object message{{"is", "problem"}, {"problem", problem_of(error)}};
  if (slot) message["slot"] = *slot;
  send_text(message);
}

void SocketSession::send_picture(Place& place, PictureKind kind, camera::FramePtr frame) {
  Out one;
  one.head = picture_head(kind, place.slot, credits_.send(place.slot), *frame);
  one.frame = std::move(frame);
  out_.push_back(std::move(one));
  ++pictures_queued_;
  writer_wake_.cancel();
}

bool SocketSession::has_room() const { return credits_.has_room() && pictures_queued_ < Credits::kMost; }

void SocketSession::wake_places() {
  for (const auto& [slot, place] : places_) {
    if (credits_.slot_is_free(slot)) place->wake.cancel();
  }
}

// Lent: the connection holds both, and awaits this to its end (router.h).
asio::awaitable<void> get_socket(Call& call, Connection& connection) {
  const Request& request = call.request;
  http::request<http::empty_body> upgrade(http::verb::get, "/api/v1/socket", 11);
  for (const auto& field : request.fields) upgrade.insert(field.name_string(), field.value());
  const bool head_only = request.method == http::verb::head;
  std::optional<Response> refusal;
  if (head_only || !websocket::is_upgrade(upgrade)) {
    refusal =
        problem(base::Error(base::ErrorCode::unsupported, "socket", "this address speaks WebSocket only",
                            "Open it as a WebSocket (RFC 6455), sub-protocol rookery.v1."),
                http::status::upgrade_required);
    refusal->set("Upgrade", "websocket");
  } else if (!is_own_origin(request)) {
    refusal = problem(
        base::Error(base::ErrorCode::no_permission, "socket", "the Origin is not the station's own address",
                    "Open the page under the station's own address; programs send its Origin."),
        http::status::forbidden);
  } else if (!http::token_list(upgrade[http::field::sec_websocket_protocol])
                  .exists(beast::string_view(kProtocol.data(), kProtocol.size()))) {
    refusal =
        problem(base::Error(base::ErrorCode::unsupported, "socket", "the sub-protocol is not rookery.v1",
                            "Reload the page: it may be of another version."),
                http::status::bad_request);
  }
  if (refusal) {
    auto refusing = connection.respond(std::move(*refusal), head_only, false);
    co_await std::move(refusing);
    co_return;
  }
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  auto session = std::make_shared<SocketSession>(call.services, connection, call.caller);
  connection.on_ending(
      [&session] { session->finish(websocket::close_code::going_away, "the station closes"); });
  connection.become_stream([session] { return session->ask_again(); });
  auto running = session->run(std::move(upgrade));
  co_await std::move(running);
  connection.on_ending(nullptr);
  connection.become_stream(nullptr);
}

}  // namespace rookery::web
