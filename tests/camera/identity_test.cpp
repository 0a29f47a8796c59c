#include "camera/identity.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

const auto kOne = net::HardwareAddress::parse("00:00:5e:00:53:11");
const auto kOther = net::HardwareAddress::parse("00:00:5e:00:53:12");

KnownBoard bobbin() {
  Settings settings(base::CameraName::parse("bobbin").value());
  settings.stream_address = "http://192.0.2.17:81/stream";
  settings.still_address = "http://Bobbin.local./still";
  return known_board(settings);
}

BoardEvidence evidence(std::optional<net::HardwareAddress> hardware, std::string announced,
                       std::string host = {}, std::string fingerprint = {}) {
  BoardEvidence out;
  out.hardware = hardware;
  out.announced = std::move(announced);
  out.host = std::move(host);
  out.fingerprint = std::move(fingerprint);
  return out;
}

TEST(Identity, IsTheHardwareAddressElseTheNameElseTheAnswers) {
  EXPECT_EQ(identify(evidence(kOne, "bobbin")).key, "hw:00:00:5e:00:53:11");
  EXPECT_EQ(identify(evidence({}, "bobbin", {}, "still:ab")).key, "name:bobbin/still:ab");
  EXPECT_EQ(identify(evidence({}, "bobbin")).sureness, Sureness::weak);
  EXPECT_EQ(identify(evidence({}, "", {}, "still:ab")).key, "fp:still:ab");
  EXPECT_EQ(identify(evidence({}, "")).sureness, Sureness::none);
}

TEST(Identity, TheHostsOfACamerasAddressesAreKnown) {
  EXPECT_EQ(bobbin().hosts, (std::vector<std::string>{"192.0.2.17", "bobbin.local"}));
}

TEST(Identity, ABoardAtTheSettingsAddressOrHostIsThatCamera) {
  const std::vector known{bobbin()};
  const auto by_address = match(evidence({}, ""), {"192.0.2.17"}, known);
  ASSERT_TRUE(by_address);
  EXPECT_TRUE(by_address->at_settings_address);
  EXPECT_TRUE(match(evidence({}, "", "bobbin.local"), {"192.0.2.99"}, known));
  EXPECT_FALSE(match(evidence({}, "", "cog.local"), {"192.0.2.99"}, known));
}

TEST(Identity, ABoardAtANewAddressIsKnownByItsHardwareAddress) {
  std::vector known{bobbin()};
  known[0].evidence.hardware = kOne;
  const auto moved = match(evidence(kOne, ""), {"192.0.2.31"}, known);
  ASSERT_TRUE(moved);
  EXPECT_EQ(moved->sureness, Sureness::sure);
  EXPECT_FALSE(moved->at_settings_address);
}

TEST(Identity, AnotherHardwareAddressIsAnotherBoardWhateverElseAgrees) {
  std::vector known{bobbin()};
  known[0].evidence = evidence(kOne, "bobbin", "bobbin.local", "still:ab");
  EXPECT_FALSE(match(evidence(kOther, "bobbin", "bobbin.local", "still:ab"), {"192.0.2.17"}, known));
}

TEST(Identity, NameAndAnswersTogetherAreLikelyTheNameAloneIsWeak) {
  std::vector known{bobbin()};
  known[0].evidence = evidence({}, "bobbin", {}, "still:ab");
  EXPECT_EQ(match(evidence({}, "bobbin", {}, "still:ab"), {"192.0.2.31"}, known)->sureness, Sureness::likely);
  EXPECT_EQ(match(evidence({}, "bobbin", {}, "still:cd"), {"192.0.2.31"}, known)->sureness, Sureness::weak);
  EXPECT_FALSE(match(evidence({}, "cog", {}, "still:ab"), {"192.0.2.31"}, known));
}

TEST(Identity, OfTwoCamerasTheSurerMatchCounts) {
  std::vector known{bobbin(), KnownBoard(base::CameraName::parse("cog").value())};
  known[1].evidence.hardware = kOne;
  EXPECT_EQ(match(evidence(kOne, ""), {"192.0.2.17"}, known)->camera.text(), "cog");
}

TEST(Identity, TheHostNameIsAnAnnouncedNameAsWell) {
  std::vector known{bobbin()};
  known[0].evidence = evidence({}, "", "anvil.local", "stream:ab");
  EXPECT_EQ(match(evidence({}, "", "anvil.local"), {"192.0.2.31"}, known)->sureness, Sureness::weak);
  EXPECT_EQ(match(evidence({}, "", "anvil.local", "still:cd stream:ab"), {"192.0.2.31"}, known)->sureness,
            Sureness::likely);
}

class ByAnswers : public testing::Test {
 protected:
  ByAnswers() : known{bobbin(), KnownBoard(base::CameraName::parse("cog").value())} {
    known[0].evidence = evidence({}, "", {}, "stream:ab");
    known[0].is_missing = true;
  }
  std::optional<std::size_t> found(const std::vector<BoardEvidence>& strangers) const {
    return match_by_answers(known[0], known, strangers);
  }
  std::vector<KnownBoard> known;
  const BoardEvidence other = evidence(kOther, "", {}, "stream:cd");
  const BoardEvidence same = evidence(kOne, "bobbin-2", {}, "still:12 stream:ab");
};

TEST_F(ByAnswers, TheOnlyStrangerThatAnswersLikeTheMissingCameraMayBeIt) {
  EXPECT_EQ(found({other, same}), std::optional<std::size_t>(1));
  EXPECT_FALSE(found({other}));
}

TEST_F(ByAnswers, ACameraThatGivesPicturesIsNotLookedFor) {
  known[0].is_missing = false;
  EXPECT_FALSE(found({same}));
}

TEST_F(ByAnswers, OfTwoThatWouldDoNeitherIsTaken) {
  EXPECT_FALSE(found({same, evidence({}, "", {}, "stream:ab")}));
  known[1].evidence = evidence({}, "", {}, "stream:ab");
  EXPECT_TRUE(found({same})) << "the other camera of this kind gives pictures";
  known[1].is_missing = true;
  EXPECT_FALSE(found({same}));
}

TEST_F(ByAnswers, WhatContradictsOtherwiseIsAnotherBoard) {
  known[0].evidence = evidence(kOther, "", {}, "stream:ab");
  EXPECT_FALSE(found({same}));
  known[0].evidence = evidence({}, "anvil", {}, "stream:ab");
  EXPECT_FALSE(found({same}));
}

}  // namespace
}  // namespace rookery::camera
