// What a sum says: the answer with its margin, the limit it ran into, the formulas with the numbers filled
// in, and what to be careful about. The same whether it is read on the command line, on the page or on a
// build sheet.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>

#include "plan/field.h"
#include "plan/unit_text.h"

namespace rookery::plan {

// How the answer stands to its limits.
enum class Verdict {
  holds,  // inside, with margin
  tight,  // inside, but little is left: tolerances or age can use it up
  fails,  // outside
};
std::string_view name_of(Verdict verdict);   // in JSON: "holds", "tight", "fails"
std::string_view words_of(Verdict verdict);  // for people: "Holds", "Tight", "Does not hold"

// What tolerances make of a value: the corners' extremes, and where 10 000 draws fall (5th and 95th
// percentile).
struct Spread {
  double low = 0;
  double high = 0;
  std::optional<double> p5 = {};
  std::optional<double> p95 = {};
};

// One number of the answer.
struct Figure {
  std::string key = {};    // in JSON, unique within its answer: "drop"
  std::string label = {};  // "Lost on the way, both conductors"
  Kind kind{};
  double value = 0;  // in the kind's unit (unit_text.h)
  int digits = 3;
  std::optional<Spread> spread = std::nullopt;
  std::string note = {};  // a few words that belong beside it
};

// A bound that the answer is held against. The one with the least margin is what the plan runs into first.
struct Limit {
  std::string key = {};    // in JSON, unique within its answer
  std::string label = {};  // "At the board, while it transmits"
  Kind kind{};
  double value = 0;
  double bound = 0;
  bool at_most = true;  // value ≤ bound is right; else value ≥ bound
  Verdict verdict{};
  std::string source = {};  // of the bound: a standard, a datasheet, "common practice", "your own value"
  std::string remedy = {};  // what to do when it does not hold, or little is left

  // What is left, in the kind's unit: negative when it fails.
  double margin() const { return at_most ? bound - value : value - bound; }
  // Levels differ by decibels; all else by its own kind.
  Kind margin_kind() const { return kind == Kind::level ? Kind::loss : kind; }
  // The same as a share of the bound; what limits are compared by.
  double margin_share() const;
};

// A limit judged: fails beyond `bound`, tight within `tight_share` of it, else holds.
Limit judged(Limit limit, double tight_share);

// One step of the sum.
struct Step {
  std::string what = {};     // "Resistance of the run"
  std::string formula = {};  // "R = 2·ρ·L/A·(1 + α·(T − 20 °C))"
  std::string filled = {};   // "2 · 0.01724 Ω·mm²/m · 5 m / 0.5 mm² · (1 + 0.00393 · 20) = 0.372 Ω"
  std::string source = {};   // "IEC 60028; ASTM B258", "common practice"
};

struct Table {
  std::string title = {};
  std::vector<std::string> columns = {};
  std::vector<std::vector<std::string>> rows = {};   // one cell a column
  std::optional<std::size_t> chosen = std::nullopt;  // the row that is the person's own choice
};

// Something to know that is not a limit. A caution is about harm.
struct Note {
  bool caution = false;
  std::string text = {};
  std::string remedy = {};
};

// Something to buy or to cut that the sum has settled, for the build sheet.
struct SheetPart {
  std::string what = {};   // "Wire to the board"
  std::string value = {};  // "0.5 mm², two conductors, 2 m each"
};

struct Answer {
  std::string subject;   // the subject's key
  std::string headline;  // one sentence: the answer, with its number
  std::vector<Figure> figures;
  std::vector<Limit> limits;
  std::vector<Table> tables;
  std::vector<Step> steps;
  std::vector<Note> notes;
  std::vector<SheetPart> parts;
  std::string drawing;  // SVG (svg.h), or empty

  // The worst of the limits; holds when there is none.
  Verdict verdict() const;
  // The limit with the least margin (the worst verdict first), which a plan runs into first; null when there
  // is none.
  const Limit* nearest_limit() const&;
  const Figure& figure(std::string_view key) const&;  // asserts that it is there
  const Limit& limit(std::string_view key) const&;    // asserts that it is there
};

// The answer as JSON, with what was asked. Numbers are in the kind's own unit, which stands beside each
// ("unit") with the text that people read ("text").
boost::json::object to_json(const Answer& answer, const Values& values);
// The same as text for a terminal: headline, limit, figures, tables, steps, what was assumed, notes.
std::string to_text(const Answer& answer, const Values& values);

}  // namespace rookery::plan
