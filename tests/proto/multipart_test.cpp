// Every framing that boards are known to send, and what no board should be able to do to us. Each body is
// read whole and in pieces of several sizes; all must say the same.
#include "proto/multipart.h"

#include <gtest/gtest.h>

#include "tests/proto/multipart_support.h"

namespace rookery::proto {
namespace {

using Strings = std::vector<std::string>;

// Reads the body whole and in pieces, expects the same of all, and returns it.
Heard hear(std::string_view boundary, std::string_view body, MultipartLimits limits = {}) {
  Heard whole = listen(boundary, body, std::max<std::size_t>(body.size(), 1), limits);
  for (const std::size_t piece : {1, 2, 3, 7, 64, 1460, 5744}) {
    const Heard pieces = listen(boundary, body, piece, limits);
    EXPECT_EQ(pieces.log, whole.log) << "in pieces of " << piece;
    if (!whole.fatal) {
      EXPECT_EQ(pieces.stray_bytes, whole.stray_bytes) << "in pieces of " << piece;
    }
  }
  return whole;
}

std::string header(std::size_t length) {
  return fmt::format("Content-Type: image/jpeg\r\nContent-Length: {}\r\n\r\n", length);
}

const std::string kA = picture(3000, 1);
const std::string kB = picture(20000, 2);
const std::string kC = picture(40000, 3);  // more than two slices of the reader

TEST(MultipartReader, BoardsUsualForm) {
  std::string body;
  for (const auto& jpeg : {kA, kB, kC}) {
    body += "\r\n--B\r\nContent-Type: image/jpeg\r\nContent-Length: " + std::to_string(jpeg.size()) +
            "\r\nX-Timestamp: 12.345678\r\n\r\n" + jpeg;
  }
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({kA, kB, kC}));
  EXPECT_EQ(heard.log.size(), 3u);
  EXPECT_EQ(heard.stray_bytes, 0u);
  EXPECT_EQ(*heard.parts[0].headers.find("x-TIMESTAMP"), "12.345678");
  EXPECT_EQ(heard.parts[0].headers.find("X-Nothing"), nullptr);
}

TEST(MultipartReader, DeliversWithTheLastByteOfTheJpeg) {
  MultipartReader reader("B");
  const std::string body = "\r\n--B\r\n" + header(kB.size()) + kB;
  reader.push(bytes_of(body).first(body.size() - 1));
  EXPECT_FALSE(reader.next().has_value());
  reader.push(bytes_of(body).last(1));
  auto event = reader.next();
  ASSERT_TRUE(event.has_value());
  EXPECT_EQ(text_of(std::get<Part>(*event).body), kB);
}

TEST(MultipartReader, NoContentLengthCrlfAfterTheJpeg) {
  std::string body;
  for (const auto& jpeg : {kA, kB, kC}) body += "--frame\r\nContent-Type: image/jpeg\r\n\r\n" + jpeg + "\r\n";
  EXPECT_EQ(hear("frame", body).bodies(), prints({kA, kB, kC}));
}

TEST(MultipartReader, NoContentLengthNoCrlfAfterTheJpeg) {
  std::string body;
  for (const auto& jpeg : {kA, kB, kC}) body += "--frame\r\nContent-Type: image/jpeg\r\n\r\n" + jpeg;
  EXPECT_EQ(hear("frame", body).bodies(), prints({kA, kB, kC}));
}

TEST(MultipartReader, BoundarySentAfterEachJpeg) {
  std::string body;
  for (const auto& jpeg : {kA, kB}) body += header(jpeg.size()) + jpeg + "\r\n--B\r\n";
  EXPECT_EQ(hear("B", body).bodies(), prints({kA, kB}));
  EXPECT_EQ(hear("B", body).log.size(), 2u);
}

TEST(MultipartReader, BoundarySentAfterEachJpegAndNoHeaders) {
  const std::string body = kA + "\r\n--B\r\n\r\n" + kB + "\r\n--B\r\n" + kC + "\r\n--B\r\n";
  EXPECT_EQ(hear("B", body).bodies(), prints({kA, kB, kC}));
}

TEST(MultipartReader, BoundaryParameterWithItsDashes) {
  for (const char* wire : {"--B", "----B"}) {
    std::string body;
    for (const auto& jpeg : {kA, kB}) body += fmt::format("\r\n{}\r\n", wire) + "\r\n" + jpeg;
    body += fmt::format("\r\n{}--\r\n", wire);
    const Heard heard = hear("--B", body);
    EXPECT_EQ(heard.bodies(), prints({kA, kB})) << wire;
    EXPECT_EQ(heard.log.back(), "end") << wire;
    EXPECT_EQ(heard.stray_bytes, 0u) << wire;
  }
}

TEST(MultipartReader, BoundaryOfDashesAndManyCharacters) {
  for (const std::string& boundary : {std::string("-"), std::string("--"), std::string("---"),
                                      std::string("----x"), std::string(200, 'b')}) {
    const std::string body = "--" + boundary + "\r\n\r\n" + kA + "\r\n--" + boundary + "--\r\n";
    EXPECT_EQ(hear(boundary, body).bodies(), prints({kA})) << boundary;
  }
}

TEST(MultipartReader, BareLineFeeds) {
  const std::string body =
      "--B\nContent-Type: image/jpeg\n\n" + kA + "\n--B\nContent-Length: 20000\n\n" + kB + "\n--B--\n";
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({kA, kB}));
  EXPECT_EQ(heard.log.back(), "end");
}

