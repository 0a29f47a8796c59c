#include "web/access.h"

#include "base/printable.h"
#include "web/cookie.h"
#include "web/problem.h"

namespace rookery::web {
namespace {

using archive::TokenUse;
using base::Error;
using base::ErrorCode;

Response token_refused() {
  Response response =
      problem(Error(ErrorCode::no_permission, "token",
                    "this token does not open this address (wrong, revoked, or for another use)",
                    "Make a new token on the camera's page or with `rookery token new`."),
              http::status::unauthorized);
  response.set("WWW-Authenticate", "Bearer");
  return response;
}

Response only_owners() {
  return problem(
      Error(ErrorCode::no_permission, "sign-in", "only an owner may do this", "Sign in as an owner."),
      http::status::forbidden);
}

Response wrong_origin() {
  return problem(Error(ErrorCode::no_permission, "request",
                       "the browser does not say that the station's own page sent this",
                       "Use the station's page; programs send the Origin of the station's own address."),
                 http::status::forbidden);
}

bool changes_something(http::verb method) { return method != http::verb::get && method != http::verb::head; }

// "Bearer TOKEN" (RFC 6750, 2.1; the scheme in any case)
std::string bearer_of(const Request& request) {
  const std::string_view field = request.field(http::field::authorization);
  constexpr std::string_view kScheme = "bearer ";
  if (field.size() <= kScheme.size()) return {};
  const std::string_view scheme = field.substr(0, kScheme.size());
  if (!boost::beast::iequals({scheme.data(), scheme.size()}, {kScheme.data(), kScheme.size()})) return {};
  return std::string(field.substr(kScheme.size()));
}

std::string token_of(const Request& request) {
  std::string token = bearer_of(request);
  if (token.empty()) token = request.query_value("token").value_or("");
  return token;
}

std::variant<Caller, Response> by_session(Services& services, Need need, const Request& request) {
  Caller caller;
  caller.session = session_in(request.field(http::field::cookie));
  if (caller.session.empty()) return not_signed_in();
  auto person = services.station.people().find_session(caller.session, services.wall());
  if (!person) {
    if (person.error().code == ErrorCode::no_permission) return not_signed_in();
    return problem(person.error());
  }
  caller.person = std::move(*person);
  if ((need == Need::owner || need == Need::metrics) && !caller.is_owner()) return only_owners();
  if (changes_something(request.method) && !is_same_origin(request)) return wrong_origin();
  return caller;
}

Response come_back_later(std::chrono::milliseconds wait) {
  const auto seconds = std::chrono::ceil<std::chrono::seconds>(wait).count();
  Response response = problem(Error(ErrorCode::busy, "token", "too many wrong tokens came from this address",
                                    fmt::format("Try again in {} s, with a token that is right.", seconds)),
                              http::status::too_many_requests);
  response.set("Retry-After", std::to_string(seconds));
  return response;
}

// camera: none for any. Which camera's token a wrong one might be, nobody says.
std::variant<Caller, Response> by_token(Services& services, const Request& request, const std::string& token,
                                        const std::optional<base::CameraName>& camera, TokenUse use) {
  auto verdict = services.tokens.look_at(token, camera, use, request.peer);
  if (verdict.wait.count() > 0) return come_back_later(verdict.wait);
  if (verdict.failure) return problem(*verdict.failure);
  if (!verdict.token) return token_refused();
  Caller caller;
  caller.token = std::move(*verdict.token);
  caller.token_secret = token;
  return caller;
}

std::variant<Caller, Response> by_token_of(Services& services, const Request& request,
                                           const std::string& token, const std::string& camera,
                                           TokenUse use) {
  const auto name = base::CameraName::parse(camera);
  if (!name) return token_refused();
  return by_token(services, request, token, *name, use);
}

}  // namespace

Response not_signed_in() {
  return problem(
      Error(ErrorCode::no_permission, "sign-in", "nobody is signed in here, or the sign-in has ended",
            "Sign in on the station's page; programs add ?token=… to a /live/ address."),
      http::status::unauthorized);
}

std::variant<Caller, Response> authorise(Services& services, Need need, const Request& request,
                                         const std::vector<std::string>& params) {
  switch (need) {
    case Need::nothing:
      // No cookie is asked for here, yet a sign-in that another site's form brings would be someone else's.
      if (changes_something(request.method) && is_cross_site(request)) return wrong_origin();
      return Caller{};
    case Need::viewer:
    case Need::owner:
      return by_session(services, need, request);
    case Need::watch: {
      const std::string token = token_of(request);
      if (!token.empty()) return by_token_of(services, request, token, params.front(), TokenUse::watch);
      return by_session(services, need, request);
    }
    case Need::push:
    case Need::report: {
      const std::string token = token_of(request);
      if (token.empty()) return not_signed_in();
      return by_token_of(services, request, token, params.front(),
                         need == Need::push ? TokenUse::push : TokenUse::report);
    }
    case Need::metrics: {
      const std::string token = bearer_of(request);
      if (!token.empty()) return by_token(services, request, token, std::nullopt, TokenUse::watch);
      return by_session(services, need, request);
    }
  }
  return not_signed_in();
}

bool still_signed_in(Services& services, Caller& caller) {
  auto person = services.station.people().find_session(caller.session, services.wall());
  // A catalog that cannot be read just now is no reason to throw people out; a refusal is.
  if (!person) return person.error().code != ErrorCode::no_permission;
  caller.person = std::move(*person);
  return true;
}

bool still_allowed(Services& services, Caller& caller, const base::CameraName& camera) {
  if (caller.token) {
    auto info = services.station.people().check_token(camera, caller.token_secret, caller.token->use,
                                                      services.wall());
    return info ||
           (info.error().code != ErrorCode::no_permission && info.error().code != ErrorCode::not_found);
  }
  return still_signed_in(services, caller) && caller.may_see(camera);
}

base::Error no_such_camera(std::string_view name) {
  return Error(ErrorCode::not_found, "camera",
               fmt::format("there is no camera \"{}\"", base::printable(name, 64)),
               "GET /api/v1/cameras lists the cameras that you may see.");
}

base::Result<base::CameraName> visible_camera(const Call& call, const std::string& text) {
  auto name = base::CameraName::parse(text);
  if (!name || !call.caller.may_see(*name)) return no_such_camera(text);
  if (!call.station().knows(*name)) return no_such_camera(text);
  return name;
}

base::Result<base::CameraName> visible_camera(const Call& call) {
  return visible_camera(call, call.params.front());
}

}  // namespace rookery::web
