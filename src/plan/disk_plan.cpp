#include "plan/disk_plan.h"

#include <algorithm>

#include <fmt/format.h>

namespace rookery::plan {

std::string endurance_words(const DiskPlan& plan) {
  if (plan.endurance) return "your own value";
  if (plan.medium == Medium::endurance_card) return "117 TB for each 128 GB, the low end as quoted by others";
  return fmt::format(
      "{:g} cycles, common practice, no source; amplification {:g}, from memory: 1.1 to 3; unless you gave "
      "your own",
      plan.cycles, plan.amplification);
}

std::optional<Bytes> DiskPlan::endures() const {
  if (endurance) return endurance;
  if (medium == Medium::hard_disk) return std::nullopt;
  if (medium == Medium::endurance_card) return endurance_card(disk);
  return flash_endurance(disk, cycles, amplification);
}

std::optional<Seconds> DiskPlan::life() const {
  const auto bytes = endures();
  if (!bytes) return std::nullopt;
  return Seconds::from_value(bytes->value() / average().value());
}

std::string life_words(const DiskPlan& plan) {
  const auto life = plan.life();
  if (!life) return "not worn by writing";
  constexpr double kYears = 50 * 365.25 * 86400;
  return life->value() > kYears ? "over 50 years" : show_value(life->value(), Kind::duration);
}

std::string show_days(Seconds time) {
  const double days = time.value() / 86400;
  if (days < 1) return show_value(time.value(), Kind::duration);
  return days < 100 ? fmt::format("{:.3g} days", days) : fmt::format("{:.0f} days", days);
}

std::string show_bytes(Bytes bytes) { return show_value(bytes.value(), Kind::bytes); }

std::vector<Step> disk_steps(const DiskPlan& plan) {
  const std::string daily = show_bytes(Bytes::from_value(plan.average().value() * 86400));
  const auto percent = [](double share) { return show_value(share, Kind::ratio); };
  std::vector<Step> steps = {
      {"Written a day", "daily = cameras · bytes · rate · share of the time · 86 400 s",
       fmt::format("{} · {} · {} · {} · 86 400 s = {}", plan.cameras, show_bytes(plan.picture),
                   show_value(plan.rate.value(), Kind::rate), percent(plan.share()), daily),
       "the pictures' own bytes; the file's few bytes around each are left out"},
      {"Room for recordings", "room = disk · (1 − reserved) − taken − kept free",
       fmt::format("{} · (1 − {}) − {} − {} = {}", show_bytes(plan.disk), percent(plan.room.reserved),
                   show_bytes(plan.room.taken), show_bytes(std::min(plan.room.keep_free, plan.disk / 2.0)),
                   show_bytes(plan.recordings())),
       "ext4 keeps back 5 %; the station's own setting for what it keeps free"},
      {"Kept for", "days = room / daily",
       fmt::format("{} / {} = {}", show_bytes(plan.recordings()), daily, show_days(plan.kept())),
       "the oldest recordings make room for new ones"},
      {"Smallest disk", "disk = (days · daily + taken + kept free) / (1 − reserved)",
       fmt::format("({} · {} a day + {} + {}) / (1 − {}) = {}", show_days(plan.wanted), daily,
                   show_bytes(plan.room.taken), show_bytes(plan.room.keep_free), percent(plan.room.reserved),
                   show_bytes(plan.needed())),
       "the same, turned round"},
  };
  if (const auto endures = plan.endures()) {
    const bool by_cycles = !plan.endurance && plan.medium != Medium::endurance_card;
    steps.push_back({"How long it lasts",
                     by_cycles ? "life = disk · cycles / amplification / daily" : "life = endurance / daily",
                     by_cycles ? fmt::format("{} · {:g} / {:g} / {} = {}", show_bytes(plan.disk), plan.cycles,
                                             plan.amplification, daily, life_words(plan))
                               : fmt::format("{} / {} = {}", show_bytes(*endures), daily, life_words(plan)),
                     endurance_words(plan)});
  }
  return steps;
}

}  // namespace rookery::plan
