#include <boost/json/array.hpp>
#include <boost/json/value_from.hpp>

#include "plan/answer.h"

namespace rookery::plan {
namespace {

namespace json = boost::json;

json::object number_json(double value, Kind kind, int digits) {
  return {{"value", value}, {"kind", name_of(kind)}, {"text", show_value(value, kind, digits)}};
}

json::object figure_json(const Figure& figure) {
  json::object out = number_json(figure.value, figure.kind, figure.digits);
  out["key"] = figure.key;
  out["label"] = figure.label;
  if (!figure.note.empty()) out["note"] = figure.note;
  if (figure.spread) {
    const auto text = [&](double value) { return show_value(value, figure.kind, figure.digits); };
    json::object spread{{"low", figure.spread->low},
                        {"high", figure.spread->high},
                        {"low_text", text(figure.spread->low)},
                        {"high_text", text(figure.spread->high)}};
    if (figure.spread->p5 && figure.spread->p95) {
      spread["p5"] = *figure.spread->p5;
      spread["p95"] = *figure.spread->p95;
      spread["p5_text"] = text(*figure.spread->p5);
      spread["p95_text"] = text(*figure.spread->p95);
    }
    out["spread"] = std::move(spread);
  }
  return out;
}

json::object limit_json(const Limit& limit) {
  json::object out = number_json(limit.value, limit.kind, 3);
  out["key"] = limit.key;
  out["label"] = limit.label;
  out["bound"] = limit.bound;
  out["bound_text"] = show_value(limit.bound, limit.kind);
  out["side"] = limit.at_most ? "at-most" : "at-least";
  out["margin"] = limit.margin();
  out["margin_text"] = show_value(limit.margin(), limit.margin_kind());
  out["verdict"] = name_of(limit.verdict);
  out["source"] = limit.source;
  out["remedy"] = limit.remedy;
  return out;
}

json::object table_json(const Table& table) {
  json::object out{{"title", table.title}, {"columns", json::value_from(table.columns)}};
  json::array rows;
  for (const auto& row : table.rows) rows.push_back(json::value_from(row));
  out["rows"] = std::move(rows);
  if (table.chosen) out["chosen"] = *table.chosen;
  return out;
}

json::object note_json(const Note& note) {
  json::object out{{"kind", note.caution ? "caution" : "note"}, {"text", note.text}};
  if (!note.remedy.empty()) out["remedy"] = note.remedy;
  return out;
}

json::object entry_json(const Values::Entry& entry) {
  json::object out{{"key", entry.field->key},
                   {"label", entry.field->label},
                   {"kind", name_of(entry.field->kind)},
                   {"text", entry.text},
                   {"assumed", entry.assumed}};
  if (entry.field->kind != Kind::choice && entry.field->kind != Kind::words) out["value"] = entry.number;
  if (entry.assumed) out["why"] = entry.field->why;
  return out;
}

template <class List, class ToJson>
json::array each(const List& list, ToJson to_json) {
  json::array out;
  for (const auto& one : list) out.push_back(to_json(one));
  return out;
}

}  // namespace

boost::json::object to_json(const Answer& answer, const Values& values) {
  json::object out{{"subject", answer.subject},
                   {"verdict", name_of(answer.verdict())},
                   {"headline", answer.headline},
                   {"asked", each(values.entries(), entry_json)},
                   {"figures", each(answer.figures, figure_json)},
                   {"limits", each(answer.limits, limit_json)},
                   {"tables", each(answer.tables, table_json)},
                   {"steps", each(answer.steps,
                                  [](const Step& step) {
                                    return json::object{{"what", step.what},
                                                        {"formula", step.formula},
                                                        {"filled", step.filled},
                                                        {"source", step.source}};
                                  })},
                   {"notes", each(answer.notes, note_json)},
                   {"parts", each(answer.parts, [](const SheetPart& part) {
                      return json::object{{"what", part.what}, {"value", part.value}};
                    })}};
  if (const Limit* nearest = answer.nearest_limit()) out["nearest_limit"] = nearest->key;
  if (!answer.drawing.empty()) out["drawing"] = answer.drawing;
  return out;
}

}  // namespace rookery::plan
