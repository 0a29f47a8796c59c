#include "plan/sheet.h"

#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "plan/cautions.h"

namespace rookery::plan {
namespace {

using base::Error;

const Planned* sum_of(const Sheet& sheet, std::string_view subject) {
  const auto at = std::find_if(sheet.sums.begin(), sheet.sums.end(),
                               [&](const Planned& sum) { return sum.answer.subject == subject; });
  return at == sheet.sums.end() ? nullptr : &*at;
}

// A wire that is there on every camera, from what feeds it to what it feeds.
std::vector<SheetWire> wires_of(const Sheet& sheet) {
  const Planned* supply = sum_of(sheet, "supply");
  const bool regulator = supply == nullptr || supply->values.choice("regulator") != "none";
  std::vector<SheetWire> out;
  if (regulator) {
    out.push_back(
        {"A", "red", "supply, +", "regulator, input +", "with the fuse in it, close to the supply"});
    out.push_back({"B", "black", "supply, −", "regulator, input −", ""});
    out.push_back(
        {"C", "orange", "regulator, output +", "board, 5 V pin", "only after the set point was measured"});
    out.push_back({"D", "black", "regulator, output −", "board, ground pin", ""});
  } else {
    out.push_back({"C", "red", "source, +5 V", "board, 5 V pin", ""});
    out.push_back({"D", "black", "source, ground", "board, ground pin", ""});
  }
  out.push_back({"E", "yellow", "adapter, transmit", "board, receive pin", "crossed", true});
  out.push_back({"F", "green", "adapter, receive", "board, transmit pin", "crossed; 3.3 V only", true});
  out.push_back({"G", "black", "adapter, ground", "board, ground pin", "common ground, first", true});
  out.push_back({"H", "blue", "board, programming pin", "board, ground pin", "programming link", true});
  return out;
}

// Nothing without a regulator that is adjusted.
std::optional<SheetList> set_point_list(const Sheet& sheet) {
  const Planned* supply = sum_of(sheet, "supply");
  if (supply == nullptr || supply->values.choice("regulator") == "none") return std::nullopt;
  const std::string set_point = show_value(supply->values.number("set-point"), Kind::voltage);
  return SheetList{
      "Set point",
      {
          {fmt::format(
               "With no board connected, turn the trimmer slowly until the meter shows {} at the regulator's "
               "output. A whole turn can be more than a volt, and too much destroys the board",
               set_point),
           "V, no load"},
          {"Switch off, connect wires C and D, switch on"},
          {fmt::format("While the board streams, measure again at the board's own pins: at least {}",
                       show_value(supply->answer.limit("pin").bound, Kind::voltage)),
           "V, streaming"},
      }};
}

SheetList bring_up_list(const Sheet& sheet) {
  return {
      "Bring-up",
      {
          {"Serial adapter set to 3.3 V; wires G, E and F on: ground first, receive and transmit crossed"},
          {"Feed the board from one source only: never from the adapter and the supply at once"},
          {"Programming link on (wire H), press reset"},
          {"Load the firmware with this camera's settings file"},
          {"Programming link off, press reset"},
          {"rookery listen PORT: a normal start, the network joined, an address told", "address"},
          {fmt::format("rookery find: {} is on the network", sheet.camera), "hardware address"},
          {fmt::format("rookery prove {}: fit, before the case is closed", sheet.camera), "verdict"},
      }};
}

SheetList enclosure_list() {
  return {"Enclosure",
          {
              {"Lens opening clear of the picture's corners; lens turned sharp and fixed"},
              {"Lamp opening, or the lamp covered where it would shine into the lens"},
              {"Clip holds the board; nothing presses on the aerial, no metal beside it"},
              {"M3 screw bites, and is shorter than the wall behind it"},
              {"Heat path: air holes below and above, the regulator not against the board"},
              {"Cable relief: a pull on the cable does not reach the solder"},
          }};
}

std::vector<Note> cautions_of(const Sheet& sheet) {
  std::vector<Note> out;
  const auto add = [&out](const Note& note) {
    const auto same = [&](const Note& one) { return one.text == note.text; };
    if (note.caution && std::none_of(out.begin(), out.end(), same)) out.push_back(note);
  };
  for (const Planned& sum : sheet.sums) {
    for (const Note& note : sum.answer.notes) add(note);
  }
  for (const Note& note : {solder_caution(), lamp_caution(), filming_caution()}) add(note);
  return out;
}

}  // namespace

Verdict Sheet::verdict() const {
  Verdict worst = Verdict::holds;
  for (const Planned& sum : sums) worst = std::max(worst, sum.answer.verdict());
  return worst;
}

base::Result<Sheet> make_sheet(const CameraPlan& camera, std::vector<Error>* all) {
  std::vector<Error> errors;
  Sheet sheet;
  sheet.camera = camera.name.text();
  sheet.page = camera.page;
  if (const auto at = camera.settings.find("address"); at != camera.settings.end())
    sheet.address = at->second;
  for (const Subject& subject : subjects()) {
    const auto at = camera.sums.find(subject.key);
    if (at == camera.sums.end()) continue;
    std::vector<Error> found;
    auto planned = plan(subject, at->second, &found);
    for (Error& error : found) {
      error.where = fmt::format("{}: {}", sheet.camera, error.where);
      errors.push_back(std::move(error));
    }
    if (planned) sheet.sums.push_back(std::move(*planned));
  }
  if (errors.empty() && sheet.sums.empty()) {
    errors.emplace_back(base::ErrorCode::invalid_value, sheet.camera, "the plan has no values for any sum",
                        "add a table such as [camera.supply]");
  }
  if (all != nullptr) *all = errors;
  if (!errors.empty()) return errors.front();
  sheet.wires = wires_of(sheet);
  if (auto list = set_point_list(sheet)) sheet.lists.push_back(std::move(*list));
  sheet.lists.push_back(bring_up_list(sheet));
  sheet.lists.push_back(enclosure_list());
  sheet.cautions = cautions_of(sheet);
  return sheet;
}

}  // namespace rookery::plan
