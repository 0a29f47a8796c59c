#include <algorithm>
#include <cstddef>

#include <fmt/format.h>

#include "plan/answer.h"

namespace rookery::plan {
namespace {

// Characters that a terminal shows: those of UTF-8 that are no continuation.
std::size_t width_of(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }));
}

std::string padded(std::string_view text, std::size_t width) {
  std::string out(text);
  for (std::size_t i = width_of(text); i < width; ++i) out += ' ';
  return out;
}

std::string spread_text(const Figure& figure) {
  if (!figure.spread) return {};
  const auto text = [&](double value) { return show_value(value, figure.kind, figure.digits); };
  std::string out = fmt::format("  worst case {} to {}", text(figure.spread->low), text(figure.spread->high));
  if (figure.spread->p5 && figure.spread->p95) {
    out += fmt::format("; 90 of 100 cases {} to {}", text(*figure.spread->p5), text(*figure.spread->p95));
  }
  return out;
}

std::string figures_text(const Answer& answer) {
  std::size_t label = 0;
  std::size_t value = 0;
  for (const Figure& figure : answer.figures) {
    label = std::max(label, width_of(figure.label));
    value = std::max(value, width_of(show_value(figure.value, figure.kind, figure.digits)));
  }
  std::string out;
  for (const Figure& figure : answer.figures) {
    std::string line =
        fmt::format("  {}  {}{}", padded(figure.label, label),
                    padded(show_value(figure.value, figure.kind, figure.digits), value), spread_text(figure));
    if (!figure.note.empty()) line += "  " + figure.note;
    out += line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
  }
  return out;
}

std::string limits_text(const Answer& answer) {
  std::string out;
  for (const Limit& limit : answer.limits) {
    out += fmt::format("  {}: {} is {}, {} {} ({}): {} {}\n", words_of(limit.verdict), limit.label,
                       show_value(limit.value, limit.kind), limit.at_most ? "at most" : "at least",
                       show_value(limit.bound, limit.kind), limit.source,
                       show_value(std::abs(limit.margin()), limit.margin_kind()),
                       limit.margin() >= 0 ? "left"
                       : limit.at_most     ? "too much"
                                           : "too little");
    if (limit.verdict != Verdict::holds && !limit.remedy.empty())
      out += fmt::format("    {}\n", limit.remedy);
  }
  return out;
}

std::string table_text(const Table& table) {
  std::vector<std::size_t> widths;
  for (const std::string& column : table.columns) widths.push_back(width_of(column));
  for (const auto& row : table.rows) {
    for (std::size_t i = 0; i < row.size() && i < widths.size(); ++i)
      widths[i] = std::max(widths[i], width_of(row[i]));
  }
  const auto line = [&](const std::vector<std::string>& cells, std::string_view mark) {
    std::string out = fmt::format("  {}", mark);
    for (std::size_t i = 0; i < cells.size() && i < widths.size(); ++i)
      out += padded(cells[i], widths[i]) + "  ";
    return out.substr(0, out.find_last_not_of(' ') + 1) + "\n";
  };
  std::string out = fmt::format("{}\n{}", table.title, line(table.columns, "  "));
  for (std::size_t i = 0; i < table.rows.size(); ++i)
    out += line(table.rows[i], table.chosen == i ? "> " : "  ");
  return out;
}

std::string assumed_text(const Values& values) {
  std::string out;
  for (const Values::Entry& entry : values.entries()) {
    if (!entry.assumed) continue;
    out += fmt::format("  {} = {}  {}{}{}\n", entry.field->key, entry.text, entry.field->label,
                       entry.field->why.empty() ? "" : ": ", entry.field->why);
  }
  return out;
}

}  // namespace

std::string to_text(const Answer& answer, const Values& values) {
  std::string out = fmt::format("{}. {}\n", words_of(answer.verdict()), answer.headline);
  if (const std::string figures = figures_text(answer); !figures.empty()) out += "\n" + figures;
  if (!answer.limits.empty()) out += "\nLimits\n" + limits_text(answer);
  for (const Table& table : answer.tables) out += "\n" + table_text(table);
  if (!answer.steps.empty()) out += "\nHow it was reckoned\n";
  for (const Step& step : answer.steps) {
    out +=
        fmt::format("  {}: {}\n    {}\n    Source: {}\n", step.what, step.formula, step.filled, step.source);
  }
  if (const std::string assumed = assumed_text(values); !assumed.empty()) {
    out += "\nAssumed, since nothing was given\n" + assumed;
  }
  if (!answer.notes.empty()) out += "\n";
  for (const Note& note : answer.notes) {
    out += fmt::format("{}{}{}{}\n", note.caution ? "Caution: " : "", note.text,
                       note.remedy.empty() ? "" : " ", note.remedy);
  }
  if (out.ends_with('\n')) out.pop_back();
  return out;
}

}  // namespace rookery::plan
