// The subjects that can be planned, each with what it asks and the sum that answers.
#pragma once

#include <span>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>

#include "base/result.h"
#include "plan/answer.h"
#include "plan/field.h"

namespace rookery::plan {

struct Subject {
  std::string_view key;       // on the command line, in addresses and plan files: "wire"
  std::string_view title;     // "Wire"
  std::string_view question;  // what it answers, one sentence
  std::span<const Field> fields;
  // The sum. Pure; the values were read against `fields`. Errors: invalid_value where values that are each
  // right do not go together, with what to change.
  base::Result<Answer> (*answer)(const Values& values);
};

// All subjects, in the order in which a person meets them.
std::span<const Subject> subjects();
// Null when there is none of that key.
const Subject* find_subject(std::string_view key);

// Values that were read, and what the sum says of them.
struct Planned {
  Values values;
  Answer answer;
};

// Reads and answers. Errors: those of read_values and of the sum; all that read_values found go into `all`.
base::Result<Planned> plan(const Subject& subject, std::span<const Given> given,
                           std::vector<base::Error>* all = nullptr);

// The examples of the fields that must be given: what the page starts from, and what tests try.
std::vector<Given> example_of(const Subject& subject);

// What the subject asks, as JSON: key, title, question, and its fields with kind, unit, all units with their
// factors, range (as typed and as a number), preset with its reason, example and choices.
boost::json::object to_json(const Subject& subject);

// One function a subject; each stands in its own <key>_subject.cpp.
Subject supply_subject();
Subject wire_subject();
Subject capacitor_subject();
Subject battery_subject();
Subject radio_subject();
Subject usb_subject();
Subject view_subject();
Subject disk_subject();
Subject cost_subject();

}  // namespace rookery::plan
