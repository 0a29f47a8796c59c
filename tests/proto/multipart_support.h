// Runs a MultipartReader over bytes in pieces and collects what it says.
#pragma once

#include <algorithm>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include <fmt/format.h>

#include "proto/multipart.h"

namespace rookery::proto {

inline std::span<const std::byte> bytes_of(std::string_view text) { return std::as_bytes(std::span(text)); }

inline std::string text_of(std::span<const std::byte> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

// Short text as it is, anything else as size and hash: what a person can compare.
inline std::string print_of(const std::string& body) {
  const bool plain = body.size() < 100 && std::all_of(body.begin(), body.end(), [](char c) {
                       return (c >= 0x20 && c < 0x7F) || c == '\r' || c == '\n';
                     });
  return plain ? body : fmt::format("{} bytes #{:x}", body.size(), std::hash<std::string>{}(body));
}
inline std::vector<std::string> prints(const std::vector<std::string>& bodies) {
  std::vector<std::string> out;
  for (const auto& body : bodies) out.push_back(print_of(body));
  return out;
}

struct Heard {
  std::vector<Part> parts;
  std::vector<std::string> log;  // every event in order, one word or line each
  std::uint64_t stray_bytes = 0;
  bool fatal = false;

  // The parts' bodies as prints().
  std::vector<std::string> bodies() const {
    std::vector<std::string> out;
    for (const auto& part : parts) out.push_back(print_of(text_of(part.body)));
    return out;
  }
};

inline void drain(MultipartReader& reader, Heard& heard) {
  while (auto event = reader.next()) {
    if (auto* part = std::get_if<Part>(&*event)) {
      std::string line = part->length_lied ? "part, length lied:" : "part:";
      for (const auto& field : part->headers.fields) line += fmt::format(" [{}={}]", field.name, field.value);
      heard.log.push_back(fmt::format("{} {}", line, print_of(text_of(part->body))));
      heard.parts.push_back(std::move(*part));
    } else if (const auto* rejected = std::get_if<PartRejected>(&*event)) {
      heard.log.push_back(fmt::format("rejected {} {}", name_of(rejected->kind), rejected->bytes));
    } else if (std::get_if<End>(&*event) != nullptr) {
      heard.log.emplace_back("end");
    } else {
      heard.fatal = true;
      heard.log.push_back(fmt::format("fatal {}", std::get<Fatal>(*event).error.text()));
    }
  }
}

// What comes of the body when it arrives `piece` bytes at a time and the connection then closes.
inline Heard listen(std::string_view boundary, std::string_view body, std::size_t piece,
                    MultipartLimits limits = {}) {
  MultipartReader reader(boundary, limits);
  Heard heard;
  for (std::size_t at = 0; at < body.size(); at += piece) {
    const std::string copy(body.substr(at, piece));  // gone after the push, as a socket's buffer is
    reader.push(bytes_of(copy));
    drain(reader, heard);
  }
  reader.finish();
  drain(reader, heard);
  heard.stray_bytes = reader.stray_bytes();
  return heard;
}

// A stand-in for a picture: begins and ends as a JPEG, with every kind of byte between.
inline std::string picture(std::size_t bytes, unsigned seed = 1) {
  std::string out = "\xFF\xD8";
  unsigned state = seed * 2654435761u + 1;
  while (out.size() + 2 < bytes) {
    state = state * 1664525u + 1013904223u;
    out += static_cast<char>(state >> 24);
  }
  return out + "\xFF\xD9";
}

}  // namespace rookery::proto
