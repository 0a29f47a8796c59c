// What walk() says of whole pictures of every kind, and of every way in which boards break them.
#include "jpeg/walk.h"

#include <gtest/gtest.h>

#include <set>

#include "tests/jpeg/jpeg_support.h"

namespace rookery::jpeg {
namespace {

std::string said(std::span<const std::byte> bytes) {
  const WalkResult result = walk(bytes);
  if (const auto* kind = std::get_if<BrokenKind>(&result)) return std::string(name_of(*kind));
  const auto& info = std::get<PictureInfo>(result);
  return std::to_string(info.width_px) + "x" + std::to_string(info.height_px) + " " +
         std::string(name_of(info.sampling)) + (info.progressive ? " progressive" : "");
}

// The frame header's height and width stand 5 and 7 bytes behind its marker (T.81 B.2.2).
Jpeg with_size(Jpeg jpeg, unsigned width, unsigned height, int sof = 0xC0) {
  const std::size_t at = place_of(jpeg, sof);
  jpeg[at + 5] = static_cast<std::byte>(height >> 8);
  jpeg[at + 6] = static_cast<std::byte>(height & 0xFF);
  jpeg[at + 7] = static_cast<std::byte>(width >> 8);
  jpeg[at + 8] = static_cast<std::byte>(width & 0xFF);
  return jpeg;
}

const Jpeg kPicture = make_jpeg({});

TEST(JpegWalk, EverySampling) {
  EXPECT_EQ(said(make_jpeg({.sampling = TJSAMP_420})), "64x48 4:2:0");
  EXPECT_EQ(said(make_jpeg({.sampling = TJSAMP_422})), "64x48 4:2:2");
  EXPECT_EQ(said(make_jpeg({.sampling = TJSAMP_444})), "64x48 4:4:4");
  EXPECT_EQ(said(make_jpeg({.sampling = TJSAMP_440})), "64x48 4:4:0");
  EXPECT_EQ(said(make_jpeg({.sampling = TJSAMP_411})), "64x48 4:1:1");
  EXPECT_EQ(said(make_jpeg({.sampling = TJSAMP_GRAY})), "64x48 gray");
}

TEST(JpegWalk, SamplingIsARatio) {
  Jpeg jpeg = make_jpeg({.sampling = TJSAMP_422});
  const std::size_t sof = place_of(jpeg, 0xC0);
  const auto with_factors = [&](int luma, int blue, int red) {
    jpeg[sof + 11] = static_cast<std::byte>(luma);
    jpeg[sof + 14] = static_cast<std::byte>(blue);
    jpeg[sof + 17] = static_cast<std::byte>(red);
    return said(jpeg);
  };
  EXPECT_EQ(with_factors(0x22, 0x12, 0x12), "64x48 4:2:2");
  EXPECT_EQ(with_factors(0x22, 0x22, 0x22), "64x48 4:4:4");
  EXPECT_EQ(with_factors(0x22, 0x21, 0x21), "64x48 4:4:0");
  EXPECT_EQ(with_factors(0x22, 0x11, 0x12), "64x48 other");
  EXPECT_EQ(with_factors(0x11, 0x22, 0x22), "64x48 other");
  EXPECT_EQ(with_factors(0x31, 0x11, 0x11), "64x48 other");
}

TEST(JpegWalk, ProgressiveWithItsManyScans) {
  EXPECT_EQ(said(make_jpeg({.width_px = 320, .height_px = 240, .flags = TJFLAG_PROGRESSIVE})),
            "320x240 4:2:0 progressive");
}

TEST(JpegWalk, EverySizeOfABoard) {
  for (const auto& [w, h] :
       {std::pair{96, 96}, {160, 120}, {400, 296}, {640, 480}, {1600, 1200}, {2592, 1944}, {1944, 2592}}) {
    EXPECT_EQ(said(make_jpeg({.width_px = w, .height_px = h, .quality = 30})),
              std::to_string(w) + "x" + std::to_string(h) + " 4:2:0");
  }
}

TEST(JpegWalk, RestartIntervalIsReadAndFollowed) {
  const auto result = walk(make_jpeg({.width_px = 160, .height_px = 160, .restart_rows = 1}));
  ASSERT_TRUE(std::holds_alternative<PictureInfo>(result));
  EXPECT_EQ(std::get<PictureInfo>(result).restart_interval, 10);  // 160 px in MCUs of 16
}

TEST(JpegWalk, QualityOfTheEncoderIsFound) {
  for (const int quality : {10, 25, 50, 75, 80, 90, 95, 100}) {
    const auto result = walk(make_jpeg({.quality = quality}));
    EXPECT_EQ(std::get<PictureInfo>(result).quality_estimate, quality);
  }
}

TEST(JpegWalk, ThumbnailInAnAppSegmentIsSkipped) {
  const Jpeg thumbnail = make_jpeg({.width_px = 16, .height_px = 16, .quality = 10});
  const Jpeg exif = joined({bytes_from(std::string_view("Exif\0\0", 6)), thumbnail});
  EXPECT_EQ(said(with_segment(kPicture, 0xE1, exif)), "64x48 4:2:0");
  EXPECT_EQ(said(with_segment(kPicture, 0xFE, thumbnail)), "64x48 4:2:0");
  // Cut behind the thumbnail's EOI, which must not be taken for the picture's.
  const Jpeg whole = with_segment(kPicture, 0xE1, exif);
  EXPECT_EQ(said(std::span(whole).first(6 + exif.size())), "no-end");
}

TEST(JpegWalk, PaddingAfterTheEndIsTolerated) {
  const std::byte zeros[700] = {};
  const Jpeg padded = joined({kPicture, zeros});
  const auto result = walk(padded);
  ASSERT_TRUE(std::holds_alternative<PictureInfo>(result));
  EXPECT_EQ(std::get<PictureInfo>(result).padding_bytes, 700u);
  EXPECT_EQ(said(joined({kPicture, bytes_from("\r\n")})), "64x48 4:2:0");
  EXPECT_EQ(said(joined({kPicture, bytes_from("\xFF\xFF")})), "64x48 4:2:0");
}

TEST(JpegWalk, FillBytesBeforeMarkersAreTolerated) {
  const std::size_t end = kPicture.size() - 2;
  const auto all = std::span(kPicture);
  EXPECT_EQ(said(joined({all.first(2), bytes_from("\xFF\xFF\xFF"), all.subspan(2)})), "64x48 4:2:0");
  EXPECT_EQ(said(joined({all.first(end), bytes_from("\xFF\xFF\xFF"), all.subspan(end)})), "64x48 4:2:0");
}

TEST(JpegWalk, PictureWithoutHuffmanTablesIsWhole) {
  // Decoders know the standard tables; motion JPEG often leaves them out.
  Jpeg jpeg = kPicture;
  for (int i = 0; i < 4; ++i) {
    const auto at = static_cast<std::ptrdiff_t>(place_of(jpeg, 0xC4));
    const auto length = std::to_integer<int>(jpeg[static_cast<std::size_t>(at) + 2]) << 8 |
                        std::to_integer<int>(jpeg[static_cast<std::size_t>(at) + 3]);
    jpeg.erase(jpeg.begin() + at, jpeg.begin() + at + 2 + length);
  }
  EXPECT_EQ(said(jpeg), "64x48 4:2:0");
}

TEST(JpegWalk, OtherPicturesTailAfterTheEndIsBroken) {
  const auto all = std::span(kPicture);
  EXPECT_EQ(said(joined({kPicture, kPicture})), "trailing-data");
  EXPECT_EQ(said(joined({kPicture, all.last(300)})), "trailing-data");
  const std::byte zeros[100] = {};
  EXPECT_EQ(said(joined({kPicture, zeros, all.last(1)})), "trailing-data");
}

TEST(JpegWalk, NewPictureInsideACutOneIsBroken) {
  const auto all = std::span(kPicture);
  EXPECT_EQ(said(joined({all.first(kPicture.size() - 100), kPicture})), "bad-marker");
}

TEST(JpegWalk, EmptyAndForeign) {
  EXPECT_EQ(said({}), "empty");
  EXPECT_EQ(said(bytes_from("<!DOCTYPE html><html>")), "not-a-picture");
  EXPECT_EQ(said(bytes_from("camera init failed\r\n")), "not-a-picture");
  EXPECT_EQ(said(bytes_from("\x89PNG\r\n\x1a\n")), "not-a-picture");
  EXPECT_EQ(said(bytes_from("GIF89a\x01\x02")), "not-a-picture");
}

TEST(JpegWalk, MissingStart) {
  EXPECT_EQ(said(std::span(kPicture).subspan(1)), "no-start");
  EXPECT_EQ(said(std::span(kPicture).subspan(2)), "no-start");
  EXPECT_EQ(said(joined({bytes_from(std::string_view("\0", 1)), kPicture})), "no-start");
}

TEST(JpegWalk, CutAnywhereIsNeverWhole) {
  for (const auto& jpeg :
       {kPicture, make_jpeg({.flags = TJFLAG_PROGRESSIVE}), make_jpeg({.restart_rows = 1})}) {
    for (std::size_t n = 2; n < jpeg.size(); ++n) {
      ASSERT_EQ(said(std::span(jpeg).first(n)), "no-end") << n;
    }
  }
}

TEST(JpegWalk, SizesBeyondTheBound) {
  EXPECT_EQ(said(with_size(kPicture, 65535, 65535)), "too-large");
  EXPECT_EQ(said(with_size(kPicture, 8193, 16)), "too-large");
  EXPECT_EQ(said(with_size(kPicture, 16, 8193)), "too-large");
  EXPECT_EQ(said(with_size(kPicture, 8192, 4097)), "too-large");
  EXPECT_EQ(said(with_size(kPicture, 8192, 4096)), "8192x4096 4:2:0");
  EXPECT_EQ(said(with_size(kPicture, 0, 48)), "size-zero");
  EXPECT_EQ(said(with_size(kPicture, 64, 0)), "size-zero");
}

TEST(JpegWalk, KindsThatNobodyShows) {
  const auto as = [](int sof) {
    Jpeg jpeg = kPicture;
    jpeg[place_of(jpeg, 0xC0) + 1] = static_cast<std::byte>(sof);
    return said(jpeg);
  };
  EXPECT_EQ(as(0xC1), "64x48 4:2:0");  // extended sequential, 8 bit
  for (const int sof : {0xC3, 0xC5, 0xC6, 0xC7, 0xC8, 0xC9, 0xCA, 0xCB, 0xCC, 0xCD, 0xCE, 0xCF}) {
    EXPECT_EQ(as(sof), "unsupported") << sof;
  }
  const std::size_t sof = place_of(kPicture, 0xC0);
  Jpeg twelve_bits = kPicture;
  twelve_bits[sof + 4] = std::byte{12};
  EXPECT_EQ(said(twelve_bits), "unsupported");
  Jpeg four_components = kPicture;
  four_components[sof + 9] = std::byte{4};
  EXPECT_EQ(said(four_components), "unsupported");
}

TEST(JpegWalk, SegmentsThatContradictThemselves) {
  const std::size_t sof = place_of(kPicture, 0xC0);
  const auto with = [](std::size_t at, int value) {
    Jpeg jpeg = kPicture;
    jpeg[at] = static_cast<std::byte>(value);
    return said(jpeg);
  };
  EXPECT_EQ(with(sof + 3, 0), "bad-length");                          // shorter than itself
  EXPECT_EQ(with(sof + 3, 8), "bad-length");                          // too short for its components
  EXPECT_EQ(with(sof + 11, 0x00), "bad-length");                      // sampling factor 0
  EXPECT_EQ(with(place_of(kPicture, 0xDB) + 4, 0x0F), "bad-length");  // table 15
  EXPECT_EQ(with(place_of(kPicture, 0xDA) + 4, 4), "bad-length");     // more components than the frame
  EXPECT_EQ(with(place_of(kPicture, 0xDA) + 5, 9), "bad-length");     // a component that the frame lacks
  EXPECT_EQ(with(place_of(kPicture, 0xDA), 0x00), "bad-marker");
}

TEST(JpegWalk, MissingPieces) {
  const std::size_t sof = place_of(kPicture, 0xC0);
  Jpeg no_frame = kPicture;
  no_frame.erase(no_frame.begin() + static_cast<std::ptrdiff_t>(sof),
                 no_frame.begin() + static_cast<std::ptrdiff_t>(sof) + 19);
  EXPECT_EQ(said(no_frame), "no-frame-header");
  EXPECT_EQ(said(bytes_from("\xFF\xD8\xFF\xD9")), "no-frame-header");

  const std::size_t dqt = place_of(kPicture, 0xDB);
  Jpeg no_table = kPicture;
  no_table.erase(no_table.begin() + static_cast<std::ptrdiff_t>(dqt),
                 no_table.begin() + static_cast<std::ptrdiff_t>(dqt) + 69);
  EXPECT_EQ(said(no_table), "no-tables");

  const std::size_t sos = place_of(kPicture, 0xDA);
  EXPECT_EQ(said(joined({std::span(kPicture).first(sos), bytes_from("\xFF\xD9")})), "no-scan");
  EXPECT_EQ(said(joined({std::span(kPicture).first(sos + 14), bytes_from("\xFF\xD9")})), "no-scan");
}

TEST(JpegWalk, RestartMarkersOutOfOrderMeanALostPiece) {
  Jpeg jpeg = make_jpeg({.width_px = 160, .height_px = 160, .restart_rows = 1});
  const auto second = place_of(jpeg, 0xD1);
  const auto third = place_of(jpeg, 0xD2);
  jpeg.erase(jpeg.begin() + static_cast<std::ptrdiff_t>(second),
             jpeg.begin() + static_cast<std::ptrdiff_t>(third));
  EXPECT_EQ(said(jpeg), "bad-restart");
  // Where no restart interval was announced a restart marker is a stray one.
  const std::size_t inside = kPicture.size() - 20;
  const auto all = std::span(kPicture);
  EXPECT_EQ(said(joined({all.first(inside), bytes_from("\xFF\xD0"), all.subspan(inside)})), "bad-marker");
}

TEST(JpegWalk, EveryKindHasAWordAndASentence) {
  std::set<std::string_view> words;
  for (int i = 0; i < kBrokenKinds; ++i) {
    const auto kind = static_cast<BrokenKind>(i);
    EXPECT_NE(name_of(kind), "unknown");
    EXPECT_GT(explain(kind).size(), 20u);
    words.insert(name_of(kind));
  }
  EXPECT_EQ(words.size(), static_cast<std::size_t>(kBrokenKinds));
  EXPECT_EQ(name_of(static_cast<BrokenKind>(kBrokenKinds)), "unknown");
}

}  // namespace
}  // namespace rookery::jpeg
