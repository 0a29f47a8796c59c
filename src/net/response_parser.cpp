#include "net/response_parser.h"

#include <algorithm>

#include <fmt/format.h>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>

namespace rookery::net {

namespace beast = boost::beast;
namespace http = boost::beast::http;
using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

// A Beast body that notes where the body's bytes are instead of copying them.
struct PieceBody {
  using value_type = std::vector<ResponseParser::Piece>;
  class reader {
   public:
    template <bool isRequest, class Fields>
    reader(http::header<isRequest, Fields>&, value_type& pieces) : pieces_(pieces) {}
    void init(const boost::optional<std::uint64_t>&, beast::error_code& error) { error = {}; }
    template <class Buffers>
    std::size_t put(const Buffers& buffers, beast::error_code& error) {
      error = {};
      std::size_t total = 0;
      for (const auto buffer : beast::buffers_range_ref(buffers)) {
        if (buffer.size() == 0) continue;
        pieces_.emplace_back(static_cast<const std::byte*>(buffer.data()), buffer.size());
        total += buffer.size();
      }
      return total;
    }
    void finish(beast::error_code& error) { error = {}; }

   private:
    value_type& pieces_;
  };
};

bool same_word(std::string_view a, std::string_view b) { return beast::iequals(a, b); }

bool contains_word(std::string_view value, std::string_view word) {
  return http::token_list(value).exists(word);
}

Error malformed(std::string detail) { return {ErrorCode::malformed, "HTTP", std::move(detail), {}}; }

// Not HTTP at all: says what it is where that can be told.
std::optional<Error> not_http(std::string_view head) {
  constexpr std::string_view kStart = "HTTP/";
  const std::size_t n = std::min(head.size(), kStart.size());
  if (head.substr(0, n) == kStart.substr(0, n)) return std::nullopt;
  // A TLS record: alert (21) or handshake (22), version 3.x (RFC 8446 §5.1).
  if (head[0] == 0x15 || head[0] == 0x16) {
    return Error(ErrorCode::unsupported, "HTTP", "this port speaks TLS, not plain HTTP",
                 "Write https:// instead of http://");
  }
  std::string shown;
  for (const char c : head.substr(0, 24)) shown += c >= 0x20 && c < 0x7f ? c : '.';
  return Error(ErrorCode::malformed, "HTTP",
               fmt::format("the answer is not HTTP; it begins with \"{}\"", shown),
               "Look whether the port is that of the camera");
}

struct Line {
  std::string_view text;   // without its end
  std::string_view name;   // of a field; empty in a status line
  std::string_view value;  // untrimmed
};

std::vector<Line> lines_of(std::string_view raw) {
  std::vector<Line> lines;
  while (!raw.empty()) {
    const auto end = raw.find('\n');
    std::string_view text = raw.substr(0, end);
    raw.remove_prefix(end == std::string_view::npos ? raw.size() : end + 1);
    if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
    if (text.empty()) break;
    Line line{text, {}, {}};
    if (const auto colon = text.find(':'); !lines.empty() && colon != std::string_view::npos) {
      line.name = text.substr(0, colon);
      line.value = text.substr(colon + 1);
    }
    lines.push_back(line);
  }
  return lines;
}

// The head as Beast's strict parser wants it. Chunked wins over Content-Length (RFC 9112 §6.3).
std::string normalised(std::string_view raw) {
  const std::vector<Line> lines = lines_of(raw);
  const bool chunked = std::ranges::any_of(lines, [](const Line& l) {
    return same_word(l.name, "Transfer-Encoding") && contains_word(l.value, "chunked");
  });
  std::string out;
  out.reserve(raw.size() + 2 * lines.size() + 2);
  for (const Line& line : lines) {
    if (chunked && same_word(line.name, "Content-Length")) continue;
    out += line.text;
    // "HTTP/1.1 200" lacks the space that has to follow even without a reason.
    if (&line == lines.data() && line.text.size() == 12) out += ' ';
    out += "\r\n";
  }
  out += "\r\n";
  return out;
}

// Where the head ends (behind the empty line), searching from `from`; npos while it does not.
std::size_t end_of_head(std::string_view raw, std::size_t from) {
  for (std::size_t at = raw.find('\n', from); at != std::string_view::npos; at = raw.find('\n', at + 1)) {
    if (at >= 1 && raw[at - 1] == '\n') return at + 1;
    if (at >= 2 && raw[at - 1] == '\r' && raw[at - 2] == '\n') return at + 1;
  }
  return std::string_view::npos;
}

}  // namespace

