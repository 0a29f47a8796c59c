// People, their roles, sessions, one-time sign-ins and camera tokens. Passwords and tokens are stored as
// hashes only.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "base/name.h"

namespace rookery::archive {

enum class Role { owner, viewer };

struct Person {
  std::int64_t id = 0;
  std::string name;  // 1–64 characters, no control characters, unique without regard to case
  Role role = Role::viewer;
  // Which cameras a viewer may see: none set = all (owners always see all).
  std::optional<std::set<base::CameraName>> cameras;
  bool may_see(const base::CameraName& camera) const;
};

struct TokenInfo {
  std::int64_t id = 0;
  base::CameraName camera;
  std::string label;
  base::WallTime made;
  std::optional<base::WallTime> last_used;
  bool may_push = false;  // for POST …/stills; a watching token can not push, a pushing token can not watch
};

// any-thread. Argon2id by libsodium (interactive limits); tokens and session ids are 32 random bytes,
// base64url without padding, stored as BLAKE2b hashes.
class PeopleStore {
 public:
  explicit PeopleStore(Catalog& catalog) : catalog_(catalog) {}

  // Password: 8 to 1024 bytes. Errors: already_exists, invalid_value.
  base::Result<Person> add(const std::string& name, Role role, const std::string& password,
                           std::optional<std::set<base::CameraName>> cameras = {});
  base::Result<void> set_password(const std::string& name, const std::string& password);
  base::Result<void> set_cameras(const std::string& name, std::optional<std::set<base::CameraName>> cameras);
  // Errors: not_found; refused when it is the last owner.
  base::Result<void> remove(const std::string& name);
  base::Result<std::vector<Person>> list() const;

  // Takes as long for an unknown name as for a wrong password. Errors: no_permission, the same text for both.
  base::Result<Person> check_password(const std::string& name, const std::string& password) const;

  // A session's secret, for the cookie. Lives until `expires`.
  base::Result<std::string> open_session(std::int64_t person, base::WallTime now, base::WallTime expires);
  base::Result<Person> find_session(const std::string& secret, base::WallTime now) const;  // no_permission
  base::Result<void> close_session(const std::string& secret);

  // A code that signs `person` in once, within `expires`.
  base::Result<std::string> new_one_time_code(std::int64_t person, base::WallTime expires);
  base::Result<Person> use_one_time_code(const std::string& code, base::WallTime now);  // no_permission

  // The token itself, shown this once. Errors: not_found (no such camera).
  base::Result<std::string> new_token(const base::CameraName& camera, const std::string& label, bool may_push,
                                      base::WallTime now);
  base::Result<std::vector<TokenInfo>> list_tokens(const base::CameraName& camera) const;
  base::Result<void> revoke_token(const base::CameraName& camera, std::int64_t id);  // not_found
  // Whether `token` opens `camera`. Errors: no_permission.
  base::Result<TokenInfo> check_token(const base::CameraName& camera, const std::string& token, bool to_push,
                                      base::WallTime now);

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
