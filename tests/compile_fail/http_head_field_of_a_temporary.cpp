// A field of an answer's head does not outlive the head.
// uses: rookery_net
// expect: deleted.*find
#include "net/response_parser.h"

rookery::net::HttpHead head();

#ifdef WRONG
std::string_view type() { return head().find("Content-Type"); }
#else
bool has_type() {
  const auto kept = head();
  return !kept.find("Content-Type").empty();
}
#endif
