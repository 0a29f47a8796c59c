#include "archive/film_writer.h"

#include <array>
#include <utility>
#include <vector>

#include "base/printable.h"

namespace rookery::archive {
namespace {

constexpr std::size_t kLongestTitle = 400;  // characters

using Option = std::pair<const char*, const char*>;

struct Recipe {
  FilmFormat format;
  std::string_view name;
  std::string_view media_type;
  const char* encoder;  // as FFmpeg calls it
  const char* codec;    // as people call it
  const char* muxer;
  std::vector<Option> encoding;
  std::vector<Option> muxing;
};

// Speed before size: the computer has cameras to look after. Qualities that look alike on a print bed's film.
const std::array<Recipe, 3>& recipes() {
  static const std::array<Recipe, 3> all = {{
      {FilmFormat::mp4,
       "mp4",
       "video/mp4",
       "libx264",
       "H.264",
       "mp4",
       {{"preset", "veryfast"}, {"crf", "23"}},
       {{"movflags", "+faststart"}}},
      {FilmFormat::webm,
       "webm",
       "video/webm",
       "libvpx-vp9",
       "VP9",
       "webm",
       {{"deadline", "good"}, {"cpu-used", "5"}, {"row-mt", "1"}, {"crf", "34"}, {"b", "0"}},
       {{"cues_to_front", "1"}}},
      {FilmFormat::webp,
       "webp",
       "image/webp",
       "libwebp_anim",
       "WebP",
       "webp",
       {{"quality", "70"}, {"compression_level", "2"}},
       {{"loop", "0"}}},
  }};
  return all;
}

const Recipe& recipe(FilmFormat format) { return recipes().at(static_cast<std::size_t>(format)); }

// FFmpeg takes its options as a dictionary and leaves in it those that it did not know.
class Options {
 public:
  explicit Options(const std::vector<Option>& options) {
    for (const auto& [key, value] : options) av_dict_set(&dictionary_, key, value, 0);
  }
  ~Options() { av_dict_free(&dictionary_); }
  Options(const Options&) = delete;
  Options& operator=(const Options&) = delete;
  AVDictionary** get() { return &dictionary_; }

