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
  // 1–64 characters, no control or direction characters, no space at either end; unique without regard to
  // case.
  std::string name;
  Role role = Role::viewer;
  // Which cameras a viewer may see: none set = all (owners always see all).
  std::optional<std::set<base::CameraName>> cameras;
  bool may_see(const base::CameraName& camera) const;
};

// What a token opens, and nothing else.
enum class TokenUse {
  watch,   // its camera's live addresses
  push,    // POST …/stills: a board that sends
  report,  // POST /api/v1/hooks/NAME: a machine that tells of its jobs
};
// "watch", "push", "report": in the catalog, the API and the command line.
std::string_view name_of(TokenUse use);
std::optional<TokenUse> token_use_of(std::string_view word);

struct TokenInfo {
  std::int64_t id = 0;
  base::CameraName camera;
  std::string label;
  base::WallTime made;
  std::optional<base::WallTime> last_used;
  TokenUse use = TokenUse::watch;
};

struct NewToken {
  std::int64_t id = 0;
  std::string secret;  // the token itself, shown this once
};

// any-thread. Argon2id by libsodium (interactive limits: 64 MiB and some 100 ms each, at most two at a time
// in one process, so that many sign-ins at once do not take all memory); session secrets, one-time codes and
// tokens are 32 random bytes, base64url without padding (43 characters), stored as BLAKE2b hashes.
class PeopleStore {
 public:
  explicit PeopleStore(Catalog& catalog) : catalog_(catalog) {}

  // Password: 8 to 1024 bytes. Owners see every camera, whatever `cameras` says. Errors: already_exists,
  // invalid_value, not_found (no such camera among `cameras`).
  base::Result<Person> add(const std::string& name, Role role, const std::string& password,
                           std::optional<std::set<base::CameraName>> cameras = {});
  // Ends all sessions and one-time codes of that person. Errors: not_found, invalid_value.
  base::Result<void> set_password(const std::string& name, const std::string& password);
  // Errors: not_found (person or camera).
  base::Result<void> set_cameras(const std::string& name, std::optional<std::set<base::CameraName>> cameras);
  // Ends all sessions of that person too. Errors: not_found; refused when it is the last owner.
  base::Result<void> remove(const std::string& name);
  // In the order in which they were added.
  base::Result<std::vector<Person>> list() const;

  // Takes as long for an unknown name as for a wrong password. Errors: no_permission, the same text for both.
  base::Result<Person> check_password(const std::string& name, const std::string& password) const;

  // A session's secret, for the cookie. Lives until `expires`. Forgets all that have expired by `now`.
  // Errors: not_found (no such person).
  base::Result<std::string> open_session(std::int64_t person, base::WallTime now, base::WallTime expires);
  base::Result<Person> find_session(const std::string& secret, base::WallTime now) const;  // no_permission
  base::Result<void> close_session(const std::string& secret);  // ok also when there is none

  // A code that signs `person` in once, until `expires`: also when it is used twice at the same moment, only
  // one gets in. Errors: not_found (no such person).
  base::Result<std::string> new_one_time_code(std::int64_t person, base::WallTime expires);
  base::Result<Person> use_one_time_code(const std::string& code, base::WallTime now);  // no_permission

  // A token that opens `camera`. Label: up to 64 characters as in a name, may be empty. Errors: not_found (no
  // such camera), invalid_value (label).
  base::Result<NewToken> new_token(const base::CameraName& camera, const std::string& label, TokenUse use,
                                   base::WallTime now);
  base::Result<std::vector<TokenInfo>> list_tokens(const base::CameraName& camera) const;
  base::Result<void> revoke_token(const base::CameraName& camera, std::int64_t id);  // not_found
  // Whether `token` opens `camera` (none: any camera, which the answer names). One read of the catalog. Notes
  // when it was used, to the minute. Errors: no_permission.
  base::Result<TokenInfo> check_token(const std::optional<base::CameraName>& camera, const std::string& token,
                                      TokenUse use, base::WallTime now);

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
