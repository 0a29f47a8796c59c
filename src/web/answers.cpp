#include "web/answers.h"

#include <charconv>

#include "base/printable.h"

namespace rookery::web {

using base::Error;
using base::ErrorCode;

base::Result<base::WallTime> time_of(const Request& request, std::string_view key) {
  const auto text = request.query_value(key);
  if (!text) {
    return Error(ErrorCode::invalid_value, "query", fmt::format("\"{}\" is missing", key),
                 fmt::format("Add {}=2026-03-01T12:00:00Z.", key));
  }
  auto time = base::parse_rfc3339(*text);
  if (time) return time;
  Error error = std::move(time).error();
  error.where = fmt::format("query: \"{}\"", key);
  if (text->find(' ') != std::string_view::npos) error.remedy += " In an address, \"+\" is written as %2B.";
  return error;
}

Error wrong_way_round(std::string where, base::WallTime from, base::WallTime to) {
  return {ErrorCode::invalid_value, std::move(where),
          fmt::format("\"to\" ({}) is not after \"from\" ({})", base::to_rfc3339(to), base::to_rfc3339(from)),
          "Exchange them, or choose a later \"to\"."};
}

base::Result<TimeSpan> span_of(const Request& request, std::chrono::days most) {
  auto from = time_of(request, "from");
  if (!from) return std::move(from).error();
  auto to = time_of(request, "to");
  if (!to) return std::move(to).error();
  if (*to <= *from) {
    return wrong_way_round("query", *from, *to);
  }
  if (*to - *from > most) {
    return Error(ErrorCode::invalid_value, "query",
                 fmt::format("the span is longer than {} days", most.count()), "Ask for it in pieces.");
  }
  return TimeSpan{*from, *to};
}

base::Result<int> width_of(const Request& request) {
  const auto text = request.query_value("width");
  if (!text) return 0;
  int width = 0;
  const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), width);
  if (error != std::errc{} || end != text->data() + text->size() || width < 1 || width > 8192) {
    return Error(
        ErrorCode::invalid_value, "query",
        fmt::format("\"width\" is \"{}\", not a number of pixels from 1 to 8192", base::printable(*text, 20)),
        "Leave it out for the whole picture, or give such a number.");
  }
  return width;
}

}  // namespace rookery::web
