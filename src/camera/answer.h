// What a board's answer to GET means: a stream, a still, or a mistake that can be explained.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "camera/settings.h"
#include "net/response_parser.h"

namespace rookery::camera {

enum class AnswerKind {
  stream,  // multipart
  still,   // one JPEG, as far as the head can tell
  page,    // text or a status that is an error: explain_page() once some of the body is known
};

struct Answer {
  AnswerKind kind = AnswerKind::page;
  std::string boundary;  // of a stream
};

// Reads the head. A stream is asked for with Source::stream, which also takes a single still.
// Errors: malformed (multipart without a boundary), unsupported (another type of content). `where` is empty.
base::Result<Answer> read_answer(const net::HttpHead& head, Source source);

// Why a page or an error status came instead of a picture. `body`: what came of the body, may be cut
// anywhere.
base::Error explain_page(const net::HttpHead& head, std::string_view body);

// The first words of a page's title, white space collapsed, at most 60 bytes; empty when it has none.
std::string title_of(std::string_view html);

}  // namespace rookery::camera
