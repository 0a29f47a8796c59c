// rookery person add|list|remove|password
#include <fmt/format.h>

#include <boost/json/array.hpp>
#include <iostream>

#include "archive/people_store.h"
#include "cli/cli.h"

namespace rookery::cli {
namespace {

struct PersonArgs {
  std::string name;
  std::string role = "viewer";
  bool password_stdin = false;
  std::vector<std::string> cameras;
};

// The first line of standard input, without its line break. A password is never an argument: those show in
// process lists.
base::Result<std::string> read_password(const PersonArgs& args, std::istream& in) {
  if (!args.password_stdin) {
    return base::Error(
        base::ErrorCode::invalid_value, "password", "how to read the password was not said",
        "Give --password-stdin and pipe the password in: printf '%s' \"$PASSWORD\" | rookery person …");
  }
  std::string line;
  std::getline(in, line);
  if (!line.empty() && line.back() == '\r') line.pop_back();
  return line;
}

base::Result<std::optional<std::set<base::CameraName>>> parse_cameras(const std::vector<std::string>& words) {
  if (words.empty()) return std::optional<std::set<base::CameraName>>();
  std::set<base::CameraName> names;
  for (const std::string& word : words) {
    auto name = base::CameraName::parse(word);
    if (!name) return name.error();
    names.insert(*name);
  }
  return std::optional(std::move(names));
}

boost::json::object to_json(const archive::Person& person) {
  boost::json::object object;
  object["name"] = person.name;
  object["role"] = person.role == archive::Role::owner ? "owner" : "viewer";
  object["cameras"] = nullptr;
  if (person.cameras) {
    boost::json::array names;
    for (const auto& camera : *person.cameras) names.emplace_back(camera.text());
    object["cameras"] = std::move(names);
  }
  return object;
}

std::string to_text(const archive::Person& person) {
  std::string cameras = "all cameras";
  if (person.cameras) {
    cameras.clear();
    for (const auto& camera : *person.cameras) cameras += (cameras.empty() ? "" : ", ") + camera.text();
  }
  return fmt::format("{:<20} {:<7} {}", person.name, person.role == archive::Role::owner ? "owner" : "viewer",
                     cameras);
}

base::Result<void> add_person(const PersonArgs& args, Context& context) {
  auto cameras = parse_cameras(args.cameras);
  if (!cameras) return cameras.error();
  auto password = read_password(args, context.in);
  if (!password) return password.error();
  auto catalog = open_or_make_home(context);
  if (!catalog) return catalog.error();
  archive::PeopleStore people(**catalog);
  const auto role = args.role == "owner" ? archive::Role::owner : archive::Role::viewer;
  auto person = people.add(args.name, role, *password, std::move(*cameras));
  if (!person) return person.error();
  context.print(to_json(*person), fmt::format("{} can sign in now as {}.", person->name, args.role));
  return base::ok();
}

base::Result<void> list_people(Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  auto list = archive::PeopleStore(**catalog).list();
  if (!list) return list.error();
  for (const auto& person : *list) context.print(to_json(person), to_text(person));
  if (list->empty() && !context.json)
    context.out << "No one yet. `rookery person add NAME --role owner --password-stdin` adds the first.\n";
  return base::ok();
}

base::Result<void> remove_person(const PersonArgs& args, Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  if (auto removed = archive::PeopleStore(**catalog).remove(args.name); !removed) return removed;
  context.print({{"removed", args.name}},
                fmt::format("{} was removed and is signed out everywhere.", args.name));
  return base::ok();
}

base::Result<void> set_password(const PersonArgs& args, Context& context) {
  auto password = read_password(args, context.in);
  if (!password) return password.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  if (auto set = archive::PeopleStore(**catalog).set_password(args.name, *password); !set) return set;
  context.print({{"name", args.name}}, fmt::format("{} has a new password.", args.name));
  return base::ok();
}

}  // namespace

void add_person_command(CLI::App& app, Context& context) {
  CLI::App* person = app.add_subcommand("person", "Who may sign in");
  person->require_subcommand(1);
  auto args = std::make_shared<PersonArgs>();

  CLI::App* add =
      person->add_subcommand("add", "Let someone sign in; the first one makes a home that is not there");
  add->add_option("NAME", args->name, "The name to sign in with")->required();
  add->add_option("--role", args->role, "owner: sees and sets everything; viewer: watches")
      ->check(CLI::IsMember({"owner", "viewer"}))
      ->capture_default_str();
  add->add_option("--camera", args->cameras,
                  "A camera that a viewer may see; give it again for more. Without it: all");
  add->add_flag("--password-stdin", args->password_stdin,
                "Read the password (8 bytes or more) from standard input");
  context.add_common(*add);
  add->callback([args, &context] {
    if (auto done = add_person(*args, context); !done) context.fail(done.error());
  });

  CLI::App* list = person->add_subcommand("list", "Who there is");
  context.add_common(*list);
  list->callback([&context] {
    if (auto done = list_people(context); !done) context.fail(done.error());
  });

  CLI::App* remove = person->add_subcommand("remove", "Let someone sign in no more");
  remove->add_option("NAME", args->name, "Who")->required();
  context.add_common(*remove);
  remove->callback([args, &context] {
    if (auto done = remove_person(*args, context); !done) context.fail(done.error());
  });

  CLI::App* password = person->add_subcommand("password", "Give someone a new password");
  password->add_option("NAME", args->name, "Who")->required();
  password->add_flag("--password-stdin", args->password_stdin,
                     "Read the password (8 bytes or more) from standard input");
  context.add_common(*password);
  password->callback([args, &context] {
    if (auto done = set_password(*args, context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
