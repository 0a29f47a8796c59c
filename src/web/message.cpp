#include "web/message.h"

#include <boost/url/parse.hpp>

#include "base/redact.h"

namespace rookery::web {
namespace {

// Sent with every answer. Scripts and styles only from the station's own files; pictures also from memory
// (blob:), since the page draws what its WebSocket brings.
constexpr std::string_view kSecurityFields =
    "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' blob: data:; media-src 'self'; connect-src 'self'; font-src 'self'; manifest-src 'self'; "
    "base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'\r\n"
    "X-Content-Type-Options: nosniff\r\n"
    "Referrer-Policy: no-referrer\r\n"
    "Cross-Origin-Opener-Policy: same-origin\r\n"
    "Cross-Origin-Resource-Policy: same-origin\r\n";

// RFC 9110, 5.6.7: "Sun, 06 Nov 1994 08:49:37 GMT"
std::string http_now() {
  const auto now = std::chrono::system_clock::now();
  return fmt::format("{:%a, %d %b %Y %H:%M:%S} GMT", fmt::gmtime(std::chrono::system_clock::to_time_t(now)));
}

base::Error bad_target(std::string_view target, std::string_view why) {
  return base::Error(base::ErrorCode::malformed, "request target",
                     fmt::format("\"{}\" {}", base::redact_address(target.substr(0, 200)), why),
                     "Write a path such as /live/anvil.jpg, with %XX for special characters.");
}

}  // namespace

std::optional<std::string_view> Request::query_value(std::string_view key) const& {
  for (const auto& [name, value] : query) {
    if (name == key) return value;
  }
  return std::nullopt;
}

base::Result<void> read_target(std::string_view target, Request& request) {
  auto parsed = boost::urls::parse_origin_form({target.data(), target.size()});
  if (!parsed) {
    parsed = boost::urls::parse_uri({target.data(), target.size()});  // RFC 9112, 3.2.2
    if (!parsed || !parsed->scheme().starts_with("http")) return bad_target(target, "is not a path");
  }
  request.segments.clear();
  request.query.clear();
  for (const auto& segment : parsed->segments()) request.segments.emplace_back(segment);
  if (request.segments.size() == 1 && request.segments.front().empty()) request.segments.clear();
  for (const auto& param : parsed->params()) request.query.emplace_back(param.key, param.value);
  for (const std::string& segment : request.segments) {
    if (segment.find('\0') != std::string::npos) return bad_target(target, "holds a zero byte");
  }
  return base::ok();
}

std::uint64_t Response::length() const {
  if (const auto* text = std::get_if<std::string>(&body)) return text->size();
  if (const auto* frame = std::get_if<camera::FramePtr>(&body)) return (*frame)->bytes.size();
  return std::get<FilePiece>(body).length;
}

std::string head_text(const Response& response, bool keep_alive, bool with_length) {
  std::string out = fmt::format("HTTP/1.1 {} {}\r\nDate: {}\r\n", static_cast<unsigned>(response.status),
                                std::string_view(http::obsolete_reason(response.status).data(),
                                                 http::obsolete_reason(response.status).size()),
                                http_now());
  for (const auto& [name, value] : response.fields)
    out.append(name).append(": ").append(value).append("\r\n");
  if (with_length && response.status != http::status::no_content &&
      response.status != http::status::not_modified) {
    out += fmt::format("Content-Length: {}\r\n", response.length());
  }
  out += kSecurityFields;
  out += keep_alive ? "Connection: keep-alive\r\n\r\n" : "Connection: close\r\n\r\n";
  return out;
}

}  // namespace rookery::web
