#include "web/cookie.h"

#include <boost/asio/ip/address.hpp>
#include <boost/beast/core/string.hpp>

namespace rookery::web {
namespace {

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

bool same_word(std::string_view a, std::string_view b) {
  return boost::beast::iequals({a.data(), a.size()}, {b.data(), b.size()});
}

// "http://host:port" → "host:port"; empty when it is no http origin ("null").
std::string_view host_of_origin(std::string_view origin) {
  for (const std::string_view scheme : {"http://", "https://"}) {
    if (origin.starts_with(scheme)) return origin.substr(scheme.size());
  }
  return {};
}

// "localhost:8080" → "localhost", "[::1]:80" → "::1"
std::string_view host_without_port(std::string_view host) {
  if (host.starts_with('[')) {
    const std::size_t end = host.find(']');
    return end == std::string_view::npos ? std::string_view{} : host.substr(1, end - 1);
  }
  return host.substr(0, host.find(':'));
}

}  // namespace

std::string_view session_in(std::string_view cookie_field) {
  while (!cookie_field.empty()) {
    const std::size_t end = std::min(cookie_field.find(';'), cookie_field.size());
    const std::string_view pair = trimmed(cookie_field.substr(0, end));
    if (pair.size() > kCookieName.size() && pair.starts_with(kCookieName) &&
        pair[kCookieName.size()] == '=') {
      return pair.substr(kCookieName.size() + 1);
    }
    cookie_field.remove_prefix(std::min(end + 1, cookie_field.size()));
  }
  return {};
}

std::string session_cookie(std::string_view secret, std::chrono::seconds length, bool over_tls) {
  return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age={}{}", kCookieName, secret,
                     secret.empty() ? 0 : length.count(), over_tls ? "; Secure" : "");
}

bool is_same_origin(const Request& request) {
  const std::string_view site = request.field("Sec-Fetch-Site");
  if (!site.empty()) return site == "same-origin";
  return is_own_origin(request);
}

bool is_own_origin(const Request& request) {
  const std::string_view origin = host_of_origin(request.field(http::field::origin));
  return !origin.empty() && same_word(origin, request.field(http::field::host));
}

bool is_cross_site(const Request& request) {
  const bool says = !request.field("Sec-Fetch-Site").empty() || !request.field(http::field::origin).empty();
  return says && !is_same_origin(request);
}

bool is_known_host(std::string_view host, bool loopback, const std::vector<std::string>& names) {
  const std::string_view name = host_without_port(host);
  if (name.empty()) return false;
  for (const std::string& known : names) {
    if (same_word(name, known)) return true;
  }
  if (same_word(name, "localhost") || name == "127.0.0.1" || name == "::1") return true;
  if (loopback) return false;
  if (names.empty()) return true;
  boost::system::error_code error;
  boost::asio::ip::make_address(std::string(name), error);
  return !error;
}

}  // namespace rookery::web
