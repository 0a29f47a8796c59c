// What the parts of the subject "usb" share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "plan/answer.h"
#include "plan/field.h"
#include "plan/usb.h"

namespace rookery::plan {

struct UsbPlan {
  int cameras = 0;
  int buses = 1;
  int width_px = 0;
  int height_px = 0;
  Hertz rate;
  bool motion_jpeg = false;
  Bytes jpeg;                     // of one JPEG picture of this size
  bool jpeg_assumed = false;      // nobody gave it
  bool largest = false;           // reserves the largest, whatever it needs
  std::optional<Bytes> reserved;  // what the person read off
  Amperes current;
  const UsbPort* port = nullptr;
  const UsbCable* cable = nullptr;
  std::optional<Metres> cable_length;

  Bytes picture() const { return motion_jpeg ? jpeg : yuy2_picture(width_px, height_px); }
  BytesPerSecond each() const { return BytesPerSecond::from_value(picture().value() * rate.value()); }
  std::optional<Metres> longest() const { return longest_usb_cable(cable->a_metre(), current); }
  Reservation reservation() const;
  int fit() const { return buses * cameras_on_a_bus(reservation()); }
  int on_fullest() const { return (cameras + buses - 1) / buses; }
  Seconds fullest_time() const { return static_cast<double>(on_fullest()) * reserved_time(reservation()); }
};

// The same pictures from USB cameras of several kinds, and from Wi-Fi boards.
Table usb_comparison(const UsbPlan& plan);
std::vector<Step> usb_steps(const UsbPlan& plan);
std::string usb_drawing(const UsbPlan& plan);

// "3 × 1024 B".
std::string show_reservation(const Reservation& reservation);

}  // namespace rookery::plan