TEST(MultipartReader, PaddingAfterTheDelimiter) {
  const std::string body = "--B \t \r\n\r\none\r\n--B  \r\n\r\ntwo\r\n--B--  \r\n";
  EXPECT_EQ(hear("B", body).bodies(), prints({"one", "two"}));
}

TEST(MultipartReader, EndlessPaddingIsNoDelimiter) {
  const std::string body = "--B\r\n\r\none\r\n--B" + std::string(5000, ' ') + "\r\n--B--";
  EXPECT_EQ(hear("B", body).bodies(), prints({"one\r\n--B" + std::string(5000, ' ')}));
}

TEST(MultipartReader, PreambleAndEpilogueAreIgnored) {
  const std::string body =
      "Preamble with -- and --C\r\n--B\r\n\r\none\r\n--B--\r\nEpilogue\r\n--B\r\n\r\ntwo\r\n--B--";
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({"one"}));
  EXPECT_EQ(heard.log.back(), "end");
  EXPECT_GT(heard.stray_bytes, 0u);
}

TEST(MultipartReader, LongerBoundaryIsAnotherBoundary) {
  const std::string body = "--B\r\n\r\none\r\n--Bee\r\n--B-x\r\ntwo\r\n--B--\r\n";
  EXPECT_EQ(hear("B", body).bodies(), prints({"one\r\n--Bee\r\n--B-x\r\ntwo"}));
}

TEST(MultipartReader, PartWithoutHeaderBodyOrBoth) {
  const std::string body =
      "--B\r\n\r\n\r\n--B\r\n\r\n--B\r\nX: y\r\n--B\r\n--B\r\nContent-Length: 0\r\n\r\n\r\n--B--";
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({"", "", "", ""}));
  EXPECT_EQ(*heard.parts[2].headers.find("x"), "y");
  EXPECT_FALSE(heard.parts[3].length_lied);
}

TEST(MultipartReader, FoldedAndForeignHeaderLines) {
  const std::string body = "--B\r\nA: one\r\n  two\r\nnot a field\r\nb:three\r\n:\r\n\r\nbody\r\n--B--";
  const Heard heard = hear("B", body);
  ASSERT_EQ(heard.parts.size(), 1u);
  EXPECT_EQ(*heard.parts[0].headers.find("a"), "one two");
  EXPECT_EQ(*heard.parts[0].headers.find("B"), "three");
}

TEST(MultipartReader, LengthTooShort) {
  const std::string body =
      "--B\r\n" + header(100) + kA + "\r\n--B\r\n" + header(kB.size()) + kB + "\r\n--B--";
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({kA, kB}));
  EXPECT_TRUE(heard.parts[0].length_lied);
  EXPECT_FALSE(heard.parts[1].length_lied);
}

TEST(MultipartReader, LengthTooLongIsNoticedAtTheNextDelimiter) {
  const std::string body = "--B\r\n" + header(1000000) + kA + "\r\n--B\r\n" + header(kB.size()) + kB;
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({kA, kB}));
  EXPECT_TRUE(heard.parts[0].length_lied);
  EXPECT_FALSE(heard.parts[1].length_lied);
}

