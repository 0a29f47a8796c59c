#include "camera/answer.h"

#include <algorithm>
#include <cctype>

#include <fmt/format.h>

#include "proto/content_type.h"

namespace rookery::camera {

using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

constexpr std::size_t kTitleMostBytes = 60;

std::string lower(std::string_view text) {
  std::string out(text);
  std::ranges::transform(out, out.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

struct Meaning {
  ErrorCode code;
  std::string_view detail;
  std::string_view remedy;
};

Meaning meaning_of(int status) {
  switch (status) {
    case 400:
      return {ErrorCode::refused, "the board did not understand the request", "Check the address"};
    case 403:
      return {ErrorCode::no_permission, "the board forbids it", "Check the camera's user and password"};
    case 404:
      return {ErrorCode::not_found, "there is nothing at this path",
              "Check the path; the board's own page, opened in a browser, shows where its pictures are"};
    case 429:
    case 503:
      return {ErrorCode::busy, "the board says that it is busy",
              "Another viewer may hold it; Rookery goes on trying"};
    default:
      break;
  }
  if (status >= 500) {
    return {ErrorCode::refused, "the board could not take a picture",
            "If it stays so, cycle the board's power and check its supply and the sensor's ribbon"};
  }
  if (status >= 300 && status < 400) {
    return {ErrorCode::malformed, "the board redirects without saying where to",
            "Use the address of the stream itself"};
  }
  return {ErrorCode::refused, "the board refuses", "Check the address"};
}

}  // namespace

Result<Answer> read_answer(const net::HttpHead& head, Source source) {
  Answer answer;
  if (head.status != 200) return answer;
  const std::string_view field = head.find("Content-Type");
  const auto type = proto::parse_content_type(field);
  // A still's bytes tell what they are; boards forget the type.
  if (!type) {
    if (source == Source::stills || field.empty()) answer.kind = AnswerKind::still;
    return answer;
  }
  if (type->type == "text" || type->subtype.find("html") != std::string::npos) return answer;
  if (type->is_multipart()) {
    if (source == Source::stills) {
      return Error(ErrorCode::unsupported, {}, "the still address answers with a stream",
                   "Set it as the stream address");
    }
    auto boundary = proto::boundary_of(*type);
    if (!boundary) return Error(boundary.error().code, {}, boundary.error().detail, boundary.error().remedy);
    answer.kind = AnswerKind::stream;
    answer.boundary = std::move(boundary).value();
    return answer;
  }
  if (type->is_jpeg() || source == Source::stills || type->subtype == "octet-stream") {
    answer.kind = AnswerKind::still;
    return answer;
  }
  return Error(ErrorCode::unsupported, {},
               fmt::format("the answer is {}/{}, not motion JPEG or a JPEG", type->type, type->subtype),
               "Rookery takes multipart/x-mixed-replace streams and image/jpeg stills");
}

std::string title_of(std::string_view html) {
  const std::string small = lower(html);
  const auto tag = small.find("<title");
  if (tag == std::string::npos) return {};
  const auto begin = small.find('>', tag);
  if (begin == std::string::npos) return {};
  const auto end = std::min(small.find('<', begin), small.size());
  std::string out;
  for (const char c : html.substr(begin + 1, end - begin - 1)) {
    const bool space = static_cast<unsigned char>(c) <= 0x20 || c == 0x7f;
    if (space && (out.empty() || out.back() == ' ')) continue;
    out += space ? ' ' : c;
  }
  if (out.size() > kTitleMostBytes) {
    out.resize(kTitleMostBytes);
    // Not in the middle of a UTF-8 character.
    while (!out.empty() && (static_cast<unsigned char>(out.back()) & 0xc0) == 0x80) out.pop_back();
    if (!out.empty() && static_cast<unsigned char>(out.back()) >= 0xc0) out.pop_back();
    out += "…";
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

Error explain_page(const net::HttpHead& head, std::string_view body) {
  const std::string title = title_of(body);
  const std::string titled = title.empty() ? std::string() : fmt::format(", titled \"{}\"", title);
  if (head.status == 200) {
    return {ErrorCode::unsupported,
            {},
            fmt::format("a web page came instead of a picture (status 200{})", titled),
            "This is the address of a page; use the address of the stream or still that the page shows"};
  }
  const Meaning meaning = meaning_of(head.status);
  return {meaning.code,
          {},
          fmt::format("{} (status {}{})", meaning.detail, head.status, titled),
          std::string(meaning.remedy)};
}

}  // namespace rookery::camera
