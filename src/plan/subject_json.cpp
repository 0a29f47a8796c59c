#include <boost/json/array.hpp>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

namespace json = boost::json;

// A bound as typed and as a number, so that a page can draw a slider between two of them.
void put_bound(json::object& out, std::string_view name, std::string_view text, Kind kind) {
  if (text.empty()) return;
  out[name] = text;
  if (const auto value = read_value(text, kind, "bound")) out[std::string(name) + "_value"] = *value;
}

json::object field_json(const Field& field) {
  json::object out{{"key", field.key},
                   {"label", field.label},
                   {"kind", name_of(field.kind)},
                   {"unit", usual_unit(field.kind)},
                   {"forms", forms_of(field)},
                   {"must", field.must_be_given()},
                   {"rare", field.rare}};
  json::array units;
  for (const UnitName& unit : units_of(field.kind)) {
    if (unit.text.empty()) continue;
    json::object one{{"text", unit.text}, {"factor", unit.factor}};
    if (unit.shown) one["shown"] = unit.shown_as;
    units.push_back(std::move(one));
  }
  if (!units.empty()) out["units"] = std::move(units);
  put_bound(out, "least", field.least, field.kind);
  put_bound(out, "most", field.most, field.kind);
  if (!field.preset.empty()) out["preset"] = field.preset;
  if (!field.why.empty()) out["why"] = field.why;
  if (!field.example.empty()) out["example"] = field.example;
  json::array choices;
  for (const Choice& choice : field.choices)
    choices.push_back({{"key", choice.key}, {"label", choice.label}});
  if (!choices.empty()) out["choices"] = std::move(choices);
  return out;
}

}  // namespace

boost::json::object to_json(const Subject& subject) {
  json::array fields;
  for (const Field& field : subject.fields) fields.push_back(field_json(field));
  return {{"key", subject.key},
          {"title", subject.title},
          {"question", subject.question},
          {"fields", std::move(fields)}};
}

}  // namespace rookery::plan
