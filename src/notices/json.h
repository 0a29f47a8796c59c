// Receivers, rules and notices as the API and the command line show them. docs/notices.md.
#pragma once

#include <boost/json/object.hpp>

#include "notices/desk.h"

namespace rookery::notices {

// Never with its secret.
boost::json::object receiver_json(const Receiver& receiver);
// … and how it does. state: null when nothing delivers to it (it is off, or the station does not run).
boost::json::object receiver_json(const Receiver& receiver, const QueueCounts& counts,
                                  const ReceiverState* state);
boost::json::object rule_json(const Rule& rule);
// … and what it last said. state: null when it was not asked since the station started.
boost::json::object rule_json(const Rule& rule, const RuleState* state);
boost::json::object notice_json(const Queued& queued);

// "monday", … from bits, and back. Errors: invalid_value.
boost::json::array days_json(std::uint8_t days);
base::Result<std::uint8_t> days_of(const std::vector<std::string>& words);
// "22:00", "24:00" from minutes, and back. Errors: invalid_value.
std::string time_text(int minutes);
base::Result<int> minutes_of(std::string_view text);

}  // namespace rookery::notices
