// What the parts of the subject "cost" share.
#pragma once

#include <string>
#include <vector>

#include "plan/answer.h"
#include "plan/parts_list.h"

namespace rookery::plan {

struct CostPlan {
  PartsList list;
  Fleet fleet;
  double spare_share = 0;

  double total() const { return total_for(fleet); }
  double total_for(const Fleet& other) const;
  // The same list for another number of cameras, with its share of spares.
  Fleet fleet_of(int cameras) const;
  // What stands in one camera: packs dealt out, parts of several not counted.
  double in_one() const;
  std::string amount(double money) const;  // "58.80 €"
};

// The whole parted by what it is spent on; the parts add up to the total.
struct CostParts {
  double in_cameras = 0;  // those in use
  double in_spares = 0;
  double in_groups = 0;  // what serves several
  double in_shared = 0;
  double left_over = 0;  // of packs
};
CostParts parted(const CostPlan& plan);

std::string cost_drawing(const CostPlan& plan);

}  // namespace rookery::plan
