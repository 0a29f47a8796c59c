// ResponseParser: an HTTP/1.x response taken apart as its bytes arrive: the head once, then the body in
// pieces that are views of the caller's own bytes. No socket, no clock, no copy of the body.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace rookery::net {

// The status line and the fields of a response.
struct HttpHead {
  struct Field {
    std::string name;  // as sent
    std::string value;
  };

  int status = 0;
  std::string reason;
  std::vector<Field> fields;
  std::optional<std::uint64_t> content_length;  // not when chunked
  bool chunked = false;
  bool keep_alive = false;  // another request may follow on this connection, once the body is done

  // The first field of that name (any case), or empty.
  std::string_view find(std::string_view name) const&;
  std::string_view find(std::string_view name) const&& = delete;
};

// strand-bound. One response; interim ones (1xx) before it are skipped. Tolerated, since boards send it:
// Content-Length together with chunked (chunked holds), no reason phrase and no space before it, bare LF.
class ResponseParser {
 public:
  using Piece = std::span<const std::byte>;

  // head_most_bytes: bound on the status line and fields together.
  explicit ResponseParser(std::size_t head_most_bytes);
  ~ResponseParser();
  ResponseParser(const ResponseParser&) = delete;
  ResponseParser& operator=(const ResponseParser&) = delete;

  // Takes bytes from the front of `bytes` and says how many. Those not taken must be the first of the next
  // call, with more behind them. Body bytes are appended to pieces() as views into `bytes`. Errors:
  // malformed, too_large; then the parser is of no more use.
  base::Result<std::size_t> push(Piece bytes);

  // The connection was closed. Errors: closed when the response was not whole.
  base::Result<void> finish();

  const std::optional<HttpHead>& head() const& { return head_; }
  const std::optional<HttpHead>& head() const&& = delete;
  // True when any byte of the response has come.
  bool begun() const { return begun_; }
  // The response is whole.
  bool done() const;
  // Body pieces not yet fetched, oldest first; the caller clears it.
  std::vector<Piece>& pieces() &;

 private:
  struct Body;
  base::Result<std::size_t> push_head(Piece bytes);
  base::Result<void> begin_body(std::string raw);

  const std::size_t head_most_bytes_;
  std::string raw_head_;
  bool begun_ = false;
  std::optional<HttpHead> head_;
  std::vector<Piece> no_pieces_;
  std::unique_ptr<Body> body_;
};

}  // namespace rookery::net
