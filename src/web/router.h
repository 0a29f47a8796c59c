// The routes: every address that the station answers, what it needs, and who answers.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include <boost/asio/awaitable.hpp>

#include "web/access.h"
#include "web/message.h"

namespace rookery::web {

class Connection;
struct Call;

// What the coroutines are lent lives until they have ended: the connection awaits them to their end.
using Plain = Response (*)(Call&);                                    // runs on station.reading(), may block
using Awaited = boost::asio::awaitable<Response> (*)(Call&);          // runs on the connection's strand
using Stream = boost::asio::awaitable<void> (*)(Call&, Connection&);  // writes by itself until its end
using Handler = std::variant<Plain, Awaited, Stream>;

enum class Takes { nothing, json, sign_in, still };  // of a body: see ServerLimits

struct Route {
  http::verb method;
  // As in the OpenAPI description: "/api/v1/cameras/{name}/strip". A parameter is one whole segment, or a
  // segment's front ("{name}.jpg"). "{path…}" at the end takes all segments that are left.
  std::string_view pattern;
  Need need;
  Handler handler;
  Takes takes = Takes::nothing;
  bool hashes = false;  // runs Argon2id: a few at a time
};

// All of them. immutable.
std::span<const Route> routes();

struct Match {
  const Route* route = nullptr;     // null: none
  std::vector<std::string> params;  // what {…} matched
  std::string allowed;              // the path is known, with these methods: "GET, HEAD, PATCH"; else empty
};

// HEAD finds the route of GET.
Match match(std::span<const Route> routes, http::verb method, const std::vector<std::string>& segments);

}  // namespace rookery::web
