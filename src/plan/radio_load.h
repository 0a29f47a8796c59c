// What cameras ask of a radio channel, what the channel carries, and how many cameras fit.
#pragma once

#include "plan/radio.h"
#include "plan/units.h"

namespace rookery::plan {

// What each camera sends, and how well it is heard.
struct RadioLoad {
  Bytes picture;  // of one picture
  Hertz rate;     // pictures a second of one camera
  HtRate usual;   // of most cameras
  HtRate weak;    // of those that are heard worst; not looked at where there are none
  Guard guard = Guard::long_guard;
  int together = 1;  // packets that a board sends in one go
};

// What a board has under way before it must wait for an acknowledgement: four packets. Source: the chip
// maker's SDK.
inline const Bytes kBoardWindow = 5744_B;
inline const Bytes kPayload = kBoardWindow / 4.0;  // of a picture, in one packet
inline const Bytes kPacket = kPayload + 40_B;      // with its IP and TCP headers

// A picture's last packet counts as a full one, which leaves room for the part headers.
double packets_a_picture(Bytes picture);

// A receiver acknowledges every second packet at least. Source: RFC 5681, section 4.2. Each of these
// acknowledgements is a packet of 40 B, which the access point has to send.
inline const Bytes kTcpAcknowledgement = 40_B;

// The cameras of one channel.
struct ChannelCameras {
  int usual = 0;
  int weak = 0;

  int all() const { return usual + weak; }
};

struct ChannelUse {
  Hertz wanted;      // exchanges a second, both ways
  Hertz carried;     // that the channel carries when all contend: the cameras and the access point
  double alone = 0;  // share of the channel's time that the exchanges take without back-off and collisions
  double collision = 0;  // that an attempt collides when all contend

  // Of what the channel carries; more than one when it does not.
  double share() const { return (wanted / carried).value(); }
};

// None of `cameras` is no use of the channel.
ChannelUse channel_use(const RadioLoad& load, ChannelCameras cameras);

// Cameras dealt out to channels 0 to `channels` − 1, as evenly as may be; weak ones first.
ChannelCameras dealt(int cameras, int weak, int channels, int channel);

// Share of the fullest of `channels`.
double fullest_share(const RadioLoad& load, int cameras, int weak, int channels);

// The most cameras, `weak` of them weak, whose fullest channel stays within `share`; at most `kMostCameras`.
inline constexpr int kMostCameras = 300;
int cameras_that_fit(const RadioLoad& load, int weak, int channels, double share);

// The pictures' bytes that one camera alone on a channel gets through at `rate`.
BytesPerSecond carried_alone(const RadioLoad& load, const HtRate& rate);

// What one board's TCP gets through in the open: 20 Mb/s. Source: the chip maker's published measurement.
inline const BytesPerSecond kBoardCeiling = BytesPerSecond::from_value(20e6 / 8);
}  // namespace rookery::plan
