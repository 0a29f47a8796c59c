// A file of the station's as an answer: to be stored by the caller, with ranges.
#pragma once

#include <filesystem>
#include <string>

#include "base/result.h"
#include "web/message.h"

namespace rookery::web {

struct FileOffered {
  std::filesystem::path file;
  std::string tag;  // ETag, with its quotes: another one for another content
  std::string media_type;
  std::string name;  // offered to the person
  base::Error gone;  // what to say when there is no such file
};

// 200 or 206 with the file or its part; 416; the error as it is. Blocks.
Response file_answer(const Request& request, const FileOffered& offered);

}  // namespace rookery::web
