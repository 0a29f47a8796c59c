#include "web/file_answer.h"

#include "base/printable.h"
#include "web/byte_range.h"
#include "web/problem.h"

namespace rookery::web {
namespace {

// RFC 6266: the name as ASCII and, whole, as UTF-8. Camera names and times are ASCII already.
std::string disposition(const std::string& file_name) {
  std::string safe;
  for (const char c : file_name) safe += (c == '"' || c == '\\' || c < ' ' || c > '~') ? '_' : c;
  return fmt::format("attachment; filename=\"{}\"", safe);
}

}  // namespace

Response file_answer(const Request& request, const FileOffered& offered) {
  std::error_code error;
  const std::uint64_t size = std::filesystem::file_size(offered.file, error);
  if (error) return problem(offered.gone);
  Response response;
  std::string_view asked = request.field(http::field::range);
  const std::string_view only_if = request.field(http::field::if_range);
  if (!only_if.empty() && only_if != offered.tag) asked = {};
  const RangeChoice choice = choose_range(asked, size);
  if (choice.kind == RangeChoice::none_such) {
    response = problem(base::Error(base::ErrorCode::invalid_value, "range",
                                   fmt::format("the file has {} bytes, none of them in \"{}\"", size,
                                               base::printable(asked, 60)),
                                   "Ask for a range that begins within the file."),
                       http::status::range_not_satisfiable);
    response.set("Content-Range", fmt::format("bytes */{}", size));
    return response;
  }
  response.set("Content-Type", offered.media_type);
  response.set("Content-Disposition", disposition(offered.name));
  response.set("Accept-Ranges", "bytes");
  response.set("ETag", offered.tag);
  response.set("Cache-Control", "private, no-store");
  if (choice.kind == RangeChoice::part) {
    response.status = http::status::partial_content;
    response.set("Content-Range",
                 fmt::format("bytes {}-{}/{}", choice.first, choice.first + choice.length - 1, size));
  }
  response.body = FilePiece{offered.file, choice.first, choice.length};
  return response;
}

}  // namespace rookery::web
