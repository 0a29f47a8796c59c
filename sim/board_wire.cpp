#include "sim/board_wire.h"

#include <array>

namespace rookery::sim {
namespace {

constexpr std::array<std::string_view, 9> kNames{
    "chunked-stamp",      "chunked-no-stamp", "boundary-after",  "word-until-close", "dashes-in-parameter",
    "length-and-chunked", "bare-lf",          "quoted-boundary", "http-1-0"};

std::string chunk(std::string_view text) { return fmt::format("{:x}\r\n{}\r\n", text.size(), text); }

bool has_stamp(Framing framing) { return framing == Framing::chunked_stamp; }

std::string stamp_text(base::Microseconds stamp) {
  return fmt::format("{}.{:06}", stamp.count() / 1'000'000, stamp.count() % 1'000'000);
}

std::string part_header(Framing framing, std::uint64_t length, base::Microseconds stamp,
                        std::string_view eol) {
  std::string text = fmt::format("Content-Type: image/jpeg{0}", eol);
  if (framing != Framing::word_until_close) text += fmt::format("Content-Length: {}{}", length, eol);
  if (has_stamp(framing)) text += fmt::format("X-Timestamp: {}{}", stamp_text(stamp), eol);
  text += eol;
  return text;
}

}  // namespace

std::string_view name_of(Framing framing) { return kNames[static_cast<std::size_t>(framing)]; }

bool is_chunked(Framing framing) {
  return framing == Framing::chunked_stamp || framing == Framing::chunked_no_stamp ||
         framing == Framing::boundary_after || framing == Framing::dashes_in_parameter ||
         framing == Framing::length_and_chunked;
}

std::string stream_head(Framing framing, std::string_view boundary) {
  std::string parameter = fmt::format(";boundary={}", boundary);
  if (framing == Framing::dashes_in_parameter) parameter = fmt::format(";boundary=--{}", boundary);
  if (framing == Framing::quoted_boundary) parameter = fmt::format("; boundary=\"{}\"", boundary);
  if (framing == Framing::word_until_close) parameter = fmt::format("; boundary={}", boundary);
  std::string head = framing == Framing::http_1_0 ? "HTTP/1.0 200 OK\r\n" : "HTTP/1.1 200 OK\r\n";
  head += fmt::format("Content-Type: multipart/x-mixed-replace{}\r\n", parameter);
  if (framing == Framing::length_and_chunked) head += "Content-Length: 1000000000\r\n";
  if (is_chunked(framing)) {
    head += "Transfer-Encoding: chunked\r\n";
  } else if (framing != Framing::http_1_0) {
    head += "Connection: close\r\n";
  }
  head += "Access-Control-Allow-Origin: *\r\nX-Frame-Rate: 60\r\n\r\n";
  return head;
}

Wrapping wrap_frame(Framing framing, std::string_view boundary, std::uint64_t true_length,
                    std::uint64_t declared_length, base::Microseconds stamp) {
  const std::string_view eol = framing == Framing::bare_lf ? "\n" : "\r\n";
  const std::string header = part_header(framing, declared_length, stamp, eol);
  const std::string delimiter = fmt::format("{0}--{1}{0}", eol, boundary);
  const std::string size_line = fmt::format("{:x}\r\n", true_length);
  if (framing == Framing::boundary_after) return {chunk(header) + size_line, "\r\n" + chunk(delimiter)};
  if (is_chunked(framing)) return {chunk(delimiter) + chunk(header) + size_line, "\r\n"};
  // Unchunked kinds end the JPEG with a line end and so need none before the delimiter.
  return {fmt::format("--{}{}", boundary, eol) + header, std::string(eol)};
}

std::string still_head(std::size_t length, base::Microseconds stamp) {
  return fmt::format(
      "HTTP/1.1 200 OK\r\nContent-Type: image/jpeg\r\nContent-Length: {}\r\n"
      "Content-Disposition: inline; filename=still.jpg\r\nAccess-Control-Allow-Origin: *\r\n"
      "X-Timestamp: {}\r\n\r\n",
      length, stamp_text(stamp));
}

std::string text_response(std::string_view status, std::string_view extra_headers, std::string_view type,
                          std::string_view body) {
  return fmt::format("HTTP/1.1 {}\r\n{}Content-Type: {}\r\nContent-Length: {}\r\n\r\n{}", status,
                     extra_headers, type, body.size(), body);
}

}  // namespace rookery::sim
