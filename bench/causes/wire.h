// Between a make-believe board and the station: the one connection, and what lies in this computer unread.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "camera/dropout.h"

namespace rookery::bench {

struct Conn {
  bool open = false;
  bool closing = false;
  bool board_knows = false;
  bool board_streams = false;
  bool board_gave_up = false;
  bool closed_window = false;
  bool at_old_address = false;
  std::uint64_t number = 0;
  double began = 0, due = 0, last_read = 0, last_good = 0, last_heard = 0, keep_alive_at = 0;
  std::optional<double> stuck_since;
  double again_at = 0, patience_s = 0.5, held_bytes = 0;
  bool held_bad = false;
  double segments = 0, out_of_order = 0;
};

// What reaches this computer lies in the kernel until it is read.
struct Waiting {
  double bytes = 0;
  bool bad = false;
  double stamp_s = 0;
  double luma = 0;
  std::optional<camera::AttemptEnd> end;
};

struct Wire {
  Conn conn;
  std::vector<Waiting> waiting;
  double waiting_bytes = 0;
};

}  // namespace rookery::bench
