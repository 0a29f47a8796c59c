#include "archive/person_name.h"
#include "web/answers.h"
#include "web/cookie.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
namespace {

// Asks both limits. A try that one of them refuses costs nothing at the other.
std::chrono::milliseconds take_tries(Services& services, const std::string& address,
                                     const std::string& name) {
  const base::MonoTime now = services.mono();
  const auto by_address = services.address_limit.take(address, now);
  if (by_address.count() > 0 || name.empty()) return by_address;
  const auto by_name = services.name_limit.take(name, now);
  if (by_name.count() > 0) services.address_limit.give_back(address, now);
  return by_name;
}

Response refused(const Error& error) {
  return problem(error,
                 error.code == ErrorCode::no_permission ? http::status::unauthorized : status_of(error.code));
}

}  // namespace

Response come_back_later(std::chrono::milliseconds wait, const char* where) {
  const auto seconds = std::chrono::ceil<std::chrono::seconds>(wait).count();
  Response response = problem(
      Error(ErrorCode::busy, where, "too many wrong tries", fmt::format("Try again in {} s.", seconds)),
      http::status::too_many_requests);
  response.set("Retry-After", std::to_string(seconds));
  return response;
}

std::string name_key(std::string_view name) { return archive::fold_case(name).substr(0, 64); }

Response signed_in(Call& call, const archive::Person& person) {
  const auto length = std::chrono::seconds(call.services.options.session_length);
  const base::WallTime now = call.services.wall();
  auto secret = call.station().people().open_session(person.id, now, now + length);
  if (!secret) return problem(secret.error());
  Response response = nothing_to_say();
  response.set("Set-Cookie", session_cookie(*secret, length, call.request.over_tls));
  return response;
}

Response post_sign_in(Call& call) {
  auto fields = Fields::parse(call.request.body, "sign-in");
  if (!fields) return problem(fields.error());
  const std::string name = fields->text("name");
  const std::string password = fields->text("password");
  if (auto all = fields->finish(); !all) return problem(all.error());
  const std::string address = limiter_key(call.request.peer);
  const auto wait = take_tries(call.services, address, name_key(name));
  if (wait.count() > 0) return come_back_later(wait, "sign-in");
  auto person = call.station().people().check_password(name, password);
  if (!person) return refused(person.error());
  call.services.address_limit.give_back(address, call.services.mono());
  call.services.name_limit.give_back(name_key(name), call.services.mono());
  return signed_in(call, *person);
}

Response post_sign_in_once(Call& call) {
  auto fields = Fields::parse(call.request.body, "one-time sign-in");
  if (!fields) return problem(fields.error());
  const std::string code = fields->text("code");
  if (auto all = fields->finish(); !all) return problem(all.error());
  const std::string address = limiter_key(call.request.peer);
  const auto wait = take_tries(call.services, address, {});
  if (wait.count() > 0) return come_back_later(wait, "sign-in");
  auto person = call.station().people().use_one_time_code(code, call.services.wall());
  if (!person) return refused(person.error());
  call.services.address_limit.give_back(address, call.services.mono());
  return signed_in(call, *person);
}

Response post_sign_out(Call& call) {
  if (auto closed = call.station().people().close_session(call.caller.session); !closed) {
    return problem(closed.error());
  }
  call.services.access_epoch.fetch_add(1);
  Response response = nothing_to_say();
  response.set("Set-Cookie", session_cookie({}, {}, call.request.over_tls));
  return response;
}

Response get_me(Call& call) {
  const archive::Person& person = *call.caller.person;
  json::object out{{"name", person.name},
                   {"role", person.role == archive::Role::owner ? "owner" : "viewer"},
                   {"cameras", nullptr}};
  if (person.cameras && !call.caller.is_owner()) {
    json::array names;
    for (const base::CameraName& name : *person.cameras) names.emplace_back(name.text());
    out["cameras"] = std::move(names);
  }
  return json_answer(out);
}

}  // namespace rookery::web
