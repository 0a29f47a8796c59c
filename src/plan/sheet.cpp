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

// What feeds the board, as far as the plan says.
enum class Feed { not_planned, regulator, straight };

Feed feed_of(const Sheet& sheet) {
  const Planned* supply = sum_of(sheet, "supply");
  if (supply == nullptr) return Feed::not_planned;
  return supply->values.choice("regulator") == "none" ? Feed::straight : Feed::regulator;
}

bool has_figure(const Sheet& sheet, std::string_view subject, std::string_view key) {
  const Planned* sum = sum_of(sheet, subject);
  return sum != nullptr && std::any_of(sum->answer.figures.begin(), sum->answer.figures.end(),
                                       [&](const Figure& figure) { return figure.key == key; });
}

void add_feed(const Sheet& sheet, std::vector<SheetWire>& out) {
  const std::string board_fuse = has_figure(sheet, "supply", "fuse-wire") ? "fuse where it begins" : "";
  if (feed_of(sheet) == Feed::regulator) {
    out.push_back({"A", "red", "supply, +", "regulator, input +", "fuse where it begins"});
    out.push_back({"B", "black", "supply, −", "regulator, input −", "as thick as A"});
    out.push_back({"C", "orange", "regulator, output +", "board, 5 V pin", board_fuse});
    out.push_back({"D", "black", "regulator, output −", "board, ground pin"});
  } else if (feed_of(sheet) == Feed::straight) {
    out.push_back({"C", "red", "source, +5 V", "board, 5 V pin", board_fuse});
    out.push_back({"D", "black", "source, ground", "board, ground pin"});
  }
  if (sum_of(sheet, "capacitor") != nullptr) {
    out.push_back(
        {"K", "–", "capacitor, + lead", "board, 5 V pin", "stripe (−) to ground; reversed it bursts"});
  }
}

std::vector<SheetWire> wires_of(const Sheet& sheet) {
  std::vector<SheetWire> out;
  add_feed(sheet, out);
  out.push_back(
      {"E", "yellow", "adapter, transmit", "board, receive pin", "crossed; 3.3 V, never 5 V", true});
  out.push_back({"F", "green", "adapter, receive", "board, transmit pin", "crossed", true});
  out.push_back({"G", "black", "adapter, ground", "board, ground pin", "common ground, first", true});
  out.push_back({"H", "blue", "board, programming pin", "board, ground pin", "programming link", true});
  return out;
}

// Before the board gets any power. Nothing without a regulator that is adjusted.
std::optional<SheetList> set_point_list(const Sheet& sheet) {
  if (feed_of(sheet) != Feed::regulator) return std::nullopt;
  const double set_point = sum_of(sheet, "supply")->values.number("set-point");
  return SheetList{
      "Set point",
      {
          {"Before A and B are on the regulator: the meter shows + on A. Switch off, connect them"},
          {fmt::format("Switch on with no board connected; turn the trimmer slowly until the output shows "
                       "{}. A whole turn "
                       "can be more than a volt, and too much destroys the board",
                       show_value(set_point, Kind::voltage)),
           "V, no load"},
          {"Switch off. Between the board's 5 V and ground pins the meter shows no short"},
          {"Connect C and D: 5 V pin and ground pin, not swapped"},
      }};
}

SheetList loading_list(const Sheet& sheet) {
  const std::string fed =
      feed_of(sheet) == Feed::not_planned
          ? "The board is fed by one source only; its supply is not in this plan (rookery plan supply)"
          : "The board is fed by wires C and D alone: the adapter's own 5 V and 3.3 V pins stay free";
  return {"Firmware",
          {
              {"All switched off. Serial adapter set to 3.3 V; wire G first, then E and F, crossed; "
               "programming link on (H)"},
              {fed},
              {"Switch on, press reset, load the firmware with this camera's settings file"},
              {"Programming link off, press reset"},
              {"rookery listen PORT: a normal start, the network joined, an address told", "address"},
              {"Switch off; E, F and G off again; switch on"},
          }};
}

SheetList proof_list(const Sheet& sheet) {
  SheetList out{"Proof",
                {{fmt::format("rookery find: {} is on the network", sheet.camera), "hardware address"}}};
  if (const Planned* supply = sum_of(sheet, "supply")) {
    // A meter shows the mean. What a board reads that is as planned and streams at its most, at the worst of
    // its tolerances; a lower reading means a resistance somewhere that the transmit peak would not survive.
    const Figure& pin = supply->answer.figure("pin-reading");
    out.steps.push_back(
        {fmt::format("While it streams, lamp off, measure at the board's own pins: at least {}",
                     show_value(pin.spread ? pin.spread->low : pin.value, Kind::voltage)),
         "V, streaming"});
  }
  out.steps.push_back(
      {fmt::format("rookery prove {}: fit, before the case is closed", sheet.camera), "verdict"});
  return out;
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
  if (feed_of(sheet) == Feed::not_planned) {
    add(mains_caution());
    add(short_caution());
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
    sheet.address = at->second.text;
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
  sheet.lists.push_back(loading_list(sheet));
  sheet.lists.push_back(proof_list(sheet));
  sheet.lists.push_back(enclosure_list());
  sheet.cautions = cautions_of(sheet);
  return sheet;
}

}  // namespace rookery::plan
