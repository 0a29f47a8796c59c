#include "camera/board_list.h"

#include <gtest/gtest.h>

#include "camera/found_words.h"

namespace rookery::camera {
namespace {

using boost::asio::ip::make_address;

net::Service service(const std::string& name, const std::string& host,
                     const std::vector<std::string>& addresses, std::uint16_t port = 80) {
  net::Service out;
  out.key = {name, "_http._tcp"};
  net::ServicePlace place{host, port, {}};
  for (const std::string& one : addresses) place.addresses.push_back(make_address(one));
  out.places.push_back(place);
  return out;
}

net::Neighbour neighbour(const char* address, const char* hardware) {
  return {make_address(address), net::HardwareAddress::parse(hardware).value()};
}

constexpr const char* kOne = "00:00:5e:00:53:11";
constexpr const char* kOther = "00:00:5e:00:53:12";

TEST(BoardList, AddressesOfBothFamiliesAreOneBoardIpv4First) {
  BoardList list;
  list.hear(service("bobbin", "bobbin.local", {"fe80::1%2", "2001:db8::17", "192.0.2.17"}));
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(boards[0].addresses[0].to_string(), "192.0.2.17");
  EXPECT_EQ(boards[0].addresses[1].to_string(), "2001:db8::17");
  EXPECT_EQ(boards[0].key, "at:192.0.2.17");
}

TEST(BoardList, ServicesOfOneBoardAreOneEntryWithAllItsPorts) {
  BoardList list;
  list.hear(service("bobbin stream", "bobbin.local", {"192.0.2.17"}, 81));
  list.hear(service("bobbin", "bobbin.local", {"192.0.2.17"}, 80));
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(boards[0].ports, (std::vector<std::uint16_t>{80, 81}));
  EXPECT_FALSE(boards[0].name_twice);
}

TEST(BoardList, OneHostNameOfTwoHardwareAddressesIsTwoBoards) {
  BoardList list;
  list.hear(service("bobbin", "bobbin.local", {"192.0.2.17", "192.0.2.18"}));
  EXPECT_EQ(list.boards({}).size(), 1u);
  list.set_neighbours(std::vector{neighbour("192.0.2.17", kOne), neighbour("192.0.2.18", kOther)});
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 2u);
  EXPECT_TRUE(boards[0].name_twice);
  EXPECT_TRUE(boards[1].name_twice);
}

TEST(BoardList, OneNameAtTwoHostsIsTwoBoards) {
  BoardList list;
  net::Service two = service("bobbin", "bobbin.local", {"192.0.2.17"});
  two.places.push_back({"other.local", 80, {make_address("192.0.2.18")}});
  list.hear(two);
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 2u);
  EXPECT_TRUE(boards[0].name_twice);
}

TEST(BoardList, TwoAddressesOfOneHardwareAddressAreOneBoard) {
  BoardList list;
  list.hear(service("bobbin", "bobbin.local", {"192.0.2.17"}));
  list.take_swept(make_address("192.0.2.31"), 80);
  list.set_neighbours(std::vector{neighbour("192.0.2.17", kOne), neighbour("192.0.2.31", kOne)});
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(boards[0].key, std::string("hw:") + kOne);
}

TEST(BoardList, AGoodbyeTakesTheServiceAway) {
  BoardList list;
  list.hear(service("bobbin", "bobbin.local", {"192.0.2.17"}));
  list.forget({"bobbin", "_http._tcp"});
  EXPECT_TRUE(list.boards({}).empty());
}

TEST(BoardList, WhatWasAnnouncedWithoutAnAddressIsShownAndSaysSo) {
  BoardList list;
  net::Service nowhere;
  nowhere.key = {"bobbin", "_http._tcp"};
  list.hear(nowhere);
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(answer_words(boards[0]), "its address was not answered");
}

TEST(BoardList, AnswersBelongToTheBoardAndTheBestCounts) {
  BoardList list;
  list.hear(service("bobbin", "bobbin.local", {"192.0.2.17"}, 80));
  BoardAnswers silent, camera;
  camera.kind = BoardAnswers::Kind::camera;
  camera.still_address = "http://192.0.2.17:80/still";
  list.take_swept(make_address("192.0.2.17"), 8080);
  list.take_answers(make_address("192.0.2.17"), 80, silent);
  list.take_answers(make_address("192.0.2.17"), 8080, camera);
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(answer_words(boards[0]), "still");
  EXPECT_EQ(camera_words(boards[0]), "new");
}

TEST(BoardList, ABoardThatAnnouncesOnlyItsHostNameIsThere) {
  BoardList list;
  EXPECT_TRUE(list.empty());
  list.hear_host("bobbin.local", {make_address("192.0.2.17")});
  list.take_answers(make_address("192.0.2.17"), 80, BoardAnswers{.kind = BoardAnswers::Kind::camera});
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(boards[0].name, "bobbin.local");
  EXPECT_TRUE(boards[0].types.empty());
  EXPECT_TRUE(boards[0].evidence().announced.empty());
  EXPECT_EQ(boards[0].evidence().host, "bobbin.local");
  EXPECT_TRUE(boards[0].answers) << "asked where HTTP is unless something else is said";
  list.hear_host("bobbin.local", {});
  EXPECT_TRUE(list.empty());
}

TEST(BoardList, ItsHostNameAndItsServiceAreOneBoard) {
  BoardList list;
  list.hear(service("bobbin", "bobbin.local", {"192.0.2.17"}));
  list.hear_host("bobbin.local", {make_address("192.0.2.17")});
  const auto boards = list.boards({});
  ASSERT_EQ(boards.size(), 1u);
  EXPECT_EQ(boards[0].name, "bobbin");
  EXPECT_FALSE(boards[0].name_twice);
}

TEST(BoardList, AMissingCameraIsSuspectedWhereItsAnswersAre) {
  BoardList list;
  list.take_swept(make_address("192.0.2.31"), 80);
  EXPECT_TRUE(list.was_swept(make_address("192.0.2.31")));
  EXPECT_FALSE(list.was_swept(make_address("192.0.2.30")));
  BoardAnswers answers;
  answers.kind = BoardAnswers::Kind::camera;
  answers.fingerprint = "still:12 stream:ab";
  list.take_answers(make_address("192.0.2.31"), 80, answers);
  std::vector known{KnownBoard(base::CameraName::parse("bobbin").value())};
  known[0].evidence.fingerprint = "stream:ab";
  EXPECT_FALSE(list.boards(known)[0].known);
  known[0].is_missing = true;
  const auto boards = list.boards(known);
  ASSERT_TRUE(boards[0].known);
  EXPECT_EQ(boards[0].known->sureness, Sureness::weak);
  EXPECT_EQ(camera_words(boards[0]), "bobbin, moved here?");
}

TEST(FoundWords, ASuggestedNameIsMadeOfWhatLettersThereAre) {
  FoundBoard board;
  board.name = "Kiln №7 (left).local";
  EXPECT_EQ(suggested_name(board), "kiln-7-left");
  board.name = "🌱";
  EXPECT_EQ(suggested_name(board), "camera");
  board.name = std::string(63, 'K') + "xyz";
  EXPECT_EQ(suggested_name(board), std::string(63, 'k'));
}

}  // namespace
}  // namespace rookery::camera
