#include "notices/receiver.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>

#include "base/printable.h"
#include "camera/check.h"

namespace rookery::notices {
namespace {

namespace json = boost::json;
using base::Error;
using base::ErrorCode;
using base::Result;

constexpr std::size_t kMostText = 255;

Error invalid(std::string what, std::string detail, std::string remedy) {
  return {ErrorCode::invalid_value, std::move(what), std::move(detail), std::move(remedy)};
}

Result<void> check_text(std::string_view what, std::string_view text, bool may_be_empty = false) {
  if (text.empty() && !may_be_empty)
    return invalid(std::string(what), "it is empty", "Give one; docs/notices.md says what stands there.");
  if (text.size() > kMostText)
    return invalid(std::string(what),
                   fmt::format("it has {} bytes, at most {} are allowed", text.size(), kMostText),
                   "Shorten it.");
  // A line break would end a line of the protocol and begin another one.
  if (std::ranges::any_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }))
    return invalid(std::string(what), "it holds a line break or another control character",
                   "Write it in one line.");
  return base::ok();
}

Result<void> check_host(std::string_view host) {
  if (auto good = check_text("host", host); !good) return good;
  if (host.find_first_of(" /@?#\"<>") != std::string_view::npos)
    return invalid("host", fmt::format("\"{}\" is no host name", host), "Give a name or an address alone.");
  return base::ok();
}

Result<void> check_port(std::uint16_t port) {
  if (port == 0) return invalid("port", "0 is no port", "Give one from 1 to 65535.");
  return base::ok();
}

Result<void> check_mail_address(std::string_view what, std::string_view address) {
  if (auto good = check_text(what, address); !good) return good;
  const auto at = address.find('@');
  if (at == 0 || at == std::string_view::npos || at + 1 == address.size() ||
      address.find_first_of(" <>,;\"", 0) != std::string_view::npos)
    return invalid(std::string(what), fmt::format("\"{}\" is no mail address", address),
                   "Write it as name@example.org, alone.");
  return base::ok();
}

Result<void> check_way(const Webhook& webhook) {
  if (auto good = camera::check_address("address", webhook.address); !good) return good;
  if (auto good = check_text("CA file", webhook.ca_file, true); !good) return good;
  if (webhook.secret.size() < 16)
    return invalid(
        "secret", "it is shorter than 16 bytes",
        "Make a random one, for example with `openssl rand -hex 32`; the other side needs it too.");
  return check_text("secret", webhook.secret);
}

Result<void> check_way(const Mqtt& mqtt) {
  Result<void> good = check_host(mqtt.host);
  if (good) good = check_port(mqtt.port);
  if (good) good = check_text("CA file", mqtt.ca_file, true);
  if (good) good = check_text("user", mqtt.user, true);
  if (good) good = check_text("password", mqtt.password, true);
  if (good) good = check_text("prefix", mqtt.prefix);
  if (!good) return good;
  // MQTT 3.1.1, section 4.7: wildcards are for those who subscribe.
  if (mqtt.prefix.find_first_of("+#$") != std::string::npos || mqtt.prefix.front() == '/' ||
      mqtt.prefix.back() == '/')
    return invalid("prefix", fmt::format("\"{}\" is no beginning of a topic", mqtt.prefix),
                   "Use words with \"/\" between them, without +, # and $.");
  if (mqtt.user.empty() && !mqtt.password.empty())
    return invalid("user", "there is a password, but no user", "Give both, or neither.");
  return base::ok();
}

Result<void> check_way(const Mail& mail) {
  Result<void> good = check_host(mail.host);
  if (good) good = check_port(mail.port);
  if (good) good = check_text("CA file", mail.ca_file, true);
  if (good) good = check_text("user", mail.user, true);
  if (good) good = check_text("password", mail.password, true);
  if (good) good = check_mail_address("from", mail.from);
  if (!good) return good;
  if (mail.to.empty() || mail.to.size() > 20)
    return invalid("to", fmt::format("{} mail addresses", mail.to.size()), "Give 1 to 20.");
  for (const std::string& to : mail.to) {
    if (good = check_mail_address("to", to); !good) return good;
  }
  if (mail.user.empty() && !mail.password.empty())
    return invalid("user", "there is a password, but no user", "Give both, or neither.");
  if (mail.security == Mail::Security::none && !mail.password.empty())
    return invalid("security", "a password would go over the network as it is",
                   "Use starttls or tls, or no user and password.");
  return base::ok();
}

// Reads an object's members strictly.
class Members {
 public:
  explicit Members(const json::object& object) : object_(object) {}

  std::string text(const char* name, std::string usual = {}) {
    const json::value* value = take(name);
    if (value == nullptr) return usual;
    if (value->is_string()) return std::string(value->get_string().data(), value->get_string().size());
    wrong(name, "text");
    return usual;
  }
  std::uint16_t port(const char* name, std::uint16_t usual) {
    const json::value* value = take(name);
    if (value == nullptr) return usual;
    if (value->is_int64() && value->get_int64() >= 1 && value->get_int64() <= 65535)
      return static_cast<std::uint16_t>(value->get_int64());
    wrong(name, "a number from 1 to 65535");
    return usual;
  }
  bool truth(const char* name) {
    const json::value* value = take(name);
    if (value == nullptr) return false;
    if (value->is_bool()) return value->get_bool();
    wrong(name, "true or false");
    return false;
  }
  std::vector<std::string> texts(const char* name) {
    std::vector<std::string> found;
    const json::value* value = take(name);
    if (value == nullptr) return found;
    if (!value->is_array()) {
      wrong(name, "a list of texts");
      return found;
    }
    for (const json::value& one : value->get_array()) {
      if (one.is_string()) {
        found.emplace_back(one.get_string().data(), one.get_string().size());
      } else {
        wrong(name, "a list of texts");
      }
    }
    return found;
  }
  void wrong(std::string_view name, std::string_view wanted) {
    if (!fault_) {
      fault_ = invalid("receiver", fmt::format("\"{}\" is not {}", name, wanted), "Send it as such.");
    }
  }
  Result<void> finish() const {
    if (fault_) return *fault_;
    if (taken_ < object_.size()) {
      return invalid("receiver", "there is a member that may not stand here",
                     "docs/notices.md says which members a receiver of this kind has.");
    }
    return base::ok();
  }

