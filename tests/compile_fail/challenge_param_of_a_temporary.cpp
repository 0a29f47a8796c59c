// A challenge's parameter does not outlive the challenge.
// uses: rookery_net
// expect: deleted.*param
#include "net/sign_in.h"

rookery::net::Challenge challenge();

#ifdef WRONG
std::string_view realm() { return challenge().param("realm"); }
#else
bool has_realm() {
  const auto kept = challenge();
  return !kept.param("realm").empty();
}
#endif
