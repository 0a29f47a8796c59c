// rookery archive state|confirm-clock
#include <fmt/format.h>

#include <boost/json/array.hpp>

#include "archive/age_clock.h"
#include "archive/segment_store.h"
#include "base/bytes.h"
#include "cli/archive_state_command.h"
#include "station/config.h"
#include "station/troubles.h"

namespace rookery::cli {
namespace {

base::Result<archive::AgeState> age_now(archive::Catalog& catalog) {
  const archive::AgeStore store(catalog);
  const base::WallTime wall = base::SystemClock().wall();
  auto stored = store.load();
  if (!stored) return stored.error();
  if (!*stored) return store.first(wall);
  return archive::advance((*stored)->state, wall, std::nullopt);
}

struct State {
  station::Facts facts;
  std::uint64_t recorded_bytes = 0;
  std::uint64_t kept_bytes = 0;
};

base::Result<State> look(const Context& context) {
  auto config = station::load_config(context.home);
  if (!config) return config.error();
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  const archive::SegmentStore segments(**catalog);
  State state;
  state.facts.home = context.home;
  state.facts.keep_free_bytes = static_cast<std::uint64_t>(config->keep_free_gib * (1ull << 30));
  auto space = archive::real_disk().space(context.home);
  if (!space) return space.error();
  state.facts.space = *space;
  auto loose = segments.oldest_unkept(1);
  if (!loose) return loose.error();
  state.facts.may_remove = !loose->empty();
  auto age = age_now(**catalog);
  if (!age) return age.error();
  state.facts.age = *age;
  auto recorded = segments.bytes();
  auto kept = segments.kept_bytes();
  if (!recorded || !kept) return !recorded ? recorded.error() : kept.error();
  state.recorded_bytes = *recorded;
  state.kept_bytes = *kept;
  return state;
}

base::Result<void> show_state(Context& context) {
  auto state = look(context);
  if (!state) return state.error();
  const station::Facts& facts = state->facts;
  const auto troubles = station::troubles_of(facts);
  const std::uint64_t goal = station::free_goal(*facts.space, facts.keep_free_bytes);
  const std::string ages = base::to_rfc3339(facts.age->now());
  std::string text = fmt::format(
      "{:.1f} MB recorded, of which {:.1f} MB are kept.\n{:.1f} MB of {:.1f} MB are free; retention keeps "
      "{:.1f} MB "
      "free.\nAges of recordings are counted by {}.",
      base::megabytes(state->recorded_bytes), base::megabytes(state->kept_bytes),
      base::megabytes(facts.space->free_bytes), base::megabytes(facts.space->total_bytes),
      base::megabytes(goal), ages);
  boost::json::array list;
  for (const station::Trouble& trouble : troubles) {
    text += "\n" + trouble.text();
    list.push_back({{"kind", trouble.kind}, {"detail", trouble.detail}, {"remedy", trouble.remedy}});
  }
  context.print({{"recorded_bytes", state->recorded_bytes},
                 {"kept_bytes", state->kept_bytes},
                 {"free_bytes", facts.space->free_bytes},
                 {"total_bytes", facts.space->total_bytes},
                 {"keep_free_bytes", goal},
                 {"ages_count_by", ages},
                 {"troubles", std::move(list)}},
                text);
  if (!troubles.empty()) context.exit_code = kCheckFailed;
  return base::ok();
}

base::Result<void> confirm_clock(Context& context) {
  auto catalog = open_home(context);
  if (!catalog) return catalog.error();
  const base::WallTime wall = base::SystemClock().wall();
  if (auto confirmed = archive::AgeStore(**catalog).confirm(wall); !confirmed) return confirmed;
  context.print(
      {{"ages_count_by", base::to_rfc3339(wall)}},
      fmt::format("Ages of recordings are counted by {} from the next round of retention on (within a "
                  "minute, when the station runs).",
                  base::to_rfc3339(wall)));
  return base::ok();
}

}  // namespace

void add_archive_state(CLI::App& archive, Context& context) {
  CLI::App* state = archive.add_subcommand(
      "state",
      "Room on the disk, what takes it, and by which time ages count; exit 1 when something is wrong");
  context.add_common(*state);
  state->callback([&context] {
    if (auto done = show_state(context); !done) context.fail(done.error());
  });
  CLI::App* confirm = archive.add_subcommand(
      "confirm-clock",
      "Say that the computer's clock is right, after it was set or the station was off for long");
  context.add_common(*confirm);
  confirm->callback([&context] {
    if (auto done = confirm_clock(context); !done) context.fail(done.error());
  });
}

}  // namespace rookery::cli
