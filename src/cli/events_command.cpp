// rookery events [CAMERA…] [--from TIME] [--to TIME] [--cause C] [--least-peak P] [--kept] [--limit N]
//                [--before PLACE] | --keep ID | --let-go ID
#include <fmt/format.h>

#include <boost/json/serialize.hpp>

#include "archive/event_json.h"
#include "archive/keep_event.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

struct EventsArgs {
  std::vector<std::string> cameras;
  std::string from, to, before;
  std::vector<std::string> causes;
  double least_peak_percent = 0;
  bool kept = false;
  std::size_t limit = 50;
  std::optional<std::int64_t> keep, let_go;
};

base::Result<archive::EventQuery> query_of(const EventsArgs& args) {
  archive::EventQuery query;
  for (const std::string& text : args.cameras) {
    auto name = base::CameraName::parse(text);
    if (!name) return name.error();
    if (!query.cameras) query.cameras.emplace();
    query.cameras->push_back(std::move(*name));
  }
  for (const auto& [text, place] : {std::pair{&args.from, &query.from}, std::pair{&args.to, &query.to}}) {
    if (text->empty()) continue;
    auto time = base::parse_rfc3339(*text);
    if (!time) return time.error();
    *place = *time;
  }
  if (query.from && query.to && *query.to <= *query.from) {
    return base::Error(base::ErrorCode::invalid_value, "events",
                       fmt::format("the end {} is not after the beginning {}", args.to, args.from),
                       "Swap them.");
  }
  for (const std::string& cause : args.causes)
    query.causes.push_back(archive::event_cause_of(cause).value_or(archive::Event::Cause::motion));
  query.least_peak = args.least_peak_percent / 100;
  if (args.kept) query.kept = true;
  query.limit = args.limit;
  if (!args.before.empty()) {
    auto before = archive::EventCursor::parse(args.before);
    if (!before) return before.error();
    query.before = *before;
  }
  return query;
}

std::string to_text(const archive::Event& event) {
  const double length_s = std::chrono::duration<double>(event.end - event.start).count();
  const std::string_view where = vision::words_for(event.region);
  return fmt::format("{:>8}  {}  {:<16} {:<8} {:>7.1f} s {:>6.1f} %  {}{}{}", event.id,
                     base::to_rfc3339(event.start), event.camera.text(), archive::name_of(event.cause),
                     length_s, 100 * event.peak, where.empty() ? event.detail : where,
                     event.under_way ? ", goes on" : "", event.kept ? ", kept" : "");
}

void print(Context& context, const archive::Event& event) {
  context.print(archive::event_json(event), to_text(event));
}

// Says on `err` how the log goes on, so that what is on `out` is events alone.
base::Result<void> list(const EventsArgs& args, Context& context, archive::Catalog& catalog) {
  auto query = query_of(args);
  if (!query) return query.error();
  const archive::EventStore store(catalog);
  std::size_t shown = 0;
  for (;;) {
    query->limit = args.limit - shown;
    auto page = store.page(*query);
    if (!page) return page.error();
    for (const archive::Event& event : page->events) print(context, event);
    shown += page->events.size();
    query->before = page->next;
    if (!page->next || shown >= args.limit) break;
  }
  if (query->before) {
    context.err << fmt::format("There are earlier ones: add --before {}\n", query->before->text());
  } else if (shown == 0) {
    context.err << "No such events.\n";
  }
  return base::ok();
}

base::Result<void> events(const EventsArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  const auto changed = args.keep ? args.keep : args.let_go;
  if (!changed) return list(args, context, **catalog);
  auto event = archive::keep_event(**catalog, *changed, args.keep.has_value());
  if (!event) return event.error();
  print(context, *event);
  return base::ok();
}

}  // namespace

void add_events_command(CLI::App& app, Context& context) {
  CLI::App* command =
      app.add_subcommand("events", "The log of events, the newest first; keep one, or let it go");
  auto args = std::make_shared<EventsArgs>();
  command->add_option("CAMERA", args->cameras, "Only of these cameras");
  command->add_option("--from", args->from, "Only those that last until after this: 2026-03-01T12:00:00Z");
  command->add_option("--to", args->to, "Only those that begin before this");
  command->add_option("--cause", args->causes, "Only of this cause; may stand several times")
      ->check(CLI::IsMember({"motion", "lighting", "view", "job"}));
  command
      ->add_option("--least-peak", args->least_peak_percent,
                   "Only those of which at least so many per cent of the picture moved at once")
      ->check(CLI::Range(0.0, 100.0));
  command->add_flag("--kept", args->kept, "Only those that are kept");
  command->add_option("--limit", args->limit, "At most so many")
      ->check(CLI::Range(1, 1'000'000))
      ->capture_default_str();
  command->add_option("--before", args->before, "Go on in the log where the last answer ended");
  auto* keep = command->add_option("--keep", args->keep,
                                   "Keep the event of this number and its recordings from retention");
  command->add_option("--let-go", args->let_go, "Let it, and its recordings, go again")->excludes(keep);
  context.add_common(*command);
  command->callback([args, &context] {
    if (auto done = events(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
