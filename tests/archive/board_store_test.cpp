#include "archive/board_store.h"

#include <gtest/gtest.h>

#include "archive/camera_store.h"
#include "tests/support/temp_folder.h"

namespace rookery::archive {
namespace {

camera::Settings bobbin() {
  camera::Settings settings(base::CameraName::parse("bobbin").value());
  settings.stream_address = "http://192.0.2.17:81/stream";
  return settings;
}

StoredBoard board() {
  StoredBoard out(bobbin().name);
  out.host = "192.0.2.17";
  out.evidence.hardware = net::HardwareAddress::parse("00:00:5e:00:53:11");
  out.evidence.announced = "bobbin 🌱";
  out.evidence.host = "bobbin.local";
  out.evidence.fingerprint = "0123456789abcdef";
  out.seen = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
  return out;
}

class BoardStoreTest : public testing::Test {
 protected:
  void SetUp() override {
    auto opened = Catalog::open(folder_.path());
    ASSERT_TRUE(opened) << opened.error().text();
    catalog_ = std::move(*opened);
    ASSERT_TRUE(CameraStore(*catalog_).add(bobbin()));
  }
  rookery::test::TempFolder folder_;
  std::unique_ptr<Catalog> catalog_;
};

TEST_F(BoardStoreTest, WhatIsPutIsThereAndTakesThePlaceOfWhatWas) {
  BoardStore store(*catalog_);
  ASSERT_TRUE(store.put(board()));
  EXPECT_EQ(store.list().value(), std::vector{board()});
  StoredBoard moved = board();
  moved.host = "192.0.2.31";
  moved.moved = BoardMove{"192.0.2.17", "192.0.2.31", board().seen};
  ASSERT_TRUE(store.put(moved));
  EXPECT_EQ(store.list().value(), std::vector{moved});
}

TEST_F(BoardStoreTest, ItSaysNothingOfACameraThatPointsElsewhereNow) {
  BoardStore store(*catalog_);
  ASSERT_TRUE(store.put(board()));
  EXPECT_EQ(store.known({bobbin()}).value().at(0).evidence, board().evidence);
  camera::Settings elsewhere = bobbin();
  elsewhere.stream_address = "http://192.0.2.99:81/stream";
  EXPECT_EQ(store.known({elsewhere}).value().at(0).evidence, camera::BoardEvidence{});
}

TEST_F(BoardStoreTest, ItGoesWithItsCamera) {
  BoardStore store(*catalog_);
  ASSERT_TRUE(store.put(board()));
  ASSERT_TRUE(CameraStore(*catalog_).remove(bobbin().name));
  EXPECT_TRUE(store.list().value().empty());
  EXPECT_EQ(store.put(board()).error().code, base::ErrorCode::not_found);
}

}  // namespace
}  // namespace rookery::archive
