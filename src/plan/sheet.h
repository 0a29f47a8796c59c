// The build sheet of one camera: parts with values from the sums, wiring, steps and check lists, label,
// cautions. To be printed on one or two pages and worked from with a pencil.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>

#include "base/result.h"
#include "plan/answer.h"
#include "plan/plan_file.h"
#include "plan/subject.h"

namespace rookery::plan {

// One wire, told by letter and by colour, since a print may be grey and eyes differ.
struct SheetWire {
  std::string letter = {};
  std::string colour = {};
  std::string from = {};
  std::string to = {};
  std::string note = {};
  bool only_while_loading = false;  // taken away again when the firmware is in
};

struct SheetStep {
  std::string text = {};
  std::string measured = {};  // what the person writes down beside it: "V, at the terminals"
};

struct SheetList {
  std::string title = {};
  std::vector<SheetStep> steps = {};
};

struct Sheet {
  std::string camera;
  std::string page;           // the address of its page; empty when the plan names no station
  std::string address;        // the board's own, when the plan names it: settings.address
  std::vector<Planned> sums;  // in the order of subjects()
  std::vector<SheetWire> wires;
  std::vector<SheetList> lists;
  std::vector<Note> cautions;

  Verdict verdict() const;  // the worst of the sums
};

// Works out the sums that the plan has values for, and puts the sheet together. Errors: those of the sums,
// each with the camera's name in front; invalid_value when the plan holds no sum at all. All go into `all`,
// when it is there.
base::Result<Sheet> make_sheet(const CameraPlan& camera, std::vector<base::Error>* all = nullptr);

// One self-contained page: no script, nothing fetched; prints on A4 and on Letter. `printed` is the day it
// was made.
std::string to_html(const Sheet& sheet, std::string_view printed);
boost::json::object to_json(const Sheet& sheet);

}  // namespace rookery::plan
