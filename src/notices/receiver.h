// Receiver: where notices go.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "base/result.h"

namespace rookery::notices {

// An HTTP POST of JSON, signed (docs/notices.md).
struct Webhook {
  std::string address;  // https://… or http://…, without user information
  std::string secret;   // what it is signed with; never logged, never sent to a page
  std::string ca_file;  // certificates that are believed beside the system's; may be empty
  bool operator==(const Webhook&) const = default;
};

// Topics at an MQTT 3.1.1 broker.
struct Mqtt {
  std::string host;
  std::uint16_t port = 1883;
  bool tls = false;
  std::string ca_file;
  std::string user;      // empty: none
  std::string password;  // never logged, never sent to a page
  std::string prefix = "rookery";
  bool operator==(const Mqtt&) const = default;
};

// Mail with the still.
struct Mail {
  enum class Security : std::uint8_t { starttls, tls, none };
  std::string host;
  std::uint16_t port = 587;
  Security security = Security::starttls;
  std::string ca_file;
  std::string user;
  std::string password;
  std::string from;
  std::vector<std::string> to;
  bool operator==(const Mail&) const = default;
};

struct Receiver {
  std::int64_t id = 0;
  std::string name;  // for people; 1 to 64 bytes
  bool enabled = true;
  std::variant<Webhook, Mqtt, Mail> way;
  bool operator==(const Receiver&) const = default;
};

// "webhook", "mqtt", "mail".
std::string_view kind_of(const Receiver& receiver);
// Whether it shows a state that lasts (MQTT): what it was told has begun must end there.
bool shows_state(const Receiver& receiver);
// "starttls", "tls", "none"; nothing for any other word.
std::string_view name_of(Mail::Security security);
std::optional<Mail::Security> security_of(std::string_view word);

// What must be kept sealed of it; empty when there is none.
const std::string& secret_of(const Receiver& receiver);
void set_secret(Receiver& receiver, std::string secret);

// What goes into the catalog and to the page: all but the secret, as JSON. read_way(kind, way_json(r)) gives
// r.way without its secret. Errors of read_way: malformed, invalid_value (naming the member).
std::string way_json(const Receiver& receiver);
base::Result<std::variant<Webhook, Mqtt, Mail>> read_way(std::string_view kind, std::string_view json);

// Whether all of it can be used. Errors: invalid_value.
base::Result<void> check(const Receiver& receiver);

}  // namespace rookery::notices
