#include "web/camera_json.h"

#include "archive/event_json.h"
#include "base/printable.h"
#include "jpeg/walk.h"

namespace rookery::web {
namespace json = boost::json;
namespace {

std::string_view plain_words(base::ErrorCode code) {
  using enum base::ErrorCode;
  switch (code) {
    case unreachable:
    case refused:
      return "The board does not answer.";
    case timed_out:
      return "The board did not answer in time.";
    case closed:
      return "The board ended the connection.";
    case malformed:
    case too_large:
    case unsupported:
      return "The board sends something that is no picture.";
    case no_permission:
      return "The board does not accept the station's sign-in.";
    default:
      return "The board cannot be watched at the moment.";
  }
}

json::value time_or_null(const std::optional<base::WallTime>& time) {
  if (!time) return nullptr;
  return json::value(base::to_rfc3339(*time));
}

json::object counters_json(const camera::Counters& counters) {
  json::object rejected;
  for (int kind = 0; kind < jpeg::kBrokenKinds; ++kind) {
    rejected[jpeg::name_of(static_cast<jpeg::BrokenKind>(kind))] =
        counters.rejected[static_cast<std::size_t>(kind)];
  }
  return {{"received", counters.received},   {"published", counters.published},
          {"rejected", std::move(rejected)}, {"rejected_parts", counters.rejected_parts},
          {"bytes", counters.bytes},         {"connects", counters.connects},
          {"lost", counters.lost},           {"dropouts", counters.dropouts}};
}

}  // namespace

json::object status_json(const station::CameraView& view, bool for_owner) {
  const camera::Status& status = view.status;
  json::value last_error = nullptr;
  if (status.last_error) {
    const base::Error& error = *status.last_error;
    last_error = json::object{{"code", base::name_of(error.code)},
                              {"text", for_owner ? error.text() : std::string(plain_words(error.code))}};
  }
  json::value event = nullptr;
  if (view.event) event = archive::event_json(*view.event);
  return {
      {"name", view.settings.name.text()},
      {"event", std::move(event)},
      {"events_ended", view.events_ended},
      {"pre_roll", json::object{{"frames", view.pre_roll.frames},
                                {"bytes", view.pre_roll.bytes},
                                {"most_bytes", view.pre_roll.most_bytes},
                                {"seconds", std::chrono::duration<double>(view.pre_roll.covers).count()}}},
      {"state", camera::name_of(status.state)},
      {"since", base::to_rfc3339(status.since)},
      {"retry_at", time_or_null(status.retry_at)},
      {"last_error", std::move(last_error)},
      {"last_frame_at", time_or_null(status.last_frame_at)},
      {"frames_per_s", status.frames_per_s},
      {"bytes_per_s", status.bytes_per_s},
      {"width_px", status.size.width_px},
      {"height_px", status.size.height_px},
      {"viewers", view.viewers},
      {"viewers_skipped", view.viewers_skipped},
      {"counters", counters_json(status.counters)},
      {"recorder", json::object{{"taken", view.recorder.taken},
                                {"written", view.recorder.written},
                                {"lost", view.recorder.lost},
                                {"queued", view.recorder.queued},
                                {"bytes_written", view.recorder.bytes_written}}}};
}

json::object camera_json(const station::CameraView& view, bool for_owner) {
  const camera::Settings& settings = view.settings;
  json::object out{{"name", settings.name.text()},
                   {"title", settings.title},
                   {"source", camera::name_of(settings.source)},
                   {"poll_every_ms", settings.poll_every.count()},
                   {"enabled", settings.enabled},
                   {"record", camera::name_of(settings.record)},
                   {"pre_roll_ms", settings.pre_roll.count()},
                   {"post_roll_ms", settings.post_roll.count()},
                   {"sensitivity", settings.sensitivity.step},
                   {"mask", nullptr},
                   {"keep_for_h", nullptr},
                   {"keep_bytes", nullptr}};
  if (!settings.mask.empty()) out["mask"] = settings.mask.text();
  if (settings.keep_for) out["keep_for_h"] = settings.keep_for->count();
  if (settings.keep_bytes) out["keep_bytes"] = *settings.keep_bytes;
  if (for_owner) {
    out["stream_address"] = settings.stream_address;
    out["still_address"] = settings.still_address;
    out["user"] = settings.user;
    out["has_password"] = !settings.password.empty();
  }
  out["status"] = status_json(view, for_owner);
  return out;
}

namespace {

void read_motion_settings(Fields& fields, camera::Settings& settings) {
  if (auto word = fields.maybe_text("record")) {
    if (const auto known = camera::record_of(*word)) {
      settings.record = *known;
    } else {
      fields.fault(base::Error(base::ErrorCode::invalid_value, "camera settings",
                               fmt::format("\"record\" is \"{}\"", base::printable(*word, 40)),
                               "Use \"always\", \"events\" or \"never\"."));
    }
  }
  if (auto ms = fields.maybe_integer("pre_roll_ms", 0, 30'000))
    settings.pre_roll = std::chrono::milliseconds{*ms};
  if (auto ms = fields.maybe_integer("post_roll_ms", 0, 120'000))
    settings.post_roll = std::chrono::milliseconds{*ms};
  if (auto step =
          fields.maybe_integer("sensitivity", vision::Sensitivity::kCoarsest, vision::Sensitivity::kFinest))
    settings.sensitivity.step = static_cast<int>(*step);
  if (auto text = fields.maybe_text_or_null("mask")) {
    if (auto mask = vision::Mask::parse(text->value_or(""))) {
      settings.mask = std::move(*mask);
    } else {
      fields.fault(std::move(mask).error());
    }
  }
}

}  // namespace

base::Result<void> read_settings(Fields& fields, camera::Settings& settings) {
  if (auto title = fields.maybe_text("title")) settings.title = *title;
  if (auto source = fields.maybe_text("source")) {
    if (const auto known = camera::source_of(*source)) {
      settings.source = *known;
    } else {
      fields.fault(base::Error(base::ErrorCode::invalid_value, "camera settings",
                               fmt::format("\"source\" is \"{}\"", base::printable(*source, 40)),
                               "Use \"stream\", \"stills\" or \"pushed\"."));
    }
  }
  if (auto text = fields.maybe_text("stream_address")) settings.stream_address = *text;
  if (auto text = fields.maybe_text("still_address")) settings.still_address = *text;
  if (auto text = fields.maybe_text("user")) settings.user = *text;
  if (auto text = fields.maybe_text("password")) settings.password = *text;
  if (auto ms = fields.maybe_integer("poll_every_ms", 100, 3'600'000)) {
    settings.poll_every = std::chrono::milliseconds{*ms};
  }
  if (auto yes = fields.maybe_boolean("enabled")) settings.enabled = *yes;
  read_motion_settings(fields, settings);
  if (auto hours = fields.maybe_integer_or_null("keep_for_h", 1, 24 * 366 * 100)) {
    settings.keep_for.reset();
    if (*hours) settings.keep_for = std::chrono::hours{**hours};
  }
  if (auto bytes = fields.maybe_integer_or_null("keep_bytes", 1, std::int64_t{1} << 53)) {
    settings.keep_bytes.reset();
    if (*bytes) settings.keep_bytes = static_cast<std::uint64_t>(**bytes);
  }
  return fields.finish();
}

}  // namespace rookery::web
