// What `rookery listen` hears, told as it comes and summed up at the end.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "cli/cli.h"
#include "cli/terminal.h"
#include "proto/boot_log.h"
#include "proto/serial_rate.h"

namespace rookery::cli {

// strand-bound. Lent: the context, for its life.
class Ear {
 public:
  // `live`: bytes come from a board now, at times and at a rate; else from a stored log. `given`: the only
  // rate.
  Ear(Context& context, bool live, std::optional<proto::Baud> given);

  // Prints what the bytes say. Returns the rate to go to, when they are garbage.
  std::optional<proto::Baud> hear(std::string_view bytes, proto::SinceStart at);
  // One paragraph on `err`.
  void say(std::string_view text);
  // Says that the line is at that rate now.
  void say_new_rate();
  // Says once, when nothing at all came for 10 s, what to check.
  void hear_nothing(std::chrono::milliseconds now);
  // The end: prints the verdict, and sets the exit code.
  void sum_up(proto::SinceStart now);

  proto::Baud rate() const { return search_.rate(); }

 private:
  void tell(const proto::BootFinding& finding);
  void say_rate(proto::Baud from, std::optional<proto::Baud> to);
  proto::BootSummary summary(proto::SinceStart now) const;
  std::optional<std::string> rate_state() const;
  void say_sum(const proto::BootSummary& sum, proto::SinceStart now);

  Context& context_;
  bool live_;
  bool given_;
  bool said_silent_ = false;
  bool said_no_rate_ = false;
  proto::Baud left_;
  std::set<std::string> said_;
  proto::RateSearch search_;
  proto::BootLog log_;
  proto::BootLines lines_;
};

}  // namespace rookery::cli
