#include "camera/pull.h"

#include <algorithm>
#include <condition_variable>
#include <mutex>

#include <fmt/format.h>
#include <boost/asio.hpp>

#include "base/log.h"
#include "camera/answer.h"
#include "camera/board_stamp.h"
#include "camera/fingerprint.h"
#include "camera/gap_watch.h"
#include "camera/pull_books.h"
#include "net/http_client.h"
#include "net/supervise.h"
#include "proto/limits.h"
#include "proto/multipart.h"

namespace rookery::camera {

namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

// `seat` outlives the client.
net::HttpOptions options_of(const PullLimits& limits, net::TlsContext tls, BoardRegister::Seat& seat) {
  net::HttpOptions out;
  out.open = limits.connect;
  out.silence = limits.silence;
  out.tls = std::move(tls);
  out.may_ask = [&seat](const auto& endpoints, const net::Address& address) {
    return seat.take(endpoints, address);
  };
  return out;
}

asio::any_io_executor strand_of(const asio::any_io_executor& executor) { return asio::make_strand(executor); }

constexpr std::string_view kHeld = "another viewer may hold its one stream";
constexpr std::string_view kHeldRemedy =
    "Close what else watches this board (a browser tab, another program); if nothing does, cycle its power";

// What silence most likely means once the head of an answer has come.
Error fell_silent(Error error, bool any_picture) {
  if (error.code != ErrorCode::timed_out) return error;
  if (any_picture) {
    error.remedy = "The board or its radio may hang: if it does not come back, cycle its power";
  } else {
    error.detail = fmt::format("it answers but sends no picture: {}", kHeld);
    error.remedy = kHeldRemedy;
  }
  return error;
}

}  // namespace

// Carries out what the session decides. One coroutine on one strand does everything that touches the socket,
// one step after the other: that is why there is never a second request.
struct Pull::Impl : std::enable_shared_from_this<Pull::Impl> {
  Impl(const asio::any_io_executor& executor, Settings settings, const PullLimits& limits_,
       const base::Clock& clock, std::uint64_t seed, net::TlsContext tls, PullShared shared_)
      : limits(limits_),
        strand(strand_of(executor)),
        shared(std::move(shared_)),
        seat(shared.boards, settings.name.text()),
        books(std::move(settings), limits, clock, seed),
        client(strand, options_of(limits, std::move(tls), seat)),
        gap_watcher(books, client, shared, limits.gaps),
        bell(strand) {}

  static asio::awaitable<void> run(std::shared_ptr<Impl> self);
  asio::awaitable<void> attempt();
  asio::awaitable<Result<void>> read_stream(std::string boundary);
  asio::awaitable<Result<void>> read_still();
  asio::awaitable<std::string> read_page();
  Result<bool> take_events(proto::MultipartReader& reader, bool& any_part);
  Error unanswered(Error error) const;
  void finish(Result<void> how, AttemptEnd end = AttemptEnd::other, int status = 0);

  // From any thread: what was decided in the books is acted upon on the strand.
  void ring() {
    const std::uint64_t ring_number = [this] {
      const std::lock_guard lock(letting_go);
      return ++rings_asked;
    }();
    asio::post(strand, [self = shared_from_this(), ring_number] {
      const bool under_way = self->books.under_way();
      const bool must_end = self->books.must_end();
      // Between two polls nothing is under way, but a connection may be kept for the next.
      if (must_end || !under_way) self->client.close();
      if (!under_way) self->seat.leave();
      self->bell.cancel();
      self->ring_heard = ring_number;
      if (!under_way || !must_end) self->answer_rings();  // else finish() does
    });
  }

  // On the strand: what the rings that were heard have ended is closed, and its board is free.
  void answer_rings() {
    const std::lock_guard lock(letting_go);
    rings_answered = ring_heard;
    let_go.notify_all();
  }

