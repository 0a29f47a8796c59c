#include "archive/matroska_writer.h"

#include <cassert>
#include <vector>

#include "archive/libav.h"

namespace rookery::archive {
namespace {

// libavformat hands over its bytes in portions of this size. They are only gathered (see Impl::gather), so it
// need not be large: a hundred cameras have a hundred of these.
constexpr int kPortion_bytes = 4096;

// Bytes that belong at one place of the file and are not in it yet.
struct Run {
  std::uint64_t offset = 0;
  std::vector<std::byte> bytes;
};

}  // namespace

struct MatroskaWriter::Impl {
  std::shared_ptr<DiskFile> file;
  LibavPtr<AVFormatContext> muxer;
  LibavPtr<AVPacket> packet;
  std::vector<Run> runs;         // in the order in which they must reach the file
  std::uint64_t position = 0;    // where libavformat writes next
  std::uint64_t size = 0;        // of the file as libavformat sees it, pending bytes included
  std::uint64_t safe_bytes = 0;  // whole clusters that are in the file
  std::uint64_t safe_frames = 0;
  std::uint64_t frames = 0;  // with the pending one

  static int gather(void* self, std::uint8_t* bytes, int count) {
    auto& impl = *static_cast<Impl*>(self);
    const auto* first = reinterpret_cast<const std::byte*>(bytes);
    if (impl.runs.empty() || impl.runs.back().offset + impl.runs.back().bytes.size() != impl.position) {
      impl.runs.push_back(Run{impl.position, {}});
    }
    auto& run = impl.runs.back().bytes;
    run.insert(run.end(), first, first + count);
    impl.position += static_cast<std::uint64_t>(count);
    impl.size = std::max(impl.size, impl.position);
    return count;
  }

  static std::int64_t seek(void* self, std::int64_t offset, int whence) {
    auto& impl = *static_cast<Impl*>(self);
    switch (whence & ~AVSEEK_FORCE) {
      case AVSEEK_SIZE:
        return static_cast<std::int64_t>(impl.size);
      case SEEK_SET:
        break;
      case SEEK_CUR:
        offset += static_cast<std::int64_t>(impl.position);
        break;
      case SEEK_END:
        offset += static_cast<std::int64_t>(impl.size);
        break;
      default:
        return AVERROR(EINVAL);
    }
    if (offset < 0 || offset > static_cast<std::int64_t>(impl.size)) return AVERROR(EINVAL);
    impl.position = static_cast<std::uint64_t>(offset);
    return offset;
  }

