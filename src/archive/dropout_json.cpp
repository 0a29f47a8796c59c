#include "archive/dropout_json.h"

#include <algorithm>
#include <cmath>

#include <boost/json.hpp>

namespace rookery::archive {

namespace json = boost::json;
using camera::Ranking;

namespace {

json::object ranking_json(const Ranking& ranking) {
  json::array causes;
  for (const camera::RankedCause& one : ranking.causes) {
    causes.push_back(json::object{{"cause", camera::name_of(one.cause)},
                                  {"title", camera::title_of(one.cause)},
                                  {"probability", std::round(one.probability * 1000) / 1000}});
  }
  json::array evidence;
  for (const std::string& line : ranking.evidence) evidence.emplace_back(line);
  return {{"cause", ranking.named ? json::value(camera::name_of(*ranking.named)) : json::value(nullptr)},
          {"verdict", ranking.verdict},
          {"remedy", ranking.remedy},
          {"restarted", ranking.restarted},
          {"causes", std::move(causes)},
          {"unexplained", std::round(ranking.unexplained * 1000) / 1000},
          {"evidence", std::move(evidence)}};
}

std::string text_of(const json::object& from, std::string_view key) {
  const json::value* value = from.if_contains(key);
  return value != nullptr && value->is_string() ? std::string(value->get_string()) : std::string();
}

double number_of(const json::object& from, std::string_view key) {
  const json::value* value = from.if_contains(key);
  return value != nullptr && value->is_number() ? value->to_number<double>() : 0;
}

}  // namespace

json::object dropout_json(const Dropout& dropout) {
  json::object out = ranking_json(dropout.ranking);
  out["camera"] = dropout.camera.text();
  out["began"] = base::to_rfc3339(dropout.began);
  out["back"] = dropout.back ? json::value(base::to_rfc3339(*dropout.back)) : json::value(nullptr);
  out["length_s"] = dropout.back
                        ? json::value(std::chrono::duration<double>(*dropout.back - dropout.began).count())
                        : json::value(nullptr);
  return out;
}

std::string dropout_place(const Dropout& dropout) {
  const auto us = dropout.began.time_since_epoch().count() % 1'000'000;
  std::string text = base::to_rfc3339(dropout.began);
  return text.substr(0, text.find('.')) + fmt::format(".{:06}Z", us);
}

json::object summary_json(const DropoutSummary& summary) {
  json::object named;
  for (std::size_t n = 0; n < camera::kCauses; ++n)
    named[camera::name_of(static_cast<camera::Cause>(n))] = summary.named[n];
  return {{"days", summary.days},           {"dropouts", summary.dropouts}, {"causes", std::move(named)},
          {"restarted", summary.restarted}, {"unclear", summary.unclear},   {"text", summary.text()}};
}

std::string ranking_text(const Ranking& ranking) {
  json::object out = ranking_json(ranking);
  json::array own;
  for (const double share : ranking.own) own.emplace_back(std::round(share * 1000) / 1000);
  out["own"] = std::move(own);
  return json::serialize(out);
}

Ranking parse_ranking(std::string_view text) {
  Ranking out;
  for (std::size_t n = 0; n < camera::kCauses; ++n) out.causes[n].cause = static_cast<camera::Cause>(n);
  boost::system::error_code failed;
  const json::value parsed = json::parse(text, failed);
  if (failed || !parsed.is_object()) return out;
  const json::object& from = parsed.get_object();
  out.named = camera::dropout_cause_of(text_of(from, "cause"));
  out.verdict = text_of(from, "verdict");
  out.remedy = text_of(from, "remedy");
  out.unexplained = number_of(from, "unexplained");
  if (const auto* restarted = from.if_contains("restarted"); restarted != nullptr && restarted->is_bool())
    out.restarted = restarted->get_bool();
  if (const auto* evidence = from.if_contains("evidence"); evidence != nullptr && evidence->is_array()) {
    for (const json::value& line : evidence->get_array())
      if (line.is_string()) out.evidence.emplace_back(line.get_string());
  }
  if (const auto* causes = from.if_contains("causes"); causes != nullptr && causes->is_array()) {
    std::size_t at = 0;
    for (const json::value& one : causes->get_array()) {
      if (at >= camera::kCauses || !one.is_object()) break;
      const auto cause = camera::dropout_cause_of(text_of(one.get_object(), "cause"));
      if (cause) out.causes[at++] = {*cause, number_of(one.get_object(), "probability")};
    }
  }
  if (const auto* own = from.if_contains("own"); own != nullptr && own->is_array()) {
    const json::array& shares = own->get_array();
    // Of another set of kinds nothing is known.
    for (std::size_t n = 0; shares.size() == camera::kKinds && n < camera::kKinds; ++n)
      out.own[n] = shares[n].is_number() ? shares[n].to_number<double>() : 0;
  }
  return out;
}

}  // namespace rookery::archive