TEST(MultipartReader, LengthTooLongOfABodyThatIsNoJpeg) {
  const std::string body =
      "--B\r\nContent-Length: 60\r\n\r\none\r\n--B\r\nContent-Length: "
      "3\r\n\r\ntwo\r\n--B\r\n\r\nthree\r\n--B--";
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({"one", "two", "three"}));
  EXPECT_TRUE(heard.parts[0].length_lied);
  EXPECT_FALSE(heard.parts[1].length_lied);
}

TEST(MultipartReader, LengthDecidesOverADelimiterInsideTheBody) {
  const std::string inner = "one\r\n--B\r\n\r\ntwo";
  const std::string body = fmt::format("--B\r\nContent-Length: {}\r\n\r\n{}\r\n--B--", inner.size(), inner);
  EXPECT_EQ(hear("B", body).bodies(), prints({inner}));
}

TEST(MultipartReader, LengthThatIsNone) {
  for (const char* length : {"", "-1", "12x", "0x10", "99999999999999999999999999"}) {
    const std::string body = fmt::format("--B\r\nContent-Length: {}\r\n\r\n", length) + kA + "\r\n--B--";
    const Heard heard = hear("B", body);
    EXPECT_EQ(heard.bodies(), prints({kA})) << length;
    EXPECT_FALSE(heard.parts[0].length_lied) << length;
  }
}

TEST(MultipartReader, AlwaysLyingLengthsCostNoPart) {
  std::string body;
  Strings want;
  for (unsigned i = 0; i < 40; ++i) {
    want.push_back(i % 2 == 0 ? "text " + std::to_string(i) : picture(200 + i, i));
    body += fmt::format("--B\r\nContent-Length: {}\r\n\r\n", i % 3 == 0 ? 5000 : 1) + want.back() + "\r\n";
  }
  EXPECT_EQ(hear("B", body + "--B--").bodies(), prints(want));
}

TEST(MultipartReader, BytesAfterTheDeclaredJpegAreStray) {
  const std::string body = "--B\r\n" + header(kA.size()) + kA + "junk\r\n--B\r\n" + header(kB.size()) + kB;
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({kA, kB}));
  EXPECT_EQ(heard.stray_bytes, 4u);
}

TEST(MultipartReader, CutJpegWithHonestLengthIsDeliveredForTheWalkToJudge) {
  const std::string cut = kB.substr(0, 9000);
  const std::string body = "--B\r\n" + header(cut.size()) + cut + "\r\n--B\r\n" + header(kA.size()) + kA;
  const Heard heard = hear("B", body);
  EXPECT_EQ(heard.bodies(), prints({cut, kA}));
  EXPECT_FALSE(heard.parts[0].length_lied);
}

TEST(MultipartReader, NeverClosedLastJpegIsDelivered) {
  for (const char* tail : {"", "\r\n", "\r\n-", "\r\n--", "\r\n--B", "\r\n--B-", "\n--B"}) {
    const std::string body = "--B\r\n\r\n" + kA + "\r\n--B\r\n\r\n" + kB + tail;
    EXPECT_EQ(hear("B", body).bodies(), prints({kA, kB})) << tail;
  }
}

TEST(MultipartReader, CutInEveryPlaceIsNeverDeliveredAsWhole) {
  const std::string jpeg = picture(60);
  const std::string body = "--B\r\n" + header(jpeg.size()) + jpeg;
  for (std::size_t n = 0; n < body.size(); ++n) {
    const Heard heard = hear("B", std::string_view(body).substr(0, n));
    EXPECT_TRUE(heard.parts.empty()) << n;
    const bool inside = n > 5;
    EXPECT_EQ(heard.log, inside ? Strings{fmt::format("rejected cut-short {}", n - 5)} : Strings{}) << n;
  }
}

