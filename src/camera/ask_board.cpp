#include "camera/ask_board.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <boost/asio.hpp>

#include "camera/answer.h"
#include "camera/board_register.h"
#include "camera/fingerprint.h"
#include "net/http_client.h"

namespace rookery::camera {
namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

class Asking {
 public:
  explicit Asking(asio::any_io_executor strand, AskPlan plan)
      : plan_(std::move(plan)),
        seat_(plan_.boards, "that is being asked by find"),
        client_(strand, options_of(plan_, seat_)),
        began_(std::chrono::steady_clock::now()) {}

  asio::awaitable<BoardAnswers> run();

 private:
  enum class Got { still, stream, nothing, stop };

  // `seat` outlives the client.
  static net::HttpOptions options_of(const AskPlan& plan, BoardRegister::Seat& seat) {
    net::HttpOptions out;
    out.open = plan.open;
    out.silence = plan.silence;
    out.may_ask = [address = plan.address, &seat](const auto& endpoints,
                                                  const net::Address& url) -> Result<void> {
      const bool same =
          std::ranges::all_of(endpoints, [&address](const auto& at) { return at.address() == address; });
      if (same) return seat.take(endpoints, url);
      return Error(ErrorCode::refused, {}, "it sends us to another host", {});
    };
    return out;
  }

  asio::awaitable<Got> ask(std::uint16_t port, std::string path, bool stream);
  Got failed(const Error& error, std::uint16_t port);
  asio::awaitable<bool> begins_well(bool stream);
  void note(const net::HttpHead& head, Answered what);
  std::string url(std::uint16_t port, const std::string& path) const {
    return fmt::format("http://{}:{}{}", host_in_url(plan_.address), port, path);
  }
  bool late() const { return std::chrono::steady_clock::now() - began_ > plan_.all; }

  const AskPlan plan_;
  BoardRegister::Seat seat_;  // left only after the connection is closed
  net::HttpClient client_;
  const std::chrono::steady_clock::time_point began_;
  std::set<std::uint16_t> closed_;  // ports that take no connection
  BoardAnswers answers_;
  std::uint16_t still_port_ = 0;  // of the still that came
  bool heard_ = false;
  bool sign_in_ = false;
  bool busy_ = false;
  std::string page_;  // fingerprint of the first answer without a picture
};

void Asking::note(const net::HttpHead& head, Answered what) {
  heard_ = true;
  const std::string print = fingerprint_of(what, head);
  if (what != Answered::page) {
    answers_.fingerprint = with_fingerprint(answers_.fingerprint, print);
  } else if (page_.empty()) {
    page_ = print;
  }
}

Asking::Got Asking::failed(const Error& error, std::uint16_t port) {
  answers_.detail = error.detail;
  if (error.code == ErrorCode::no_permission) {
    heard_ = sign_in_ = true;
    return Got::nothing;
  }
  if (error.code == ErrorCode::timed_out && client_.connected_but_unheard()) {
    busy_ = true;
    return Got::stop;  // whoever holds it must not be disturbed
  }
  if (client_.connected_but_unheard()) {
    closed_.insert(port);  // it closes without an answer, or speaks something else
    return Got::nothing;
  }
  if (error.code == ErrorCode::refused || error.code == ErrorCode::unreachable ||
      error.code == ErrorCode::timed_out) {
    closed_.insert(port);
  }
  return Got::nothing;
}

// Whether the body is what the head says: a JPEG's first two bytes; of a stream, that any byte comes.
asio::awaitable<bool> Asking::begins_well(bool stream) {
  std::string begin;
  while (begin.size() < 2) {
    auto reading = client_.fetch_piece();
    const auto piece = co_await std::move(reading);
    if (!piece || piece->empty()) break;
    begin.append(reinterpret_cast<const char*>(piece->data()), std::min<std::size_t>(piece->size(), 2));
  }
  co_return stream ? !begin.empty() : begin.starts_with("\xff\xd8");
}

asio::awaitable<Asking::Got> Asking::ask(std::uint16_t port, std::string path, bool stream) {
  net::Address address;
  address.host = plan_.address.to_string();
  address.port = port;
  address.target = path;
  auto fetching = client_.fetch_head(address);
  const auto head = co_await std::move(fetching);
  if (!head) {
    const Got got = failed(head.error(), port);
    client_.close();
    seat_.leave();
    co_return got;
  }
  const auto answer = read_answer(*head, stream ? Source::stream : Source::stills);
  bool good = answer.has_value() && answer->kind != AnswerKind::page;
  const bool is_stream = good && answer->kind == AnswerKind::stream;
  // A stream at the place of a still is an error of read_answer's; it is a stream all the same.
  const bool stream_instead = !stream && !answer && answer.error().code == ErrorCode::unsupported &&
                              head->find("Content-Type").find("multipart") != std::string_view::npos;
  if (good || stream_instead) {
    auto looking = begins_well(is_stream || stream_instead);
    good = co_await std::move(looking);
  }
  const bool streams = is_stream || stream_instead;
  note(*head, !good ? Answered::page : streams ? Answered::stream : Answered::still);
  // A stream must not go on, and what is left of anything else is of no use.
  client_.close();
  seat_.leave();
  if (!good) co_return Got::nothing;
  co_return streams ? Got::stream : Got::still;
}

asio::awaitable<BoardAnswers> Asking::run() {
  bool stop = false;
  for (const AskedPlace& place : plan_.places) {
    if (stop || late()) break;
    const bool have = !(place.stream ? answers_.stream_address : answers_.still_address).empty();
    if (have || closed_.contains(place.port)) continue;
    // The page that a board shows to people stands beside its stills.
    if (place.path == "/" && still_port_ == place.port) continue;
    auto asking = ask(place.port, place.path, place.stream);
    const Got got = co_await std::move(asking);
    if (got == Got::stream && answers_.stream_address.empty())
      answers_.stream_address = url(place.port, place.path);
    if (got == Got::still && answers_.still_address.empty()) {
      answers_.still_address = url(place.port, place.path);
      still_port_ = place.port;
    }
    stop = got == Got::stop;
  }
  using Kind = BoardAnswers::Kind;
  if (!answers_.still_address.empty() || !answers_.stream_address.empty()) {
    answers_.kind = Kind::camera;
    answers_.detail.clear();
  } else if (sign_in_) {
    answers_.kind = Kind::wants_sign_in;
  } else if (busy_) {
    answers_.kind = Kind::busy;
  } else {
    answers_.kind = heard_ ? Kind::no_camera : Kind::silent;
  }
  if (answers_.fingerprint.empty()) answers_.fingerprint = page_;
  co_return answers_;
}

}  // namespace

std::string_view name_of(BoardAnswers::Kind kind) {
  switch (kind) {
    case BoardAnswers::Kind::camera:
      return "camera";
    case BoardAnswers::Kind::wants_sign_in:
      return "wants-sign-in";
    case BoardAnswers::Kind::no_camera:
      return "no-camera";
    case BoardAnswers::Kind::busy:
      return "busy";
    case BoardAnswers::Kind::silent:
      return "silent";
  }
  return "silent";
}

std::string host_in_url(const asio::ip::address& address) {
  return address.is_v6() ? "[" + address.to_string() + "]" : address.to_string();
}

asio::awaitable<BoardAnswers> ask_board(AskPlan plan) {
  const asio::any_io_executor strand = co_await asio::this_coro::executor;
  Asking asking(strand, std::move(plan));
  auto running = asking.run();
  BoardAnswers answers = co_await std::move(running);
  co_return answers;
}

}  // namespace rookery::camera