  base::Result<void> write_runs() {
    // The first run keeps its memory for the next frame; the others (patches of the head) are rare.
    for (auto& run : runs) {
      if (auto done = file->write_at(run.offset, run.bytes); !done) return done;
      run.bytes.clear();
    }
    if (runs.size() > 1) runs.resize(1);
    if (!runs.empty()) runs.front().offset = position;
    safe_bytes = size;
    safe_frames = frames;
    return base::ok();
  }
};

namespace {

// The stream's head: motion JPEG, full range, as JFIF has it.
base::Result<void> describe(AVFormatContext& muxer, const SegmentTraits& traits) {
  AVStream* stream = avformat_new_stream(&muxer, nullptr);
  if (stream == nullptr) throw std::bad_alloc();
  stream->time_base = {1, 1000};
  stream->codecpar->codec_type = AVMEDIA_TYPE_VIDEO;
  stream->codecpar->codec_id = AV_CODEC_ID_MJPEG;
  stream->codecpar->width = traits.size.width_px;
  stream->codecpar->height = traits.size.height_px;
  stream->codecpar->color_range = AVCOL_RANGE_JPEG;
  stream->codecpar->color_space = AVCOL_SPC_BT470BG;
  const std::string date = base::to_rfc3339(traits.date);
  av_dict_set(&muxer.metadata, "title", traits.title.c_str(), 0);
  av_dict_set(&muxer.metadata, "encoding_tool", "Rookery", 0);
  av_dict_set(&muxer.metadata, "creation_time", date.c_str(), 0);
  const int made = avformat_write_header(&muxer, nullptr);
  if (made < 0) return libav_error(traits.title + ": begin segment", made);
  return base::ok();
}

}  // namespace

MatroskaWriter::MatroskaWriter() : impl_(std::make_unique<Impl>()) {}
MatroskaWriter::~MatroskaWriter() {
  if (impl_->muxer && impl_->muxer->pb != nullptr) {
    AVIOContext* io = impl_->muxer->pb;
    impl_->muxer.reset();
    av_freep(&io->buffer);
    avio_context_free(&io);
  }
}

base::Result<std::unique_ptr<MatroskaWriter>> MatroskaWriter::begin(std::shared_ptr<DiskFile> file,
                                                                    const SegmentTraits& traits) {
  route_libav_log();
  // PixelWidth 0 is against RFC 9559 section 5.1.4.1.28.6, and JPEG cannot say more than 65 535.
  if (traits.size.width_px < 1 || traits.size.height_px < 1 || traits.size.width_px > 65535 ||
      traits.size.height_px > 65535) {
    return base::Error{base::ErrorCode::invalid_value, traits.title + ": begin segment",
                       fmt::format("a picture of {}×{} px", traits.size.width_px, traits.size.height_px)};
  }
  std::unique_ptr<MatroskaWriter> writer{new MatroskaWriter};
  Impl& impl = *writer->impl_;
  impl.file = std::move(file);
  AVFormatContext* context = nullptr;
  if (avformat_alloc_output_context2(&context, nullptr, "matroska", nullptr) < 0) throw std::bad_alloc();
  impl.muxer.reset(context);
  impl.packet.reset(av_packet_alloc());
  auto* portion = static_cast<std::uint8_t*>(av_malloc(kPortion_bytes));
  context->pb = avio_alloc_context(portion, kPortion_bytes, 1, &impl, nullptr, &Impl::gather, &Impl::seek);
  if (!impl.packet || context->pb == nullptr) throw std::bad_alloc();
  if (auto described = describe(*context, traits); !described) return std::move(described).error();
  avio_flush(context->pb);
  return writer;
}

base::Result<void> MatroskaWriter::add(base::Milliseconds at, std::span<const std::byte> jpeg) {
  Impl& impl = *impl_;
  assert(!pending() || impl.frames == 0);
  AVPacket& packet = *impl.packet;
  // The muxer only reads: av_write_frame copies what it must keep.
  packet.data = const_cast<std::uint8_t*>(reinterpret_cast<const std::uint8_t*>(jpeg.data()));
  packet.size = static_cast<int>(jpeg.size());
  packet.pts = packet.dts = at.count();
  packet.flags = AV_PKT_FLAG_KEY;
  int done = av_write_frame(impl.muxer.get(), &packet);
  // A null packet closes the cluster, so that no frame waits in memory for the next.
  if (done >= 0) done = av_write_frame(impl.muxer.get(), nullptr);
  packet.data = nullptr;
  packet.size = 0;
  if (done < 0) return libav_error("segment: add a frame", done);
  avio_flush(impl.muxer->pb);
  ++impl.frames;
  return impl.write_runs();
}

base::Result<void> MatroskaWriter::retry() { return impl_->write_runs(); }

base::Result<void> MatroskaWriter::finish() {
  Impl& impl = *impl_;
  const int done = av_write_trailer(impl.muxer.get());
  if (done < 0) return libav_error("segment: finish", done);
  avio_flush(impl.muxer->pb);
  return impl.write_runs();
}

base::Result<void> MatroskaWriter::abandon() {
  impl_->runs.clear();
  return impl_->file->truncate(impl_->safe_bytes);
}

std::uint64_t MatroskaWriter::bytes() const { return impl_->safe_bytes; }
std::uint64_t MatroskaWriter::frames() const { return impl_->safe_frames; }
bool MatroskaWriter::pending() const {
  return std::any_of(impl_->runs.begin(), impl_->runs.end(),
                     [](const Run& run) { return !run.bytes.empty(); });
}
const std::shared_ptr<DiskFile>& MatroskaWriter::file() const& { return impl_->file; }

}  // namespace rookery::archive
