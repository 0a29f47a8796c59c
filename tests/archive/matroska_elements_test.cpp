// Segments hold what RFC 9559 makes mandatory, checked by a walker of the test's own that shares nothing with
// the program's reader. Section numbers are of RFC 9559 unless RFC 8794 is said.
#include <map>

#include "archive/matroska_writer.h"
#include "tests/archive/matroska_support.h"

namespace rookery::archive {
namespace {

using rookery::test::make_picture;
using rookery::test::TempFolder;
using std::chrono::milliseconds;
using test::begin_segment;
using test::Bytes;
using test::bytes_of;

struct Node {
  std::uint64_t id = 0;
  std::size_t at = 0;
  std::span<const std::byte> body;
  std::vector<Node> children;

  std::vector<const Node*> all(std::uint64_t wanted) const {
    std::vector<const Node*> found;
    for (const auto& child : children)
      if (child.id == wanted) found.push_back(&child);
    return found;
  }
  const Node& one(std::uint64_t wanted) const {
    const auto found = all(wanted);
    EXPECT_EQ(found.size(), 1u) << std::hex << wanted << " in " << id;
    static const Node none;
    return found.empty() ? none : *found.front();
  }
  std::uint64_t number() const {
    std::uint64_t value = 0;
    for (const auto byte : body) value = value << 8 | std::to_integer<std::uint64_t>(byte);
    return value;
  }
  std::string text() const { return {reinterpret_cast<const char*>(body.data()), body.size()}; }
};

bool is_master(std::uint64_t id) {
  static const std::map<std::uint64_t, bool> masters = {
      {0x1A45DFA3, true}, {0x18538067, true}, {0x114D9B74, true}, {0x4DBB, true}, {0x1549A966, true},
      {0x1654AE6B, true}, {0xAE, true},       {0xE0, true},       {0x55B0, true}, {0x1F43B675, true},
      {0xA0, true},       {0x1C53BB6B, true}, {0xBB, true},       {0xB7, true},   {0x1254C367, true},
      {0x7373, true},     {0x63C0, true},     {0x67C8, true}};
  return masters.contains(id);
}

// One number of RFC 8794 section 4; `keep_marker` for IDs.
std::uint64_t take_number(std::span<const std::byte> bytes, std::size_t& at, bool keep_marker,
                          bool& unknown) {
  EXPECT_LT(at, bytes.size());
  const auto first = std::to_integer<unsigned>(bytes[at]);
  std::size_t length = 1;
  while (length <= 8 && (first & (0x80u >> (length - 1))) == 0) ++length;
  EXPECT_LE(length, 8u);
  EXPECT_LE(at + length, bytes.size());
  std::uint64_t value = keep_marker ? first : first & (0xFFu >> length);
  for (std::size_t i = 1; i < length; ++i) value = value << 8 | std::to_integer<std::uint64_t>(bytes[at + i]);
  unknown = !keep_marker && value == (std::uint64_t{1} << (7 * length)) - 1;
  at += length;
  return value;
}

std::vector<Node> parse(std::span<const std::byte> bytes, std::size_t base) {
  std::vector<Node> nodes;
  for (std::size_t at = 0; at < bytes.size() && !::testing::Test::HasFailure();) {
    Node node;
    node.at = base + at;
    bool unknown = false;
    node.id = take_number(bytes, at, true, unknown);
    auto size = take_number(bytes, at, false, unknown);
    if (unknown) size = bytes.size() - at;
    EXPECT_LE(size, bytes.size() - at) << std::hex << node.id;
    if (size > bytes.size() - at) break;
    node.body = bytes.subspan(at, size);
    if (is_master(node.id)) node.children = parse(node.body, base + at);
    at += size;
    nodes.push_back(std::move(node));
  }
  return nodes;
}

struct Parsed {
  Bytes bytes;
  std::vector<Node> top;
};

Parsed parsed_segment(bool finished) {
  const TempFolder folder;
  const auto file = folder.path() / "a.mkv";
  auto writer = begin_segment(file);
  for (int i = 0; i < 5; ++i)
    EXPECT_TRUE(
        writer->add(milliseconds{i * 100}, make_picture(64, 48, static_cast<unsigned>(i))).has_value());
  if (finished) {
    EXPECT_TRUE(writer->finish().has_value());
  }
  Parsed parsed;
  parsed.bytes = bytes_of(file);
  parsed.top = parse(parsed.bytes, 0);
  return parsed;
}

class RequiredElements : public ::testing::TestWithParam<bool> {};

TEST_P(RequiredElements, OfTheHeadAreThere) {
  const Parsed parsed = parsed_segment(GetParam());
  ASSERT_EQ(parsed.top.size(), 2u);
  const Node& ebml = parsed.top[0];
  ASSERT_EQ(ebml.id, 0x1A45DFA3u);                 // RFC 8794 section 11.2.1
  EXPECT_EQ(ebml.one(0x4286).number(), 1u);        // EBMLVersion, 11.2.2
  EXPECT_EQ(ebml.one(0x42F7).number(), 1u);        // EBMLReadVersion, 11.2.3
  EXPECT_LE(ebml.one(0x42F2).number(), 4u);        // EBMLMaxIDLength, 11.2.4; RFC 9559 section 5
  EXPECT_LE(ebml.one(0x42F3).number(), 8u);        // EBMLMaxSizeLength, 11.2.5
  EXPECT_EQ(ebml.one(0x4282).text(), "matroska");  // DocType, 11.2.6
  EXPECT_EQ(ebml.one(0x4287).number(), 4u);        // DocTypeVersion, 11.2.7
  EXPECT_LE(ebml.one(0x4285).number(), 4u);        // DocTypeReadVersion, 11.2.8
}

TEST_P(RequiredElements, OfSegmentInfoAndTracksAreThere) {
  const Parsed parsed = parsed_segment(GetParam());
  const Node& segment = parsed.top.at(1);
  ASSERT_EQ(segment.id, 0x18538067u);                     // 5.1
  const Node& info = segment.one(0x1549A966);             // 5.1.2
  EXPECT_EQ(info.one(0x2AD7B1).number(), 1'000'000u);     // TimestampScale, 5.1.2.9
  EXPECT_FALSE(info.one(0x4D80).text().empty());          // MuxingApp, 5.1.2.13
  EXPECT_EQ(info.one(0x5741).text(), "Rookery");          // WritingApp, 5.1.2.14
  EXPECT_EQ(info.one(0x7BA9).text(), "anvil");            // Title, 5.1.2.12
  EXPECT_EQ(info.one(0x4461).body.size(), 8u);            // DateUTC, 5.1.2.11
  const Node& track = segment.one(0x1654AE6B).one(0xAE);  // Tracks, TrackEntry, 5.1.4.1
  EXPECT_GT(track.one(0xD7).number(), 0u);                // TrackNumber, not 0, 5.1.4.1.1
  EXPECT_GT(track.one(0x73C5).number(), 0u);              // TrackUID, not 0, 5.1.4.1.2
  EXPECT_EQ(track.one(0x83).number(), 1u);                // TrackType: video, 5.1.4.1.3
  EXPECT_EQ(track.one(0x86).text(), "V_MJPEG");           // CodecID, 5.1.4.1.20
  EXPECT_EQ(track.one(0x9C).number(), 0u);                // FlagLacing: none, 5.1.4.1.12
  EXPECT_EQ(track.one(0xE0).one(0xB0).number(), 64u);     // PixelWidth, 5.1.4.1.28.6
  EXPECT_EQ(track.one(0xE0).one(0xBA).number(), 48u);     // PixelHeight, 5.1.4.1.28.7
}

TEST_P(RequiredElements, OfClustersAreThere) {
  const Parsed parsed = parsed_segment(GetParam());
  const auto clusters = parsed.top.at(1).all(0x1F43B675);  // 5.1.3
  ASSERT_EQ(clusters.size(), 5u);
  std::uint64_t before = 0;
  for (const Node* cluster : clusters) {
    EXPECT_EQ(cluster->children.at(0).id, 0xBFu);  // CRC-32 first: RFC 8794 section 11.3.1
    EXPECT_EQ(cluster->children.at(1).id, 0xE7u);  // Timestamp next: 5.1.3.1, and section 6.2 on order
    EXPECT_GE(cluster->children.at(1).number(), before);
    before = cluster->children.at(1).number();
    const Node& block = cluster->one(0xA3);                // SimpleBlock, 5.1.3.4 and 10.2
    EXPECT_EQ(std::to_integer<int>(block.body[0]), 0x81);  // track 1
    EXPECT_EQ(std::to_integer<int>(block.body[3]), 0x80);  // keyframe, no lacing
    EXPECT_EQ(std::to_integer<int>(block.body[4]), 0xFF);  // SOI of the JPEG
    EXPECT_EQ(std::to_integer<int>(block.body[5]), 0xD8);
  }
}

INSTANTIATE_TEST_SUITE_P(FinishedAndNot, RequiredElements, ::testing::Bool(),
                         [](const auto& one) { return one.param ? "Finished" : "BeingWritten"; });

TEST(FinishedSegment, SeekHeadAndCuesPointWhereTheySay) {
  const Parsed parsed = parsed_segment(true);
  const Node& segment = parsed.top.at(1);
  const std::size_t origin = static_cast<std::size_t>(segment.body.data() - parsed.bytes.data());
  for (const Node* seek : segment.one(0x114D9B74).all(0x4DBB)) {  // Seek, 5.1.1.1
    const auto id = seek->one(0x53AB).number();                   // SeekID
    const auto position = seek->one(0x53AC).number();  // SeekPosition, from the Segment's body: section 16
    EXPECT_EQ(segment.one(id).at, origin + position) << std::hex << id;
  }
  const auto points = segment.one(0x1C53BB6B).all(0xBB);  // CuePoint, 5.1.5.1
  const auto clusters = segment.all(0x1F43B675);
  ASSERT_EQ(points.size(), clusters.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    EXPECT_EQ(points[i]->one(0xB3).number(), i * 100);                             // CueTime
    EXPECT_EQ(points[i]->one(0xB7).one(0xF1).number() + origin, clusters[i]->at);  // CueClusterPosition
  }
  EXPECT_GT(segment.one(0x1549A966).one(0x4489).body.size(), 0u);  // Duration, 5.1.2.10
}

}  // namespace
}  // namespace rookery::archive
