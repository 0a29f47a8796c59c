// A list of parts with prices, as a person writes it.
//
//   board module 9.80; case 2 x 1.10; wire 3 m at 0.40; screws 4 of 100 for 3.20
//   per 4: buck regulator 6.00      # one for every four cameras
//   shared: access point 45.00      # one for all
//
// An entry a line, or parted by semicolons; what follows # is not read. An entry ends in its price: of one;
// of one after "N x" (which may stand in front of the name as well); of one unit after "N UNIT at"; of a
// whole pack after "N of M for", of which each camera takes N out of M. Prices may carry a currency sign or
// three capital letters, the same all through.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace rookery::plan {

struct Part {
  std::string name;
  int cameras = 1;      // that one lot of it serves; 0: all of them
  double quantity = 1;  // in one lot
  std::string unit;     // "m"; empty for pieces
  double price = 0;     // of one, or of a pack
  double pack = 0;      // how many a pack holds; 0: sold one by one

  bool shared() const { return cameras == 0; }
  // Of one piece or unit, a pack's price dealt out.
  double each() const { return pack > 0 ? price / pack : price; }
};

struct PartsList {
  std::vector<Part> parts;  // not empty
  std::string money;        // "€", "EUR"; empty when no price carries one
};

// Errors: invalid_value, with every entry that cannot be read (the first five in full) and what was wrong
// with it; the remedy holds the forms. `where` names the field.
base::Result<PartsList> read_parts(std::string_view text, const std::string& where);

// Numbers of parts and money for a fleet.
struct PartCost {
  double needed = 0;     // pieces or units
  double bought = 0;     // the same, or whole packs of it
  double cost = 0;       // of what is bought
  double left_over = 0;  // money for what is bought and not needed
};

struct Fleet {
  int cameras = 0;
  int spares = 0;  // built as well: each takes what a camera takes, but nothing that serves several
};

PartCost cost_of(const Part& part, const Fleet& fleet);

}  // namespace rookery::plan
