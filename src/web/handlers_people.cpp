#include "archive/person_name.h"
#include "base/printable.h"
#include "web/answers.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
namespace {

using Grants = std::optional<std::set<base::CameraName>>;

json::object person_json(const archive::Person& person) {
  json::object out{{"name", person.name},
                   {"role", person.role == archive::Role::owner ? "owner" : "viewer"},
                   {"cameras", nullptr}};
  if (person.cameras) {
    json::array names;
    for (const base::CameraName& name : *person.cameras) names.emplace_back(name.text());
    out["cameras"] = std::move(names);
  }
  return out;
}

// The member "cameras": outer nothing when it does not stand there. Faults (no such camera) go to `fields`.
std::optional<Grants> read_grants(Fields& fields, station::Station& station) {
  auto names = fields.maybe_names_or_null("cameras");
  if (!names) return std::nullopt;
  if (!*names) return Grants{};
  std::set<base::CameraName> out;
  for (const std::string& text : **names) {
    auto name = base::CameraName::parse(text);
    if (!name || !station.camera(*name)) {
      fields.fault(Error(
          ErrorCode::invalid_value, "person",
          fmt::format("\"cameras\" names \"{}\", and there is no such camera", base::printable(text, 64)),
          "GET /api/v1/cameras lists those there are."));
      return std::nullopt;
    }
    out.insert(std::move(*name));
  }
  return Grants{std::move(out)};
}

}  // namespace

Response get_people(Call& call) {
  auto people = call.station().people().list();
  if (!people) return problem(people.error());
  json::array out;
  for (const archive::Person& person : *people) out.push_back(person_json(person));
  return json_answer({{"people", std::move(out)}});
}

Response post_people(Call& call) {
  auto fields = Fields::parse(call.request.body, "person");
  if (!fields) return problem(fields.error());
  const std::string name = fields->text("name");
  const std::string role = fields->text("role");
  const std::string password = fields->text("password");
  auto grants = read_grants(*fields, call.station());
  if (role != "owner" && role != "viewer") {
    fields->fault(Error(ErrorCode::invalid_value, "person",
                        fmt::format("\"role\" is \"{}\"", base::printable(role, 40)),
                        "Use \"owner\" or \"viewer\"."));
  }
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto person =
      call.station().people().add(name, role == "owner" ? archive::Role::owner : archive::Role::viewer,
                                  password, std::move(grants).value_or(Grants{}));
  if (!person) return problem(person.error());
  return json_answer(person_json(*person), http::status::created);
}

// An owner changes anyone; everyone changes their own password and proves to know the old one.
Response patch_person(Call& call) {
  const std::string& name = call.params.front();
  const archive::Person& asking = *call.caller.person;
  const bool own = archive::fold_case(name) == archive::fold_case(asking.name);
  if (!call.caller.is_owner() && !own) {
    return problem(Error(ErrorCode::no_permission, "person", "only an owner may change other people",
                         "Ask an owner of the station."));
  }
  auto fields = Fields::parse(call.request.body, "person");
  if (!fields) return problem(fields.error());
  auto password = fields->maybe_text("password");
  auto old_password = fields->maybe_text("old_password");
  std::optional<Grants> grants;
  if (call.caller.is_owner()) grants = read_grants(*fields, call.station());
  if (auto all = fields->finish(); !all) return problem(all.error());
  archive::PeopleStore& people = call.station().people();
  if (password && own) {
    if (!old_password) {
      return problem(Error(ErrorCode::invalid_value, "person", "\"old_password\" is missing",
                           "Whoever changes their own password gives the old one as well."));
    }
    const std::string key = "own " + name_key(name);
    const auto wait = call.services.name_limit.take(key, call.services.mono());
    if (wait.count() > 0) {
      return come_back_later(wait, "person");
    }
    if (auto known = people.check_password(name, *old_password); !known) {
      if (known.error().code != ErrorCode::no_permission) return problem(known.error());
      return problem(Error(ErrorCode::no_permission, "person", "the old password is not right",
                           "Type the password with which you signed in; an owner can set a new one."));
    }
    call.services.name_limit.give_back(key, call.services.mono());
  }
  if (password) {
    if (auto set = people.set_password(name, *password); !set) return problem(set.error());
  }
  if (grants) {
    if (auto set = people.set_cameras(name, std::move(*grants)); !set) return problem(set.error());
  }
  call.services.access_epoch.fetch_add(1);
  // A new password ends all sessions of that person; whoever changed their own stays signed in by a new one.
  if (password && own) return signed_in(call, asking);
  return nothing_to_say();
}

Response delete_person(Call& call) {
  if (auto removed = call.station().people().remove(call.params.front()); !removed) {
    return problem(removed.error());
  }
  call.services.access_epoch.fetch_add(1);
  return nothing_to_say();
}

}  // namespace rookery::web
