// A request's fields and query values do not outlive the request.
// uses: rookery_web
// expect: deleted.*field
// expect: deleted.*query_value
#include "web/message.h"

rookery::web::Request request();

#ifdef WRONG
std::string_view host() { return request().field("Host"); }
std::optional<std::string_view> width() { return request().query_value("width"); }
#else
bool has_both() {
  const auto kept = request();
  return !kept.field("Host").empty() && kept.query_value("width").has_value();
}
#endif
