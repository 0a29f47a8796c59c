// rookery rule add NAME … | list | set NAME … | remove NAME
#include <fmt/format.h>

#include <algorithm>

#include "cli/cli.h"
#include "cli/notice_names.h"
#include "notices/json.h"

namespace rookery::cli {

using base::Result;
using notices::NoticeStore;
using notices::Rule;

namespace {

// What was given on the command line; what was not given stays as it is.
struct RuleArgs {
  std::string name;
  std::vector<std::string> receivers, cameras, causes, days;
  std::optional<std::string> from, until, rename;
  std::optional<double> least_peak_percent;
  std::optional<int> quiet_s;
  std::optional<bool> at_end, enabled;
  bool all_cameras = false;
};

void add_rule_options(CLI::App& command, RuleArgs& args) {
  command.add_option("--receiver", args.receivers, "Who gets notices; may stand several times");
  auto* camera = command.add_option("--camera", args.cameras, "Only of this camera; may stand several times");
  command.add_flag("--all-cameras", args.all_cameras, "Of every camera")->excludes(camera);
  command.add_option("--cause", args.causes, "Only of this cause; motion, view and job unless given")
      ->check(CLI::IsMember({"motion", "lighting", "view", "job"}));
  command
      .add_option("--least-peak", args.least_peak_percent,
                  "Only when at least so many per cent of the picture move at once")
      ->check(CLI::Range(0.0, 100.0));
  command.add_option("--day", args.days, "Only on this day, monday to sunday; may stand several times");
  command.add_option("--from", args.from, "Only from this time of day on, 22:00; local time");
  command.add_option("--until", args.until, "… to this, 06:00: may be on the next day");
  command.add_option("--quiet-s", args.quiet_s,
                     "So many seconds between two notices of one camera; 300 unless given");
  command.add_option("--at-end", args.at_end, "true: another notice when the event is over");
  command.add_option("--enabled", args.enabled, "false: it makes no notices");
}

Result<void> apply_which(const RuleArgs& args, const NoticeStore& store, Rule& rule) {
  if (!args.receivers.empty()) {
    rule.receivers.clear();
    for (const std::string& name : args.receivers) {
      auto receiver = receiver_named(store, name);
      if (!receiver) return receiver.error();
      rule.receivers.push_back(receiver->id);
    }
    std::ranges::sort(rule.receivers);
  }
  if (args.all_cameras) rule.cameras.reset();
  if (!args.cameras.empty()) {
    rule.cameras.emplace();
    for (const std::string& text : args.cameras) {
      auto name = base::CameraName::parse(text);
      if (!name) return name.error();
      rule.cameras->push_back(std::move(*name));
    }
  }
  if (!args.causes.empty()) {
    rule.causes.clear();
    for (const std::string& word : args.causes)
      rule.causes.push_back(archive::event_cause_of(word).value_or(archive::Event::Cause::motion));
  }
  return base::ok();
}

Result<void> apply(const RuleArgs& args, const NoticeStore& store, Rule& rule) {
  if (auto which = apply_which(args, store, rule); !which) return which;
  if (args.rename) rule.name = *args.rename;
  if (args.least_peak_percent) rule.least_peak = *args.least_peak_percent / 100;
  if (!args.days.empty()) {
    auto days = notices::days_of(args.days);
    if (!days) return days.error();
    rule.hours.days = *days;
  }
  for (const auto& [text, place] :
       {std::pair{&args.from, &rule.hours.from_min}, std::pair{&args.until, &rule.hours.until_min}}) {
    if (!*text) continue;
    auto minutes = notices::minutes_of(**text);
    if (!minutes) return minutes.error();
    *place = *minutes;
  }
  if (args.quiet_s) rule.quiet = std::chrono::seconds(*args.quiet_s);
  if (args.at_end) rule.at_end = *args.at_end;
  if (args.enabled) rule.enabled = *args.enabled;
  return base::ok();
}

void print(Context& context, const NoticeStore& store, const Rule& rule) {
  std::string to;
  if (const auto receivers = store.receivers()) {
    for (const auto& receiver : *receivers) {
      if (std::ranges::find(rule.receivers, receiver.id) == rule.receivers.end()) continue;
      to += (to.empty() ? "" : ", ") + receiver.name;
    }
  }
  std::string cameras = "all cameras";
  if (rule.cameras) {
    cameras.clear();
    for (const auto& name : *rule.cameras) cameras += (cameras.empty() ? "" : ", ") + name.text();
  }
  std::string snoozed;
  if (rule.snoozed_until) snoozed = ", snoozed until " + base::to_rfc3339(*rule.snoozed_until);
  context.print(
      rule_json(rule),
      fmt::format("{:<16} {:<4} {} -> {}; {} to {}, quiet {} s{}", rule.name, rule.enabled ? "on" : "off",
                  cameras, to.empty() ? "nobody" : to, notices::time_text(rule.hours.from_min),
                  notices::time_text(rule.hours.until_min), rule.quiet.count(), snoozed));
}

Result<void> add(const RuleArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  NoticeStore store(**catalog);
  Rule rule;
  rule.name = args.name;
  if (auto applied = apply(args, store, rule); !applied) return applied;
  auto added = store.add(rule);
  if (!added) return added.error();
  print(context, store, *added);
  return base::ok();
}

Result<void> set(const RuleArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  NoticeStore store(**catalog);
  auto rule = rule_named(store, args.name);
  if (!rule) return rule.error();
  if (auto applied = apply(args, store, *rule); !applied) return applied;
  if (auto done = store.set(*rule); !done) return done;
  print(context, store, *rule);
  return base::ok();
}

Result<void> list(Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  const NoticeStore store(**catalog);
  auto rules = store.rules();
  if (!rules) return rules.error();
  for (const Rule& rule : *rules) print(context, store, rule);
  if (rules->empty() && !context.json) context.out << "No rules yet. `rookery rule add` adds the first.\n";
  return base::ok();
}

Result<void> remove(const RuleArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  NoticeStore store(**catalog);
  auto rule = rule_named(store, args.name);
  if (!rule) return rule.error();
  if (auto removed = store.remove_rule(rule->id); !removed) return removed;
  context.print({{"removed", rule->name}}, fmt::format("{} was removed.", rule->name));
  return base::ok();
}

}  // namespace

void add_rule_command(CLI::App& app, Context& context) {
  CLI::App* rule = app.add_subcommand("rule", "Which events make notices, and who gets them");
  rule->require_subcommand(1);
  auto args = std::make_shared<RuleArgs>();
  const auto command = [&](const char* name, const char* what, bool named,
                           std::function<Result<void>(const RuleArgs&, Context&)> run) {
    CLI::App* made = rule->add_subcommand(name, what);
    if (named) made->add_option("NAME", args->name, "Its name, for people")->required();
    context.add_common(*made);
    made->callback([args, &context, run = std::move(run)] {
      if (auto done = run(*args, context); !done) context.fail(done.error());
    });
    return made;
  };
  add_rule_options(*command("add", "Add a rule", true, add), *args);
  command("list", "The rules", false, [](const RuleArgs&, Context& with) { return list(with); });
  CLI::App* setting = command("set", "Change a rule; what is not named stays", true, set);
  setting->add_option("--name", args->rename, "Another name");
  add_rule_options(*setting, *args);
  command("remove", "Remove a rule", true, remove);
}

}  // namespace rookery::cli