TEST(MultipartReader, TenGigabytePartIsSkippedWithoutHoldingIt) {
  MultipartLimits limits;
  limits.max_part_bytes = 100000;
  MultipartReader reader("B", limits);
  Heard heard;
  reader.push(bytes_of("--B\r\n" + header(10'000'000'000) + "\xFF\xD8"));
  const std::string junk(64 * 1024, 'x');
  for (int i = 0; i < 2000; ++i) {  // 131 MB stand for 10 GB: what is held does not grow
    reader.push(bytes_of(junk));
    drain(reader, heard);
  }
  EXPECT_EQ(heard.log, (Strings{"rejected too-large 100000"}));
  reader.push(bytes_of("\r\n--B\r\n" + header(kA.size()) + kA));
  drain(reader, heard);
  EXPECT_EQ(heard.bodies(), prints({kA}));
}

TEST(MultipartReader, PartSizeBoundIsExact) {
  MultipartLimits limits;
  limits.max_part_bytes = kA.size();
  const std::string longer = picture(kA.size() + 1);
  for (const bool with_length : {true, false}) {
    const auto head = [&](const std::string& jpeg) {
      return with_length ? "--B\r\n" + header(jpeg.size()) : std::string("--B\r\n\r\n");
    };
    const std::string body =
        head(kA) + kA + "\r\n" + head(longer) + longer + "\r\n" + head(kA) + kA + "\r\n--B--";
    const Heard heard = hear("B", body, limits);
    EXPECT_EQ(heard.bodies(), prints({kA, kA}));
    ASSERT_EQ(heard.log.size(), 4u);
    EXPECT_EQ(heard.log[1], "rejected too-large 3000");
  }
}

TEST(MultipartReader, TornDelimiterAtTheSizeBoundIsFound) {
  MultipartLimits limits;
  limits.max_part_bytes = 100;
  for (std::size_t n = 90; n < 130; ++n) {
    const std::string body = "--B\r\n\r\n" + std::string(n, 'x') + "\r\n--B\r\n\r\ntwo\r\n--B--";
    const Heard heard = hear("--B", body, limits);
    ASSERT_EQ(heard.log.size(), 3u) << n;
    EXPECT_EQ(heard.bodies().back(), "two") << n;
  }
}

TEST(MultipartReader, HeaderWithoutEnd) {
  const std::string endless = "--B\r\n" + std::string(20000, 'h');
  const Heard heard = hear("B", endless + "\r\n--B\r\n" + header(kA.size()) + kA);
  EXPECT_EQ(heard.bodies(), prints({kA}));
  EXPECT_EQ(heard.log[0], "rejected header-too-large 8192");
}

TEST(MultipartReader, HeaderOfEndlessLines) {
  std::string body = "--B\r\n";
  for (int i = 0; i < 2000; ++i) body += "A: b\r\n";
  const Heard heard = hear("B", body + "--B\r\n\r\n" + kA);
  EXPECT_EQ(heard.bodies(), prints({kA}));
  EXPECT_EQ(heard.log[0], "rejected header-too-large 8192");
}

// The most line breaks that count as none stand behind a body of the largest size: it is taken, however it
// comes.
TEST(MultipartReader, TheLargestBodyMayBeFollowedByBlankLines) {
  MultipartLimits limits;
  limits.max_part_bytes = 4;
  for (const std::string_view blanks : {"\r\n", "\n\r\n\r\n", "\r\n\r\n\r\n\r\n"}) {
    const std::string body = fmt::format("--B\r\nContent-Length: 4\r\n\r\nabcd{}--B--", blanks);
    for (std::size_t piece = 1; piece <= body.size(); ++piece)
      EXPECT_EQ(listen("B", body, piece, limits).log, (Strings{"part: [Content-Length=4] abcd", "end"}))
          << piece;
  }
}

TEST(MultipartReader, PageInsteadOfAStreamIsFatal) {
  MultipartLimits limits;
  limits.max_preamble_bytes = 1000;
  std::string page = "<!DOCTYPE html><html><body>";
  while (page.size() < 5000) page += "<p>Saltmarsh Repair Hall</p>\r\n";
  const Heard heard = hear("B", page, limits);
  ASSERT_EQ(heard.log.size(), 1u);
  EXPECT_NE(heard.log[0].find("no line \"--B\" in the first 1000 bytes"), std::string::npos) << heard.log[0];
}

TEST(MultipartReader, NothingAtAll) {
  EXPECT_TRUE(hear("B", "").log.empty());
  EXPECT_TRUE(hear("B", "\r\n").log.empty());
  EXPECT_TRUE(hear("B", "--B\r\n").log.empty());
  EXPECT_EQ(hear("B", "--B--").log, (Strings{"end"}));
  EXPECT_EQ(hear("B", "--B\r\n--B--").log, (Strings{"end"}));
}

TEST(MultipartReader, NothingAfterFinish) {
  MultipartReader reader("B");
  reader.finish();
  reader.push(bytes_of("--B\r\n\r\n" + kA + "\r\n--B--"));
  reader.finish();
  EXPECT_FALSE(reader.next().has_value());
}

}  // namespace
}  // namespace rookery::proto
