#include "cli/plan_files.h"

#include <sys/stat.h>

#include <map>
#include <optional>

#include <fmt/format.h>
#include <boost/json/array.hpp>

#include "base/file.h"
#include "base/output_place.h"
#include "base/printable.h"
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
  std::optional<std::filesystem::path> out;
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
  auto plan = plan::read_plan_file(*text, base::printable(path.filename().string()), &errors);
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

// A path as text that a terminal and JSON take.
std::string shown(const std::filesystem::path& path) { return base::printable_lines(path.string()); }

// Where each of the cameras' files goes: looked at before any is written. Two that lead to one file would
// leave only the second.
base::Result<std::vector<base::OutputPlace>> find_places(const std::vector<std::filesystem::path>& wanted,
                                                         const std::vector<std::filesystem::path>& inputs) {
  std::vector<base::OutputPlace> out;
  std::map<std::filesystem::path, std::filesystem::path> taken;
  for (const std::filesystem::path& path : wanted) {
    auto place = base::OutputPlace::find(path, inputs);
    if (!place) return place.error();
    std::error_code failure;
    const auto target = std::filesystem::weakly_canonical(place->target(), failure);
    const auto [at, is_new] = taken.emplace(failure ? place->target() : target, path);
    if (!is_new && !place->in_place()) {
      return Error(ErrorCode::invalid_value, "output",
                   fmt::format("{} and {} are one file", at->second.string(), path.string()),
                   "Take the link away.");
    }
    out.push_back(std::move(*place));
  }
  return out;
}

// One place a camera: files of their own, but a pipe or a device takes them all.
base::Result<std::vector<base::OutputPlace>> sheet_places(
    const Paths& paths, const std::vector<const plan::CameraPlan*>& cameras) {
  const auto named = base::OutputPlace::find(*paths.out, std::vector{paths.plan});
  if (!named) return named.error();
  std::vector<std::filesystem::path> wanted;
  for (const plan::CameraPlan* camera : cameras) {
    const bool own = cameras.size() > 1 && !named->in_place();
    wanted.push_back(path_for(*paths.out, camera->name.text(), own));
  }
  return find_places(wanted, {paths.plan});
}