 private:
  AVDictionary* dictionary_ = nullptr;
};

std::string formats_there_are(const HasEncoder& has_encoder) {
  std::string names;
  for (const auto& each : recipes()) {
    if (!has_encoder(each.encoder)) continue;
    if (!names.empty()) names += ", ";
    names += each.name;
  }
  return names.empty() ? "install FFmpeg libraries with libx264" : "these can be made here: " + names;
}

}  // namespace

std::string_view name_of(FilmFormat format) { return recipe(format).name; }
std::string_view media_type(FilmFormat format) { return recipe(format).media_type; }

base::Result<FilmFormat> parse_film_format(std::string_view name) {
  for (const auto& each : recipes()) {
    if (each.name == name) return each.format;
  }
  return base::Error{base::ErrorCode::invalid_value, "film",
                     fmt::format("no kind of film is called so: \"{}\"", name), "give mp4, webm or webp"};
}

bool ffmpeg_has_encoder(const char* name) { return avcodec_find_encoder_by_name(name) != nullptr; }

base::Result<void> check_encoder(FilmFormat format, const std::string& where, const HasEncoder& has_encoder) {
  const Recipe& how = recipe(format);
  if (has_encoder(how.encoder)) return base::ok();
  return base::Error{
      base::ErrorCode::unsupported, where,
      fmt::format("the FFmpeg libraries on this computer have no {} encoder ({})", how.codec, how.encoder),
      formats_there_are(has_encoder)};
}

FilmWriter::FilmWriter(FilmShape shape) : shape_(std::move(shape)), packet_(av_packet_alloc()) {
  if (!packet_) throw std::bad_alloc();
}

FilmWriter::~FilmWriter() {
  if (muxer_ && muxer_->pb != nullptr) avio_closep(&muxer_->pb);
}

base::Error FilmWriter::failed(std::string_view doing, int returned) const {
  return libav_error(fmt::format("{}: {}", shape_.where, doing), returned);
}

base::Result<void> FilmWriter::begin(const std::filesystem::path& file) {
  route_libav_log();
  if (auto begun = begin_encoder(); !begun) return begun;
  return begin_muxer(file);
}

base::Result<void> FilmWriter::begin_encoder() {
  const Recipe& how = recipe(shape_.format);
  if (auto there = check_encoder(shape_.format, shape_.where); !there) return there;
  const AVCodec* codec = avcodec_find_encoder_by_name(how.encoder);
  encoder_.reset(avcodec_alloc_context3(codec));
  if (!encoder_) throw std::bad_alloc();
  encoder_->width = shape_.size.width_px;
  encoder_->height = shape_.size.height_px;
  encoder_->pix_fmt = AV_PIX_FMT_YUV420P;
  encoder_->time_base = {1, shape_.frames_per_s};
  encoder_->framerate = {shape_.frames_per_s, 1};
  encoder_->gop_size = 5 * shape_.frames_per_s;
  encoder_->thread_count = 2;
  encoder_->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  // JFIF: BT.601 matrix, sRGB primaries and curve; converted to limited range, which every player expects.
  encoder_->color_range = AVCOL_RANGE_MPEG;
  encoder_->colorspace = AVCOL_SPC_SMPTE170M;
  encoder_->color_primaries = AVCOL_PRI_BT709;
  encoder_->color_trc = AVCOL_TRC_IEC61966_2_1;
  Options options(how.encoding);
  const int opened = avcodec_open2(encoder_.get(), codec, options.get());
  if (opened < 0) return failed(fmt::format("begin {}", how.codec), opened);
  return base::ok();
}

base::Result<void> FilmWriter::begin_muxer(const std::filesystem::path& file) {
  const Recipe& how = recipe(shape_.format);
  // Without it a name with a colon would be a protocol.
  const std::string address = "file:" + file.string();
  AVFormatContext* context = nullptr;
  if (avformat_alloc_output_context2(&context, nullptr, how.muxer, address.c_str()) < 0)
    throw std::bad_alloc();
  muxer_.reset(context);
  stream_ = avformat_new_stream(context, nullptr);
  if (stream_ == nullptr) throw std::bad_alloc();
  stream_->time_base = encoder_->time_base;
  stream_->avg_frame_rate = encoder_->framerate;
  avcodec_parameters_from_context(stream_->codecpar, encoder_.get());
  av_dict_set(&context->metadata, "title", base::printable(shape_.title, kLongestTitle).c_str(), 0);
  if (shape_.date)
    av_dict_set(&context->metadata, "creation_time", base::to_rfc3339(*shape_.date).c_str(), 0);
  int done = avio_open(&context->pb, address.c_str(), AVIO_FLAG_WRITE);
  if (done < 0) return failed("make " + file.string(), done);
  Options options(how.muxing);
  done = avformat_write_header(context, options.get());
  if (done < 0) return failed("write", done);
  return base::ok();
}

base::Result<void> FilmWriter::add(AVFrame& picture) {
  picture.pts = next_;
  picture.pict_type = AV_PICTURE_TYPE_NONE;
  if (auto done = encode(&picture); !done) return done;
  ++next_;
  return base::ok();
}

// Null: what the encoder still holds.
base::Result<void> FilmWriter::encode(AVFrame* picture) {
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

base::Result<void> FilmWriter::finish() {
  if (auto done = encode(nullptr); !done) return done;
  int done = av_write_trailer(muxer_.get());
  if (done < 0) return failed("finish", done);
  done = avio_closep(&muxer_->pb);
  if (done < 0) return failed("finish", done);
  return base::ok();
}

}  // namespace rookery::archive
