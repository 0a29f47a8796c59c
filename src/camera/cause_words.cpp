#include "camera/cause_words.h"

#include <fmt/format.h>

#include "camera/cause_clues.h"

namespace rookery::camera {
namespace {

constexpr double kDay_s = 86400;

std::string many(int count, std::string_view one, std::string_view more) {
  return fmt::format("{} {}", count, count == 1 ? one : more);
}

std::string clock_text(double s) {
  if (s < 100) return fmt::format("{:.1f} s", s);
  if (s < 6000) return fmt::format("{:.0f} min", s / 60);
  if (s < 2 * kDay_s) return fmt::format("{:.1f} h", s / 3600);
  return fmt::format("{:.1f} days", s / kDay_s);
}

void tell_gap(const Evidence& e, std::vector<std::string>& out) {
  out.push_back(fmt::format("No picture for {}{}; usually one every {:.0f} ms", clock_text(e.gap_s),
                            e.over ? "" : " so far", 1e3 * e.usual_interval_s));
  switch (e.old_connection) {
    case OldConnection::went_on:
      out.push_back("The same connection went on afterwards: the board had not forgotten it");
      break;
    case OldConnection::reset:
      out.push_back(
          fmt::format("The old connection was reset {:.1f} s after the gap began: who answers at its address "
                      "no longer knows it",
                      e.ended_after_s));
      break;
    case OldConnection::closed:
      out.push_back(fmt::format("The board closed the stream in order {:.1f} s after its last picture",
                                e.ended_after_s));
      break;
    case OldConnection::cut:
      out.push_back(fmt::format("The stream was cut off in mid-picture {:.1f} s after the last whole one",
                                e.ended_after_s));
      break;
    case OldConnection::given_up:
      out.push_back(
          fmt::format("The old connection stayed silent and was given up after {:.1f} s", e.ended_after_s));
      break;
    case OldConnection::kept_alive:
      out.push_back(
          fmt::format("The old connection stayed silent and was given up after {:.1f} s, though the board's "
                      "network stack "
                      "acknowledged it to the end: its program had stopped sending",
                      e.ended_after_s));
      break;
    case OldConnection::unknown:
      break;
  }
}

void tell_retries(const Evidence& e, std::vector<std::string>& out) {
  const int n = e.attempts_failed;
  switch (e.retries) {
    case Retries::unheard:
      out.push_back(many(n, "new connection was", "new connections were") + " accepted and never answered");
      break;
    case Retries::closed_unheard:
      out.push_back(many(n, "new connection was", "new connections were") + " closed without an answer");
      break;
    case Retries::wrong_answer:
      out.push_back(
          many(n, "answer was", "answers were") +
          (e.status != 0 ? fmt::format(" no picture but HTTP status {}", e.status) : " no whole picture"));
      break;
    case Retries::refused:
      out.push_back(many(n, "new connection was", "new connections were") +
                    " refused: its network runs, its server does not");
      break;
    case Retries::no_answer:
      out.push_back(many(n, "new connection", "new connections") + " met nobody at its address");
      break;
    case Retries::no_name:
      out.push_back("Its name had no address " + many(n, "time", "times"));
      break;
    case Retries::none_needed:
    case Retries::unknown:
      break;
  }
}

void tell_board(const Evidence& e, std::vector<std::string>& out) {
  if (e.restart == Restart::stamp_back) {
    out.push_back(fmt::format("Its own clock fell from {} to {}: it restarted",
                              clock_text(*e.uptime_before_s), clock_text(*e.uptime_after_s)));
    out.push_back(
        fmt::format("It started {} after its last picture{}", clock_text(*e.booted_after_s),
                    e.booted == Booted::answered ? ", and had answered in between: it had power then" : ""));
  } else if (e.restart == Restart::stamp_on) {
    out.push_back(
        fmt::format("Its own clock went on ({}): it did not restart", clock_text(*e.uptime_after_s)));
  }
  if (e.exposure == Exposure::ramp && e.luma_settled > 0) {
    out.push_back(fmt::format(
        "The first picture had brightness {:.0f} of 255, a few seconds later {:.0f}: as after a start",
        e.luma_first, e.luma_settled));
  } else if (e.exposure == Exposure::ramp) {
    out.push_back("The first pictures were of another size than those a few seconds later: as after a start");
  }
  if (e.age == Age::fresh)
    out.push_back(fmt::format("The stream was only {} old", clock_text(e.streamed_for_s)));
  if (e.broken_pictures > 0)
    out.push_back(many(e.broken_pictures, "broken picture", "broken pictures") + " from 30 s before on");
  if (e.warmth == Warmth::rising)
    out.push_back(fmt::format("Pictures had grown by {:.0f} % within half an hour: noise, as of a hot sensor",
                              100 * (e.bytes_rise - 1)));
  if (e.place == Place::moved) out.push_back("It came back at another address");
  if (e.announced == Announced::again) out.push_back("It announced its name to the network again");
}

void tell_network(const Evidence& e, std::vector<std::string>& out) {
  if (e.echoes > 0)
    out.push_back(fmt::format("Ping during the gap: {} of {} answered", e.echoes_answered, e.echoes));
  if (e.connects > 0)
    out.push_back(
        fmt::format("Connecting during the gap: {} of {} answered", e.connects_answered, e.connects));
  if (e.old_socket_answered) out.push_back("Its network stack still acknowledged the old connection");
  if (e.others_live > 0)
    out.push_back(fmt::format("{} of {} other cameras on its network stopped within 2 s of it", e.others_gaps,
                              e.others_live));
  if (e.far_gaps > 0)
    out.push_back(fmt::format("{} of {} cameras on other networks stopped as well", e.far_gaps, e.far_live));
  if (e.link_before == LinkBefore::troubled || e.link_before == LinkBefore::bad) {
    out.push_back(
        fmt::format("The 10 s before were uneasy: {:.1f} % of packets out of order, round trip {:.0f} ms",
                    100 * e.out_of_order_share, 1e3 * e.round_trip_s));
  } else if (e.link_before == LinkBefore::calm) {
    out.push_back(fmt::format("The 10 s before were calm: {:.1f} % of packets out of order",
                              100 * e.out_of_order_share));
  }
  if (e.own_reader == OwnReader::late)
    out.push_back(fmt::format("This station's own work was {:.1f} s late", e.late_s));
  if (e.burst == Burst::burst)
    out.push_back(
        fmt::format("{} pictures then came within 0.2 s: they had lain in this computer", e.burst_pictures));
  if (e.disk_full) out.push_back("The station's disk was full");
}

void tell_pattern(const Evidence& e, const RestartPattern& p, std::vector<std::string>& out) {
  if (!has_restarted(e)) return;
  out.push_back(fmt::format("Restarts in 7 days: {}, of which {} within 10 s of a stream's start", p.restarts,
                            p.fresh));
  if (is_even(p))
    out.push_back(
        fmt::format("{} of {} other restarts came after the same time as this one ({}, ± 15 %): as of a "
                    "program that runs out of memory",
                    p.same_uptimes, p.others_uptimes, clock_text(p.uptime_s)));
  if (p.same_time_of_day >= 2)
    out.push_back(
        fmt::format("{} other restarts at this time of day: is there a timer?", p.same_time_of_day));
}

}  // namespace

std::string remedy_for(Cause cause, const Evidence& e, const RestartPattern& p) {
  switch (cause) {
    case Cause::supply:
      if (p.same_time_of_day >= 2)
        return "Look for a timer or a switched socket: it went at this time of day on other days too.";
      return "With the mains unplugged check plug and wires; then measure the board's 5 V pin while it "
             "streams: under 4.7 V "
             "it needs a supply of at least 5 V 2 A, or a shorter, thicker lead (docs/causes.md).";
    case Cause::radio:
      return fmt::format(
          "Move the board or its aerial, or bring an access point nearer; {:.1f} % of packets came out of "
          "order before. A smaller picture also helps.",
          100 * e.out_of_order_share);
    case Cause::hang:
      if (e.warmth == Warmth::rising)
        return "Give it air or shade: pictures grow noisy before it stops; boards were reported unsteady "
               "from about 50 °C in a case.";
      if (e.restart == Restart::stamp_back)
        return "Update or change the board's program: it stops and starts anew; a smaller picture needs less "
               "memory.";
      return e.over ? "It came back by itself; if this happens often, change its program or take a smaller "
                      "picture."
                    : "Cycle its power if it does not come back; if this happens again, change its program.";
    case Cause::network:
      if (e.place == Place::moved)
        return "Give the board a fixed address in your router: it came back at another one.";
      if (e.others_gaps >= 2)
        return fmt::format("Look at the access point or switch: {} of {} other cameras stopped with it.",
                           e.others_gaps, e.others_live);
      return "Look for a second machine with the board's address, and give the board a fixed one in your "
             "router.";
    case Cause::viewer:
      return "Close what else watches this board (a browser tab, another program): it serves one viewer; let "
             "others watch "
             "the station instead.";
    case Cause::sensor:
      return "Unplug the board, then press the sensor's ribbon home and close its latch; if that does not "
             "help, the sensor is worn.";
    case Cause::station:
      return fmt::format(
          "This computer was {:.1f} s late: see what else runs on it, its memory and its disk (`rookery "
          "archive "
          "state`).",
          e.late_s);
  }
  return {};
}

std::string habit_line(const Habit& habit, Cause first) {
  const int like = habit.like.at(static_cast<std::size_t>(first));
  if (habit.dropouts == 0) return {};
  if (habit.dropouts == 1) {
    return fmt::format("{} within 7 days{} {}",
                       like == 1 ? "As in its one other dropout" : "Its one other dropout",
                       like == 1 ? ":" : " did not look like", title_of(first));
  }
  if (like == 0)
    return fmt::format("None of its {} other dropouts within 7 days looked like {}", habit.dropouts,
                       title_of(first));
  return fmt::format("As in {} of its {} other dropouts within 7 days: {}", like, habit.dropouts,
                     title_of(first));
}

std::vector<std::string> evidence_lines(const Evidence& evidence, const RestartPattern& pattern) {
  std::vector<std::string> out;
  tell_gap(evidence, out);
  tell_retries(evidence, out);
  tell_board(evidence, out);
  tell_network(evidence, out);
  tell_pattern(evidence, pattern, out);
  return out;
}

}  // namespace rookery::camera