void make_sheets(const Paths& paths, Context& context) {
  const auto file = read_plan(paths.plan, context);
  if (!file) return;
  const auto cameras = chosen(*file, paths.camera);
  if (!cameras) return context.fail(cameras.error());
  std::vector<base::OutputPlace> places;
  if (paths.out) {
    auto found = sheet_places(paths, *cameras);
    if (!found) return context.fail(found.error());
    places = std::move(*found);
  }
  for (std::size_t i = 0; i < cameras->size(); ++i) {
    std::vector<Error> errors;
    const auto sheet = plan::make_sheet(*(*cameras)[i], &errors);
    for (const Error& error : errors) context.fail(error);
    if (!sheet) continue;
    boost::json::object object = plan::to_json(*sheet);
    std::string text = fmt::format("{}: {}", sheet->camera, plan::words_of(sheet->verdict()));
    if (!places.empty()) {
      auto written = places[i].write(plan::to_html(*sheet, today()), 0644);
      if (!written) return context.fail(written.error());
      object["file"] = shown(places[i].asked());
      text += fmt::format(", written to {}", shown(places[i].asked()));
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
      "rookery: {} can be read by others on this computer; if it holds keys: chmod 600 {}\n", shown(path),
      shown(path));
}

std::string settings_name(const std::string& camera, const std::filesystem::path& settings_template) {
  std::filesystem::path name = settings_template.filename();
  if (name.extension() == ".mustache") name = name.stem();
  return fmt::format("{}-{}", camera, name.string());
}

struct Filled {
  base::OutputPlace place;
  std::string content;
};

base::Result<void> refuse_those_there(const std::vector<Filled>& files) {
  std::string there;
  for (const Filled& file : files) {
    if (file.place.exists())
      there += fmt::format("{}{}", there.empty() ? "" : ", ", file.place.asked().string());
  }
  if (there.empty()) return base::ok();
  return Error(ErrorCode::already_exists, "settings", there + ": there already, so nothing was written",
               "--replace writes anew what is there.");
}

// All or nothing: a fleet of which half has settings is worse than an error. What can fail for want of space
// or rights is done before the first file gets its name.
base::Result<void> write_settings(const std::vector<Filled>& files, bool replace) {
  if (!replace) {
    if (auto free = refuse_those_there(files); !free) return free;
  }
  std::vector<base::StagedFile> staged;
  for (const Filled& file : files) {
    if (file.place.in_place()) continue;
    auto one = base::StagedFile::write(file.place.target(), file.content, 0600);
    if (!one) return one.error();
    staged.push_back(std::move(*one));
  }
  std::vector<std::filesystem::path> made;
  std::size_t next = 0;
  for (const Filled& file : files) {
    base::Result<void> done = file.place.in_place() ? file.place.write(file.content, 0600)
                              : replace             ? staged[next++].replace()
                                                    : staged[next++].create();
    if (!done) {
      // Somebody else made one of the names just now: ours go again.
      for (const std::filesystem::path& path : made) std::filesystem::remove(path);
      return done;
    }
    if (!replace) made.push_back(file.place.target());
  }
  return base::ok();
}

// Every camera's file, or nothing when a mistake was told.
std::optional<std::vector<Filled>> fill(const Paths& paths, std::string_view settings_template,
                                        const std::vector<const plan::CameraPlan*>& cameras,
                                        Context& context) {
  std::vector<std::string> contents;
  std::vector<std::filesystem::path> wanted;
  const std::string name = base::printable(paths.settings_template.filename().string());
  for (const plan::CameraPlan* camera : cameras) {
    std::vector<std::string> empty;
    auto one = plan::fill_settings(settings_template, *camera, name, &empty);
    if (!one) {
      context.fail(one.error());
      continue;
    }
    for (const std::string& key : empty)
      context.err << fmt::format("rookery: {}: {} is empty in {}\n", camera->name.text(), key, name);
    wanted.push_back(*paths.out / settings_name(camera->name.text(), paths.settings_template));
    contents.push_back(std::move(*one));
  }
  if (contents.size() != cameras.size()) return std::nullopt;
  auto places = find_places(wanted, {paths.plan, paths.settings_template});
  if (!places) {
    context.fail(places.error());
    return std::nullopt;
  }
  std::vector<Filled> out;
  for (std::size_t i = 0; i < contents.size(); ++i)
    out.push_back({std::move((*places)[i]), std::move(contents[i])});
  return out;
}

void make_settings(const Paths& paths, Context& context) {
  const auto file = read_plan(paths.plan, context);
  if (!file) return;
  const auto text = base::read_file(paths.settings_template, kMostBytes);
  if (!text) return context.fail(text.error());
  const auto cameras = chosen(*file, paths.camera);
  if (!cameras) return context.fail(cameras.error());
  if (paths.out->empty()) {
    return context.fail(Error(ErrorCode::invalid_value, "output", "\"\" is no folder's name",
                              "Name the folder that the files go to, such as settings."));
  }
  warn_of_open(paths.plan, context);
  const auto filled = fill(paths, *text, *cameras, context);
  if (!filled) return;
  if (auto made = base::make_folder(*paths.out); !made) return context.fail(made.error());
  if (auto done = write_settings(*filled, paths.replace); !done) return context.fail(done.error());
  boost::json::array written;
  std::string said;
  for (const Filled& one : *filled) {
    const std::string path = shown(one.place.asked());
    written.push_back(boost::json::value(path));
    said += fmt::format("{}{}", said.empty() ? "" : "\n", path);
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
  command->add_option_function<std::string>(
      "-o,--output", [paths](const std::string& path) { paths->out = path; },
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
  command
      ->add_option_function<std::string>(
          "-o,--output", [paths](const std::string& path) { paths->out = path; },
          "The folder that the files go to")
      ->required();
  command->add_option("--camera", paths->camera, "Only this camera");
  command->add_flag("--replace", paths->replace, "Write files anew that are already there");
  context.add_json(*command);
  command->callback([paths, &context] { make_settings(*paths, context); });
}

}  // namespace rookery::cli
