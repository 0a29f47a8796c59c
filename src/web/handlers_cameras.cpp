#include <charconv>

#include "base/printable.h"
#include "web/answers.h"
#include "web/camera_json.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/problem.h"

namespace rookery::web {
namespace json = boost::json;
using base::Error;
using base::ErrorCode;
namespace {

Response camera_answer(Call& call, const base::CameraName& name, http::status status) {
  auto view = call.station().camera(name);
  if (!view) return problem(view.error());
  Response response = json_answer(camera_json(*view, call.caller.is_owner()), status);
  if (status == http::status::created) response.set("Location", "/api/v1/cameras/" + name.text());
  return response;
}

json::value time_or_null(const std::optional<base::WallTime>& time) {
  if (!time) return nullptr;
  return json::value(base::to_rfc3339(*time));
}

// Programs are given whole addresses, as they reach the station.
std::string address_of(const Call& call, const base::CameraName& name, std::string_view kind,
                       const std::string& token) {
  return fmt::format("{}://{}/live/{}.{}?token={}", call.request.over_tls ? "https" : "http",
                     call.request.field(http::field::host), name.text(), kind, token);
}

}  // namespace

Response get_cameras(Call& call) {
  json::array out;
  for (const station::CameraView& view : call.station().cameras()) {
    if (call.caller.may_see(view.settings.name)) out.push_back(camera_json(view, call.caller.is_owner()));
  }
  return json_answer({{"cameras", std::move(out)}});
}

Response post_cameras(Call& call) {
  auto fields = Fields::parse(call.request.body, "camera settings");
  if (!fields) return problem(fields.error());
  const std::string text = fields->text("name");
  if (text.empty() && fields->has("name")) {  // say what a name is rather than that it is missing
    if (auto all = fields->finish(); !all && all.error().detail.find("\"name\"") != std::string::npos)
      return problem(all.error());
  }
  auto name = base::CameraName::parse(text);
  if (!name) {
    fields->fault(name.error());
    return problem(fields->finish().error());
  }
  camera::Settings settings(*name);
  if (auto read = read_settings(*fields, settings); !read) return problem(read.error());
  if (auto added = call.station().add(settings); !added) return problem(added.error());
  return camera_answer(call, *name, http::status::created);
}

Response get_camera(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  return camera_answer(call, *name, http::status::ok);
}

Response patch_camera(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto fields = Fields::parse(call.request.body, "camera settings");
  if (!fields) return problem(fields.error());
  auto changed = call.station().change(
      *name, [&fields](camera::Settings& settings) { return read_settings(*fields, settings); });
  if (!changed) return problem(changed.error());
  return camera_answer(call, *name, http::status::ok);
}

Response delete_camera(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  if (auto removed = call.station().remove(*name); !removed) return problem(removed.error());
  call.services.access_epoch.fetch_add(1);
  return nothing_to_say();
}

Response post_still(Call& call) {
  const std::string& body = call.request.body;
  const auto* first = reinterpret_cast<const std::byte*>(body.data());
  auto pushed = call.station().push(call.caller.token->camera, {first, first + body.size()});
  if (!pushed) return problem(pushed.error());
  return nothing_to_say();
}

Response get_tokens(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto tokens = call.station().people().list_tokens(*name);
  if (!tokens) return problem(tokens.error());
  json::array out;
  for (const archive::TokenInfo& token : *tokens) {
    out.push_back(json::object{{"id", token.id},
                               {"label", token.label},
                               {"use", archive::name_of(token.use)},
                               {"made_at", base::to_rfc3339(token.made)},
                               {"last_used_at", time_or_null(token.last_used)}});
  }
  return json_answer({{"tokens", std::move(out)}});
}

Response post_tokens(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto fields = Fields::parse(call.request.body, "token");
  if (!fields) return problem(fields.error());
  const std::string label = fields->text("label");
  const std::string use_word = fields->text("use");
  const auto use = archive::token_use_of(use_word);
  if (!use)
    fields->fault(Error(ErrorCode::invalid_value, "token",
                        fmt::format("\"use\" is \"{}\"", base::printable(use_word)),
                        "Use \"watch\", \"push\" or \"report\"."));
  if (label.size() > 100)
    fields->fault(Error(ErrorCode::invalid_value, "token",
                        fmt::format("\"label\" has {} bytes, more than 100", label.size()),
                        "Choose a shorter one."));
  if (auto all = fields->finish(); !all) return problem(all.error());
  archive::PeopleStore& people = call.station().people();
  auto token = people.new_token(*name, label, *use, call.services.wall());
  if (!token) return problem(token.error());
  return json_answer({{"id", token->id},
                      {"token", token->secret},
                      {"live_jpg", address_of(call, *name, "jpg", token->secret)},
                      {"live_mjpeg", address_of(call, *name, "mjpeg", token->secret)}},
                     http::status::created);
}

Response delete_token(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  const std::string& text = call.params[1];
  std::int64_t id = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id);
  if (error != std::errc{} || end != text.data() + text.size()) {
    return problem(Error(ErrorCode::not_found, "token",
                         fmt::format("there is no token \"{}\" of this camera", base::printable(text, 20)),
                         "GET …/tokens lists those there are."));
  }
  if (auto revoked = call.station().people().revoke_token(*name, id); !revoked)
    return problem(revoked.error());
  call.services.access_epoch.fetch_add(1);
  return nothing_to_say();
}

}  // namespace rookery::web
