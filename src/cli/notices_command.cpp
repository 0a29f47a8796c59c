// rookery notices [--state S] [--limit N]; rookery snooze TIME|off [--rule NAME]
#include <fmt/format.h>

#include <algorithm>

#include "cli/cli.h"
#include "cli/notice_names.h"
#include "notices/json.h"

namespace rookery::cli {

using base::Result;
using notices::NoticeStore;

namespace {

Result<void> snooze(const std::string& until_text, const std::string& rule_name, Context& context) {
  std::optional<base::WallTime> until;
  if (until_text != "off") {
    auto time = base::parse_rfc3339(until_text);
    if (!time) return time.error();
    until = *time;
  }
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  NoticeStore store(**catalog);
  if (rule_name.empty()) {
    if (auto done = store.snooze(until); !done) return done;
  } else {
    auto rule = rule_named(store, rule_name);
    if (!rule) return rule.error();
    rule->snoozed_until = until;
    if (auto done = store.set(*rule); !done) return done;
  }
  boost::json::object object{{"until", nullptr}};
  if (until) object["until"] = base::to_rfc3339(*until);
  const std::string what = rule_name.empty() ? "No notices" : fmt::format("No notices by \"{}\"", rule_name);
  context.print(object, until ? fmt::format("{} until {}.", what, base::to_rfc3339(*until))
                              : std::string("Notices as the rules say."));
  return base::ok();
}

Result<void> show_log(const std::string& state_word, std::size_t limit, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  std::optional<notices::State> state;
  if (!state_word.empty()) state = notices::state_of(state_word);
  auto log = notices::NoticeQueue(**catalog).log(std::nullopt, state, std::nullopt, limit);
  if (!log) return log.error();
  auto receivers = NoticeStore(**catalog).receivers();
  if (!receivers) return receivers.error();
  for (const notices::Queued& queued : *log) {
    const auto to = std::ranges::find(*receivers, queued.receiver, &notices::Receiver::id);
    context.print(
        notice_json(queued),
        fmt::format("{:>6}  {}  {:<16} {:<5} -> {:<16} {:<9} {} tries{}{}", queued.notice.id,
                    base::to_rfc3339(queued.notice.made),
                    queued.notice.camera.empty() ? "-" : queued.notice.camera, name_of(queued.notice.what),
                    to == receivers->end() ? "?" : to->name, name_of(queued.state), queued.tries,
                    queued.answer.empty() ? "" : ": ", queued.answer));
  }
  if (log->empty() && !context.json) context.out << "No notices.\n";
  return base::ok();
}

}  // namespace

void add_notices_commands(CLI::App& app, Context& context) {
  CLI::App* snoozing =
      app.add_subcommand("snooze", "No notices until a moment; events are logged all the same");
  auto until = std::make_shared<std::string>();
  auto rule = std::make_shared<std::string>();
  snoozing->add_option("UNTIL", *until, "2026-03-02T06:00:00Z, or off")->required();
  snoozing->add_option("--rule", *rule, "Of this rule only");
  context.add_common(*snoozing);
  snoozing->callback([until, rule, &context] {
    if (auto done = snooze(*until, *rule, context); !done) context.fail(done.error());
  });

  CLI::App* log = app.add_subcommand("notices", "Notices and what became of them, the newest first");
  auto state = std::make_shared<std::string>();
  auto limit = std::make_shared<std::size_t>(50);
  log->add_option("--state", *state, "Only these")
      ->check(CLI::IsMember({"waiting", "delivered", "given-up", "dropped"}));
  log->add_option("--limit", *limit, "At most so many")->check(CLI::Range(1, 100'000))->capture_default_str();
  context.add_common(*log);
  log->callback([state, limit, &context] {
    if (auto done = show_log(*state, *limit, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
