#include <sodium.h>

#include "web/answers.h"
#include "web/fields.h"
#include "web/handlers.h"
#include "web/problem.h"
#include "web/recorded_still.h"

namespace rookery::web {
namespace json = boost::json;
namespace {

// What a person sees as one recording: boards pause for a second now and then.
constexpr base::Milliseconds kJoinGap{2000};

std::string base64(const std::vector<unsigned char>& bytes) {
  std::string out(sodium_base64_encoded_len(bytes.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
  sodium_bin2base64(out.data(), out.size(), bytes.data(), bytes.size(), sodium_base64_VARIANT_ORIGINAL);
  out.pop_back();  // the closing zero that libsodium writes
  return out;
}

json::object span_json(base::WallTime from, base::WallTime to) {
  return {{"from", base::to_rfc3339(from)}, {"to", base::to_rfc3339(to)}};
}

json::array kept_spans(const std::vector<archive::Segment>& segments) {
  json::array out;
  std::optional<TimeSpan> open;
  for (const archive::Segment& segment : segments) {
    if (!segment.kept) continue;
    if (open && segment.start - open->to <= kJoinGap) {
      open->to = std::max(open->to, segment.end);
      continue;
    }
    if (open) out.push_back(span_json(open->from, open->to));
    open = TimeSpan{segment.start, segment.end};
  }
  if (open) out.push_back(span_json(open->from, open->to));
  return out;
}

}  // namespace

Response get_strip(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto span = span_of(call.request, std::chrono::days{31});
  if (!span) return problem(span.error());
  auto strip = call.station().strips().between(*name, span->from, span->to);
  if (!strip) return problem(strip.error());
  std::vector<unsigned char> energy;
  std::vector<unsigned char> health;
  for (const archive::StripStep& step : strip->steps) {
    energy.push_back(step.energy);
    health.push_back(static_cast<unsigned char>(step.health));
  }
  return json_answer({{"from", base::to_rfc3339(strip->from)},
                      {"step_s", archive::kStripStep.count()},
                      {"energy", base64(energy)},
                      {"health", base64(health)}});
}

Response get_recordings(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto span = span_of(call.request, std::chrono::days{366});
  if (!span) return problem(span.error());
  archive::SegmentStore& store = call.station().segments();
  auto spans = store.spans(*name, span->from, span->to, kJoinGap);
  if (!spans) return problem(spans.error());
  auto segments = store.between(*name, span->from, span->to);
  if (!segments) return problem(segments.error());
  auto first = store.first_from(*name, base::WallTime{});
  if (!first) return problem(first.error());
  auto last = store.last_until(*name, call.services.wall() + std::chrono::days{1});
  if (!last) return problem(last.error());
  json::array out;
  for (const archive::Span& one : *spans) out.push_back(span_json(one.from, one.to));
  json::object answer{
      {"spans", std::move(out)}, {"kept", kept_spans(*segments)}, {"first", nullptr}, {"last", nullptr}};
  if (*first) answer["first"] = base::to_rfc3339((*first)->start);
  if (*last) answer["last"] = base::to_rfc3339((*last)->end);
  return json_answer(answer);
}

Response put_kept(Call& call) {
  auto name = visible_camera(call);
  if (!name) return problem(name.error());
  auto fields = Fields::parse(call.request.body, "keep");
  if (!fields) return problem(fields.error());
  const base::WallTime from = fields->time("from");
  const base::WallTime to = fields->time("to");
  const bool kept = fields->boolean("kept");
  if (to <= from) fields->fault(wrong_way_round("keep", from, to));
  if (auto all = fields->finish(); !all) return problem(all.error());
  auto changed = call.station().segments().set_kept(*name, from, to, kept);
  if (!changed) return problem(changed.error());
  return json_answer({{"segments", *changed}});
}

// Lent: the connection holds it, and awaits this to its end (router.h).
boost::asio::awaitable<Response> get_recorded_jpg(Call& call) {
  auto answering = answer_recorded_still(call, [&call]() -> base::Result<StillWanted> {
    auto name = visible_camera(call);
    if (!name) return name.error();
    auto at = time_of(call.request, "at");
    if (!at) return at.error();
    return StillWanted{*name, *at};
  });
  co_return co_await std::move(answering);
}

}  // namespace rookery::web
