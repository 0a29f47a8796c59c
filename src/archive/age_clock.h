// The age clock: the time by which retention judges how old recordings are, when the computer's clock may be
// wrong. docs/decisions/0015-age-by-a-patient-clock.md says why it is so.
#pragma once

#include <optional>

#include "archive/catalog.h"
#include "base/time.h"

namespace rookery::archive {

// immutable value.
struct AgeState {
  base::WallTime trusted;        // how late it is at least, as far as the station has seen time pass
  base::WallTime wall;           // what the computer's clock said at that moment
  base::Microseconds steady{0};  // how long the two have disagreed without the clock being set

  // By this time ages are counted: never later than either says.
  base::WallTime now() const { return std::min(trusted, wall); }
  // By how much the computer's clock is ahead of what was seen to pass; negative when it is behind.
  base::Microseconds ahead() const { return wall - trusted; }
  // How long the station has to run until both agree by themselves; zero when they do.
  base::Microseconds settles_in() const;
  // Whether they are so far apart that a person should know: more than a day.
  bool worth_saying() const;
  bool operator==(const AgeState&) const = default;
};

// The state one look later. `passed`: the monotonic clock's progress since `before`; none across a start of
// the program, where nobody knows how long it was. A function of its arguments.
AgeState advance(const AgeState& before, base::WallTime wall, std::optional<base::Microseconds> passed);

// What there is to say to a person about it: `code` is refused (not what was expected), the rest is in words.
base::Error explain(const AgeState& state);

// The age clock in the catalog, so that it outlives the program. any-thread.
class AgeStore {
 public:
  explicit AgeStore(Catalog& catalog) : catalog_(catalog) {}

  struct Stored {
    AgeState state;
    std::int64_t confirmations = 0;  // goes up each time that a person says the clock is right
  };
  // None before the first save.
  base::Result<std::optional<Stored>> load() const;
  // Later (Catalog::write_later). Leaves `confirmations` as it is.
  void save_later(const AgeState& state);
  // A person says that the computer's clock is right. On disk when it returns ok.
  base::Result<void> confirm(base::WallTime wall);
  // What to begin with at `wall`: without recordings the clock is believed, else the newest of them tells how
  // late it is at least.
  base::Result<AgeState> first(base::WallTime wall) const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
