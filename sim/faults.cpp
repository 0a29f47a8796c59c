#include "sim/faults.h"

#include <algorithm>

namespace rookery::sim {
namespace {

struct FaultFacts {
  std::string_view name;
  double strength;
};

// In the order of the enum.
constexpr std::array<FaultFacts, kFaultCount> kFacts{{
    {"truncated", 0.6},   {"no-soi", 1},      {"grey-fill", 0.5},    {"green-band", 0.25}, {"stall", 3},
    {"freeze", 1},        {"reset", 1},       {"slow-radio", 400},   {"supply-sag", 0.5},  {"brown-out", 2.5},
    {"mains-bands", 0.2}, {"blur", 3},        {"knocked", 24},       {"hot", 9},           {"size-change", 1},
    {"html", 1},          {"huge-length", 1}, {"endless-header", 1}, {"slow-loris", 20},
}};

std::size_t at(Fault fault) { return static_cast<std::size_t>(fault); }

// Where the entropy-coded data of the (only) scan begins; 0 when there is no scan.
std::size_t scan_start(const std::vector<std::uint8_t>& jpeg) {
  std::size_t i = 2;
  while (i + 4 <= jpeg.size() && jpeg[i] == 0xFF) {
    const std::size_t length = (static_cast<std::size_t>(jpeg[i + 2]) << 8) | jpeg[i + 3];
    if (jpeg[i + 1] == 0xDA) return i + 2 + length;
    i += 2 + length;
  }
  return 0;
}

std::size_t part_of_scan(const std::vector<std::uint8_t>& jpeg, double part) {
  const std::size_t start = scan_start(jpeg);
  if (start == 0 || start >= jpeg.size()) return static_cast<std::size_t>(jpeg.size() * part);
  return start +
         static_cast<std::size_t>(static_cast<double>(jpeg.size() - start) * std::clamp(part, 0.0, 1.0));
}

// Those that the board itself reports, with began() and ended().
bool is_of_the_board(Fault fault) {
  return fault == Fault::stall || fault == Fault::freeze || fault == Fault::reset ||
         fault == Fault::brown_out;
}

}  // namespace

std::string_view name_of(Fault fault) { return kFacts[at(fault)].name; }

double default_strength(Fault fault) { return kFacts[at(fault)].strength; }

std::optional<Fault> fault_named(std::string_view name) {
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (kFacts[i].name == name) return static_cast<Fault>(i);
  }
  return std::nullopt;
}

bool ActiveFaults::changes_picture() const {
  return has(Fault::green_band) || has(Fault::supply_sag) || has(Fault::mains_bands) || has(Fault::blur) ||
         has(Fault::knocked) || has(Fault::hot) || has(Fault::size_change);
}

Faults::Faults(std::uint64_t seed) : random_(seed) {}

void Faults::turn_on(Fault fault) { turn_on(fault, default_strength(fault)); }

void Faults::turn_on(Fault fault, double strength) {
  const std::lock_guard lock(mutex_);
  manual_[at(fault)] = strength;
}

void Faults::turn_off(Fault fault) {
  const std::lock_guard lock(mutex_);
  manual_[at(fault)].reset();
  single_[at(fault)].reset();
}

void Faults::once(Fault fault) { once(fault, default_strength(fault)); }

void Faults::once(Fault fault, double strength) {
  const std::lock_guard lock(mutex_);
  single_[at(fault)] = strength;
}

void Faults::schedule(Fault fault, SceneTime from, SceneTime length, double strength, SceneTime period) {
  const std::lock_guard lock(mutex_);
  rules_.push_back(Rule{fault, from, length, period, strength, -1});
}

void Faults::at_random(Fault fault, double probability, double strength) {
  const std::lock_guard lock(mutex_);
  chances_.push_back(Chance{fault, probability, strength});
}

Faults::SteadyFaults Faults::steady_at(base::WallTime now) const {
  SteadyFaults steady;
  const SceneTime since = now - *began_;
  for (const Rule& rule : rules_) {
    if (since < rule.from) continue;
    const std::int64_t repeat = rule.period > SceneTime{} ? (since - rule.from) / rule.period : 0;
    const base::WallTime from = *began_ + rule.from + rule.period * repeat;
    if (now - from < rule.length && repeat > rule.spent)
      steady[at(rule.fault)] = Steady{rule.strength, from, from + rule.length};
  }
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (manual_[i]) steady[i] = Steady{*manual_[i], now, std::nullopt};
  }
  return steady;
}

void Faults::see(base::WallTime now) {
  if (!began_) began_ = now;
  last_ = std::max(last_, now);
}

ActiveFaults Faults::step(base::WallTime now) {
  const std::lock_guard lock(mutex_);
  see(now);
  const SteadyFaults steady = steady_at(now);
  ActiveFaults active;
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (steady[i]) active.set(static_cast<Fault>(i), steady[i]->strength);
  }
  for (const Chance& chance : chances_) {
    if (std::uniform_real_distribution<double>(0, 1)(random_) < chance.probability)
      active.set(chance.fault, chance.strength);
  }
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (single_[i]) active.set(static_cast<Fault>(i), *single_[i]);
    single_[i].reset();
  }
  record_steady(steady, now);
  record_single(active, steady, now);
  return active;
}

ActiveFaults Faults::look(base::WallTime now) {
  const std::lock_guard lock(mutex_);
  see(now);
  const SteadyFaults steady = steady_at(now);
  ActiveFaults active;
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (steady[i]) active.set(static_cast<Fault>(i), steady[i]->strength);
  }
  record_steady(steady, now);
  return active;
}

