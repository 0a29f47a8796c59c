#include "plan/radio_load.h"

#include <algorithm>
#include <cmath>

#include "plan/contention.h"

namespace rookery::plan {
namespace {

// What one camera asks of the channel each second: its packets, in goes of `together`, and the
// acknowledgements that come back for every second packet.
struct Asked {
  double goes = 0;  // a second
  double acks = 0;  // a second
  Seconds go;       // one go with its acknowledgement on the air, without the wait before it
  Seconds ack;      // one TCP acknowledgement, likewise
};

Asked asked_by_one(const RadioLoad& load, const HtRate& rate) {
  const double packets = packets_a_picture(load.picture) * load.rate.value();
  return {packets / load.together, packets / 2, exchange_time(kPacket, load.together, rate, load.guard),
          exchange_time(kTcpAcknowledgement, 1, rate, load.guard)};
}

// A collision lasts as long as the longest frame in it. The access point is one sender, so there is a camera
// in every one; how often a weak one is there follows from how often each begins.
Seconds mean_collision(ChannelCameras cameras, Seconds usual, Seconds weak) {
  if (cameras.weak == 0) return usual;
  const double attempt = contention_of(cameras.all() + 1).attempt;
  const auto several_of = [&](int senders) {
    const double silent = std::pow(1 - attempt, senders);
    return 1 - silent - senders * attempt * std::pow(1 - attempt, senders - 1);
  };
  const double without_weak =
      std::pow(1 - attempt, cameras.weak) * several_of(cameras.usual + 1) / several_of(cameras.all() + 1);
  return without_weak * usual + (1 - without_weak) * weak;
}

}  // namespace

double packets_a_picture(Bytes picture) { return std::ceil((picture / kPayload).value()); }

ChannelUse channel_use(const RadioLoad& load, ChannelCameras cameras) {
  ChannelUse use;
  use.carried = 1_Hz;
  if (cameras.all() == 0) return use;
  const Asked usual = asked_by_one(load, load.usual);
  const Asked weak = cameras.weak > 0 ? asked_by_one(load, load.weak) : Asked{};
  const double exchanges = cameras.usual * (usual.goes + usual.acks) + cameras.weak * (weak.goes + weak.acks);
  const Seconds on_air =
      static_cast<double>(cameras.usual) * (usual.goes * usual.go + usual.acks * usual.ack) +
      static_cast<double>(cameras.weak) * (weak.goes * weak.go + weak.acks * weak.ack);
  const Seconds success = on_air / exchanges + kAifsBestEffort;
  const Seconds collision = mean_collision(cameras, usual.go, std::max(usual.go, weak.go));
  use.wanted = Hertz::from_value(exchanges);
  use.carried = exchanges_carried(cameras.all() + 1, success, collision + kAifsBestEffort);
  use.alone = (use.wanted * success).value();
  use.collision = contention_of(cameras.all() + 1).collision;
  return use;
}

ChannelCameras dealt(int cameras, int weak, int channels, int channel) {
  const auto part = [&](int count) { return count / channels + (channel < count % channels ? 1 : 0); };
  const int all = part(cameras);
  const int of_weak = part(std::min(weak, cameras));
  return {all - of_weak, of_weak};
}

double fullest_share(const RadioLoad& load, int cameras, int weak, int channels) {
  // Channel 0 has the most cameras and the most weak ones.
  return channel_use(load, dealt(cameras, weak, channels, 0)).share();
}

int cameras_that_fit(const RadioLoad& load, int weak, int channels, double share) {
  // Each camera more takes more, so the last that fits is found by halving.
  int fits = 0;
  int too_many = kMostCameras + 1;
  while (too_many - fits > 1) {
    const int middle = (fits + too_many) / 2;
    (fullest_share(load, middle, weak, channels) <= share ? fits : too_many) = middle;
  }
  return fits;
}

BytesPerSecond carried_alone(const RadioLoad& load, const HtRate& rate) {
  const Asked one = asked_by_one(load, rate);
  const double goes = one.goes / (one.goes + one.acks);
  const Seconds mean = goes * one.go + (1 - goes) * one.ack + kAifsBestEffort;
  const Hertz carried = exchanges_carried(2, mean, one.go + kAifsBestEffort);
  return BytesPerSecond::from_value(carried.value() * goes * load.together * kPayload.value());
}

}  // namespace rookery::plan
