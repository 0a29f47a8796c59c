#include "plan/usb.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "plan/safe_side.h"
#include "plan/unit_text.h"

namespace rookery::plan {

Seconds packet_time(Bytes packet) {
  const auto bytes = static_cast<long long>(packet.value());
  const long long bit_times = 7 * 8 * bytes / 6;
  const long long ns = (38 * 8 * 2083 + 2083 * (3 + bit_times)) / 1000 + 5;
  return Seconds::from_value(static_cast<double>(ns) * 1e-9);
}

Seconds reserved_time(const Reservation& reservation) {
  return static_cast<double>(reservation.packets) * packet_time(reservation.packet);
}

int cameras_on_a_bus(const Reservation& reservation) {
  return static_cast<int>(std::floor((kMostPeriodic / reserved_time(reservation)).value()));
}

Bytes yuy2_picture(int width_px, int height_px) { return Bytes::from_value(2.0 * width_px * height_px); }

std::optional<Reservation> least_reservation(BytesPerSecond rate) {
  const double pictures = std::ceil(rate.value() / kMicroframesASecond);
  const double room = (kMostPacket - kPayloadHeader).value();
  const int packets = std::max(1, static_cast<int>(std::ceil(pictures / room)));
  if (packets > kMostPackets) return std::nullopt;
  return Reservation{packets, Bytes::from_value(std::ceil(pictures / packets)) + kPayloadHeader};
}

BytesPerSecond carried_by(const Reservation& reservation) {
  const Bytes each = std::max(reservation.packet - kPayloadHeader, 0_B);
  return BytesPerSecond::from_value(each.value() * reservation.packets * kMicroframesASecond);
}

Reservation reservation_of(Bytes bytes) {
  const int packets = std::max(1, static_cast<int>(std::ceil((bytes / kMostPacket).value())));
  assert(packets <= kMostPackets);
  return {packets, Bytes::from_value(std::ceil(bytes.value() / packets))};
}

std::span<const UsbPort> usb_ports() {
  static const std::array kPorts = {
      UsbPort{"usb2", "USB 2.0 port", 500_mA, 4.75_V},
      UsbPort{"usb3", "USB 3 port", 900_mA, 4.75_V},
      UsbPort{"charging", "charging port", 1.5_A, 4.75_V},
      UsbPort{"powered-hub", "port of a hub with a supply of its own", 500_mA, 4.75_V},
      UsbPort{"plain-hub", "port of a hub without a supply", 100_mA, 4.40_V},
  };
  return kPorts;
}

std::optional<Metres> longest_usb_cable(OhmsPerMetre a_metre, Amperes current) {
  const Ohms left = kUsbConductorDrop / current - 2.0 * kUsbContact;
  if (left <= 0_ohm) return std::nullopt;
  return std::min(left / a_metre, kUsbSignalReach);
}

Metres told_cable(Metres longest) {
  if (longest >= kUsbSignalReach) return kUsbSignalReach;
  return Metres::from_value(shown_at_most(longest.value(), Kind::length));
}

std::string shown_cable(Metres longest) { return show_value(told_cable(longest).value(), Kind::length); }

OhmsPerMetre UsbCable::a_metre() const {
  return resistance_per_metre(SquareMetres::from_value(awg_area(gauge)), Strands::flexible, 40_C);
}

std::span<const UsbCable> usb_cables() {
  static const std::array kCables = {
      UsbCable{"28", 28, 0.81_m}, UsbCable{"26", 26, 1.31_m}, UsbCable{"24", 24, 2.08_m},
      UsbCable{"22", 22, 3.33_m}, UsbCable{"20", 20, 5_m},
  };
  return kCables;
}

Volts cable_drop(const UsbCable& cable, Metres length, Amperes current) {
  return 2.0 * cable.a_metre() * length * current;
}

}  // namespace rookery::plan
