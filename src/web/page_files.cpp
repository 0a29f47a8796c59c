#include <fstream>

#include "web/answers.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace {

// Only what a built page consists of; anything else in the folder is nobody's business.
std::string_view type_of(std::string_view extension) {
  static constexpr std::pair<std::string_view, std::string_view> kTypes[] = {
      {".html", "text/html; charset=utf-8"},
      {".js", "text/javascript; charset=utf-8"},
      {".css", "text/css; charset=utf-8"},
      {".svg", "image/svg+xml"},
      {".png", "image/png"},
      {".ico", "image/x-icon"},
      {".woff2", "font/woff2"},
      {".json", "application/json"},
      {".webmanifest", "application/manifest+json"},
      {".map", "application/json"},
      {".txt", "text/plain; charset=utf-8"}};
  for (const auto& [known, type] : kTypes) {
    if (known == extension) return type;
  }
  return {};
}

// "app-3K5TQ2ZA.js": the builder puts eight letters or digits of the contents' hash into the name, so that a
// name never means other contents.
bool has_hash(std::string_view stem) {
  const std::size_t dash = stem.rfind('-');
  if (dash == std::string_view::npos || stem.size() - dash - 1 != 8) return false;
  return std::all_of(stem.begin() + static_cast<std::ptrdiff_t>(dash) + 1, stem.end(),
                     [](char c) { return (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9'); });
}

// A segment that may stand in a path below the page's folder.
bool is_plain(std::string_view segment) {
  return !segment.empty() && segment.front() != '.' && segment.find_first_of("/\\") == std::string_view::npos;
}

Response page_missing(const std::filesystem::path& folder) {
  Response response(http::status::service_unavailable);
  response.set("Content-Type", "text/plain; charset=utf-8");
  response.set("Cache-Control", "no-store");
  response.body = fmt::format(
      "The station runs, but its page is not built: {} holds no index.html.\n"
      "Build it with ./run, or with `npm ci && npm run build` in the folder page/, and reload.\n",
      folder.string());
  return response;
}

Response no_such_file() {
  return problem(base::Error(base::ErrorCode::not_found, "page", "the page has no such file",
                             "Reload the page: it may be of an earlier version."));
}

// Size and time of change: what a file's contents are known by without reading them.
std::string tag_of(const std::filesystem::path& file, std::uint64_t size) {
  std::error_code error;
  const auto changed = std::filesystem::last_write_time(file, error).time_since_epoch().count();
  return fmt::format("\"{:x}-{:x}\"", size, changed);
}

Response file_answer(const Call& call, const std::filesystem::path& file) {
  const std::string_view type = type_of(file.extension().string());
  std::error_code error;
  if (type.empty() || !std::filesystem::is_regular_file(file, error) || error) return no_such_file();
  const std::uint64_t size = std::filesystem::file_size(file, error);
  if (error) return no_such_file();
  const std::string tag = tag_of(file, size);
  Response response;
  response.set("ETag", tag);
  response.set("Cache-Control",
               has_hash(file.stem().string()) ? "public, max-age=31536000, immutable" : "no-cache");
  if (call.request.field(http::field::if_none_match) == tag) {
    response.status = http::status::not_modified;
    return response;
  }
  response.set("Content-Type", std::string(type));
  response.body = FilePiece{file, 0, size};
  return response;
}

}  // namespace

Response get_index(Call& call) {
  const std::filesystem::path& folder = call.services.options.page_dir;
  std::error_code error;
  if (!std::filesystem::is_regular_file(folder / "index.html", error)) return page_missing(folder);
  return file_answer(call, folder / "index.html");
}

Response get_page_file(Call& call) {
  std::filesystem::path file = call.services.options.page_dir;
  for (const std::string& segment : call.params) {
    if (!is_plain(segment)) return no_such_file();
    file /= segment;
  }
  // A link inside the folder must not lead out of it either.
  std::error_code error;
  const auto real = std::filesystem::canonical(file, error);
  if (error) return no_such_file();
  const auto root = std::filesystem::canonical(call.services.options.page_dir, error);
  if (error || std::mismatch(root.begin(), root.end(), real.begin(), real.end()).first != root.end()) {
    return no_such_file();
  }
  return file_answer(call, real);
}

}  // namespace rookery::web
