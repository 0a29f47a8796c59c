#include "web/router.h"

namespace rookery::web {
namespace {

constexpr std::string_view kRest = "{path…}";

// One piece of a pattern against one segment; adds the parameter when there is one.
bool matches_piece(std::string_view piece, const std::string& segment, std::vector<std::string>& params) {
  if (!piece.starts_with('{')) return piece == segment;
  const std::string_view tail = piece.substr(piece.find('}') + 1);
  if (segment.size() <= tail.size() || !std::string_view(segment).ends_with(tail)) return false;
  params.push_back(segment.substr(0, segment.size() - tail.size()));
  return true;
}

bool matches(std::string_view pattern, const std::vector<std::string>& segments,
             std::vector<std::string>& params) {
  params.clear();
  std::size_t at = 0;
  pattern.remove_prefix(1);
  while (!pattern.empty()) {
    const std::size_t end = std::min(pattern.find('/'), pattern.size());
    const std::string_view piece = pattern.substr(0, end);
    if (piece == kRest) {
      if (at >= segments.size()) return false;
      params.insert(params.end(), segments.begin() + static_cast<std::ptrdiff_t>(at), segments.end());
      return true;
    }
    if (at >= segments.size() || !matches_piece(piece, segments[at], params)) return false;
    ++at;
    pattern.remove_prefix(std::min(end + 1, pattern.size()));
  }
  return at == segments.size();
}

}  // namespace

Match match(std::span<const Route> routes, http::verb method, const std::vector<std::string>& segments) {
  Match found;
  std::vector<std::string> params;
  const http::verb asked = method == http::verb::head ? http::verb::get : method;
  for (const Route& route : routes) {
    if (!matches(route.pattern, segments, params)) continue;
    if (route.method == asked) {
      found.route = &route;
      found.params = std::move(params);
      found.allowed.clear();
      return found;
    }
    const auto word = http::to_string(route.method);
    if (!found.allowed.empty()) found.allowed += ", ";
    found.allowed.append(word.data(), word.size());
    if (route.method == http::verb::get) found.allowed += ", HEAD";
  }
  return found;
}

}  // namespace rookery::web
