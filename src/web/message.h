// Request and Response: what a handler gets and gives. Plain values; the connection does the talking.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include <boost/beast/http/fields.hpp>
#include <boost/beast/http/status.hpp>
#include <boost/beast/http/verb.hpp>

#include "base/result.h"
#include "camera/frame.h"

namespace rookery::web {

namespace http = boost::beast::http;

// One request, decoded. strand-bound to its connection.
struct Request {
  http::verb method = http::verb::unknown;
  std::vector<std::string> segments;  // of the path, percent-decoded: {"api", "v1", "cameras"}
  std::vector<std::pair<std::string, std::string>> query;  // decoded, in order
  http::fields fields;                                     // header fields
  std::string body;
  std::string shown;      // method and target, secrets taken out: fit for logs
  std::string peer;       // who asks: the address that rate limits count
  bool over_tls = false;  // a trusted proxy says so

  // The first value of a query key; nothing when it does not stand there.
  std::optional<std::string_view> query_value(std::string_view key) const&;
  std::optional<std::string_view> query_value(std::string_view key) const&& = delete;
  // A header field's value; empty when it does not stand there.
  std::string_view field(http::field name) const& { return view(fields[name]); }
  std::string_view field(std::string_view name) const& { return view(fields[name]); }
  std::string_view field(http::field name) const&& = delete;
  std::string_view field(std::string_view name) const&& = delete;

 private:
  static std::string_view view(boost::beast::string_view text) { return {text.data(), text.size()}; }
};

// Takes a request target apart ("/live/anvil.jpg?width=320", or absolute "http://host/…"). Errors: malformed.
base::Result<void> read_target(std::string_view target, Request& request);

// Bytes of a file, sent piece by piece.
struct FilePiece {
  std::filesystem::path file;
  std::uint64_t first = 0;
  std::uint64_t length = 0;

  FilePiece(std::filesystem::path file_, std::uint64_t first_, std::uint64_t length_)
      : file(std::move(file_)), first(first_), length(length_) {}
};

struct Response {
  using Body = std::variant<std::string, camera::FramePtr, FilePiece>;

  http::status status = http::status::ok;
  std::vector<std::pair<std::string, std::string>> fields;
  Body body;

  Response() = default;
  explicit Response(http::status status_) : status(status_) {}
  Response& set(std::string name, std::string value) & {
    fields.emplace_back(std::move(name), std::move(value));
    return *this;
  }
  std::uint64_t length() const;
};

// Status line, the given fields, and those that every answer carries (Date, security). Ends with the empty
// line.
std::string head_text(const Response& response, bool keep_alive, bool with_length);

}  // namespace rookery::web