  const PullLimits limits;
  const asio::any_io_executor strand;
  const PullShared shared;
  BoardRegister::Seat seat;  // strand-bound; left only after the socket is closed
  PullBooks books;
  net::HttpClient client;  // strand-bound
  GapWatch gap_watcher;
  asio::steady_timer bell;     // strand-bound: ends a pause
  bool any_part_came = false;  // in this attempt; strand-bound
  std::string about;           // of the attempt: "bobbin: GET http://…"; strand-bound

  mutable std::mutex printing;
  std::string print;  // Pull::fingerprint(); guarded by `printing`

  std::mutex starting;
  std::optional<net::Supervised> supervised;
  std::optional<net::Supervised> gap_watch;

  std::uint64_t ring_heard = 0;  // the newest; strand-bound
  std::mutex letting_go;         // guards the next two
  std::condition_variable let_go;
  std::uint64_t rings_asked = 0;
  std::uint64_t rings_answered = 0;
};

asio::awaitable<void> Pull::Impl::run(std::shared_ptr<Impl> self) {
  // Started anew after an exception (no memory): what was under way then is over.
  if (self->books.under_way())
    self->finish(Error(ErrorCode::io, {}, "the pull itself failed", "See the log"));
  for (;;) {
    const Session::Next next = self->books.next();
    if (next.order == Session::Order::open) {
      auto attempting = self->attempt();
      co_await std::move(attempting);
      continue;
    }
    if (next.order == Session::Order::wait) {
      self->bell.expires_after(self->books.until(next.until));
    } else {
      self->bell.expires_at(asio::steady_timer::time_point::max());
    }
    auto pausing = self->bell.async_wait(asio::as_tuple(asio::use_awaitable));
    static_cast<void>(co_await std::move(pausing));
  }
}

// Ends the attempt, the socket first: when the session hears of it, the next connection may be made.
void Pull::Impl::finish(Result<void> how, AttemptEnd end, int status) {
  client.close();
  seat.leave();
  answer_rings();
  if (how) return books.ended(std::nullopt);
  Error error = how.error();
  error.where = about;
  if (!books.must_end()) base::log_info(books.name(), "{}", error.text());
  AttemptSeen seen;
  seen.how = end;
  seen.status = status;
  seen.had_pictures = any_part_came;
  books.ended(std::move(error), seen);
}

asio::awaitable<void> Pull::Impl::attempt() {
  const std::optional<Settings> wanted = books.opening();
  if (!wanted) co_return;  // stopped or changed since the session was asked: ask again
  any_part_came = false;
  const Settings& settings = *wanted;
  const bool stills = settings.source == Source::stills;
  auto address = net::Address::parse(stills ? settings.still_address : settings.stream_address);
  about = settings.name.text();
  if (!address) co_return finish(address.error());
  about = fmt::format("{}: GET {}", settings.name.text(), address->shown());
  if (!settings.user.empty() || !settings.password.empty()) {
    address->user = settings.user;
    address->password = settings.password;
  }
  auto asking = client.fetch_head(*address);
  Result<net::HttpHead> head = co_await std::move(asking);
  books.connected(client.connects());
  if (!head) co_return finish(unanswered(head.error()), end_without_head(head.error(), client));
  gap_watcher.note_peer();
  const Result<Answer> answer = read_answer(*head, settings.source);
  if (!answer) co_return finish(answer.error(), AttemptEnd::no_pictures);
  if (answer->kind == AnswerKind::page) {
    auto reading = read_page();
    const std::string page = co_await std::move(reading);
    co_return finish(explain_page(*head, page),
                     head->status >= 400 ? AttemptEnd::error_status : AttemptEnd::no_pictures, head->status);
  }
  {
    const std::lock_guard lock(printing);
    print = fingerprint_of(answer->kind == AnswerKind::stream ? Answered::stream : Answered::still, *head);
  }
  books.opened();
  if (answer->kind == AnswerKind::stream) {
    auto reading = read_stream(answer->boundary);
    Result<void> how = co_await std::move(reading);
    const AttemptEnd end = how ? AttemptEnd::other : end_with_head(how.error(), client, any_part_came);
    co_return finish(std::move(how), end);
  }
  if (!stills && !books.polling()) books.turned_out_single();
  auto reading = read_still();
  Result<void> how = co_await std::move(reading);
  const AttemptEnd end = how ? AttemptEnd::other : end_with_head(how.error(), client, any_part_came);
  if (!how || books.must_end()) co_return finish(std::move(how), end);
  // The connection stays for the next still, if the board lets it.
  books.rested();
}

