#include "camera/cause_clues.h"

namespace rookery::camera {
namespace {

std::uint8_t evenness_of(const RestartPattern& pattern) {
  if (pattern.others_uptimes == 0) return 0;
  if (is_even(pattern)) return 3;
  return pattern.others_uptimes == 1 && pattern.same_uptimes == 1 ? 2 : 1;
}

}  // namespace

bool has_restarted(const Evidence& evidence) {
  if (evidence.restart != Restart::unknown) return evidence.restart == Restart::stamp_back;
  // A board without stamps. It forgot its connection, or nothing listened for a while, and its picture
  // settled; or it forgot the connection after nothing of it had answered, with a calm link before.
  const bool reset = evidence.old_connection == OldConnection::reset;
  const bool forgot = reset || evidence.retries == Retries::refused || evidence.reach == Reach::came_back;
  const bool was_gone = evidence.reach == Reach::never || evidence.reach == Reach::came_back;
  const bool uneasy = evidence.link_before == LinkBefore::troubled || evidence.link_before == LinkBefore::bad;
  return forgot && (evidence.exposure == Exposure::ramp || (reset && was_gone && !uneasy));
}

Clues clues_of(const Evidence& evidence) {
  Clues out{};
  const auto set = [&](Clue clue, auto value) {
    out.at(static_cast<std::size_t>(clue)) = static_cast<std::uint8_t>(value);
  };
  set(Clue::old_connection, evidence.old_connection);
  set(Clue::retries, evidence.retries);
  set(Clue::restart, evidence.restart);
  set(Clue::reach, evidence.reach);
  set(Clue::others, evidence.others);
  set(Clue::link_before, evidence.link_before);
  set(Clue::own_reader, evidence.own_reader);
  set(Clue::burst, evidence.burst);
  set(Clue::broken, evidence.broken);
  set(Clue::exposure, evidence.exposure);
  set(Clue::age, evidence.age);
  set(Clue::length, evidence.length);
  set(Clue::warmth, evidence.warmth);
  set(Clue::place, evidence.place);
  set(Clue::announced, evidence.announced);
  set(Clue::booted, evidence.booted);
  // Of two clues that say the same only one may count. A connection that went on needs no new one, and its
  // board cannot have started anew.
  if (evidence.old_connection == OldConnection::went_on) {
    set(Clue::retries, Retries::unknown);
    set(Clue::restart, Restart::unknown);
  }
  // A start brings settling pictures with it.
  if (evidence.restart != Restart::unknown) set(Clue::exposure, Exposure::unknown);
  // A connection that ends after the start ends by it.
  const bool ended_since = evidence.booted_after_s && evidence.ended_after_s >= *evidence.booted_after_s;
  const bool by_start =
      evidence.old_connection == OldConnection::reset || evidence.old_connection == OldConnection::given_up;
  if (ended_since && by_start) set(Clue::old_connection, OldConnection::unknown);
  if (evidence.booted == Booted::answered) set(Clue::reach, Reach::unknown);
  return out;
}

Clues clues_of(const Evidence& evidence, const RestartPattern& pattern) {
  Clues out = clues_of(evidence);
  if (!has_restarted(evidence)) return out;
  out.at(static_cast<std::size_t>(Clue::evenness)) = evenness_of(pattern);
  out.at(static_cast<std::size_t>(Clue::time_of_day)) = pattern.same_time_of_day >= 2 ? 2 : 1;
  return out;
}

}  // namespace rookery::camera
