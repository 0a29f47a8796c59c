// The subject "wire": size and length of a run against what it loses.
#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "plan/cautions.h"
#include "plan/safe_side.h"
#include "plan/strand_choice.h"
#include "plan/subject.h"
#include "plan/svg.h"
#include "plan/wire.h"

namespace rookery::plan {
namespace {

const std::array kFields = {
    Field{.key = "current",
          .label = "Current that the run carries",
          .kind = Kind::current,
          .least = "1 mA",
          .most = "30 A",
          .why = "the peak of what hangs on it",
          .example = "0.5 A"},
    Field{.key = "length",
          .label = "Length of the run, one way",
          .kind = Kind::length,
          .least = "1 cm",
          .most = "200 m",
          .example = "2 m"},
    Field{.key = "size",
          .label = "Size of each conductor",
          .kind = Kind::wire_size,
          .least = "0.005 mm2",
          .most = "16 mm2",
          .why = "printed on the jacket",
          .example = "0.5 mm2"},
    Field{.key = "strands",
          .label = "How the conductor is made",
          .kind = Kind::choice,
          .preset = "flexible",
          .why = "the most that the standard allows",
          .choices = strand_choices(),
          .rare = true},
    Field{.key = "temperature",
          .label = "Temperature of the wire",
          .kind = Kind::temperature,
          .least = "-40 C",
          .most = "105 C",
          .preset = "40 C",
          .why = "common practice for a wire beside a machine",
          .rare = true},
    Field{.key = "from",
          .label = "Voltage where the run begins",
          .kind = Kind::voltage,
          .least = "1 V",
          .most = "60 V",
          .preset = "5.2 V",
          .why = "the usual set point, common practice"},
    Field{.key = "need",
          .label = "Least voltage where it ends",
          .kind = Kind::voltage,
          .least = "0.5 V",
          .most = "60 V",
          .preset = "4.75 V",
          .why = "the least of a USB supply, and just above what the usual board needs"},
    Field{.key = "short-current",
          .label = "Current that the supply gives into a short",
          .kind = Kind::current,
          .least = "0.1 A",
          .most = "200 A",
          .why = "on the supply's label; a printer's supply gives 15 A and more",
          .example = "15 A",
          .rare = true,
          .may_be_absent = true},
};

struct Run {
  Amperes current;
  Metres length;
  SquareMetres size;
  Strands strands;
  Celsius temperature;
  Volts from;
  Volts need;

  explicit Run(const Values& values)
      : current(values.amperes("current")),
        length(values.metres("length")),
        size(values.wire_size("size")),
        strands(strands_of(values)),
        temperature(values.celsius("temperature")),
        from(values.volts("from")),
        need(values.volts("need")) {}

