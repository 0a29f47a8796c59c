// How the airtime was reckoned, with the numbers filled in.
#include <fmt/format.h>

#include "plan/contention.h"
#include "plan/radio_plan.h"

namespace rookery::plan {
namespace {

std::string show(Seconds time) { return fmt::format("{:.0f} µs", time.value() * 1e6); }

Step packets_step(const RadioPlan& plan) {
  const double packets = packets_a_picture(plan.load.picture);
  return {
      "Packets of one camera", "packets = ⌈picture / 1436 B⌉ · rate",
      fmt::format("⌈{} / 1436 B⌉ · {} = {:.0f} · {} = {:.0f}/s, and half as many acknowledgements back",
                  show_value(plan.load.picture.value(), Kind::bytes),
                  show_value(plan.load.rate.value(), Kind::rate), packets,
                  show_value(plan.load.rate.value(), Kind::rate), packets * plan.load.rate.value()),
      "the board's window of 5744 B holds four (chip maker's SDK); RFC 5681, 4.2 for acknowledgements, from "
      "memory"};
}

Step frame_step(const RadioPlan& plan, const HtRate& rate, std::string_view whose) {
  const int together = plan.load.together;
  const Seconds exchange = exchange_time(kPacket, together, rate, plan.load.guard);
  const bool one = together == 1;
  const Seconds back = legacy_frame_time(one ? kAcknowledgement : kBlockAcknowledgement, rate.ack_mbps);
  return {
      fmt::format("{} on the air, {}", one ? "One packet" : fmt::format("{} packets together", together),
                  whose),
      plan.load.guard == Guard::long_guard ? "T = 36 + 4 · ⌈(22 + 8 · L) / N⌉ + 6 µs, SIFS, acknowledgement "
                                             "20 + 4 · ⌈(22 + 8 · L) / (4 · R)⌉ + 6 µs"
                                           : "T = 36 + 4 · ⌈0.9 · ⌈(22 + 8 · L) / N⌉⌉ + 6 µs, SIFS, "
                                             "acknowledgement 20 + 4 · ⌈(22 + 8 · L) / (4 · R)⌉ + 6 µs",
      fmt::format("MCS {}, N = {}, L = {} B: {} + 10 µs + {} = {}", rate.mcs, rate.bits_a_symbol,
                  one ? "1530" : fmt::format("{} · 1536", together), show(exchange - kSifs - back),
                  show(back), show(exchange)),
      "IEEE 802.11; times from ns-3; the HT preamble of 36 µs, the rate of the acknowledgement and, for a "
      "short guard, the filling up to 4 µs from memory"};
}

}  // namespace

std::vector<Step> radio_steps(const RadioPlan& plan) {
  const ChannelCameras on_it = dealt(plan.cameras, plan.weak, plan.channels, 0);
  const ChannelUse use = channel_use(plan.load, on_it);
  const Contention settled = contention_of(on_it.all() + 1);
  std::vector<Step> steps;
  steps.push_back({"Rate from signal", "fastest rate whose least signal ≤ signal − fade",
                   fmt::format("{:.0f} − {:.0f} = {:.0f} dBm: MCS {}, {} Mb/s", plan.worst_signal().dbm,
                               plan.fade.db, (plan.worst_signal() - plan.fade).dbm, plan.worst_rate().mcs,
                               plan.worst_rate().mbps(plan.load.guard)),
                   "IEEE 802.11-2016, as quoted by others; table 19-23, its number from memory"});
  steps.push_back(packets_step(plan));
  steps.push_back(frame_step(plan, plan.load.usual, "most cameras"));
  if (plan.weak > 0) steps.push_back(frame_step(plan, plan.load.weak, "weak cameras"));
  steps.push_back({"Who contends",
                   "τ = 2 / (1 + W + p · W · Σ (2p)^i, i = 0 … m − 1), p = 1 − (1 − τ)^(n − 1)",
                   fmt::format("W = 16, m = 6, n = {} cameras and the access point: τ = {:.4f}, p = {:.3f}",
                               on_it.all(), settled.attempt, settled.collision),
                   "Bianchi, IEEE JSAC 2000; solved to the root"});
  steps.push_back({"What the channel carries, of slots in which none (P0), one (P1) or several (Pc) begin",
                   "X = P1 / (1 − 1/W) / (P0 · slot + P1 · (Ts / (1 − 1/W) + slot) + Pc · Tc)",
                   fmt::format("{:.0f} exchanges a second, of which {:.0f} are wanted: {:.1f} %",
                               use.carried.value(), use.wanted.value(), 100 * use.share()),
                   "Bianchi, with the frozen back-off of ns-3's bianchi_11g_difs; AIFS 37 µs from memory"});
  return steps;
}

}  // namespace rookery::plan
