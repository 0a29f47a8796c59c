// What a fact of a board's log means to a person, and what to do next.
#pragma once

#include <string>

#include "proto/boot_facts.h"

namespace rookery::proto {

enum class Weight { good, note, bad };

// A machine word: "good", "note", "bad".
std::string_view name_of(Weight weight);

// immutable value. Whole sentences; `next` is empty where nothing is to be done.
struct BootWords {
  Weight weight = Weight::note;
  std::string meaning;
  std::string next;
};

// `cause` counts for a reset only: why it restarted, what came before it considered.
BootWords words_for(const BootFact& fact, ResetCause cause);

// What to do about restarts for this reason.
std::string remedy_for(ResetCause cause);

// The driver's error when no camera was found: "no answer from the sensor (0x105)".
BootWords words_for_camera_error(std::uint32_t code);

// What to do about a way to start that is not the normal one.
std::string remedy_for(BootMode mode);

}  // namespace rookery::proto
