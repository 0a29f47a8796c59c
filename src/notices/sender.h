// Sender: brings notices to one receiver.
#pragma once

#include <chrono>
#include <memory>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "notices/notice.h"
#include "notices/receiver.h"

namespace rookery::notices {

// One place at which the station itself listens.
struct OwnEndpoint {
  std::string address;  // as text: "127.0.0.1", "::1"; "0.0.0.0" or "::" for all of this computer's
  std::uint16_t port = 0;
};

struct SenderOptions {
  std::chrono::milliseconds connect_within{10'000};
  std::chrono::milliseconds answer_within{30'000};  // all of it
  std::vector<OwnEndpoint> own;                     // where no notice goes: the station would call itself
};

// strand-bound: one thread sends, and makes and destroys it. Blocks up to SenderOptions::answer_within, or
// until `stop` is asked for.
class Sender {
 public:
  virtual ~Sender() = default;
  // What the receiver answered, in short. Errors: refused (it said no), unsupported (it will never take this
  // one; the next may be another matter), unreachable, timed_out, closed, invalid_value (it is the station
  // itself), no_permission (sign-in), cancelled. None holds a secret.
  virtual base::Result<std::string> send(const Notice& notice, const std::stop_token& stop) = 0;
};

std::unique_ptr<Sender> make_webhook_sender(const Receiver& receiver, const SenderOptions& options,
                                            const base::Clock& clock);
std::unique_ptr<Sender> make_mail_sender(const Receiver& receiver, const SenderOptions& options);
// Keeps its connection, so that the broker can tell that the station is gone.
std::unique_ptr<Sender> make_mqtt_sender(const Receiver& receiver, const SenderOptions& options);
// The one for the receiver's kind.
std::unique_ptr<Sender> make_sender(const Receiver& receiver, const SenderOptions& options,
                                    const base::Clock& clock);

}  // namespace rookery::notices
