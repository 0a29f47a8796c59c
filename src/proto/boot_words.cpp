#include "proto/boot_words.h"

#include <array>

#include <fmt/format.h>

#include "proto/wlan_reasons.h"

namespace rookery::proto {
namespace {

// 5 V and 2 A: what builders report to cure it; makers ask for 500 mA at least, and transmission peaks at 700
// mA.
constexpr const char* kSupply =
    "Feed 5 V from one supply that gives 2 A, over a short and thick lead; not from the serial adapter's 3.3 "
    "V, a "
    "hub, or two supplies at once.";
constexpr const char* kSensor =
    "Take the power away, press the ribbon home and close its latch, then power on again; a restart alone "
    "may "
    "leave the sensor lost.";
constexpr const char* kProgram = "Load the program again, built for exactly this kind of board.";

std::string code_words(const BootFact& fact) {
  const std::string code = fact.code >= kSisterChip ? fmt::format("cause {}", fact.code - kSisterChip)
                                                    : fmt::format("0x{:x}", fact.code);
  return fact.detail.empty() ? code : fmt::format("{} {}", code, fact.detail);
}

// Chip codes 0x1, 0x3, 0xc … name software where a detector or a crash was the reason.
BootWords reset_words(ResetCause cause, const std::string& code) {
  switch (cause) {
    case ResetCause::power_on:
      return {Weight::good, fmt::format("Started: power on, or its reset button ({}).", code), ""};
    case ResetCause::brown_out:
      return {
          Weight::bad,
          fmt::format("Restarted because its supply fell below what the chip needs: a brown-out ({}).", code),
          ""};
    case ResetCause::panic:
      return {Weight::bad, fmt::format("Restarted because its program crashed ({}).", code), ""};
    case ResetCause::watchdog:
      return {Weight::bad, fmt::format("Restarted by a watchdog because its program hung ({}).", code), ""};
    case ResetCause::flash:
      return {Weight::bad, fmt::format("Restarted because it could not read its program ({}).", code), ""};
    case ResetCause::software:
      return {Weight::note, fmt::format("Restarted by its own program ({}).", code), ""};
    case ResetCause::deep_sleep:
      return {Weight::note, fmt::format("Woke from deep sleep ({}).", code), ""};
    case ResetCause::outside:
      return {Weight::note, fmt::format("Restarted by its reset pin ({}).", code), ""};
    case ResetCause::unknown:
      break;
  }
  return {Weight::note, fmt::format("Restarted for a reason that this program has no words for ({}).", code),
          ""};
}

BootWords start_words(const BootFact& fact, ResetCause cause) {
  BootWords out = reset_words(cause, code_words(fact));
  if (out.weight != Weight::good) out.next = remedy_for(cause);
  if (fact.mode == BootMode::programming) {
    out.meaning += " It is in programming mode: it waits for a program and does not start its own.";
  } else if (fact.mode == BootMode::wrong_flash_voltage) {
    out.meaning +=
        " The pin that chooses the flash's voltage was high: it reads its flash at 1.8 V, not 3.3 V.";
  } else {
    return out;
  }
  out.weight = Weight::bad;
  out.next = remedy_for(fact.mode);
  return out;
}

BootWords flash_words(const BootFact& fact) {
  if (fact.detail == "empty")
    return {Weight::bad, "There is no program in its flash.", "Load a program, then press reset."};
  return {Weight::bad, "It cannot read its program from the flash.",
          "Load the program with its first part (the one that starts the rest), take away what is wired to "
          "GPIO 12, "
          "and check the supply."};
}

BootWords capture_words(const std::string& kind) {
  if (kind == "FB-OVF")
    return {Weight::note, "A picture did not fit into its buffer and was dropped.",
            "Choose a smaller picture, or a larger quality number (a coarser picture)."};
  if (kind == "NO-SOI")
    return {Weight::note, "A picture came without its beginning and was dropped.",
            "If it goes on, check ribbon and supply, and lower the sensor's clock."};
  if (kind == "NO-EOI")
    return {Weight::note, "A picture came without its end and was dropped.",
            "If it goes on, choose a smaller picture, and check ribbon and supply."};
  return {Weight::note, "The pictures come faster than the program takes them.",
          "If it goes on, choose a smaller picture or a slower clock of the sensor."};
}

// Numbers of the board's own network library (from memory, but for 11 and 104).
BootWords send_words(std::uint32_t code) {
  const char* why = code == 11    ? "a viewer took nothing for 5 s and was cut off"
                    : code == 104 ? "a viewer closed its connection"
                    : code == 113 ? "no way to the viewer"
                    : code == 128 ? "the viewer's connection was gone"
                                  : "a viewer could not be sent to";
  return {Weight::note, fmt::format("Sending failed: {} (error {}).", why, code),
          code == 11 ? "If it goes on, look at the radio: distance, antenna, metal near it." : ""};
}

BootWords join_words(const BootFact& fact) {
  const WlanReason reason = wlan_reason(fact.code);
  return {Weight::bad,
          fmt::format("Not in the network: {} (reason {}{}).", reason.meaning, fact.code,
                      fact.detail.empty() ? "" : " " + fact.detail),
          std::string(reason.next)};
}

}  // namespace

std::string_view name_of(Weight weight) {
  constexpr std::array<std::string_view, 3> kNames = {"good", "note", "bad"};
  return kNames.at(static_cast<std::size_t>(weight));
}

// The driver's codes, from memory.
BootWords words_for_camera_error(std::uint32_t code) {
  const auto words = [code](const char* what, const char* next) {
    return BootWords{Weight::bad, fmt::format("No camera: {} (0x{:x}).", what, code), next};
  };
  switch (code) {
    case 0x105:
    case 0x20001:
      return words("the sensor does not answer", kSensor);
    case 0x106:
    case 0x20004:
      return words("the sensor answers, but the program does not know its kind, or it makes no JPEG",
                   "Use a sensor that makes JPEG itself, or a program that knows this one.");
    case 0x101:
      return words("no memory for it",
                   "Switch the extra memory on in the program's settings, or choose a smaller picture.");
    case 0x103:
      return words("the driver was started twice, or not ended", kProgram);
    case 0x107:
      return words("the sensor's bus hung", kSensor);
    case 0x20002:
      return words("the sensor refuses the size of picture", "Choose a size that this sensor has.");
    case 0x20003:
      return words("the sensor refuses JPEG", "Use a sensor that makes JPEG itself.");
    default:
      return words("the driver could not start it",
                   "Check ribbon and supply, and that the program's pin map is the one of this board.");
  }
}

std::string remedy_for(ResetCause cause) {
  switch (cause) {
    case ResetCause::brown_out:
      return kSupply;
    case ResetCause::power_on:
      return fmt::format("If nobody pressed reset or pulled the lead, its supply drops away altogether. {}",
                         kSupply);
    case ResetCause::panic:
      return fmt::format("{} If it goes on, give this log to whoever wrote it.", kProgram);
    case ResetCause::watchdog:
      return fmt::format("{} If it goes on, check the supply.", kProgram);
    case ResetCause::flash:
      return "Load the program with its first part, take away what is wired to GPIO 12, and check the "
             "supply.";
    case ResetCause::software:
      return "Nothing, if it was asked for; else look at what it said just before.";
    case ResetCause::unknown:
      return "Look the code up in the chip's documentation.";
    default:
      return "";
  }
}

// GPIO 12: the chip's data sheet calls it the pin that chooses the flash's voltage (from memory).
std::string remedy_for(BootMode mode) {
  switch (mode) {
    case BootMode::programming:
      return "Remove the programming link and press reset.";
    case BootMode::wrong_flash_voltage:
      return "Take away what pulls GPIO 12 up (a card, a wire, a resistor) and press reset.";
    default:
      return "";
  }
}

BootWords words_for(const BootFact& fact, ResetCause cause) {
  switch (fact.kind) {
    case BootFactKind::reset:
      return start_words(fact, cause);
    case BootFactKind::waiting_for_download:
      return {Weight::bad, "It is in programming mode: it waits for a program and does not start its own.",
              remedy_for(BootMode::programming)};
    case BootFactKind::flash_unreadable:
      return flash_words(fact);
    case BootFactKind::brown_out:
      return {Weight::bad, "Its supply fell below what the chip needs: a brown-out.", kSupply};
    case BootFactKind::panic:
      return {Weight::bad,
              fmt::format("Its program crashed{}.", fact.detail.empty() ? "" : ": " + fact.detail),
              remedy_for(ResetCause::panic)};
    case BootFactKind::task_watchdog:
      return {Weight::note, "A part of its program kept the others waiting for seconds; it goes on.",
              "Nothing, if it is rare; if pictures stall, load a newer program."};
    case BootFactKind::camera_failed:
      return words_for_camera_error(fact.code);
    case BootFactKind::camera_detected:
      return {Weight::good, fmt::format("The sensor answers: {}.", fact.detail), ""};
    case BootFactKind::no_frame_memory:
      return {Weight::bad, "There is no memory for pictures of this size.",
              "Switch the extra memory on in the program's settings, or choose a smaller picture."};
    case BootFactKind::capture_fault:
      return capture_words(fact.detail);
    case BootFactKind::frame_failed:
      return {Weight::note, "No picture came from the sensor in time.",
              "If it goes on, take the power away and give it again; then check ribbon and supply."};
    case BootFactKind::join_failed:
      return join_words(fact);
    case BootFactKind::joined:
      return {Weight::good,
              fmt::format("Joined the network{}.", fact.detail.empty() ? "" : " as " + fact.detail), ""};
    case BootFactKind::send_failed:
      return send_words(fact.code);
    case BootFactKind::address:
      return {Weight::good, fmt::format("Serves at {}", fact.detail), ""};
  }
  return {};
}

}  // namespace rookery::proto
