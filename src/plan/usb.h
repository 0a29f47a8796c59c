// Cameras on a USB 2.0 bus: what each reserves of a microframe, how many fit, and how long their cables may
// be. High speed (480 Mb/s), isochronous, as USB cameras stream.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "plan/units.h"
#include "plan/wire.h"

namespace rookery::plan {

// The bus is dealt out in microframes. Source: USB 2.0; Linux lets at most 100 µs of each be periodic.
inline const Seconds kMicroframe = 125_us;
inline const Seconds kMostPeriodic = 100_us;
inline constexpr int kMicroframesASecond = 8000;

// What an endpoint reserves of each microframe: one to three packets of at most 1024 B. Source: USB 2.0.
struct Reservation {
  int packets = 1;
  Bytes packet;  // each

  Bytes bytes() const { return static_cast<double>(packets) * packet; }
};
inline const Bytes kMostPacket = 1024_B;
inline constexpr int kMostPackets = 3;
inline const Reservation kLargestReservation{kMostPackets, kMostPacket};

// Bus time of one isochronous packet. Source: USB 2.0, 5.11.3, in whole numbers as Linux reckons it:
// (38·8·2083 + 2083·(3 + ⌊56·B/6⌋))/1000 + 5 ns.
Seconds packet_time(Bytes packet);
Seconds reserved_time(const Reservation& reservation);

// How many such cameras the periodic part of a bus holds.
int cameras_on_a_bus(const Reservation& reservation);

// YUY2 has two bytes a pixel.
Bytes yuy2_picture(int width_px, int height_px);

// Each packet begins with a header of 12 B. From memory: USB video class, 2.4.3.3.
inline const Bytes kPayloadHeader = 12_B;
// The least that a camera of `rate` could reserve, headers included, if it offers a setting so small; nothing
// when not even the largest is enough.
std::optional<Reservation> least_reservation(BytesPerSecond rate);
// What a reservation carries, headers taken off.
BytesPerSecond carried_by(const Reservation& reservation);
// A reservation of `bytes` in as few packets as may be; 1 to 3072 B.
Reservation reservation_of(Bytes bytes);

// Where a camera's current comes from.
struct UsbPort {
  std::string_view key;
  std::string_view label;
  Amperes most;   // of one camera
  Volts at_port;  // least
};
// Source: USB 2.0 (100 and 500 mA, VBUS 4.75 to 5.25 V, 4.40 V at a low-power port), USB 3 (900 mA), battery
// charging 1.2 (1.5 A), as quoted by others.
std::span<const UsbPort> usb_ports();

// 125 mV a conductor. Source: USB 2.0, 7.2.2, from memory.
inline const Volts kUsbConductorDrop = 0.125_V;
// From memory: a new USB contact has at most 30 mΩ; a conductor passes two.
inline const Ohms kUsbContact = 0.03_ohm;
// The signal may be under way for 26 ns, at 5.2 ns a metre. Source: USB 2.0, as quoted by others.
inline const Metres kUsbSignalReach = 5_m;

// The longest cable whose conductors, of `a_metre`, stay within that drop at `current` once the contacts have
// taken theirs, and that the signal passes in time; none when the contacts alone lose it. All sums ask here.
std::optional<Metres> longest_usb_cable(OhmsPerMetre a_metre, Amperes current);
// The same for people: rounded down, so that it holds.
std::string shown_cable(Metres longest);
Metres told_cable(Metres longest);

// A cable's supply conductors, flexible copper at 40 °C.
struct UsbCable {
  std::string_view key;  // "28"
  int gauge = 0;
  // The longest at 0.5 A. Source: USB 2.0, as quoted by others. Ours, warmer and with worn contacts, is less.
  Metres published;

  OhmsPerMetre a_metre() const;
};
std::span<const UsbCable> usb_cables();
// Lost in both conductors, without the contacts.
Volts cable_drop(const UsbCable& cable, Metres length, Amperes current);

}  // namespace rookery::plan
