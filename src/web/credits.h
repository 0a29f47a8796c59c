// Credits: the flow control of the page's WebSocket. Says when which picture place may be sent another one.
#pragma once

#include <cstdint>
#include <map>
#include <optional>

namespace rookery::web {

// Pure. At most one unacknowledged picture a slot and kMost in all (docs/formats/live-socket.md).
class Credits {
 public:
  static constexpr std::size_t kMost = 32;

  bool slot_is_free(int slot) const { return !out_.contains(slot); }
  bool has_room() const { return out_.size() < kMost; }

  // A picture for `slot` is being made: takes the slot's credit and one of all.
  void reserve(int slot) { out_[slot] = 0; }
  // It is sent: its serial, counting up by one. The slot was reserved.
  std::uint32_t send(int slot) { return out_[slot] = ++last_; }
  // It could not be made, or the slot is gone: nothing is out for it any more.
  void drop(int slot) { out_.erase(slot); }
  // Picture `serial` was drawn. Returns its slot; nothing for a serial that is not out (drawn before, or its
  // slot has gone meanwhile).
  std::optional<int> acknowledge(std::uint32_t serial);

  std::size_t outstanding() const { return out_.size(); }

 private:
  std::map<int, std::uint32_t> out_;  // slot → serial; 0: reserved
  std::uint32_t last_ = 0;
};

}  // namespace rookery::web