// What a silent board most likely means, where the error alone would not say it.
Error Pull::Impl::unanswered(Error error) const {
  if (error.code == ErrorCode::timed_out && client.connected_but_unheard()) {
    error.detail = fmt::format("it accepts connections but sends nothing: {}", kHeld);
    error.remedy = kHeldRemedy;
  } else if (error.code == ErrorCode::closed && client.connected_but_unheard()) {
    error.detail = "it accepts connections and closes them without an answer";
    error.remedy =
        "The sensor may have failed: cycle the board's power, check its supply and the sensor's ribbon";
  }
  return error;
}

asio::awaitable<Result<void>> Pull::Impl::read_stream(std::string boundary) {
  proto::MultipartLimits part_limits;
  part_limits.max_part_bytes = limits.part_most_bytes;
  proto::MultipartReader reader(boundary, part_limits);
  bool any_part = false;
  for (;;) {
    auto reading = client.fetch_piece();
    Result<net::HttpClient::Piece> piece = co_await std::move(reading);
    if (books.must_end()) co_return base::ok();
    const bool over = !piece || piece->empty();
    if (over) {
      reader.finish();
    } else {
      reader.push(*piece);
    }
    const Result<bool> ended = take_events(reader, any_part);
    if (!ended) co_return ended.error();
    if (books.must_end()) co_return base::ok();
    if (!piece) {
      if (piece.error().code != ErrorCode::closed) co_return fell_silent(piece.error(), any_part);
      co_return Error(ErrorCode::closed, {}, "the board dropped the stream: " + piece.error().detail,
                      "If it happens often: supply, radio or another viewer; see the board's own log");
    }
    if (over || *ended)
      co_return Error(ErrorCode::closed, {}, std::string(kEndedInOrder),
                      "It is asked again; if this happens often, look at its supply and its own log");
    if (books.fruitless()) {
      const std::string fault = books.last_fault();
      co_return Error(ErrorCode::malformed, {},
                      fault.empty() ? std::string("bytes come, but no whole picture among them")
                                    : "pictures come, but none is whole; the last: " + fault,
                      "Cycle the board's power; a smaller picture size is easier on a slow radio");
    }
  }
}

// True when the closing delimiter came. Errors: what makes the rest of the body useless.
Result<bool> Pull::Impl::take_events(proto::MultipartReader& reader, bool& any_part) {
  bool ended = false;
  while (auto event = reader.next()) {
    if (auto* part = std::get_if<proto::Part>(&*event)) {
      any_part = any_part_came = true;
      const Result<void> taken = books.accept(std::move(part->body), stamp_of(part->headers));
      if (!taken) base::log_debug(about, "{}", taken.error().detail);
    } else if (const auto* rejected = std::get_if<proto::PartRejected>(&*event)) {
      books.count_given_up();
      base::log_debug(about, "part given up: {}, {} bytes", proto::name_of(rejected->kind), rejected->bytes);
    } else if (std::holds_alternative<proto::End>(*event)) {
      ended = true;
    } else {
      return std::get<proto::Fatal>(*event).error;
    }
  }
  return ended;
}

