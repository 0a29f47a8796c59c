// The session cookie, and whether a request comes from the station's own page.
#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "web/message.h"

namespace rookery::web {

inline constexpr std::string_view kCookieName = "rookery_session";

// The session's secret out of a Cookie field (RFC 6265, 4.2.1); empty when it holds none.
std::string_view session_in(std::string_view cookie_field);

// The value of Set-Cookie that makes a browser keep `secret`, or drop it (empty secret).
std::string session_cookie(std::string_view secret, std::chrono::seconds length, bool over_tls);

// Whether a browser vouches that the station's own page sent this: Sec-Fetch-Site: same-origin, or an Origin
// whose host and port are those of Host.
bool is_same_origin(const Request& request);
// Whether the Origin is that of the station's own page; a WebSocket's handshake must say so.
bool is_own_origin(const Request& request);
// Whether a browser says that another site sent this (neither field: no browser, nothing is said).
bool is_cross_site(const Request& request);

// Whether `host` (a Host field, with or without port) may address the station. `loopback`: it listens on
// loopback only. See ServerOptions::names.
bool is_known_host(std::string_view host, bool loopback, const std::vector<std::string>& names);

}  // namespace rookery::web