struct ResponseParser::Body {
  http::response_parser<PieceBody> parser;
};

std::string_view HttpHead::find(std::string_view name) const& {
  const auto found = std::ranges::find_if(fields, [&](const Field& f) { return same_word(f.name, name); });
  return found == fields.end() ? std::string_view() : std::string_view(found->value);
}

ResponseParser::ResponseParser(std::size_t head_most_bytes) : head_most_bytes_(head_most_bytes) {}
ResponseParser::~ResponseParser() = default;

bool ResponseParser::done() const { return body_ && body_->parser.is_done(); }

std::vector<ResponseParser::Piece>& ResponseParser::pieces() & {
  return body_ ? body_->parser.get().body() : no_pieces_;
}

Result<std::size_t> ResponseParser::push(Piece bytes) {
  std::size_t taken = 0;
  while (!head_ && taken < bytes.size()) {
    auto n = push_head(bytes.subspan(taken));
    if (!n) return n;
    taken += *n;
  }
  if (!head_ || done() || taken == bytes.size()) return taken;
  beast::error_code error;
  taken += body_->parser.put(boost::asio::const_buffer(bytes.data() + taken, bytes.size() - taken), error);
  if (error && error != http::error::need_more) {
    return malformed(fmt::format("the body's framing is wrong ({})", error.message()));
  }
  return taken;
}

Result<std::size_t> ResponseParser::push_head(Piece bytes) {
  begun_ = true;
  const std::size_t before = raw_head_.size();
  // One byte beyond the bound is enough to know.
  const std::size_t room = head_most_bytes_ + 1 - std::min(before, head_most_bytes_);
  raw_head_.append(reinterpret_cast<const char*>(bytes.data()), std::min(room, bytes.size()));
  if (auto other = not_http(raw_head_)) return std::move(*other);
  const std::size_t end = end_of_head(raw_head_, before);
  if (end == std::string::npos || end > head_most_bytes_) {
    if (raw_head_.size() <= head_most_bytes_) return bytes.size();
    return Error(ErrorCode::too_large, "HTTP",
                 fmt::format("the response header has no end within {} bytes", head_most_bytes_),
                 "Look whether the address is that of a camera");
  }
  std::string raw = raw_head_.substr(0, end);
  raw_head_.clear();
  if (auto begun = begin_body(std::move(raw)); !begun) return std::move(begun).error();
  return end - before;
}

Result<void> ResponseParser::begin_body(std::string raw) {
  const std::string head = normalised(raw);
  auto body = std::make_unique<Body>();
  auto& parser = body->parser;
  parser.eager(true);
  parser.header_limit(static_cast<std::uint32_t>(head.size() + 1));
  parser.body_limit(boost::none);  // whoever reads the body bounds it
  beast::error_code error;
  parser.put(boost::asio::const_buffer(head.data(), head.size()), error);
  if (error && error != http::error::need_more) {
    return malformed(fmt::format("the response header is wrong ({})", error.message()));
  }
  if (!parser.is_header_done()) return malformed("the response header is wrong");
  const auto& message = parser.get();
  if (message.result_int() < 200) return base::ok();  // interim; the real one follows
  HttpHead out;
  out.status = static_cast<int>(message.result_int());
  out.reason = std::string(message.reason());
  for (const auto& field : message) {
    out.fields.push_back({std::string(field.name_string()), std::string(field.value())});
  }
  out.chunked = parser.chunked();
  if (const auto length = parser.content_length()) out.content_length = *length;
  out.keep_alive = parser.keep_alive();
  head_ = std::move(out);
  body_ = std::move(body);
  return base::ok();
}

Result<void> ResponseParser::finish() {
  if (done()) return base::ok();
  if (!head_) {
    return Error(ErrorCode::closed, "HTTP",
                 begun_ ? "the connection was closed in the middle of the response header"
                        : "the connection was closed without an answer",
                 {});
  }
  beast::error_code error;
  body_->parser.put_eof(error);
  if (error)
    return Error(ErrorCode::closed, "HTTP", "the connection was closed in the middle of the body", {});
  return base::ok();
}

}  // namespace rookery::net
