// What a sum asks for: its fields, and the values that a person gave for them.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"
#include "plan/unit_text.h"
#include "plan/units.h"

namespace rookery::plan {

// One word that a field of kind `choice` takes.
struct Choice {
  std::string_view key;
  std::string_view label;
};

// One value that a sum needs.
struct Field {
  std::string_view key = {};    // on the command line, in plan files and JSON: "length"
  std::string_view label = {};  // for people: "Length of the run, one way"
  Kind kind{};
  // What the sum holds for, as a person would type it; both included. Empty for choice and words.
  std::string_view least = {};
  std::string_view most = {};
  // Taken when nothing is given, and then said in the answer together with `why`; empty: must be given.
  std::string_view preset = {};
  std::string_view why = {};  // why this preset ("the chip maker's figure"), or where to read the value off
  // What the page and the help start from for a field that must be given; not used by any sum.
  std::string_view example = {};
  std::span<const Choice> choices = {};
  bool rare = false;           // few people change it: the page keeps it folded
  bool may_be_absent = false;  // neither given nor preset is a possibility that the sum knows of

  bool must_be_given() const { return preset.empty() && !may_be_absent; }
};

// Whether the field of that key would take the value (in its kind's unit). A key that none has is a bug and
// asserts.
bool takes(std::span<const Field> fields, std::string_view key, double value);

// Of the kind's accepted_forms those within the field's range, else its example, preset or least: no advice
// that the field itself would refuse.
std::string forms_of(const Field& field);

// What a person typed for one field.
struct Given {
  std::string key;
  std::string text;
};

// The checked values of one sum: one for each field that was given or has a preset. Immutable once read.
class Values {
 public:
  // One value, as asked and as it counts.
  struct Entry {
    const Field* field = nullptr;
    std::string text;      // as typed
    double number = 0;     // in the kind's unit (unit_text.h); 0 for choice and words
    bool assumed = false;  // nobody gave it: the preset
  };

  bool has(std::string_view key) const;
  // In the kind's unit. Asking for a key that the sum has no field for, or that is absent, is a bug and
  // asserts.
  double number(std::string_view key) const;
  std::string_view text(std::string_view key) const&;

  // number() with the type that belongs to the kind; a bug and asserts when the field is of another kind.
  Volts volts(std::string_view key) const { return Volts::from_value(of(key, Kind::voltage)); }
  Amperes amperes(std::string_view key) const { return Amperes::from_value(of(key, Kind::current)); }
  Watts watts(std::string_view key) const { return Watts::from_value(of(key, Kind::power)); }
  Ohms ohms(std::string_view key) const { return Ohms::from_value(of(key, Kind::resistance)); }
  Joules joules(std::string_view key) const { return Joules::from_value(of(key, Kind::energy)); }
  Coulombs coulombs(std::string_view key) const { return Coulombs::from_value(of(key, Kind::charge)); }
  Farads farads(std::string_view key) const { return Farads::from_value(of(key, Kind::capacitance)); }
  Henries henries(std::string_view key) const { return Henries::from_value(of(key, Kind::inductance)); }
  Hertz hertz(std::string_view key) const { return Hertz::from_value(of(key, Kind::frequency)); }
  Seconds seconds(std::string_view key) const { return Seconds::from_value(of(key, Kind::duration)); }
  Metres metres(std::string_view key) const { return Metres::from_value(of(key, Kind::length)); }
  MetresPerSecond metres_per_second(std::string_view key) const {
    return MetresPerSecond::from_value(of(key, Kind::speed));
  }
  SquareMetres wire_size(std::string_view key) const {
    return SquareMetres::from_value(of(key, Kind::wire_size));
  }
  Degrees degrees(std::string_view key) const { return {of(key, Kind::angle)}; }
  int pixels(std::string_view key) const { return static_cast<int>(of(key, Kind::pixels)); }
  Celsius celsius(std::string_view key) const { return {of(key, Kind::temperature)}; }
  KelvinsPerWatt kelvins_per_watt(std::string_view key) const {
    return KelvinsPerWatt::from_value(of(key, Kind::heat_resistance));
  }
  Bytes bytes(std::string_view key) const { return Bytes::from_value(of(key, Kind::bytes)); }
  BytesPerSecond bytes_per_second(std::string_view key) const {
    return BytesPerSecond::from_value(of(key, Kind::byte_rate));
  }
  Dbm dbm(std::string_view key) const { return {of(key, Kind::level)}; }
  Decibels decibels(std::string_view key) const { return {of(key, Kind::loss)}; }
  double ratio(std::string_view key) const { return of(key, Kind::ratio); }
  int count(std::string_view key) const { return static_cast<int>(of(key, Kind::count)); }
  // The chosen word of a field of kind `choice`.
  std::string_view choice(std::string_view key) const&;

  std::span<const Entry> entries() const& { return entries_; }

 private:
  friend base::Result<Values> read_values(std::span<const Field> fields, std::span<const Given> given,
                                          const std::string& where, std::vector<base::Error>* all);

  const Entry* find(std::string_view key) const;
  double of(std::string_view key, Kind kind) const;

  std::vector<Entry> entries_;  // in the fields' order
};

// Checks what was given against `fields`, which the result borrows: they outlive it. Errors, each naming its
// field as
// "`where`: key": invalid_value for a key that no field has, for what read_value refuses, for a value outside
// least and most (the model does not hold there, and nothing is extrapolated), for a key given twice, and for
// a missing value; also for words that are no UTF-8 or hold what a terminal obeys. All of them go into `all`,
// when it is there; the result holds the first.
base::Result<Values> read_values(std::span<const Field> fields, std::span<const Given> given,
                                 const std::string& where, std::vector<base::Error>* all = nullptr);

}  // namespace rookery::plan