  Volts drop_in(SquareMetres area) const {
    return loop_resistance(area, length, strands, temperature) * current;
  }
  Metres longest_in(SquareMetres area) const {
    return longest_run(area, strands, temperature, current, from - need);
  }
  // The same as it is told: rounded down.
  double told_longest(SquareMetres area) const {
    return shown_at_most(longest_in(area).value(), Kind::length);
  }
};

Table table_of(const Run& run) {
  Table table{
      "Other sizes for this run", {"Size", "Lost", "Left at the end", "Longest run", "Largest fuse"}, {}};
  for (const WireSize& size : usual_wire_sizes()) {
    if (std::abs(size.area.value() / run.size.value() - 1) < 0.01) table.chosen = table.rows.size();
    const Volts drop = run.drop_in(size.area);
    const bool enough = drop < run.from;
    table.rows.push_back(
        {std::string(size.name), show_value(drop.value(), Kind::voltage),
         enough ? show_value((run.from - drop).value(), Kind::voltage) : "nothing",
         show_value(run.told_longest(size.area), Kind::length),
         show_value(shown_at_most(largest_fuse(size.area).value(), Kind::current), Kind::current)});
  }
  return table;
}

std::string smallest_that_holds(const Run& run) {
  for (const WireSize& size : usual_wire_sizes()) {
    // Each sum is a unit of the last place beside the other.
    if (run.drop_in(size.area) <= (run.from - run.need) * (1 - 1e-9))
      return fmt::format("take {} or more", size.name);
  }
  return "none of the usual sizes is enough: shorten the run, or bring a higher voltage and step it down at "
         "the board";
}

std::vector<Limit> limits_of(const Run& run, Volts at_end) {
  std::vector<Limit> limits;
  limits.push_back(judged({.key = "end",
                           .label = "Voltage where the run ends",
                           .kind = Kind::voltage,
                           .value = at_end.value(),
                           .bound = run.need.value(),
                           .at_most = false,
                           .source = "your own value: the least voltage that is needed",
                           .remedy = "For this length " + smallest_that_holds(run) + "."},
                          0.01));
  const auto fuse = fuse_for(run.current);
  limits.push_back(
      judged({.key = "fuse",
              .label = fuse ? "Fuse for this current" : "Current, for which no fuse up to 10 A is made",
              .kind = Kind::current,
              .value = fuse.value_or(run.current / 0.75).value(),
              .bound = largest_fuse(run.size).value(),
              .at_most = true,
              .source = std::string(kFuseSource),
              .remedy = "Take a thicker wire: a fuse that carries this current would let this wire get hot."},
             0.0));
  return limits;
}

std::string drawing_of(const Run& run, Volts at_end) {
  Svg svg(560, 190, "The run: voltage where it begins and where it ends");
  svg.rect({20, 50}, 110, 90, Ink::line, Ink::wash, 4).text({75, 90}, "Supply", Anchor::middle);
  svg.text({75, 112}, show_value(run.from.value(), Kind::voltage), Anchor::middle, 15, Ink::trace);
  svg.rect({430, 50}, 110, 90, Ink::line, Ink::wash, 4).text({485, 90}, "Board", Anchor::middle);
  const Ink ink = at_end < run.need ? Ink::accent : Ink::trace;
  svg.text({485, 112}, show_value(at_end.value(), Kind::voltage), Anchor::middle, 15, ink);
  svg.line({130, 75}, {430, 75}, Ink::trace, 3).line({130, 115}, {430, 115}, Ink::line, 3);
  svg.text({280, 68}, "+", Anchor::middle)
      .text({280, 132}, "ground, the way back", Anchor::middle, 12, Ink::soft);
  svg.text({280, 100},
           fmt::format("{} →, {} lost", show_value(run.current.value(), Kind::current),
                       show_value((run.from - at_end).value(), Kind::voltage)),
           Anchor::middle, 13, ink);
  svg.measure({130, 165}, {430, 165}, show_value(run.length.value(), Kind::length));
  return svg.done();
}

std::vector<Step> steps_of(const Run& run, Ohms loop, Volts drop) {
  const OhmsPerMetre each = resistance_per_metre(run.size, run.strands, 20_C);
  const std::string length = show_value(run.length.value(), Kind::length);
  return {
      {"Resistance of both conductors", "R = 2 · r · L · (1 + α · (T − 20 °C))",
       fmt::format("2 · {:.4g} Ω/m · {} · (1 + 0.00393 · {:.0f}) = {}", each.value(), length,
                   (run.temperature - 20_C).value(), show_value(loop.value(), Kind::resistance, 4)),
       std::string(kCopperSource)},
      {"Lost on the way", "U = R · I",
       fmt::format("{} · {} = {}", show_value(loop.value(), Kind::resistance, 4),
                   show_value(run.current.value(), Kind::current), show_value(drop.value(), Kind::voltage)),
       "Ohm's law"},
      {"Longest run", "L = (from − need) / (2 · r · I)",
       fmt::format("{} / (2 · {:.4g} Ω/m · {}) = {}",
                   show_value((run.from - run.need).value(), Kind::voltage),
                   resistance_per_metre(run.size, run.strands, run.temperature).value(),
                   show_value(run.current.value(), Kind::current),
                   show_value(run.longest_in(run.size).value(), Kind::length)),
       "the same, turned round"},
  };
}

// What a short does to the copper. Onderdonk's formula is for some seconds, in which no heat is given away.
Note short_note(const Run& run, const Values& values) {
  const Amperes current = values.amperes("short-current");
  const Seconds lasts = onderdonk_melting_time(run.size, current, run.temperature);
  std::string what = "the copper does not melt at once, but its jacket burns";
  if (current > preece_melting_current(run.size) && lasts <= 10_s) {
    what = fmt::format("the copper melts after about {} (Onderdonk), and its jacket burns before",
                       show_value(lasts.value(), Kind::duration, 2));
  }
  return {.caution = true,
          .text = fmt::format("Into a short this supply gives {}: without a fuse {}.",
                              values.text("short-current"), what),
          .remedy = "Put the fuse within a hand's width of the supply."};
}

base::Result<Answer> answer(const Values& values) {
  const Run run(values);
  if (run.need >= run.from) {
    return base::Error(base::ErrorCode::invalid_value, "wire: need",
                       fmt::format("{} is wanted where the run ends, but it begins with {}",
                                   values.text("need"), values.text("from")),
                       "nothing may be lost then: give a lower `need` or a higher `from`");
  }
  const Ohms loop = loop_resistance(run.size, run.length, run.strands, run.temperature);
  const Volts drop = loop * run.current;
  // More than all of it cannot be lost: the current would not flow.
  const Volts at_end = std::max(run.from - drop, 0_V);
  Answer out;
  out.headline = fmt::format("{} are lost on the way, {} arrive; this wire may be up to {} long",
                             show_value(std::min(drop, run.from).value(), Kind::voltage),
                             show_value(at_end.value(), Kind::voltage),
                             show_value(run.told_longest(run.size), Kind::length));
  out.figures = {
      {.key = "resistance",
       .label = "Resistance, both conductors",
       .kind = Kind::resistance,
       .value = loop.value()},
      {.key = "drop", .label = "Lost on the way", .kind = Kind::voltage, .value = drop.value()},
      {.key = "end", .label = "Left where the run ends", .kind = Kind::voltage, .value = at_end.value()},
      {.key = "longest",
       .label = "Longest run, one way",
       .kind = Kind::length,
       .value = run.told_longest(run.size)},
      {.key = "heat",
       .label = "Turned into heat along the run",
       .kind = Kind::power,
       .value = (drop * run.current).value()},
      {.key = "gauge",
       .label = "As a gauge, about",
       .kind = Kind::number,
       .value = awg_of_area(run.size.value()),
       .digits = 2,
       .note = "AWG"},
  };
  if (const auto fuse = fuse_for(run.current)) {
    out.figures.push_back({.key = "fuse",
                           .label = "Fuse at the supply",
                           .kind = Kind::current,
                           .value = fuse->value(),
                           .note = "it protects the wire, not the board"});
  }
  out.figures.push_back({.key = "melts",
                         .label = "Melts in free air at",
                         .kind = Kind::current,
                         .value = preece_melting_current(run.size).value(),
                         .note = "never a rating (Preece)"});
  out.limits = limits_of(run, at_end);
  out.tables = {table_of(run)};
  out.steps = steps_of(run, loop, drop);
  out.notes.push_back(
      {.text = "The fuse stands at the supply's end and protects the wire; it does not protect the board."});
  if (values.has("short-current")) out.notes.push_back(short_note(run, values));
  out.notes.push_back(short_caution());
  out.notes.push_back(wiring_caution());
  out.parts = {{"Wire", fmt::format("two conductors of {}, each {} long", values.text("size"),
                                    values.text("length"))}};
  if (const auto fuse = fuse_for(run.current)) {
    out.parts.push_back(
        {"Fuse, within a hand's width of the supply", show_value(fuse->value(), Kind::current)});
  }
  out.drawing = drawing_of(run, at_end);
  return out;
}

}  // namespace

Subject wire_subject() {
  return {"wire", "Wire",
          "How much does a run of wire lose, how long may it be, and which fuse keeps it cool?", kFields,
          answer};
}

}  // namespace rookery::plan
