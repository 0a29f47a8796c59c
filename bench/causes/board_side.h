// A make-believe board's side of the stream: what it sends, when it loses patience, and what becomes of lost
// packets.
#pragma once

#include "bench/causes/wire.h"
#include "bench/causes/world.h"

namespace rookery::bench {

class BoardSide {
 public:
  // Both outlive this.
  BoardSide(World& world, Wire& wire) : world_(world), wire_(wire) {}
  void step();

 private:
  bool is_held_back();
  void send_picture();
  void give_up_viewer();
  void arrive(double bytes, bool bad);
  void finish(camera::AttemptEnd how);

  World& world_;
  Wire& wire_;
};

}  // namespace rookery::bench
