// rookery job start NAME … | end NAME … | list [NAME…] | show ID | judge ID … | forget ID | settings NAME …
#include <fmt/format.h>

#include <boost/json/array.hpp>

#include "archive/job_store.h"
#include "base/printable.h"
#include "cli/cli.h"
#include "cli/job_settings_command.h"
#include "plan/unit_text.h"

namespace rookery::cli {

using archive::Job;
using archive::JobStore;
using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

struct JobArgs {
  std::string camera, label, note, length, ending = "ended", judgement, before;
  std::vector<std::string> cameras;
  std::int64_t id = 0;
  std::size_t limit = 50;
  bool under_way = false;
};

base::WallTime now() { return base::SystemClock().wall(); }

std::string length_text(std::chrono::duration<double> length) {
  return plan::show_value(length.count(), plan::Kind::duration, 2);
}

std::string line_of(const Job& job) {
  const auto lasted = job.end.value_or(now()) - job.start;
  std::string state = job.under_way() ? "under way" : std::string(name_of(*job.ending));
  if (job.good) state += *job.good ? ", good" : ", bad";
  return fmt::format("{:>6}  {}  {:<16} {:>8}  {:<16} {}", job.id, base::to_rfc3339(job.start),
                     job.camera.text(), length_text(lasted), state, base::printable(job.label, 64));
}

std::string line_of(const archive::JobStep& step) {
  std::string text = fmt::format("{}  {:<9}", base::to_rfc3339(step.at), name_of(step.voice));
  text += step.over ? " no longer: " : " ";
  text += archive::words_for_step(step.what);
  if (vision::job_sign_named(step.what) && !step.over && !step.sure) text += " (not sure: have a look)";
  if (!step.note.empty()) text += ": " + base::printable(step.note, JobStore::kMostNote);
  return text;
}

Result<std::optional<std::chrono::seconds>> length_of(const std::string& text) {
  if (text.empty()) return std::optional<std::chrono::seconds>{};
  auto seconds = plan::read_value(text, plan::Kind::duration, "--length", "90 min, 4 h, 2 d");
  if (!seconds) return seconds.error();
  if (!(*seconds >= 60 && *seconds <= 31 * 86'400.0))
    return Error(ErrorCode::invalid_value, "--length", fmt::format("{} is no length of a job", text),
                 "Give 1 min to 31 d.");
  return std::optional(std::chrono::seconds(std::llround(*seconds)));
}

Result<void> start(const JobArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto length = length_of(args.length);
  if (!length) return length.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  JobStore store(**catalog);
  auto settings = store.settings(*camera);
  if (!settings) return settings.error();
  Job job(*camera);
  job.label = args.label;
  job.start = now();
  job.expected = *length ? *length : settings->expected;
  auto started = store.start(job, args.note);
  if (!started) return started.error();
  context.print(job_json(*started), fmt::format("Job {} of {} began.", started->id, camera->text()));
  return base::ok();
}

Result<void> end(const JobArgs& args, Context& context) {
  auto camera = base::CameraName::parse(args.camera);
  if (!camera) return camera.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  JobStore store(**catalog);
  auto job = store.under_way(*camera);
  if (!job) return job.error();
  if (!*job) {
    return Error(ErrorCode::not_found, camera->text(), "it has no job under way",
                 "`rookery job list` shows those there were.");
  }
  auto ended = store.end(
      (*job)->id, {now(), archive::job_ending_of(args.ending).value(), archive::JobVoice::hand, args.note});
  if (!ended) return ended.error();
  context.print(job_json(*ended),
                fmt::format("Job {} is over after {}: {}.", ended->id,
                            length_text(*ended->end - ended->start), name_of(*ended->ending)));
  return base::ok();
}

Result<void> list(const JobArgs& args, Context& context) {
  archive::JobQuery query;
  for (const std::string& text : args.cameras) {
    auto name = base::CameraName::parse(text);
    if (!name) return name.error();
    if (!query.cameras) query.cameras.emplace();
    query.cameras->push_back(std::move(*name));
  }
  if (args.under_way) query.under_way = true;
  query.limit = args.limit;
  if (!args.before.empty()) {
    auto before = archive::EventCursor::parse(args.before);
    if (!before) return before.error();
    query.before = *before;
  }
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto page = JobStore(**catalog).page(query);
  if (!page) return page.error();
  for (const Job& job : page->jobs) context.print(job_json(job), line_of(job));
  if (page->jobs.empty() && !context.json) context.out << "No jobs. `rookery job start NAME` begins one.\n";
  if (page->next && !context.json)
    context.err << fmt::format("There are more: --before {}\n", page->next->text());
  return base::ok();
}

Result<void> show(const JobArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  const JobStore store(**catalog);
  auto job = store.find(args.id);
  if (!job) return job.error();
  auto steps = store.steps(args.id);
  if (!steps) return steps.error();
  boost::json::object object = job_json(*job);
  boost::json::array list;
  std::string text = line_of(*job);
  for (const archive::JobStep& step : *steps) {
    list.push_back(job_step_json(step));
    text += "\n        " + line_of(step);
  }
  object["steps"] = std::move(list);
  context.print(object, text);
  return base::ok();
}

Result<void> judge(const JobArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  std::optional<bool> good;
  if (args.judgement != "none") good = args.judgement == "good";
  auto job = JobStore(**catalog).judge(args.id, good);
  if (!job) return job.error();
  context.print(job_json(*job), line_of(*job));
  return base::ok();
}

Result<void> forget(const JobArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  if (auto removed = JobStore(**catalog).remove(args.id); !removed) return removed;
  context.print({{"forgotten", args.id}}, fmt::format("Job {} is forgotten.", args.id));
  return base::ok();
}

}  // namespace

void add_job_command(CLI::App& app, Context& context) {
  CLI::App* job = app.add_subcommand("job", "What cameras film: begin it, end it, look what was told of it");
  job->require_subcommand(1);
  auto args = std::make_shared<JobArgs>();
  const auto command = [&](const char* name, const char* what,
                           Result<void> (*run)(const JobArgs&, Context&)) {
    CLI::App* made = job->add_subcommand(name, what);
    context.add_common(*made);
    made->callback([args, &context, run] {
      if (auto done = run(*args, context); !done) context.fail(done.error());
    });
    return made;
  };
  CLI::App* begin = command("start", "Begin a job", start);
  begin->add_option("CAMERA", args->camera, "The camera that films it")->required();
  begin->add_option("--label", args->label, "What is made, for people");
  begin->add_option("--length", args->length, "How long it takes: 90 min, 4 h");
  begin->add_option("--note", args->note, "Anything to remember");
  CLI::App* over = command("end", "End the job of a camera", end);
  over->add_option("CAMERA", args->camera, "The camera that films it")->required();
  over->add_option("--as", args->ending, "finished, failed, or ended: nobody says how")
      ->check(CLI::IsMember({"finished", "failed", "ended"}))
      ->capture_default_str();
  over->add_option("--note", args->note, "Anything to remember");
  CLI::App* all = command("list", "Jobs, the newest first", list);
  all->add_option("CAMERA", args->cameras, "Only of these cameras");
  all->add_flag("--under-way", args->under_way, "Only those that are not over");
  all->add_option("--limit", args->limit, "At most so many, 1 to 500")
      ->check(CLI::Range(1, 500))
      ->capture_default_str();
  all->add_option("--before", args->before, "Go on where the answer before ended");
  for (CLI::App* one :
       {command("show", "A job and its steps", show),
        command("judge", "Say whether a job was good: later ones are compared with it", judge),
        command("forget", "Forget a job that is over; its pictures stay", forget)})
    one->add_option("ID", args->id, "The number that `job list` shows")->required();
  job->get_subcommand("judge")
      ->add_option("JUDGEMENT", args->judgement, "good, bad or none")
      ->required()
      ->check(CLI::IsMember({"good", "bad", "none"}));
  add_job_settings_command(*job, context);
}

}  // namespace rookery::cli
