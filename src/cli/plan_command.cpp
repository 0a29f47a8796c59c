// rookery plan SUBJECT [values]: one subcommand a subject, one option a field; plan/ does the sums.
#include <map>
#include <optional>

#include <fmt/format.h>
#include <boost/json/serialize.hpp>

#include "base/output_place.h"
#include "cli/cli.h"
#include "cli/plan_files.h"
#include "plan/subject.h"

namespace rookery::cli {
namespace {

struct PlanArgs {
  std::map<std::string, std::string> values;  // by the field's key
  std::optional<std::filesystem::path> drawing;
};

// Every mistake on a line of its own: who gave three wrong values wants to mend three. A value is called as
// it is typed here.
void fail_all(const plan::Subject& subject, std::vector<base::Error> errors, Context& context) {
  const std::string before = fmt::format("{}: ", subject.key);
  for (base::Error& error : errors) {
    const bool of_a_field =
        error.where.starts_with(before) &&
        std::any_of(subject.fields.begin(), subject.fields.end(),
                    [&](const plan::Field& field) { return error.where.substr(before.size()) == field.key; });
    if (of_a_field) error.where = "--" + error.where.substr(before.size());
    context.fail(error);
  }
}

void answer(const plan::Subject& subject, const PlanArgs& args, Context& context) {
  std::vector<plan::Given> given;
  for (const auto& [key, text] : args.values) given.push_back({key, text});
  std::vector<base::Error> errors;
  const auto planned = plan::plan(subject, given, &errors);
  if (!planned) return fail_all(subject, std::move(errors), context);
  if (args.drawing) {
    const auto place = base::OutputPlace::find(*args.drawing);
    if (!place) return context.fail(place.error());
    auto written = place->write(planned->answer.drawing, 0644);
    if (!written) return context.fail(written.error());
  }
  context.print(plan::to_json(planned->answer, planned->values),
                plan::to_text(planned->answer, planned->values));
  if (planned->answer.verdict() == plan::Verdict::fails) context.exit_code = kCheckFailed;
}

std::string help_of(const plan::Field& field) {
  std::string out(field.label);
  if (!field.choices.empty()) {
    std::string words;
    for (const plan::Choice& choice : field.choices) {
      words += fmt::format("{}{} ({})", words.empty() ? "" : ", ", choice.key, choice.label);
    }
    out += ": " + words;
  }
  if (!field.least.empty()) out += fmt::format(", {} to {}", field.least, field.most);
  if (!field.preset.empty()) {
    out += fmt::format(". Unless given: {}{}{}", field.preset, field.why.empty() ? "" : ", ", field.why);
  } else if (!field.must_be_given()) {
    out += fmt::format(". May be left out{}{}", field.why.empty() ? "" : "; ", field.why);
  } else {
    out += fmt::format(". Needed{}{}", field.example.empty() ? "" : ", such as ", field.example);
    if (!field.why.empty()) out += fmt::format(" ({})", field.why);
  }
  return out;
}

void add_subject(CLI::App& plan, const plan::Subject& subject, Context& context) {
  CLI::App* command = plan.add_subcommand(std::string(subject.key), std::string(subject.question));
  auto args = std::make_shared<PlanArgs>();
  for (const plan::Field& field : subject.fields) {
    command
        ->add_option_function<std::string>(
            fmt::format("--{}", field.key),
            [args, key = std::string(field.key)](const std::string& text) { args->values[key] = text; },
            help_of(field))
        ->type_name("VALUE");
  }
  command->add_option_function<std::string>(
      "--drawing", [args](const std::string& path) { args->drawing = path; },
      "Write the drawing to this file (SVG)");
  context.add_json(*command);
  command->callback([args, &subject, &context] { answer(subject, *args, context); });
}

}  // namespace

void add_plan_command(CLI::App& app, Context& context) {
  CLI::App* plan = app.add_subcommand(
      "plan",
      "The sums before the soldering iron: supply, wire, battery, radio, lens, disk; the build sheet");
  plan->require_subcommand(1);
  for (const plan::Subject& subject : plan::subjects()) add_subject(*plan, subject, context);
  add_plan_sheet(*plan, context);
  add_plan_settings(*plan, context);
}

}  // namespace rookery::cli
