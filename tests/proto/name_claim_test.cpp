// A board's probe is told from all other packets of multicast DNS; nothing in a packet reads past its end.
#include "proto/name_claim.h"

#include <gtest/gtest.h>

#include <rapidcheck/gtest.h>

namespace rookery::proto {
namespace {

using Bytes = std::vector<std::byte>;

Bytes bytes(std::initializer_list<int> values) {
  Bytes out;
  for (const int value : values) out.push_back(static_cast<std::byte>(value));
  return out;
}

void add(Bytes& packet, const Bytes& more) { packet.insert(packet.end(), more.begin(), more.end()); }

Bytes name(std::initializer_list<std::string_view> labels) {
  Bytes out;
  for (const std::string_view label : labels) {
    out.push_back(static_cast<std::byte>(label.size()));
    for (const char c : label) out.push_back(static_cast<std::byte>(c));
  }
  out.push_back(std::byte{0});
  return out;
}

// As a board sends it when it starts: its host name, then a service whose name ends in the first one's
// "local"; asked for as ANY with an answer to itself alone wished (0x8001), an address proposed.
Bytes probe() {
  Bytes out = bytes({0, 0, 0, 0, 0, 2, 0, 0, 0, 1, 0, 0});
  add(out, name({"Bobbin", "local"}));
  add(out, bytes({0, 255, 0x80, 1}));
  add(out, bytes({4, 'b', 'e', 'n', 'k', 5, '_', 'h', 't', 't', 'p', 4, '_', 't', 'c', 'p', 0xc0, 19}));
  add(out, bytes({0, 255, 0x80, 1}));
  add(out, bytes({0xc0, 12, 0, 1, 0, 1, 0, 0, 0, 120, 0, 4, 192, 0, 2, 17}));
  return out;
}

TEST(NameClaim, AProbeClaimsItsNames) {
  EXPECT_EQ(claimed_names(probe()), (std::vector<std::string>{"bobbin.local", "benk._http._tcp.local"}));
}

TEST(NameClaim, AnswersAndPlainQuestionsClaimNothing) {
  Bytes answer = probe();
  answer[2] = std::byte{0x84};
  EXPECT_TRUE(claimed_names(answer).empty());
  Bytes question = probe();
  question[9] = std::byte{0};  // proposes nothing
  EXPECT_TRUE(claimed_names(question).empty());
  Bytes address = probe();
  address[27] = std::byte{1};  // the first asks for an address only, not for all that has the name
  EXPECT_EQ(claimed_names(address), (std::vector<std::string>{"benk._http._tcp.local"}));
}

TEST(NameClaim, APacketThatIsCutClaimsWhatCameBefore) {
  const Bytes whole = probe();
  for (std::size_t size = 0; size <= whole.size(); ++size) {
    const auto names = claimed_names(std::span(whole).first(size));
    EXPECT_LE(names.size(), 2u) << size;
    if (size >= 30 && size < 52) {
      EXPECT_EQ(names, std::vector<std::string>{"bobbin.local"}) << size;
    }
  }
}

TEST(NameClaim, ANameThatPointsToItselfIsNone) {
  Bytes packet = bytes({0, 0, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0xc0, 12, 0, 255, 0, 1});
  EXPECT_TRUE(claimed_names(packet).empty());
}

RC_GTEST_PROP(NameClaim, WhateverComesIsReadToItsEndAndNoFurther, ()) {
  Bytes packet = probe();
  for (int n = *rc::gen::inRange(0, 12); n > 0; --n)
    packet[*rc::gen::inRange<std::size_t>(0, packet.size())] =
        static_cast<std::byte>(*rc::gen::inRange(0, 256));
  for (const std::string& name : claimed_names(packet)) RC_ASSERT(name.size() <= 255);
}

}  // namespace
}  // namespace rookery::proto
