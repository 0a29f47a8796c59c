// Parameters and fields of a part's header do not outlive what holds them.
// uses: rookery_proto
// expect: deleted.*param
// expect: deleted.*find
#include "proto/multipart.h"

rookery::proto::ContentType content_type();
rookery::proto::PartHeaders headers();

#ifdef WRONG
const std::string* boundary() { return content_type().param("boundary"); }
const std::string* length() { return headers().find("Content-Length"); }
#else
bool has_boundary() {
  const auto kept = content_type();
  return kept.param("boundary") != nullptr;
}
bool has_length() {
  const auto kept = headers();
  return kept.find("Content-Length") != nullptr;
}
#endif