 private:
  const json::value* take(const char* name) {
    const json::value* value = object_.if_contains(name);
    if (value != nullptr) ++taken_;
    return value;
  }
  const json::object& object_;
  std::size_t taken_ = 0;
  std::optional<Error> fault_;
};

json::object object_of(const Webhook& webhook) {
  return {{"address", webhook.address}, {"ca_file", webhook.ca_file}};
}
json::object object_of(const Mqtt& mqtt) {
  return {{"host", mqtt.host},       {"port", mqtt.port}, {"tls", mqtt.tls},
          {"ca_file", mqtt.ca_file}, {"user", mqtt.user}, {"prefix", mqtt.prefix}};
}
json::object object_of(const Mail& mail) {
  json::array to;
  for (const std::string& one : mail.to) to.emplace_back(one);
  return {{"host", mail.host},       {"port", mail.port}, {"security", name_of(mail.security)},
          {"ca_file", mail.ca_file}, {"user", mail.user}, {"from", mail.from},
          {"to", std::move(to)}};
}

Mail read_mail(Members& members) {
  Mail mail;
  mail.host = members.text("host");
  mail.port = members.port("port", mail.port);
  if (const auto security = security_of(members.text("security", "starttls"))) {
    mail.security = *security;
  } else {
    members.wrong("security", "\"starttls\", \"tls\" or \"none\"");
  }
  mail.ca_file = members.text("ca_file");
  mail.user = members.text("user");
  mail.from = members.text("from");
  mail.to = members.texts("to");
  return mail;
}

}  // namespace

std::string_view kind_of(const Receiver& receiver) {
  constexpr std::string_view kKinds[] = {"webhook", "mqtt", "mail"};
  return kKinds[receiver.way.index()];
}

std::string_view name_of(Mail::Security security) {
  switch (security) {
    case Mail::Security::starttls:
      return "starttls";
    case Mail::Security::tls:
      return "tls";
    case Mail::Security::none:
      return "none";
  }
  return "starttls";
}

std::optional<Mail::Security> security_of(std::string_view word) {
  for (const auto one : {Mail::Security::starttls, Mail::Security::tls, Mail::Security::none}) {
    if (name_of(one) == word) return one;
  }
  return std::nullopt;
}

bool shows_state(const Receiver& receiver) { return std::holds_alternative<Mqtt>(receiver.way); }

const std::string& secret_of(const Receiver& receiver) {
  if (const auto* webhook = std::get_if<Webhook>(&receiver.way)) return webhook->secret;
  if (const auto* mqtt = std::get_if<Mqtt>(&receiver.way)) return mqtt->password;
  return std::get<Mail>(receiver.way).password;
}

void set_secret(Receiver& receiver, std::string secret) {
  if (auto* webhook = std::get_if<Webhook>(&receiver.way)) {
    webhook->secret = std::move(secret);
  } else if (auto* mqtt = std::get_if<Mqtt>(&receiver.way)) {
    mqtt->password = std::move(secret);
  } else {
    std::get<Mail>(receiver.way).password = std::move(secret);
  }
}

std::string way_json(const Receiver& receiver) {
  return json::serialize(std::visit([](const auto& way) { return object_of(way); }, receiver.way));
}

Result<std::variant<Webhook, Mqtt, Mail>> read_way(std::string_view kind, std::string_view text) {
  using Way = std::variant<Webhook, Mqtt, Mail>;
  boost::system::error_code failed;
  const json::value value = json::parse({text.data(), text.size()}, failed);
  if (failed || !value.is_object())
    return Error(ErrorCode::malformed, "receiver", "it is no JSON object", "Send one JSON object.");
  Members members(value.get_object());
  Way way;
  if (kind == "webhook") {
    way = Webhook{members.text("address"), {}, members.text("ca_file")};
  } else if (kind == "mqtt") {
    Mqtt mqtt;
    mqtt.host = members.text("host");
    mqtt.tls = members.truth("tls");
    mqtt.port = members.port("port", mqtt.tls ? 8883 : 1883);
    mqtt.ca_file = members.text("ca_file");
    mqtt.user = members.text("user");
    mqtt.prefix = members.text("prefix", mqtt.prefix);
    way = std::move(mqtt);
  } else if (kind == "mail") {
    way = read_mail(members);
  } else {
    return invalid("receiver", fmt::format("\"{}\" is no kind of receiver", base::printable(kind, 40)),
                   "Use webhook, mqtt or mail.");
  }
  if (auto all = members.finish(); !all) return std::move(all).error();
  return way;
}

Result<void> check(const Receiver& receiver) {
  Result<void> good = check_text("name", receiver.name);
  if (good && receiver.name.size() > 64) good = invalid("name", "it has more than 64 bytes", "Shorten it.");
  if (good) good = std::visit([](const auto& way) { return check_way(way); }, receiver.way);
  if (good) return good;
  const Error& fault = good.error();
  return invalid(fmt::format("receiver \"{}\": {}", base::printable(receiver.name, 64), fault.where),
                 fault.detail, fault.remedy);
}

}  // namespace rookery::notices
