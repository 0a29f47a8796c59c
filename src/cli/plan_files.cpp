#include "cli/plan_files.h"

#include <sys/stat.h>

#include <fmt/format.h>
#include <boost/json/array.hpp>

#include "base/file.h"
#include "base/time.h"
#include "plan/settings_file.h"
#include "plan/sheet.h"

namespace rookery::cli {
namespace {

constexpr std::size_t kMostBytes = 1 << 20;  // of a plan or a template: text that people write

using base::Error;
using base::ErrorCode;

struct Paths {
  std::filesystem::path plan;
  std::filesystem::path out;
  std::filesystem::path settings_template;
  std::string camera;
  bool replace = false;
};

// The plan, or nothing when its mistakes were told.
std::optional<plan::PlanFile> read_plan(const std::filesystem::path& path, Context& context) {
  const auto text = base::read_file(path, kMostBytes);
  if (!text) {
    context.fail(text.error());
    return std::nullopt;
  }
  std::vector<Error> errors;
  auto plan = plan::read_plan_file(*text, path.filename().string(), &errors);
  for (const Error& error : errors) context.fail(error);
  if (!plan) return std::nullopt;
  return std::move(*plan);
}

// The cameras asked for: one, or all.
base::Result<std::vector<const plan::CameraPlan*>> chosen(const plan::PlanFile& file,
                                                          const std::string& name) {
  std::vector<const plan::CameraPlan*> out;
  if (name.empty()) {
    for (const plan::CameraPlan& camera : file.cameras) out.push_back(&camera);
    return out;
  }
  const auto camera = file.find(name);
  if (!camera) return camera.error();
  out.push_back(*camera);
  return out;
}

std::string today() { return base::to_rfc3339(base::SystemClock().wall()).substr(0, 10); }

// "sheet.html" for one camera; "sheet-anvil.html" for each of several.
std::filesystem::path path_for(const std::filesystem::path& out, const std::string& name, bool several) {
  if (!several) return out;
  return out.parent_path() / fmt::format("{}-{}{}", out.stem().string(), name, out.extension().string());
}

void make_sheets(const Paths& paths, Context& context) {
  const auto file = read_plan(paths.plan, context);
  if (!file) return;
  const auto cameras = chosen(*file, paths.camera);
  if (!cameras) return context.fail(cameras.error());
  for (const plan::CameraPlan* camera : *cameras) {
    std::vector<Error> errors;
    const auto sheet = plan::make_sheet(*camera, &errors);
    for (const Error& error : errors) context.fail(error);
    if (!sheet) continue;
    boost::json::object object = plan::to_json(*sheet);
    std::string text = fmt::format("{}: {}", sheet->camera, plan::words_of(sheet->verdict()));
    if (!paths.out.empty()) {
      const auto path = path_for(paths.out, sheet->camera, cameras->size() > 1);
      if (auto written = base::write_durably(path, plan::to_html(*sheet, today()), 0644); !written) {
        return context.fail(written.error());
      }
      object["file"] = path.string();
      text += fmt::format(", written to {}", path.string());
    }
    context.print(object, text);
    if (sheet->verdict() == plan::Verdict::fails && context.exit_code == kDone)
      context.exit_code = kCheckFailed;
  }
}

// A plan with networks' keys in it that others on this computer may read is worth a word.
void warn_of_open(const std::filesystem::path& path, Context& context) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || (status.st_mode & (S_IRGRP | S_IROTH)) == 0) return;
  context.err << fmt::format(
      "rookery: {} can be read by others on this computer; if it holds keys: chmod 600 {}\n", path.string(),
      path.string());
}

std::string settings_name(const std::string& camera, const std::filesystem::path& settings_template) {
  std::filesystem::path name = settings_template.filename();
  if (name.extension() == ".mustache") name = name.stem();
  return fmt::format("{}-{}", camera, name.string());
}

base::Result<void> write_settings(const std::filesystem::path& path, const std::string& text, bool replace) {
  auto done = replace ? base::write_durably(path, text, 0600) : base::create_durably(path, text, 0600);
  if (done || done.error().code != ErrorCode::already_exists) return done;
  Error error = done.error();
  error.remedy = "--replace writes it anew";
  return error;
}

void make_settings(const Paths& paths, Context& context) {
  const auto file = read_plan(paths.plan, context);
  if (!file) return;
  const auto text = base::read_file(paths.settings_template, kMostBytes);
  if (!text) return context.fail(text.error());
  const auto cameras = chosen(*file, paths.camera);
  if (!cameras) return context.fail(cameras.error());
  warn_of_open(paths.plan, context);
  // All or nothing: a fleet of which half has settings is worse than an error.
  std::vector<std::pair<std::filesystem::path, std::string>> filled;
  for (const plan::CameraPlan* camera : *cameras) {
    auto one = plan::fill_settings(*text, *camera, paths.settings_template.filename().string());
    if (!one) {
      context.fail(one.error());
      continue;
    }
    filled.emplace_back(paths.out / settings_name(camera->name.text(), paths.settings_template),
                        std::move(*one));
  }
  if (filled.size() != cameras->size()) return;
  if (auto made = base::make_folder(paths.out); !made) return context.fail(made.error());
  boost::json::array written;
  std::string said;
  for (const auto& [path, content] : filled) {
    if (auto done = write_settings(path, content, paths.replace); !done) return context.fail(done.error());
    written.push_back(boost::json::value(path.string()));
    said += fmt::format("{}{}", said.empty() ? "" : "\n", path.string());
  }
  context.print({{"files", std::move(written)}}, said);
}

}  // namespace

void add_plan_sheet(CLI::App& plan, Context& context) {
  CLI::App* command = plan.add_subcommand(
      "sheet",
      "The build sheet of each camera of a plan file: parts, wiring, check lists, label; to be printed");
  auto paths = std::make_shared<Paths>();
  command->add_option("FILE", paths->plan, "The plan file (TOML)")->required();
  command->add_option("-o,--output", paths->out,
                      "Write it to this file (HTML); with several cameras one file each, sheet-NAME.html for "
                      "sheet.html. Without it only the verdicts are told");
  command->add_option("--camera", paths->camera, "Only this camera");
  context.add_json(*command);
  command->callback([paths, &context] { make_sheets(*paths, context); });
}

void add_plan_settings(CLI::App& plan, Context& context) {
  CLI::App* command = plan.add_subcommand("settings",
                                          "Fill your own settings template with each camera's name, network, "
                                          "key and pins; one file a camera, which only "
                                          "you can read");
  auto paths = std::make_shared<Paths>();
  command
      ->add_option("TEMPLATE", paths->settings_template,
                   "Your template (Mustache): {{name}}, and what stands under [camera.settings]. {{x}} is "
                   "made fit for a "
                   "C string; {{{x}}} is put in as it stands, for numbers and plain words")
      ->required();
  command->add_option("FILE", paths->plan, "The plan file (TOML)")->required();
  command->add_option("-o,--output", paths->out, "The folder that the files go to")->required();
  command->add_option("--camera", paths->camera, "Only this camera");
  command->add_flag("--replace", paths->replace, "Write files anew that are already there");
  context.add_json(*command);
  command->callback([paths, &context] { make_settings(*paths, context); });
}

}  // namespace rookery::cli
