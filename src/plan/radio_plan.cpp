#include "plan/radio_plan.h"

#include <algorithm>

#include <fmt/format.h>

namespace rookery::plan {
namespace {

RadioChange change_of(std::string what, const RadioPlan& plan) {
  return {std::move(what), plan.fullest(), plan.fit()};
}

RadioPlan with_signal(RadioPlan plan, Decibels more) {
  plan.load.usual = rate_with(plan.usual_signal + more, plan.fade);
  plan.load.weak = rate_with(plan.weak_signal + more, plan.fade);
  return plan;
}

}  // namespace

const HtRate& rate_with(Dbm signal, Decibels fade) { return ht_rate_for(signal - fade); }

std::vector<RadioChange> radio_changes(const RadioPlan& plan) {
  std::vector<RadioChange> out = {change_of("as asked", plan)};
  RadioPlan other = plan;
  other.load.picture = plan.load.picture / 2.0;
  out.push_back(change_of("half the bytes a picture", other));
  other = plan;
  other.load.rate = plan.load.rate / 2.0;
  out.push_back(change_of("half the rate", other));
  if (plan.channels < static_cast<int>(kChannels.size())) {
    other = plan;
    ++other.channels;
    out.push_back(change_of("one more channel, with its access point", other));
  }
  const int fastest = ht_rates().back().mcs;
  if (plan.load.usual.mcs < fastest || plan.worst_rate().mcs < fastest) {
    out.push_back(change_of("6 dB more signal (a better aerial, or half the way)", with_signal(plan, {6})));
  }
  if (plan.weak > 0 && plan.load.weak.mcs < plan.load.usual.mcs) {
    other = plan;
    other.load.weak = plan.load.usual;
    out.push_back(change_of("the weak cameras heard like the others", other));
  }
  return out;
}

const RadioChange* most_gain(const std::vector<RadioChange>& changes) {
  const auto less = [](const RadioChange& a, const RadioChange& b) { return a.fit < b.fit; };
  const auto at = std::max_element(changes.begin(), changes.end(), less);
  return at == changes.begin() || at == changes.end() ? nullptr : &*at;
}

BoardCeiling ceiling_of_worst(const RadioPlan& plan) {
  const BytesPerSecond window = kBoardWindow / plan.round_trip;
  const BytesPerSecond air = carried_alone(plan.load, plan.worst_rate());
  if (air <= window && air <= kBoardCeiling) {
    return {air, fmt::format("the channel to itself at MCS {}", plan.worst_rate().mcs),
            "Bring this camera nearer or give it another aerial; else fewer bytes or a lower rate."};
  }
  if (window <= kBoardCeiling) {
    return {window,
            fmt::format("5744 B under way, then a round trip of {}; the chip maker's SDK",
                        show_value(plan.round_trip.value(), Kind::duration)),
            "Ask for fewer bytes or a lower rate; turn the radio's sleep off on the board."};
  }
  return {kBoardCeiling, "the chip maker's published TCP rate in the open",
          "Ask for fewer bytes or a lower rate: no aerial helps against this one."};
}

std::string cameras_of(int count) { return fmt::format("{} camera{}", count, count == 1 ? "" : "s"); }

std::string fit_words(int fit) {
  if (fit == 0) return "none fits";
  if (fit >= kMostCameras) return fmt::format("{} and more fit", kMostCameras);
  return fmt::format("{} fit{}", fit, fit == 1 ? "s" : "");
}

std::string show_share(double share) {
  return share > 10 ? fmt::format("{:.0f} times the whole", share) : show_value(share, Kind::ratio, 2);
}

std::string show_bits(BytesPerSecond rate) { return show_value(8 * rate.value(), Kind::bit_rate); }

}  // namespace rookery::plan
