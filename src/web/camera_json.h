// Cameras, their settings and status as JSON, and back.
#pragma once

#include <boost/json/object.hpp>

#include "base/result.h"
#include "camera/settings.h"
#include "station/station.h"
#include "web/fields.h"

namespace rookery::web {

// docs/api.md, "status". A viewer learns that something is wrong, not the board's address.
boost::json::object status_json(const station::CameraView& view, bool for_owner);
// docs/api.md, "A camera is".
boost::json::object camera_json(const station::CameraView& view, bool for_owner);

// Puts the members that stand in `fields` into `settings`; the name is not among them. Ends with
// fields.finish(). What the values must be beyond their type is the station's to check.
base::Result<void> read_settings(Fields& fields, camera::Settings& settings);

}  // namespace rookery::web
