#include <charconv>

#include <boost/json/serialize.hpp>

#include "base/printable.h"
#include "notices/json.h"
#include "web/answers.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
using base::Result;
using notices::NoticeStore;
using notices::Receiver;
using notices::Rule;
namespace {

Error not_there(std::string_view what, std::string_view text) {
  return {ErrorCode::not_found, std::string(what),
          fmt::format("there is no {} \"{}\"", what, base::printable(text, 40)),
          fmt::format("GET /api/v1/{}s lists those there are.", what)};
}

// The number that the first parameter is.
Result<std::int64_t> id_of(const Call& call, std::string_view what) {
  const std::string& text = call.params.at(0);
  std::int64_t id = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (error != std::errc{} || end != text.data() + text.size()) return not_there(what, text);
  return id;
}

json::object with_state(Call& call, const Receiver& receiver, const std::vector<notices::QueueCounts>& all) {
  notices::QueueCounts counts;
  const auto found = std::ranges::find(all, receiver.id, &notices::QueueCounts::receiver);
  if (found != all.end()) counts = *found;
  const auto states = call.station().notices().states();
  const auto state = std::ranges::find(states, receiver.id, &notices::ReceiverState::receiver);
  return receiver_json(receiver, counts, state == states.end() ? nullptr : &*state);
}

Response receiver_answer(Call& call, std::int64_t id, http::status status) {
  auto receiver = NoticeStore(call.station().catalog()).receiver(id);
  if (!receiver) return problem(receiver.error());
  auto counts = notices::NoticeQueue(call.station().catalog()).counts();
  if (!counts) return problem(counts.error());
  return json_answer(with_state(call, *receiver, *counts), status);
}

// What stands in the body replaces what `receiver` has. Returns whether its secret is left as it is.
Result<bool> read_receiver(Fields& fields, Receiver& receiver) {
  if (auto name = fields.maybe_text("name")) receiver.name = *name;
  if (auto enabled = fields.maybe_boolean("enabled")) receiver.enabled = *enabled;
  const std::string kind = fields.maybe_text("kind").value_or(std::string(kind_of(receiver)));
  const auto secret = fields.maybe_text("secret");
  if (const json::value* way = fields.maybe_any("way")) {
    auto read = notices::read_way(kind, json::serialize(*way));
    if (!read) return std::move(read).error();
    const std::string before = kind == kind_of(receiver) ? secret_of(receiver) : std::string();
    receiver.way = std::move(*read);
    set_secret(receiver, before);
  } else if (kind != kind_of(receiver)) {
    fields.fault(Error(ErrorCode::invalid_value, "receiver", "its kind is another, but \"way\" is missing",
                       "Send it along."));
  }
  if (secret) set_secret(receiver, *secret);
  if (auto all = fields.finish(); !all) return std::move(all).error();
  return !secret.has_value();
}

Result<void> read_hours(Fields& fields, notices::Hours& hours) {
  if (auto words = fields.maybe_texts("days")) {
    auto days = notices::days_of(*words);
    if (!days) return std::move(days).error();
    hours.days = *days;
  }
  for (const auto& [name, place] :
       {std::pair{"from", &hours.from_min}, std::pair{"until", &hours.until_min}}) {
    auto text = fields.maybe_text(name);
    if (!text) continue;
    auto minutes = notices::minutes_of(*text);
    if (!minutes) return std::move(minutes).error();
    *place = *minutes;
  }
  return base::ok();
}

Result<void> read_which(Fields& fields, Rule& rule) {
  if (auto ids = fields.maybe_integers("receivers")) rule.receivers = *ids;
  if (auto names = fields.maybe_names_or_null("cameras")) {
    rule.cameras.reset();
    if (*names) rule.cameras.emplace();
    for (const std::string& text : names->value_or(std::set<std::string>())) {
      auto name = base::CameraName::parse(text);
      if (!name) return std::move(name).error();
      rule.cameras->push_back(std::move(*name));
    }
  }
  if (auto words = fields.maybe_texts("causes")) {
    rule.causes.clear();
    for (const std::string& word : *words) {
      const auto cause = archive::event_cause_of(word);
      if (!cause) {
        return Error(ErrorCode::invalid_value, "rule",
                     fmt::format("\"{}\" is no cause", base::printable(word, 40)),
                     "Use motion, lighting, view or job.");
      }
      rule.causes.push_back(*cause);
    }
  }
  return base::ok();
}

Result<void> read_rule(Fields& fields, Rule& rule) {
  if (auto name = fields.maybe_text("name")) rule.name = *name;
  if (auto enabled = fields.maybe_boolean("enabled")) rule.enabled = *enabled;
  if (auto which = read_which(fields, rule); !which) return which;
  if (auto hours = read_hours(fields, rule.hours); !hours) return hours;
  if (fields.has("least_peak")) rule.least_peak = fields.number("least_peak", 0, 1);
  if (auto seconds = fields.maybe_integer("quiet_s", 0, 7 * 86'400))
    rule.quiet = std::chrono::seconds{*seconds};
  if (auto at_end = fields.maybe_boolean("at_end")) rule.at_end = *at_end;
  if (auto until = fields.maybe_time_or_null("snoozed_until")) rule.snoozed_until = *until;
  return fields.finish();
}

json::object with_state(Call& call, const Rule& rule) {
  const auto states = call.station().notices().rule_states();
  const auto state = states.find(rule.id);
  return rule_json(rule, state == states.end() ? nullptr : &state->second);
}

Response rule_answer(Call& call, std::int64_t id, http::status status) {
  auto rule = NoticeStore(call.station().catalog()).rule(id);
  if (!rule) return problem(rule.error());
  return json_answer(with_state(call, *rule), status);
}

}  // namespace

Response get_receivers(Call& call) {
  auto receivers = NoticeStore(call.station().catalog()).receivers();
  if (!receivers) return problem(receivers.error());
  auto counts = notices::NoticeQueue(call.station().catalog()).counts();
  if (!counts) return problem(counts.error());
  json::array out;
  for (const Receiver& receiver : *receivers) out.push_back(with_state(call, receiver, *counts));
  return json_answer({{"receivers", std::move(out)}, {"lost", call.station().notices().lost()}});
}

Response post_receivers(Call& call) {
  auto fields = Fields::parse(call.request.body, "receiver");
  if (!fields) return problem(fields.error());
  Receiver receiver;
  if (auto read = read_receiver(*fields, receiver); !read) return problem(read.error());
  auto added = NoticeStore(call.station().catalog()).add(receiver);
  if (!added) return problem(added.error());
  return receiver_answer(call, added->id, http::status::created);
}

Response patch_receiver(Call& call) {
  auto id = id_of(call, "receiver");
  if (!id) return problem(id.error());
  NoticeStore store(call.station().catalog());
  auto receiver = store.receiver(*id);
  if (!receiver) return problem(receiver.error());
  auto fields = Fields::parse(call.request.body, "receiver");
  if (!fields) return problem(fields.error());
  auto keep_secret = read_receiver(*fields, *receiver);
  if (!keep_secret) return problem(keep_secret.error());
  if (auto set = store.set(*receiver, *keep_secret); !set) return problem(set.error());
  return receiver_answer(call, *id, http::status::ok);
}

Response delete_receiver(Call& call) {
  auto id = id_of(call, "receiver");
  if (!id) return problem(id.error());
  auto removed = NoticeStore(call.station().catalog()).remove_receiver(*id);
  return removed ? nothing_to_say() : problem(removed.error());
}

Response post_receiver_test(Call& call) {
  auto id = id_of(call, "receiver");
  if (!id) return problem(id.error());
  auto queued = call.station().notices().test(*id);
  if (!queued) return problem(queued.error());
  return receiver_answer(call, *id, http::status::accepted);
}

Response get_rules(Call& call) {
  auto rules = NoticeStore(call.station().catalog()).rules();
  if (!rules) return problem(rules.error());
  json::array out;
  for (const Rule& rule : *rules) out.push_back(with_state(call, rule));
  return json_answer({{"rules", std::move(out)}});
}

Response post_rules(Call& call) {
  auto fields = Fields::parse(call.request.body, "rule");
  if (!fields) return problem(fields.error());
  Rule rule;
  if (auto read = read_rule(*fields, rule); !read) return problem(read.error());
  auto added = NoticeStore(call.station().catalog()).add(rule);
  if (!added) return problem(added.error());
  return rule_answer(call, added->id, http::status::created);
}

Response patch_rule(Call& call) {
  auto id = id_of(call, "rule");
  if (!id) return problem(id.error());
  NoticeStore store(call.station().catalog());
  auto rule = store.rule(*id);
  if (!rule) return problem(rule.error());
  auto fields = Fields::parse(call.request.body, "rule");
  if (!fields) return problem(fields.error());
  if (auto read = read_rule(*fields, *rule); !read) return problem(read.error());
  if (auto set = store.set(*rule); !set) return problem(set.error());
  return rule_answer(call, *id, http::status::ok);
}

Response delete_rule(Call& call) {
  auto id = id_of(call, "rule");
  if (!id) return problem(id.error());
  auto removed = NoticeStore(call.station().catalog()).remove_rule(*id);
  return removed ? nothing_to_say() : problem(removed.error());
}

Response get_snooze(Call& call) {
  auto until = NoticeStore(call.station().catalog()).snoozed_until();
  if (!until) return problem(until.error());
  json::object answer{{"until", nullptr}};
  if (*until && **until > call.services.wall()) answer["until"] = base::to_rfc3339(**until);
  return json_answer(answer);
}

Response put_snooze(Call& call) {
  auto fields = Fields::parse(call.request.body, "snooze");
  if (!fields) return problem(fields.error());
  auto until = fields->maybe_time_or_null("until");
  if (!until) {
    fields->fault(Error(ErrorCode::invalid_value, "snooze", "\"until\" is missing", "Send a time, or null."));
  }
  if (auto all = fields->finish(); !all) return problem(all.error());
  if (auto set = NoticeStore(call.station().catalog()).snooze(*until); !set) return problem(set.error());
  return get_snooze(call);
}

Response get_notices(Call& call) {
  std::optional<std::int64_t> receiver, before;
  std::int64_t limit = 50;
  const auto number = [&call](std::string_view key, std::int64_t least, std::int64_t most,
                              auto& into) -> Result<void> {
    const auto text = call.request.query_value(key);
    if (!text) return base::ok();
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), value);
    if (error != std::errc{} || end != text->data() + text->size() || value < least || value > most) {
      return Error(ErrorCode::invalid_value, "query",
                   fmt::format("\"{}\" is \"{}\"", key, base::printable(*text, 40)),
                   fmt::format("Give a whole number from {} to {}.", least, most));
    }
    into = value;
    return base::ok();
  };
  Result<void> read = number("receiver", 0, INT64_MAX, receiver);
  if (read) read = number("before", 0, INT64_MAX, before);
  if (read) read = number("limit", 1, 500, limit);
  std::optional<notices::State> state;
  if (const auto word = call.request.query_value("state"); word && read) {
    state = notices::state_of(*word);
    if (!state) {
      read = Error(ErrorCode::invalid_value, "query",
                   fmt::format("\"state\" is \"{}\"", base::printable(*word, 40)),
                   "Use waiting, delivered, given-up or dropped.");
    }
  }
  if (!read) return problem(read.error());
  auto log = notices::NoticeQueue(call.station().catalog())
                 .log(receiver, state, before, static_cast<std::size_t>(limit));
  if (!log) return problem(log.error());
  json::array out;
  for (const notices::Queued& queued : *log) out.push_back(notice_json(queued));
  json::object answer{{"notices", std::move(out)}, {"next", nullptr}};
  if (static_cast<std::int64_t>(log->size()) == limit) answer["next"] = log->back().notice.id;
  return json_answer(answer);
}

}  // namespace rookery::web
