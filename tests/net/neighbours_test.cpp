#include "net/neighbours.h"

#include <gtest/gtest.h>
#include <linux/neighbour.h>
#include <linux/rtnetlink.h>
#include <rapidcheck/gtest.h>

#include <cstring>

namespace rookery::net {
namespace {

void put(std::vector<std::byte>& out, const void* data, std::size_t size) {
  const auto* bytes = static_cast<const std::byte*>(data);
  out.insert(out.end(), bytes, bytes + size);
  while (out.size() % 4 != 0) out.push_back(std::byte{});
}

void put_attribute(std::vector<std::byte>& out, std::uint16_t type, const std::vector<std::uint8_t>& value) {
  const rtattr header{static_cast<std::uint16_t>(sizeof(rtattr) + value.size()), type};
  std::vector<std::byte> one;
  put(one, &header, sizeof(header));
  put(one, value.data(), value.size());
  out.insert(out.end(), one.begin(), one.end());
}

std::vector<std::byte> entry(std::uint8_t family, std::uint16_t state,
                             const std::vector<std::uint8_t>& address,
                             const std::vector<std::uint8_t>& hardware) {
  ndmsg message{};
  message.ndm_family = family;
  message.ndm_state = state;
  std::vector<std::byte> body;
  put(body, &message, sizeof(message));
  put_attribute(body, NDA_DST, address);
  put_attribute(body, NDA_LLADDR, hardware);
  nlmsghdr header{};
  header.nlmsg_len = static_cast<std::uint32_t>(sizeof(header) + body.size());
  header.nlmsg_type = RTM_NEWNEIGH;
  std::vector<std::byte> out;
  put(out, &header, sizeof(header));
  out.insert(out.end(), body.begin(), body.end());
  return out;
}

const std::vector<std::uint8_t> kBoard{192, 0, 2, 17};
const std::vector<std::uint8_t> kHardware{0x00, 0x00, 0x5e, 0x00, 0x53, 0x11};

TEST(HardwareAddress, IsReadAndWrittenInEitherCase) {
  const auto address = HardwareAddress::parse("00:00:5E:00:53:aF");
  ASSERT_TRUE(address);
  EXPECT_EQ(address->text(), "00:00:5e:00:53:af");
  EXPECT_EQ(address->maker_part(), "00:00:5e");
  EXPECT_FALSE(address->is_local());
  EXPECT_TRUE(HardwareAddress::parse("02:00:00:00:00:01")->is_local());
  for (const char* bad :
       {"", "00:00:5e:00:53", "00:00:5e:00:53:1g", "00-00-5e-00-53-11", "00:00:5e:00:53:111"})
    EXPECT_FALSE(HardwareAddress::parse(bad)) << bad;
}

TEST(Neighbours, AnEntryGivesAddressAndHardware) {
  bool done = true;
  const auto found = parse_neighbours(entry(AF_INET, NUD_REACHABLE, kBoard, kHardware), &done);
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].address.to_string(), "192.0.2.17");
  EXPECT_EQ(found[0].hardware.text(), "00:00:5e:00:53:11");
  EXPECT_FALSE(done);
}

TEST(Neighbours, WhatWasNotHeardFromAndWhatHasNoHardwareAddressIsLeftOut) {
  bool done = false;
  EXPECT_TRUE(parse_neighbours(entry(AF_INET, NUD_FAILED, kBoard, kHardware), &done).empty());
  EXPECT_TRUE(parse_neighbours(entry(AF_INET, NUD_INCOMPLETE, kBoard, kHardware), &done).empty());
  EXPECT_TRUE(parse_neighbours(entry(AF_INET, NUD_STALE, kBoard, {0, 0, 0, 0, 0, 0}), &done).empty());
  EXPECT_TRUE(parse_neighbours(entry(AF_INET, NUD_STALE, kBoard, {1, 2, 3}), &done).empty());
  EXPECT_TRUE(parse_neighbours(entry(AF_INET, NUD_STALE, {1, 2}, kHardware), &done).empty());
}

TEST(Neighbours, TheKernelIsAsked) {
  const auto found = read_neighbours();
  EXPECT_TRUE(found) << found.error().text();
}

RC_GTEST_PROP(Neighbours, BrokenAnswersAreTaken, (const std::vector<std::uint8_t>& noise)) {
  std::vector<std::byte> bytes = entry(AF_INET, NUD_REACHABLE, kBoard, kHardware);
  for (std::size_t i = 0; i + 1 < noise.size(); i += 2)
    bytes[noise[i] % bytes.size()] = std::byte{noise[i + 1]};
  if (!noise.empty()) bytes.resize(noise.back() % (bytes.size() + 1));
  bool done = false;
  RC_ASSERT(parse_neighbours(bytes, &done).size() <= 1u);
}

}  // namespace
}  // namespace rookery::net
