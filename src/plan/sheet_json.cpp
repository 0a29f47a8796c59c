#include <boost/json/array.hpp>

#include "plan/sheet.h"

namespace rookery::plan {
namespace json = boost::json;

boost::json::object to_json(const Sheet& sheet) {
  json::array sums;
  json::array parts;
  for (const Planned& sum : sheet.sums) {
    json::object one = to_json(sum.answer, sum.values);
    for (const SheetPart& part : sum.answer.parts)
      parts.push_back({{"what", part.what}, {"value", part.value}});
    sums.push_back(std::move(one));
  }
  json::array wires;
  for (const SheetWire& wire : sheet.wires) {
    wires.push_back({{"letter", wire.letter},
                     {"colour", wire.colour},
                     {"from", wire.from},
                     {"to", wire.to},
                     {"note", wire.note},
                     {"only_while_loading", wire.only_while_loading}});
  }
  json::array lists;
  for (const SheetList& list : sheet.lists) {
    json::array steps;
    for (const SheetStep& step : list.steps) {
      json::object one{{"text", step.text}};
      if (!step.measured.empty()) one["measured"] = step.measured;
      steps.push_back(std::move(one));
    }
    lists.push_back({{"title", list.title}, {"steps", std::move(steps)}});
  }
  json::array cautions;
  for (const Note& note : sheet.cautions) cautions.push_back({{"text", note.text}, {"remedy", note.remedy}});
  return {{"camera", sheet.camera},         {"page", sheet.page},
          {"address", sheet.address},       {"verdict", name_of(sheet.verdict())},
          {"parts", std::move(parts)},      {"wires", std::move(wires)},
          {"lists", std::move(lists)},      {"sums", std::move(sums)},
          {"cautions", std::move(cautions)}};
}

}  // namespace rookery::plan
