#include "web/handlers.h"

namespace rookery::web {
namespace {

using enum http::verb;

// One line an address; docs/api.md says what each does, openapi.json describes it formally.
const Route kRoutes[] = {
    {get, "/", Need::nothing, get_index},
    {get, "/page/{path…}", Need::nothing, get_page_file},
    {get, "/healthz", Need::nothing, get_health},
    {get, "/metrics", Need::metrics, get_metrics},
    {get, "/live/{name}.jpg", Need::watch, get_live_jpg},
    {get, "/live/{name}.mjpeg", Need::watch, get_live_mjpeg},
    {get, "/api/v1/openapi.json", Need::viewer, get_openapi},
    {get, "/api/v1/socket", Need::viewer, get_socket},
    {get, "/api/v1/station", Need::viewer, get_station},
    {post, "/api/v1/station/confirm-clock", Need::owner, post_confirm_clock},
    {get, "/api/v1/me", Need::viewer, get_me},
    {post, "/api/v1/sign-in", Need::nothing, post_sign_in, Takes::sign_in, true},
    {post, "/api/v1/sign-in/once", Need::nothing, post_sign_in_once, Takes::sign_in},
    {post, "/api/v1/sign-out", Need::viewer, post_sign_out, Takes::json},
    {get, "/api/v1/cameras", Need::viewer, get_cameras},
    {post, "/api/v1/cameras", Need::owner, post_cameras, Takes::json},
    {get, "/api/v1/cameras/{name}", Need::viewer, get_camera},
    {patch, "/api/v1/cameras/{name}", Need::owner, patch_camera, Takes::json},
    {delete_, "/api/v1/cameras/{name}", Need::owner, delete_camera},
    {post, "/api/v1/cameras/{name}/stills", Need::push, post_still, Takes::still},
    {get, "/api/v1/cameras/{name}/strip", Need::viewer, get_strip},
    {get, "/api/v1/cameras/{name}/vitals", Need::viewer, get_vitals},
    {get, "/api/v1/cameras/{name}/dropouts", Need::viewer, get_dropouts},
    {get, "/api/v1/cameras/{name}/recordings", Need::viewer, get_recordings},
    {put, "/api/v1/cameras/{name}/kept", Need::owner, put_kept, Takes::json},
    {get, "/api/v1/cameras/{name}/recorded.jpg", Need::viewer, get_recorded_jpg},
    {get, "/api/v1/cameras/{name}/tokens", Need::owner, get_tokens},
    {post, "/api/v1/cameras/{name}/tokens", Need::owner, post_tokens, Takes::json},
    {delete_, "/api/v1/cameras/{name}/tokens/{id}", Need::owner, delete_token},
    {get, "/api/v1/found", Need::owner, get_found},
    {post, "/api/v1/found/sweep", Need::owner, post_found_sweep},
    {get, "/api/v1/plan", Need::viewer, get_plan},
    {post, "/api/v1/plan/{subject}", Need::viewer, post_plan, Takes::json},
    {get, "/api/v1/events", Need::viewer, get_events},
    {get, "/api/v1/events/{id}", Need::viewer, get_event},
    {patch, "/api/v1/events/{id}", Need::owner, patch_event, Takes::json},
    {get, "/api/v1/events/{id}/still.jpg", Need::viewer, get_event_still},
    {get, "/api/v1/receivers", Need::owner, get_receivers},
    {post, "/api/v1/receivers", Need::owner, post_receivers, Takes::json},
    {patch, "/api/v1/receivers/{id}", Need::owner, patch_receiver, Takes::json},
    {delete_, "/api/v1/receivers/{id}", Need::owner, delete_receiver},
    {post, "/api/v1/receivers/{id}/test", Need::owner, post_receiver_test, Takes::json},
    {get, "/api/v1/rules", Need::owner, get_rules},
    {post, "/api/v1/rules", Need::owner, post_rules, Takes::json},
    {patch, "/api/v1/rules/{id}", Need::owner, patch_rule, Takes::json},
    {delete_, "/api/v1/rules/{id}", Need::owner, delete_rule},
    {get, "/api/v1/snooze", Need::owner, get_snooze},
    {put, "/api/v1/snooze", Need::owner, put_snooze, Takes::json},
    {get, "/api/v1/notices", Need::owner, get_notices},
    {post, "/api/v1/exports", Need::viewer, post_exports, Takes::json},
    {post, "/api/v1/lapses", Need::viewer, post_lapses, Takes::json},
    {get, "/api/v1/exports/{id}", Need::viewer, get_export},
    {delete_, "/api/v1/exports/{id}", Need::viewer, delete_export},
    {get, "/api/v1/exports/{id}/file", Need::viewer, get_export_file},
    {get, "/api/v1/jobs", Need::viewer, get_jobs},
    {post, "/api/v1/jobs", Need::owner, post_jobs, Takes::json},
    {get, "/api/v1/jobs/{id}", Need::viewer, get_job},
    {patch, "/api/v1/jobs/{id}", Need::owner, patch_job, Takes::json},
    {delete_, "/api/v1/jobs/{id}", Need::owner, delete_job},
    {post, "/api/v1/jobs/{id}/end", Need::owner, post_job_end, Takes::json},
    {get, "/api/v1/jobs/{id}/still.jpg", Need::viewer, get_job_still},
    {get, "/api/v1/cameras/{name}/job-settings", Need::viewer, get_job_settings},
    {patch, "/api/v1/cameras/{name}/job-settings", Need::owner, patch_job_settings, Takes::json},
    {post, "/api/v1/hooks/{name}", Need::report, post_hook, Takes::json},
    {get, "/api/v1/people", Need::owner, get_people},
    {post, "/api/v1/people", Need::owner, post_people, Takes::json, true},
    {patch, "/api/v1/people/{name}", Need::viewer, patch_person, Takes::json, true},
    {delete_, "/api/v1/people/{name}", Need::owner, delete_person},
};

}  // namespace

std::span<const Route> routes() { return kRoutes; }

}  // namespace rookery::web
