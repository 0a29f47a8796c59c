#include "plan/usb_plan.h"

#include <algorithm>

#include <fmt/format.h>

#include "plan/radio_plan.h"

namespace rookery::plan {
namespace {

struct Way {
  std::string what;
  double rate = 0;  // pictures a second of each
  int cameras = 0;
  std::string on;
  std::string reach;
};

// Pictures a second that are enough to see what a machine does; common practice, no source.
constexpr double kEnough = 5;

Way usb_way(const UsbPlan& plan, std::string what, const UsbPlan& other) {
  const double most = (carried_by(other.reservation()) / other.picture()).value();
  return {std::move(what), std::min(plan.rate.value(), most), other.fit(),
          plan.buses > 1 ? fmt::format("{} buses", plan.buses) : "one bus",
          plan.longest() ? fmt::format("{} of this cable", shown_cable(*plan.longest()))
                         : "its contacts alone lose too much"};
}

// The sensor's own rate by size: 15, 30 and 60 a second at 1600×1200, 800×600 and 400×296. Source: its
// datasheet, as quoted by others. Nought when the picture is larger than the sensor.
double sensor_rate(const UsbPlan& plan) {
  const auto within = [&](int width, int height) {
    return plan.width_px <= width && plan.height_px <= height;
  };
  return within(400, 296) ? 60 : within(800, 600) ? 30 : within(1600, 1200) ? 15 : 0;
}

// With what the subject "radio" takes unless told: a fair signal, others 20 %, 30 % left free, 10 ms round
// trip.
Way radio_way(const UsbPlan& plan, int channels, double wanted) {
  RadioPlan radio;
  radio.round_trip = 10_ms;
  radio.load.picture = plan.jpeg;
  radio.load.usual = rate_with({-60}, {10});
  const double most = (ceiling_of_worst(radio).rate / plan.jpeg).value();
  const double rate = std::min({wanted, sensor_rate(plan), most});
  Way way{channels == 1 ? "Wi-Fi boards, one channel" : "Wi-Fi boards, channels 1, 6 and 11", rate, 0,
          channels == 1 ? "one access point" : fmt::format("{} access points", channels),
          "as far as the radio reaches"};
  if (rate <= 0) {
    way.reach = "the boards' sensor ends at 1600×1200";
    return way;
  }
  radio.load.rate = Hertz::from_value(rate);
  way.cameras = cameras_that_fit(radio.load, 0, channels, 0.5);
  return way;
}

std::string show(Hertz rate) { return show_value(rate.value(), Kind::rate); }
double us(Seconds time) { return time.value() * 1e6; }

}  // namespace

Reservation UsbPlan::reservation() const {
  if (reserved) return reservation_of(*reserved);
  if (largest) return kLargestReservation;
  return least_reservation(each()).value_or(kLargestReservation);
}

std::string show_reservation(const Reservation& reservation) {
  return fmt::format("{} × {:.0f} B", reservation.packets, reservation.packet.value());
}

Table usb_comparison(const UsbPlan& plan) {
  std::vector<Way> ways = {usb_way(plan, "USB, as asked", plan)};
  for (const bool motion_jpeg : {false, true}) {
    UsbPlan other = plan;
    other.motion_jpeg = motion_jpeg;
    other.largest = false;
    other.reserved.reset();
    ways.push_back(usb_way(
        plan, fmt::format("USB, {}, reserving no more than it needs", motion_jpeg ? "motion JPEG" : "YUY2"),
        other));
  }
  ways.push_back(radio_way(plan, 1, plan.rate.value()));
  ways.push_back(radio_way(plan, 3, plan.rate.value()));
  if (plan.rate.value() > kEnough) ways.push_back(radio_way(plan, 3, kEnough));
  Table table{"The same pictures from other cameras", {"Cameras", "How many", "Each", "On", "Reach"}, {}};
  for (const Way& way : ways) {
    table.rows.push_back(
        {way.what, std::to_string(way.cameras), show(Hertz::from_value(way.rate)), way.on, way.reach});
  }
  table.chosen = 0;
  return table;
}

std::vector<Step> usb_steps(const UsbPlan& plan) {
  const Reservation reservation = plan.reservation();
  const std::string bytes = show_value(plan.picture().value(), Kind::bytes);
  std::vector<Step> steps;
  if (!plan.motion_jpeg) {
    steps.push_back({"One picture", "bytes = 2 · width · height",
                     fmt::format("2 · {} · {} = {}", plan.width_px, plan.height_px, bytes),
                     "YUY2 has two bytes a pixel"});
  } else if (plan.jpeg_assumed) {
    steps.push_back({"One picture", "bytes = 0.1 · width · height",
                     fmt::format("0.1 · {} · {} = {}", plan.width_px, plan.height_px, bytes),
                     "builders saw up to 49 kB at 800×600; give `picture` to have your own"});
  }
  steps.push_back(
      {"Needed in each microframe", "need = bytes · rate / 8000",
       fmt::format("{} · {} / 8000 = {:.0f} B, and 12 B of header in each packet", bytes, show(plan.rate),
                   plan.each().value() / kMicroframesASecond),
       "USB 2.0: 8000 microframes a second, as quoted by others; the header from memory (USB video class)"});
  steps.push_back({"Bus time of one packet", "t = (38 · 8 · 2083 + 2083 · (3 + ⌊56 · B / 6⌋)) / 1000 + 5 ns",
                   fmt::format("B = {:.0f} B: {:.0f} ns", reservation.packet.value(),
                               packet_time(reservation.packet).value() * 1e9),
                   "USB 2.0, 5.11.3, as Linux reckons it"});
  steps.push_back({"Cameras on one bus", "n = ⌊100 µs / (packets · t)⌋",
                   fmt::format("⌊100 / ({} · {:.2f})⌋ = {}", reservation.packets,
                               us(packet_time(reservation.packet)), cameras_on_a_bus(reservation)),
                   "Linux: at most 100 µs of each 125 may be periodic"});
  steps.push_back(
      {"Longest cable", "L = (125 mV / I − 2 · 30 mΩ) / r, at most 5 m",
       fmt::format("(125 mV / {} − 60 mΩ) / {:.4g} Ω/m → {}", show_value(plan.current.value(), Kind::current),
                   plan.cable->a_metre().value(),
                   plan.longest() ? shown_cable(*plan.longest()) : "none, the contacts alone lose it"),
       "USB 2.0, 7.2.2 (125 mV a conductor) and 30 mΩ a contact, from memory; 26 ns at 5.2 ns a metre as "
       "quoted "
       "by others"});
  return steps;
}

}  // namespace rookery::plan
