// Cameras and their settings in the catalog.
#pragma once

#include <functional>
#include <vector>

#include "archive/catalog.h"
#include "camera/settings.h"

namespace rookery::archive {

// any-thread. Board passwords are stored sealed with the key in <home>/station.key (secret_box.h). One that
// this key does not open reads as empty and is logged, so that the other cameras go on.
class CameraStore {
 public:
  explicit CameraStore(Catalog& catalog) : catalog_(catalog) {}

  // Errors: already_exists (two cameras with one name), invalid_value (checked by camera::check in
  // camera/check.h).
  base::Result<void> add(const camera::Settings& settings);
  base::Result<void> set(const camera::Settings& settings);  // not_found
  // Changes what `how` changes of the settings as they are stored at that moment, in one transaction; `how`
  // must not use the catalog. Returns what is stored then. Errors: not_found, those of `how`, and those of
  // add.
  base::Result<camera::Settings> change(const base::CameraName& name,
                                        const std::function<base::Result<void>(camera::Settings&)>& how);
  // Forgets the camera, its tokens and its grants. Its recordings stay on disk and in the catalog.
  base::Result<void> remove(const base::CameraName& name);  // not_found
  base::Result<camera::Settings> find(const base::CameraName& name) const;
  // In the order in which a person put them (first added first).
  base::Result<std::vector<camera::Settings>> list() const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
