// Who answers which address. Each is named in the table of routes.cpp; docs/api.md says what they do.
#pragma once

#include "web/router.h"

namespace rookery::web {

// handlers_station.cpp
Response get_health(Call& call);
Response get_station(Call& call);
Response post_confirm_clock(Call& call);
Response get_openapi(Call& call);
Response get_metrics(Call& call);
std::string_view openapi_text();

// handlers_sign_in.cpp
Response post_sign_in(Call& call);
// 204 with a new session's cookie.
Response signed_in(Call& call, const archive::Person& person);
// 429 with Retry-After.
Response come_back_later(std::chrono::milliseconds wait, const char* where);
// What a name counts as for limits: names are one without regard to case, so their limits are as well.
std::string name_key(std::string_view name);
Response post_sign_in_once(Call& call);
Response post_sign_out(Call& call);
Response get_me(Call& call);

// handlers_people.cpp
Response get_people(Call& call);
Response post_people(Call& call);
Response patch_person(Call& call);
Response delete_person(Call& call);

// handlers_cameras.cpp
Response get_cameras(Call& call);
Response post_cameras(Call& call);
Response get_camera(Call& call);
Response patch_camera(Call& call);
Response delete_camera(Call& call);
Response post_still(Call& call);
Response get_tokens(Call& call);
Response post_tokens(Call& call);
Response delete_token(Call& call);

// handlers_archive.cpp
Response get_strip(Call& call);
Response get_vitals(Call& call);
Response get_recordings(Call& call);
Response put_kept(Call& call);
boost::asio::awaitable<Response> get_recorded_jpg(Call& call);

// handlers_dropouts.cpp
Response get_dropouts(Call& call);

// handlers_plan.cpp
Response get_plan(Call& call);
boost::asio::awaitable<Response> post_plan(Call& call);

// handlers_events.cpp
Response get_events(Call& call);
Response get_event(Call& call);
Response patch_event(Call& call);
boost::asio::awaitable<Response> get_event_still(Call& call);

// handlers_notices.cpp
Response get_receivers(Call& call);
Response post_receivers(Call& call);
Response patch_receiver(Call& call);
Response delete_receiver(Call& call);
Response post_receiver_test(Call& call);
Response get_rules(Call& call);
Response post_rules(Call& call);
Response patch_rule(Call& call);
Response delete_rule(Call& call);
Response get_snooze(Call& call);
Response put_snooze(Call& call);
Response get_notices(Call& call);

// handlers_found.cpp
Response get_found(Call& call);
Response post_found_sweep(Call& call);

// handlers_exports.cpp
Response get_exports(Call& call);
Response post_exports(Call& call);
Response post_lapses(Call& call);
Response get_export(Call& call);
Response delete_export(Call& call);
Response get_export_file(Call& call);

// handlers_jobs.cpp
Response get_jobs(Call& call);
Response post_jobs(Call& call);
Response get_job(Call& call);
Response patch_job(Call& call);
Response delete_job(Call& call);
Response post_job_end(Call& call);
boost::asio::awaitable<Response> get_job_still(Call& call);
Response post_job_film(Call& call);
Response get_job_film(Call& call);
Response get_job_settings(Call& call);
Response patch_job_settings(Call& call);
Response post_hook(Call& call);

// page_files.cpp
Response get_index(Call& call);
Response get_page_file(Call& call);

// live.cpp
boost::asio::awaitable<Response> get_live_jpg(Call& call);
boost::asio::awaitable<void> get_live_mjpeg(Call& call, Connection& connection);

// socket.cpp
boost::asio::awaitable<void> get_socket(Call& call, Connection& connection);

}  // namespace rookery::web
