// Export as H.264 in MP4: constant frame rate, so that editors and slides take it; long pauses cut.
#include "archive/export_writer.h"
#include "archive/libav.h"
#include "archive/picture_fitter.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

constexpr std::chrono::seconds kLongestHold{1};

class Mp4Export final : public ExportWriter {
 public:
  Mp4Export(const base::CameraName& camera, int frames_per_s, ExportResult& result)
      : camera_(camera), frames_per_s_(frames_per_s), result_(result) {}
  ~Mp4Export() override {
    if (muxer_ && muxer_->pb != nullptr) avio_closep(&muxer_->pb);
  }

  base::Result<void> begin(const std::filesystem::path& file, const RecordedFrame& first);
  base::Result<void> add(const RecordedFrame& frame) override;
  base::Result<void> finish() override;

 private:
  base::Result<void> begin_encoder(camera::PixelSize size);
  base::Result<void> begin_muxer(const std::filesystem::path& file, base::WallTime date);
  base::Result<void> show_shown_until(std::int64_t slot);
  base::Result<void> encode(AVFrame* picture);
  base::Error failed(std::string_view doing, int returned) const {
    return libav_error(fmt::format("{}: export: {}", camera_.text(), doing), returned);
  }

  const base::CameraName camera_;
  const int frames_per_s_;
  ExportResult& result_;
  PictureFitter fitter_;
  LibavPtr<AVCodecContext> encoder_;
  LibavPtr<AVFormatContext> muxer_;
  LibavPtr<AVPacket> packet_{av_packet_alloc()};
  AVStream* stream_ = nullptr;
  std::optional<RecordedFrame> shown_;  // the frame that fills the slots until the next one comes
  base::Microseconds film_time_{0};     // when it is shown, in the film
  std::int64_t next_slot_ = 0;
};

base::Result<void> Mp4Export::begin(const std::filesystem::path& file, const RecordedFrame& first) {
  route_libav_log();
  auto size = size_of(first);
  if (!size) return std::move(size).error();
  // yuv420p has one colour sample for two by two pixels.
  const camera::PixelSize even{std::max(2, size->width_px & ~1), std::max(2, size->height_px & ~1)};
  if (auto begun = fitter_.begin(*size, even); !begun) return begun;
  if (auto begun = begin_encoder(even); !begun) return begun;
  return begin_muxer(file, first.at);
}

base::Result<void> Mp4Export::begin_encoder(camera::PixelSize size) {
  const AVCodec* codec = avcodec_find_encoder_by_name("libx264");
  if (codec == nullptr) {
    return base::Error{base::ErrorCode::unsupported, camera_.text() + ": export",
                       "the FFmpeg libraries on this computer have no H.264 encoder (libx264)",
                       "export as Matroska instead"};
  }
  encoder_.reset(avcodec_alloc_context3(codec));
  encoder_->width = size.width_px;
  encoder_->height = size.height_px;
  encoder_->pix_fmt = AV_PIX_FMT_YUV420P;
  encoder_->time_base = {1, frames_per_s_};
  encoder_->framerate = {frames_per_s_, 1};
  encoder_->gop_size = 5 * frames_per_s_;
  encoder_->thread_count = 2;
  encoder_->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  // JFIF: BT.601 matrix, sRGB primaries and curve; converted to limited range, which every player expects.
  encoder_->color_range = AVCOL_RANGE_MPEG;
  encoder_->colorspace = AVCOL_SPC_SMPTE170M;
  encoder_->color_primaries = AVCOL_PRI_BT709;
  encoder_->color_trc = AVCOL_TRC_IEC61966_2_1;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "preset", "veryfast", 0);
  av_dict_set(&options, "crf", "23", 0);
  const int opened = avcodec_open2(encoder_.get(), codec, &options);
  av_dict_free(&options);
  if (opened < 0) return failed("begin H.264", opened);
  return base::ok();
}

