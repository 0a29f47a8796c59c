#include "notices/json.h"

#include <fmt/format.h>

#include <boost/json/parse.hpp>

#include "base/printable.h"

namespace rookery::notices {
namespace {

namespace json = boost::json;

constexpr std::string_view kDays[] = {"monday", "tuesday",  "wednesday", "thursday",
                                      "friday", "saturday", "sunday"};

json::value time_or_null(const std::optional<base::WallTime>& time) {
  if (!time) return nullptr;
  return json::value(base::to_rfc3339(*time));
}

}  // namespace

json::object receiver_json(const Receiver& receiver) {
  json::object way = json::parse(way_json(receiver)).as_object();
  return {{"id", receiver.id},         {"name", receiver.name}, {"enabled", receiver.enabled},
          {"kind", kind_of(receiver)}, {"way", std::move(way)}, {"has_secret", !secret_of(receiver).empty()}};
}

json::object receiver_json(const Receiver& receiver, const QueueCounts& counts, const ReceiverState* state) {
  json::object out = receiver_json(receiver);
  out["waiting"] = counts.waiting;
  out["oldest_waiting"] = time_or_null(counts.oldest_waiting);
  out["delivered"] = counts.delivered;
  out["given_up"] = counts.given_up;
  out["dropped"] = counts.dropped;
  out["failing_since"] = nullptr;
  out["last_error"] = nullptr;
  out["last_delivered"] = nullptr;
  if (state != nullptr) {
    out["failing_since"] = time_or_null(state->failing_since);
    out["last_delivered"] = time_or_null(state->last_delivered);
    if (!state->last_error.empty()) out["last_error"] = state->last_error;
  }
  return out;
}

json::object rule_json(const Rule& rule) {
  json::array receivers, causes;
  for (const std::int64_t id : rule.receivers) receivers.emplace_back(id);
  for (const auto cause : rule.causes) causes.emplace_back(archive::name_of(cause));
  json::object out{{"id", rule.id},
                   {"name", rule.name},
                   {"enabled", rule.enabled},
                   {"receivers", std::move(receivers)},
                   {"cameras", nullptr},
                   {"causes", std::move(causes)},
                   {"least_peak", rule.least_peak},
                   {"days", days_json(rule.hours.days)},
                   {"from", time_text(rule.hours.from_min)},
                   {"until", time_text(rule.hours.until_min)},
                   {"quiet_s", rule.quiet.count()},
                   {"at_end", rule.at_end},
                   {"snoozed_until", time_or_null(rule.snoozed_until)}};
  if (rule.cameras) {
    json::array cameras;
    for (const auto& name : *rule.cameras) cameras.emplace_back(name.text());
    out["cameras"] = std::move(cameras);
  }
  return out;
}

json::object rule_json(const Rule& rule, const RuleState* state) {
  json::object out = rule_json(rule);
  const auto judged = [](const std::optional<RuleState::Judged>& one) -> json::value {
    if (!one) return nullptr;
    return {{"at", base::to_rfc3339(one->at)},
            {"camera", one->camera.text()},
            {"event", one->event},
            {"verdict", name_of(one->verdict)}};
  };
  out["last_sent"] = judged(state == nullptr ? std::nullopt : state->last_sent);
  out["last_silent"] = judged(state == nullptr ? std::nullopt : state->last_silent);
  return out;
}

json::object notice_json(const Queued& queued) {
  json::object out{{"id", queued.notice.id},
                   {"receiver", queued.receiver},
                   {"rule", nullptr},
                   {"event", nullptr},
                   {"camera", nullptr},
                   {"what", name_of(queued.notice.what)},
                   {"made_at", base::to_rfc3339(queued.notice.made)},
                   {"state", name_of(queued.state)},
                   {"tries", queued.tries},
                   {"next_try", nullptr},
                   {"done_at", time_or_null(queued.done)},
                   {"answer", queued.answer}};
  if (queued.rule) out["rule"] = *queued.rule;
  if (queued.event) out["event"] = *queued.event;
  if (!queued.notice.camera.empty()) out["camera"] = queued.notice.camera;
  if (queued.state == State::waiting) out["next_try"] = base::to_rfc3339(queued.next);
  return out;
}

json::array days_json(std::uint8_t days) {
  json::array out;
  for (std::size_t day = 0; day < 7; ++day) {
    if ((days >> day & 1) != 0) out.emplace_back(kDays[day]);
  }
  return out;
}

base::Result<std::uint8_t> days_of(const std::vector<std::string>& words) {
  std::uint8_t days = 0;
  for (const std::string& word : words) {
    const auto* found = std::ranges::find(kDays, word);
    if (found == std::end(kDays)) {
      return base::Error(base::ErrorCode::invalid_value, "days",
                         fmt::format("\"{}\" is no day", base::printable(word, 40)), "Use monday to sunday.");
    }
    days = static_cast<std::uint8_t>(days | 1 << (found - std::begin(kDays)));
  }
  return days;
}

std::string time_text(int minutes) { return fmt::format("{:02}:{:02}", minutes / 60, minutes % 60); }

base::Result<int> minutes_of(std::string_view text) {
  const auto digit = [text](std::size_t i) { return text[i] >= '0' && text[i] <= '9' ? text[i] - '0' : 100; };
  if (text.size() == 5 && text[2] == ':') {
    const int hours = 10 * digit(0) + digit(1);
    const int minutes = 10 * digit(3) + digit(4);
    if (minutes < 60 && (hours < 24 || (hours == 24 && minutes == 0))) return 60 * hours + minutes;
  }
  return base::Error(base::ErrorCode::invalid_value, "time of day",
                     fmt::format("\"{}\" is none", base::printable(text, 40)),
                     "Write it as 22:00; the end may be 24:00.");
}

}  // namespace rookery::notices