asio::awaitable<Result<void>> Pull::Impl::read_still() {
  std::vector<std::byte> jpeg;
  for (;;) {
    auto reading = client.fetch_piece();
    Result<net::HttpClient::Piece> piece = co_await std::move(reading);
    if (!piece) {
      // What came of it is a picture that was given up.
      if (!jpeg.empty()) books.count_given_up();
      co_return fell_silent(piece.error(), !jpeg.empty());
    }
    if (piece->empty()) break;
    if (jpeg.size() + piece->size() > limits.part_most_bytes) {
      books.count_given_up();
      co_return Error(ErrorCode::too_large, {},
                      fmt::format("the still has more than {} bytes", limits.part_most_bytes),
                      "Look whether this is the address of a still");
    }
    if (books.fruitless()) {
      books.count_given_up();
      co_return Error(ErrorCode::timed_out, {}, "the still trickles in and does not end",
                      "Move the board or its aerial: the radio may be too weak");
    }
    jpeg.insert(jpeg.end(), piece->begin(), piece->end());
  }
  const Result<void> taken = books.accept(std::move(jpeg));
  if (!taken) base::log_debug(about, "{}", taken.error().detail);
  co_return base::ok();
}

// As much of a page as tells what it is. Errors only cut it short.
asio::awaitable<std::string> Pull::Impl::read_page() {
  std::string page;
  while (page.size() < proto::kMaxTextBodyBytes) {
    auto reading = client.fetch_piece();
    Result<net::HttpClient::Piece> piece = co_await std::move(reading);
    if (!piece || piece->empty()) break;
    page.append(reinterpret_cast<const char*>(piece->data()), piece->size());
  }
  co_return page;
}

Pull::Pull(asio::any_io_executor executor, Settings settings, PullLimits limits, const base::Clock& clock,
           std::uint64_t seed, net::TlsContext tls, PullShared shared)
    : impl_(std::make_shared<Impl>(executor, std::move(settings), limits, clock, seed, std::move(tls),
                                   std::move(shared))) {}

Pull::Pull(asio::any_io_executor executor, Settings settings, PullLimits limits, const base::Clock& clock,
           std::uint64_t seed, net::TlsContext tls, std::shared_ptr<BoardRegister> boards)
    : Pull(std::move(executor), std::move(settings), limits, clock, seed, std::move(tls),
           PullShared{std::move(boards), nullptr, nullptr}) {}

Pull::~Pull() {
  impl_->books.close();
  const std::lock_guard lock(impl_->starting);
  if (!impl_->supervised) return;
  impl_->ring();
  impl_->supervised->stop();
  impl_->gap_watch->stop();
  impl_->gap_watch.reset();
  if (impl_->shared.gaps) impl_->shared.gaps->forget(impl_->books.name());
  // The task owns the Impl; the handle would make a circle of it.
  impl_->supervised.reset();
}

void Pull::start() {
  impl_->books.start();
  const std::lock_guard lock(impl_->starting);
  if (!impl_->supervised) {
    impl_->supervised = net::supervise(impl_->strand, "pull of " + impl_->books.name(),
                                       [impl = impl_] { return Impl::run(impl); });
    impl_->gap_watch = net::supervise(impl_->strand, "gaps of " + impl_->books.name(),
                                      [impl = impl_] { return GapWatch::run(impl, impl->gap_watcher); });
  }
  impl_->ring();
}

void Pull::stop() {
  impl_->books.stop();
  impl_->ring();
}

bool Pull::wait_let_go(std::chrono::milliseconds limit) const {
  std::unique_lock lock(impl_->letting_go);
  return impl_->let_go.wait_for(lock, limit, [impl = impl_.get(), wanted = impl_->rings_asked] {
    return impl->rings_answered >= wanted;
  });
}

void Pull::set(Settings settings) {
  if (impl_->books.set(std::move(settings))) impl_->ring();
}

void Pull::ask_tcp(std::function<void(std::optional<net::TcpVitals>)> tell) const {
  asio::post(impl_->strand, [impl = impl_, tell = std::move(tell)] { tell(impl->client.tcp_vitals()); });
}

Result<void> Pull::push(std::vector<std::byte> jpeg) { return impl_->books.push(std::move(jpeg)); }

std::shared_ptr<Feed> Pull::feed() const { return impl_->books.feed(); }

Status Pull::status() const { return impl_->books.status(); }

std::string Pull::fingerprint() const {
  const std::lock_guard lock(impl_->printing);
  return impl_->print;
}

ArrivalSpan Pull::take_arrivals() { return impl_->books.take_arrivals(); }

}  // namespace rookery::camera
