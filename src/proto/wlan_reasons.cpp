#include "proto/wlan_reasons.h"

#include <algorithm>
#include <iterator>

namespace rookery::proto {
namespace {

constexpr std::string_view kPassword =
    "Check the password that was written into the board, letter by letter, and set the access point to WPA2 "
    "or "
    "WPA2/WPA3 mixed.";
constexpr std::string_view kSecurity =
    "Set the access point to WPA2 with AES; a board of this age does not speak what it offers.";
constexpr std::string_view kSignal =
    "Bring the board nearer, take metal away from its antenna, and check that the antenna selector stands on "
    "the "
    "antenna that is there.";
constexpr std::string_view kAgain =
    "Nothing, if it joins again at once; else restart the access point, and look whether its radio changes "
    "channel.";
constexpr std::string_view kFull =
    "Look how many stations the access point has; small ones take 10 to 32 (common practice, no source).";
constexpr std::string_view kName =
    "Check the network's name, capitals included, and that the access point sends on 2.4 GHz: the board has "
    "no "
    "5 GHz.";

struct Row {
  std::uint32_t code;
  WlanReason reason;
};

// IEEE 802.11 reason codes, from memory; above 199 the radio chip's own numbers, from memory but for 200.
constexpr Row kRows[] = {
    {1, {"the access point gave no reason", kAgain}},
    {2, {"the sign-in was no longer valid, or was not finished in time", kPassword}},
    {3, {"the access point sends the board away because one of the two is leaving", kAgain}},
    {4, {"the access point heard nothing of the board for too long", kSignal}},
    {5, {"the access point has as many stations as it can serve", kFull}},
    {6, {"the board spoke before it had signed in; the access point had forgotten it", kAgain}},
    {7, {"the board spoke before it had joined; the access point had forgotten it", kAgain}},
    {8, {"the board left the network, or was moved to another access point", kAgain}},
    {9, {"the board asked to join before it had signed in", kAgain}},
    {13, {"the two did not understand each other's settings", kSecurity}},
    {14, {"a message did not check out; a wrong password, or interference", kPassword}},
    {15, {"the exchange of keys was not finished in time; most often a wrong password", kPassword}},
    {16, {"the exchange of the group's key was not finished in time", kSignal}},
    {17, {"the settings of the two changed while keys were exchanged", kSecurity}},
    {18, {"the access point's cipher for the group does not suit the board", kSecurity}},
    {19, {"the access point's cipher does not suit the board", kSecurity}},
    {20, {"the access point's way of signing in does not suit the board", kSecurity}},
    {21, {"the access point's version of security does not suit the board", kSecurity}},
    {22, {"the access point's security settings do not suit the board", kSecurity}},
    {23, {"the network asks for a user's sign-in, which failed", kSecurity}},
    {24, {"the access point's rules refuse the board's cipher", kSecurity}},
    {200, {"the access point was not heard any more", kSignal}},
    {201, {"no network of this name was heard", kName}},
    {202, {"the sign-in failed", kPassword}},
    {203, {"the access point refused the board", kFull}},
    {204, {"the exchange of keys was not finished in time; most often a wrong password", kPassword}},
    {205, {"the connection failed", kSignal}},
    {210, {"the network is there, but none with security that suits the board", kSecurity}},
    {211, {"the network is there, but its way of signing in is weaker than the board asks for", kSecurity}},
    {212, {"the network is there, but too weak", kSignal}},
};

}  // namespace

WlanReason wlan_reason(std::uint32_t code) {
  const auto* const found = std::ranges::find(kRows, code, &Row::code);
  if (found != std::end(kRows)) return found->reason;
  return {"a reason that this program has no words for",
          "Look the number up in IEEE 802.11, or in the documentation of the board's software."};
}

}  // namespace rookery::proto