base::Result<void> Mp4Export::begin_muxer(const std::filesystem::path& file, base::WallTime date) {
  AVFormatContext* context = nullptr;
  if (avformat_alloc_output_context2(&context, nullptr, "mp4", file.c_str()) < 0) throw std::bad_alloc();
  muxer_.reset(context);
  stream_ = avformat_new_stream(context, nullptr);
  if (stream_ == nullptr) throw std::bad_alloc();
  stream_->time_base = encoder_->time_base;
  stream_->avg_frame_rate = encoder_->framerate;
  avcodec_parameters_from_context(stream_->codecpar, encoder_.get());
  av_dict_set(&context->metadata, "title", camera_.text().c_str(), 0);
  av_dict_set(&context->metadata, "creation_time", base::to_rfc3339(date).c_str(), 0);
  int done = avio_open(&context->pb, file.c_str(), AVIO_FLAG_WRITE);
  if (done < 0) return failed("make " + file.string(), done);
  AVDictionary* options = nullptr;
  av_dict_set(&options, "movflags", "+faststart", 0);
  done = avformat_write_header(context, &options);
  av_dict_free(&options);
  if (done < 0) return failed("write", done);
  return base::ok();
}

base::Result<void> Mp4Export::add(const RecordedFrame& frame) {
  if (shown_) {
    auto passed = frame.at - shown_->at;
    if (passed > kLongestHold) {
      ++result_.gaps_cut;
      result_.cut_time += std::chrono::floor<base::Milliseconds>(passed - kLongestHold);
      passed = kLongestHold;
    }
    film_time_ += passed;
    // Rounded to the nearest slot.
    const std::int64_t slot = (film_time_.count() * frames_per_s_ + 500'000) / 1'000'000;
    if (auto done = show_shown_until(slot); !done) return done;
  }
  shown_ = frame;
  return base::ok();
}

// Fills the slots before `slot`. A frame that gets none is dropped without having been decoded.
base::Result<void> Mp4Export::show_shown_until(std::int64_t slot) {
  if (next_slot_ >= slot) return base::ok();
  auto picture = fitter_.fit(*shown_);
  if (!picture) return std::move(picture).error();
  if (picture->resized) ++result_.resized;
  for (; next_slot_ < slot; ++next_slot_) {
    picture->frame->pts = next_slot_;
    picture->frame->pict_type = AV_PICTURE_TYPE_NONE;
    if (auto done = encode(picture->frame); !done) return done;
  }
  return base::ok();
}

// Null: what the encoder still holds.
base::Result<void> Mp4Export::encode(AVFrame* picture) {
  int done = avcodec_send_frame(encoder_.get(), picture);
  if (done < 0) return failed("encode", done);
  for (;;) {
    done = avcodec_receive_packet(encoder_.get(), packet_.get());
    if (done == AVERROR(EAGAIN) || done == AVERROR_EOF) return base::ok();
    if (done < 0) return failed("encode", done);
    packet_->stream_index = stream_->index;
    packet_->duration = 1;
    av_packet_rescale_ts(packet_.get(), encoder_->time_base, stream_->time_base);
    done = av_interleaved_write_frame(muxer_.get(), packet_.get());
    if (done < 0) return failed("write", done);
  }
}

base::Result<void> Mp4Export::finish() {
  // The last frame gets its slot, even where rounding had left it none.
  if (auto done = show_shown_until(next_slot_ + 1); !done) return done;
  if (auto done = encode(nullptr); !done) return done;
  int done = av_write_trailer(muxer_.get());
  if (done < 0) return failed("finish", done);
  done = avio_closep(&muxer_->pb);
  if (done < 0) return failed("finish", done);
  if (result_.gaps_cut > 0) {
    base::log_info(camera_.text(), "export: {} pauses longer than 1 s cut, {:.1f} s in all", result_.gaps_cut,
                   static_cast<double>(result_.cut_time.count()) / 1e3);
  }
  return base::ok();
}

}  // namespace

base::Result<std::unique_ptr<ExportWriter>> begin_mp4_export(const std::filesystem::path& file,
                                                             const base::CameraName& camera,
                                                             const RecordedFrame& first, int frames_per_s,
                                                             ExportResult& result) {
  auto writer = std::make_unique<Mp4Export>(camera, frames_per_s, result);
  if (auto begun = writer->begin(file, first); !begun) return std::move(begun).error();
  return std::unique_ptr<ExportWriter>(std::move(writer));
}

}  // namespace rookery::archive
