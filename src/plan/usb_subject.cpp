// The subject "usb": why many USB cameras on one bus fail, how many fit, and what Wi-Fi boards would do.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "plan/safe_side.h"
#include "plan/subject.h"
#include "plan/usb_plan.h"

namespace rookery::plan {
namespace {

constexpr std::array kFormats = {
    Choice{"yuy2", "YUY2, not compressed"},
    Choice{"mjpeg", "Motion JPEG"},
};
constexpr std::array kReserves = {
    Choice{"largest", "The largest, 3 × 1024 B, whatever the picture needs"},
    Choice{"fitting", "No more than the picture needs"},
};
constexpr std::array kPorts = {
    Choice{"usb2", "A USB 2.0 port of its own"},   Choice{"usb3", "A USB 3 port of its own"},
    Choice{"charging", "A charging port"},         Choice{"powered-hub", "A hub with a supply of its own"},
    Choice{"plain-hub", "A hub without a supply"},
};
constexpr std::array kGauges = {
    Choice{"28", "28 AWG"}, Choice{"26", "26 AWG"}, Choice{"24", "24 AWG"},
    Choice{"22", "22 AWG"}, Choice{"20", "20 AWG"},
};

constexpr std::array kFields = {
    Field{.key = "cameras",
          .label = "USB cameras",
          .kind = Kind::count,
          .least = "1",
          .most = "127",
          .example = "4"},
    Field{.key = "width",
          .label = "Width of the picture",
          .kind = Kind::pixels,
          .least = "16 px",
          .most = "8000 px",
          .example = "640 px"},
    Field{.key = "height",
          .label = "Height of the picture",
          .kind = Kind::pixels,
          .least = "16 px",
          .most = "8000 px",
          .example = "480 px"},
    Field{.key = "rate",
          .label = "Pictures a second",
          .kind = Kind::rate,
          .least = "0.1 /s",
          .most = "240 /s",
          .example = "30 /s"},
    Field{.key = "format", .label = "Picture format", .kind = Kind::choice, .choices = kFormats},
    Field{.key = "picture",
          .label = "Bytes of one JPEG picture of this size",
          .kind = Kind::bytes,
          .least = "500 B",
          .most = "20 MB",
          .why = "save one and read its size; without it 0.1 B a pixel is taken",
          .may_be_absent = true},
    Field{.key = "reserve",
          .label = "What a camera reserves of each microframe",
          .kind = Kind::choice,
          .preset = "largest",
          .why = "many cameras ask for the largest setting; common practice, no source",
          .choices = kReserves},
    Field{.key = "reserved",
          .label = "Bytes reserved in each microframe, as read off",
          .kind = Kind::bytes,
          .least = "16 B",
          .most = "3072 B",
          .why = "wMaxPacketSize of the setting in use, times its packets; it goes before `reserve`",
          .rare = true,
          .may_be_absent = true},
    Field{.key = "buses",
          .label = "USB controllers",
          .kind = Kind::count,
          .least = "1",
          .most = "16",
          .preset = "1",
          .why = "all ports and hubs of a controller share one bus, as a rule",
          .rare = true},
    Field{.key = "current",
          .label = "Current of one camera",
          .kind = Kind::current,
          .least = "10 mA",
          .most = "3 A",
          .preset = "0.5 A",
          .why = "the most that a USB 2.0 device may draw",
          .rare = true},
    Field{.key = "port",
          .label = "Where a camera is plugged in",
          .kind = Kind::choice,
          .preset = "usb2",
          .why = "the usual port",
          .choices = kPorts,
          .rare = true},
    Field{.key = "cable",
          .label = "Length of a camera's cable",
          .kind = Kind::length,
          .least = "1 cm",
          .most = "30 m",
          .why = "between the camera and the port or hub",
          .rare = true,
          .may_be_absent = true},
    Field{.key = "gauge",
          .label = "Supply conductors of the cable",
          .kind = Kind::choice,
          .preset = "28",
          .why = "the thinnest that is usual; printed on the jacket (28AWG/1P+24AWG/2C has 24)",
          .choices = kGauges,
          .rare = true},
};

template <typename T>
const T* found(std::span<const T> all, std::string_view key) {
  return &*std::find_if(all.begin(), all.end(), [&](const T& one) { return one.key == key; });
}

UsbPlan plan_of(const Values& values) {
  UsbPlan plan;
  plan.cameras = values.count("cameras");
  plan.buses = values.count("buses");
  plan.width_px = static_cast<int>(values.number("width"));
  plan.height_px = static_cast<int>(values.number("height"));
  plan.rate = Hertz::from_value(values.number("rate"));
  plan.motion_jpeg = values.choice("format") == "mjpeg";
  plan.jpeg_assumed = !values.has("picture");
  plan.jpeg =
      plan.jpeg_assumed ? yuy2_picture(plan.width_px, plan.height_px) / 20.0 : values.bytes("picture");
  plan.largest = values.choice("reserve") == "largest";
  if (values.has("reserved")) plan.reserved = values.bytes("reserved");
  plan.current = values.amperes("current");
  plan.port = found(usb_ports(), values.choice("port"));
  plan.cable = found(usb_cables(), values.choice("gauge"));
  if (values.has("cable")) plan.cable_length = values.metres("cable");
  return plan;
}

std::string bus_remedy(const UsbPlan& plan) {
  const int on_one = cameras_on_a_bus(plan.reservation());
  UsbPlan thrifty = plan;
  thrifty.motion_jpeg = true;
  thrifty.largest = false;
  thrifty.reserved.reset();
  // A reservation of the largest still fits once.
  std::string out = fmt::format(
      "It takes {} controllers, each a card or a computer of its own: more hubs and ports do not help. ",
      (plan.cameras + on_one - 1) / on_one);
  if (thrifty.fit() > plan.fit()) {
    out += fmt::format("Or have motion JPEG from cameras that reserve no more than they need: {} fit. ",
                       thrifty.fit());
  }
  return out + "Or take Wi-Fi boards, which need no bus (see the table).";
}

// Pictures a second that what is reserved carries.
double fastest(const UsbPlan& plan) { return (carried_by(plan.reservation()) / plan.picture()).value(); }

Limit cable_limit(const UsbPlan& plan, Metres length) {
  return judged(
      {.key = "cable",
       .label = "Cable",
       .kind = Kind::length,
       .value = length.value(),
       .bound = plan.longest().value_or(0_m).value(),
       .at_most = true,
       .source =
           fmt::format("125 mV a conductor at {} in {} AWG (USB 2.0, 7.2.2) less two contacts, from memory; "
                       "5 m for the signal (USB 2.0, 26 ns), as quoted by others",
                       show_value(plan.current.value(), Kind::current), plan.cable->gauge),
       .remedy =
           "Take a shorter cable or one with thicker supply conductors; past 5 m put a hub with its own "
           "supply in between."},
      0.05);
}

std::vector<Limit> limits_of(const UsbPlan& plan) {
  std::vector<Limit> limits;
  const Reservation reservation = plan.reservation();
  limits.push_back(judged({.key = "bus",
                           .label = plan.buses > 1 ? "Reserved on the fullest bus, of each 125 µs"
                                                   : "Reserved on the bus, of each 125 µs",
                           .kind = Kind::duration,
                           .value = plan.fullest_time().value(),
                           .bound = kMostPeriodic.value(),
                           .at_most = true,
                           .source = "Linux: at most 100 µs may be periodic",
                           .remedy = bus_remedy(plan)},
                          0.0));
  limits.push_back(
      judged({.key = "endpoint",
              .label = "Sent by one camera",
              .kind = Kind::byte_rate,
              .value = plan.each().value(),
              .bound = carried_by(reservation).value(),
              .at_most = true,
              .source = fmt::format(
                  "{} in each microframe (USB 2.0, as quoted by others), less 12 B of header a packet, from "
                  "memory",
                  show_reservation(reservation)),
              .remedy = fmt::format("Ask for at most {}, a smaller picture, or "
                                    "motion JPEG.",
                                    show_value(shown_at_most(fastest(plan), Kind::rate), Kind::rate))},
             plan.reserved ? 0.05 : 0.0));
  limits.push_back(
      judged({.key = "port",
              .label = "Current of one camera",
              .kind = Kind::current,
              .value = plan.current.value(),
              .bound = plan.port->most.value(),
              .at_most = true,
              .source = fmt::format("{}, the USB standards as quoted by others", plan.port->label),
              .remedy = "Take a hub with a supply of its own, or a port that gives more."},
             0.0));
  if (plan.cable_length) limits.push_back(cable_limit(plan, *plan.cable_length));
  return limits;
}

// What is reserved for nothing, where that is most of it.
std::string idle_words(const UsbPlan& plan) {
  const double times = (carried_by(plan.reservation()) / plan.each()).value();
  return times < 2 ? "" : fmt::format(", {:.0f} times what it sends", times);
}

std::vector<Figure> figures_of(const UsbPlan& plan) {
  const Reservation reservation = plan.reservation();
  std::vector<Figure> out = {
      {.key = "fit",
       .label = "Cameras that fit",
       .kind = Kind::count,
       .value = static_cast<double>(plan.fit()),
       .note = plan.buses > 1 ? fmt::format("{} on each bus", cameras_on_a_bus(reservation)) : ""},
      {.key = "picture",
       .label = "One picture",
       .kind = Kind::bytes,
       .value = plan.picture().value(),
       .note = plan.motion_jpeg && plan.jpeg_assumed ? "assumed, 0.1 B a pixel" : ""},
      {.key = "each", .label = "Sent by one camera", .kind = Kind::byte_rate, .value = plan.each().value()},
      {.key = "reserved",
       .label = "Reserved by one camera",
       .kind = Kind::byte_rate,
       .value = reservation.bytes().value() * kMicroframesASecond,
       .note = show_reservation(reservation) + " in each microframe" + idle_words(plan)},
      {.key = "time",
       .label = "Of each microframe, by one camera",
       .kind = Kind::duration,
       .value = reserved_time(reservation).value()},
      {.key = "fastest",
       .label = "Most pictures a second of one camera",
       .kind = Kind::rate,
       .value = shown_at_most(fastest(plan), Kind::rate)},
  };
  if (const auto longest = plan.longest())
    out.push_back(
        {.key = "longest-cable",
         .label = "Longest cable",
         .kind = Kind::length,
         .value = told_cable(*longest).value(),
         .note = fmt::format("{} AWG; USB 2.0 itself, as quoted by others: {} at 0.5 A", plan.cable->gauge,
                             show_value(plan.cable->published.value(), Kind::length))});
  if (!plan.cable_length) return out;
  const Volts at_port = plan.port->at_port;
  const Volts lost = std::min(cable_drop(*plan.cable, *plan.cable_length, plan.current), at_port);
  out.push_back({.key = "drop",
                 .label = "Lost in the cable, both conductors",
                 .kind = Kind::voltage,
                 .value = lost.value()});
  out.push_back({.key = "at-camera",
                 .label = "Left at the camera",
                 .kind = Kind::voltage,
                 .value = (at_port - lost).value(),
                 .note = fmt::format("of the {} that the port gives at least",
                                     show_value(at_port.value(), Kind::voltage))});
  return out;
}

std::string headline_of(const UsbPlan& plan, const std::vector<Limit>& limits) {
  const int fit = plan.fit();
  const int placed = std::min(fit, plan.cameras);
  std::string out = fmt::format(
      "{} of {} cameras fit{} on {}: each reserves {} of the {} that cameras may have of every 125 µs",
      placed, plan.cameras, placed == 1 ? "s" : "",
      plan.buses > 1 ? fmt::format("{} buses", plan.buses) : "one bus",
      show_value(reserved_time(plan.reservation()).value(), Kind::duration),
      show_value(kMostPeriodic.value(), Kind::duration));
  if (fit > plan.cameras) out += fmt::format("; {} would fit", fit);
  for (const Limit& limit : limits) {
    if (limit.key == "bus" || limit.verdict != Verdict::fails) continue;
    out += fmt::format("; but {}", limit.key == "endpoint" ? "one cannot send so many pictures"
                                   : limit.key == "cable"  ? "the cable is too long"
                                                           : "the port gives too little current");
  }
  return out;
}

base::Result<Answer> answer(const Values& values) {
  const UsbPlan plan = plan_of(values);
  Answer out;
  out.limits = limits_of(plan);
  out.headline = headline_of(plan, out.limits);
  out.figures = figures_of(plan);
  out.tables = {usb_comparison(plan)};
  out.steps = usb_steps(plan);
  out.notes = {
      {.text =
           "A camera reserves its share when its stream starts, whether it sends as much or not: the one for "
           "which no room is left does not start, though all are seen and the bus looks idle (the kernel "
           "says: no space left on device)."},
      {.text = "A USB 2.0 camera in a USB 3 port is still on the one USB 2.0 bus of that controller. Cameras "
               "that send in bulk reserve nothing and are not reckoned here."},
      {.text = "The Wi-Fi rows take a signal of -60 dBm, 10 dB in hand, others 20 %, 30 % left free, and the "
               "same picture as JPEG.",
       .remedy = "Reckon your own with the subject radio."},
  };
  out.drawing = usb_drawing(plan);
  return out;
}

}  // namespace

Subject usb_subject() {
  return {
      .key = "usb",
      .title = "USB",
      .question =
          "How many USB cameras fit on one bus, why do more of them fail, and how do Wi-Fi boards "
          "compare?",
      .fields = kFields,
      .answer = &answer,
  };
}

}  // namespace rookery::plan
