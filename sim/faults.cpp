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

void Faults::apply_rules(SceneTime since, ActiveFaults& active) const {
  for (const Rule& rule : rules_) {
    if (since < rule.from) continue;
    SceneTime into = since - rule.from;
    std::int64_t repeat = 0;
    if (rule.period > SceneTime{}) {
      repeat = into / rule.period;
      into %= rule.period;
    }
    if (into < rule.length && repeat > rule.spent) active.set(rule.fault, rule.strength);
  }
}

ActiveFaults Faults::step(base::WallTime now) {
  const std::lock_guard lock(mutex_);
  if (!began_) began_ = now;
  ActiveFaults active;
  apply_rules(now - *began_, active);
  for (const Chance& chance : chances_) {
    if (std::uniform_real_distribution<double>(0, 1)(random_) < chance.probability)
      active.set(chance.fault, chance.strength);
  }
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (manual_[i]) active.set(static_cast<Fault>(i), *manual_[i]);
    if (single_[i]) active.set(static_cast<Fault>(i), *single_[i]);
    single_[i].reset();
  }
  record(active, now);
  return active;
}

ActiveFaults Faults::look(base::WallTime now) {
  const std::lock_guard lock(mutex_);
  if (!began_) began_ = now;
  ActiveFaults active;
  apply_rules(now - *began_, active);
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    if (manual_[i]) active.set(static_cast<Fault>(i), *manual_[i]);
  }
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

void Faults::record(const ActiveFaults& active, base::WallTime now) {
  for (std::size_t i = 0; i < kFaultCount; ++i) {
    const auto fault = static_cast<Fault>(i);
    std::optional<std::size_t>& open = open_[i];
    if (open) truth_[*open].end = now;
    if (active.has(fault) && !open) {
      open = truth_.size();
      truth_.push_back(TruthEvent{now, now, fmt::format("fault {}", name_of(fault)), {}});
    } else if (!active.has(fault)) {
      open.reset();
    }
  }
}

std::vector<TruthEvent> Faults::truth() const {
  const std::lock_guard lock(mutex_);
  return truth_;
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