void Faults::done(Fault fault, base::WallTime now) {
  const std::lock_guard lock(mutex_);
  manual_[at(fault)].reset();
  if (!began_) return;
  for (Rule& rule : rules_) {
    if (rule.fault != fault || now - *began_ < rule.from) continue;
    rule.spent = rule.period > SceneTime{} ? (now - *began_ - rule.from) / rule.period : 0;
  }
}

// Opens and closes the spans of faults that last, at the moments that their rules name.
void Faults::record_steady(const SteadyFaults& steady, base::WallTime now) {
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    const auto fault = static_cast<Fault>(i);
    if (is_of_the_board(fault)) continue;
    std::optional<OpenSteady>& open = open_[i];
    const std::optional<Steady>& is = steady[i];
    const bool goes_on = open && is && open->was.strength == is->strength && open->was.to == is->to;
    // A change of strength ends one span and begins the next at the same moment.
    base::WallTime since = is ? is->from : now;
    if (open && !goes_on) {
      Event& event = truth_[open->event];
      const bool ran_out = open->was.to && *open->was.to <= now;
      event.said.end = std::max(event.said.start, ran_out ? *open->was.to : since);
      event.open = false;
      since = std::max(since, event.said.end);
      open.reset();
    }
    if (is && !open) {
      truth_.push_back(
          Event{{since, now, TruthKind::fault, std::string(name_of(fault)), {}, is->strength, {}}, true});
      open = OpenSteady{truth_.size() - 1, *is};
    }
  }
}

// One-time and random faults last from their step to the next.
void Faults::record_single(const ActiveFaults& active, const SteadyFaults& steady, base::WallTime now) {
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    const auto fault = static_cast<Fault>(i);
    if (is_of_the_board(fault)) continue;
    if (open_single_[i]) {
      truth_[*open_single_[i]].said.end = now;
      open_single_[i].reset();
    }
    if (!active.has(fault) || (steady[i] && steady[i]->strength == active.strength(fault))) continue;
    open_single_[i] = truth_.size();
    truth_.push_back(Event{
        {now, now, TruthKind::fault, std::string(name_of(fault)), {}, active.strength(fault), {}}, false});
  }
}

std::size_t Faults::began(std::string_view what, double strength, base::WallTime now) {
  const std::lock_guard lock(mutex_);
  see(now);
  truth_.push_back(Event{{now, now, TruthKind::fault, std::string(what), {}, strength, {}}, true});
  return truth_.size() - 1;
}

void Faults::ended(std::size_t event, base::WallTime now) {
  const std::lock_guard lock(mutex_);
  see(now);
  truth_[event].said.end = now;
  truth_[event].open = false;
}

std::vector<TruthEvent> Faults::truth() const {
  const std::lock_guard lock(mutex_);
  std::vector<TruthEvent> all;
  for (const Event& event : truth_) {
    all.push_back(event.said);
    if (event.open) all.back().end = std::max(all.back().start, last_);
  }
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.start < b.start; });
  return all;
}

Bytes damage_bytes(const Bytes& jpeg, const ActiveFaults& active) {
  const bool cut = active.has(Fault::truncated);
  const bool grey = active.has(Fault::grey_fill);
  const bool headless = active.has(Fault::no_soi);
  if (!cut && !grey && !headless) return jpeg;
  std::vector<std::uint8_t> bytes = *jpeg;
  if (grey) {
    bytes.resize(std::min(bytes.size(), part_of_scan(bytes, active.strength(Fault::grey_fill))));
    // A lone FF before the EOI would read as a fill byte or a stuffed one.
    while (!bytes.empty() && bytes.back() == 0xFF) bytes.pop_back();
    bytes.insert(bytes.end(), {0xFF, 0xD9});
  }
  if (cut) {
    bytes.resize(std::min(bytes.size(), part_of_scan(bytes, active.strength(Fault::truncated))));
    if (bytes.size() >= 2 && bytes[bytes.size() - 2] == 0xFF && bytes.back() == 0xD9) bytes.pop_back();
  }
  if (headless && bytes.size() >= 2) bytes.erase(bytes.begin(), bytes.begin() + 2);
  return make_bytes(std::move(bytes));
}

Radio::Radio(std::uint64_t seed, double kbit_per_second)
    : random_(seed), bytes_per_second_(kbit_per_second * 125) {}

base::Microseconds Radio::delay_for(std::size_t bytes, base::MonoTime now) {
  const auto seconds = [this](double low, double high) {
    const double s = std::uniform_real_distribution<double>(low, high)(random_);
    return std::chrono::duration_cast<base::MonoTime::duration>(std::chrono::duration<double>(s));
  };
  if (!last_) {
    last_ = now;
    next_loss_ = now + seconds(1, 8);
  }
  const double passed = std::chrono::duration<double>(now - *last_).count();
  last_ = now;
  tokens_ = std::min(kWindowBytes, tokens_ + passed * bytes_per_second_) - static_cast<double>(bytes);
  if (now >= next_loss_) {
    loss_ends_ = now + seconds(0.2, 1.5);
    next_loss_ = loss_ends_ + seconds(1, 8);
  }
  base::Microseconds wait{};
  if (tokens_ < 0) wait = base::Microseconds(static_cast<std::int64_t>(-tokens_ / bytes_per_second_ * 1e6));
  if (now < loss_ends_)
    wait = std::max(wait, std::chrono::duration_cast<base::Microseconds>(loss_ends_ - now));
  return wait;
}

}  // namespace rookery::sim
