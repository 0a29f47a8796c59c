#include "archive/film_reader.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>

#include <fmt/format.h>

extern "C" {
#include <libavutil/common.h>
#include <libavutil/mathematics.h>
}

#include "archive/libav.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using base::Microseconds;

// A demuxer that finds damage may find the next picture behind it; after so many tries it will not.
constexpr int kMostDamage = 100;
// No film is longer; keeps arithmetic on what a damaged file says within its bounds.
constexpr std::int64_t kLongest_us = 100LL * 366 * 24 * 3600 * 1'000'000;

struct CloseFilm {
  void operator()(AVFormatContext* context) const { avformat_close_input(&context); }
};
struct CloseBytes {
  void operator()(AVIOContext* bytes) const { avio_close(bytes); }
};

double in_seconds(Microseconds time) { return std::chrono::duration<double>(time).count(); }

// Play lists and the like name other files and addresses, which nobody meant. Some demuxers ask here, others
// by the list of protocols that they may use: kNoProtocol.
constexpr const char* kNoProtocol = "none";
int open_nothing_else(AVFormatContext*, AVIOContext**, const char*, int, AVDictionary**) {
  return AVERROR(EPERM);
}

bool is_film(const AVStream& stream) {
  return stream.codecpar->codec_type == AVMEDIA_TYPE_VIDEO &&
         (stream.disposition & AV_DISPOSITION_ATTACHED_PIC) == 0;
}

// The first motion JPEG; else the first video; null without any.
AVStream* film_of(const AVFormatContext& context) {
  AVStream* other = nullptr;
  for (unsigned i = 0; i < context.nb_streams; ++i) {
    AVStream* stream = context.streams[i];
    if (!is_film(*stream)) continue;
    if (stream->codecpar->codec_id == AV_CODEC_ID_MJPEG) return stream;
    if (other == nullptr) other = stream;
  }
  return other;
}

// As a shell takes it for one word.
std::string for_shell(const std::string& word) {
  const bool plain = std::all_of(word.begin(), word.end(), [](unsigned char c) {
    return std::isalnum(c) != 0 ||
           std::string_view("/._-+").find(static_cast<char>(c)) != std::string_view::npos;
  });
  if (plain) return word;
  std::string quoted = "'";
  for (const char c : word) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return quoted + "'";
}

// The picture in what stands between one start marker and the next in a dumped stream: without the text
// before and behind it, which holds no byte FF.
std::span<const std::byte> picture_in(std::span<const std::byte> bytes) {
  constexpr std::array kStart = {std::byte{0xFF}, std::byte{0xD8}};
  constexpr std::array kEnd = {std::byte{0xFF}, std::byte{0xD9}};
  const auto start = std::search(bytes.begin(), bytes.end(), kStart.begin(), kStart.end());
  if (start == bytes.end()) return bytes;
  const auto end = std::find_end(start, bytes.end(), kEnd.begin(), kEnd.end());
  return {start, end == bytes.end() ? end : end + kEnd.size()};
}

}  // namespace

struct FilmReader::Impl {
  std::filesystem::path file;
  FilmSpan span;
  std::function<bool()> go_on;
  std::unique_ptr<AVIOContext, CloseBytes> bytes;  // outlives the context
  std::unique_ptr<AVFormatContext, CloseFilm> context;
  AVStream* stream = nullptr;
  bool timeless = false;
  LibavPtr<AVPacket> packet{av_packet_alloc()};
  std::uint64_t pictures = 0;  // in the film so far
  std::int64_t packets = 0;    // likewise, with those that only say that the picture before stands on
  bool cut_picture = false;    // the last one
  std::int64_t first_pts = 0;
  Microseconds last{0};
  bool told_any = false;
  std::string broke_off;

  base::Result<void> open();
  base::Result<void> find_film();
  bool next_picture();
  void note_whole();
  void note_cut_off();
  Microseconds time();
  Error no_film(int returned) const;
  Error nothing_there() const;
};

Error FilmReader::Impl::no_film(int returned) const {
  return {ErrorCode::unsupported, file.string(),
          fmt::format("FFmpeg finds no film in it ({})", libav_error("", returned).detail),
          "Give a file of motion JPEG: AVI, Matroska, MP4, a dumped multipart stream, JPEGs one behind the "
          "other."};
}

base::Result<void> FilmReader::Impl::open() {
  route_libav_log();
  std::error_code failed;
  if (std::filesystem::is_directory(file, failed))
    return Error{ErrorCode::unsupported, file.string(), "this is a folder, no film"};
  AVIOContext* opened = nullptr;
  // "file:": a name with a colon is no address.
  int done = avio_open(&opened, ("file:" + file.string()).c_str(), AVIO_FLAG_READ);
  if (done < 0) return libav_error(file.string(), done);
  bytes.reset(opened);
  const AVInputFormat* format = nullptr;
  done = av_probe_input_buffer2(opened, &format, file.c_str(), nullptr, 0, 0);
  if (done < 0) return no_film(done);
  // Of the two demuxers that FFmpeg may guess for JPEGs one behind the other, "mjpeg" also reads from a pipe
  // and finds pictures between other text.
  if (format->name == std::string_view("jpeg_pipe")) format = av_find_input_format("mjpeg");
  AVFormatContext* made = avformat_alloc_context();
  if (made == nullptr) throw std::bad_alloc();
  made->pb = opened;
  made->flags |= AVFMT_FLAG_CUSTOM_IO;
  made->io_open = open_nothing_else;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "protocol_whitelist", kNoProtocol, 0);
  done = avformat_open_input(&made, file.c_str(), format, &options);  // frees it when it fails
  av_dict_free(&options);
  if (done < 0) return no_film(done);
  context.reset(made);
  return find_film();
}

base::Result<void> FilmReader::Impl::find_film() {
  stream = film_of(*context);
  if (stream == nullptr || stream->codecpar->codec_id != AV_CODEC_ID_MJPEG) {
    // Some containers tell their streams only while they are read.
    (void)avformat_find_stream_info(context.get(), nullptr);
    stream = film_of(*context);
  }
  if (stream == nullptr)
    return Error{ErrorCode::unsupported, file.string(), "there are no moving pictures in it"};
  const AVCodecID codec = stream->codecpar->codec_id;
  if (codec != AV_CODEC_ID_MJPEG) {
    return Error{ErrorCode::unsupported, file.string(),
                 fmt::format("its pictures are {}, not motion JPEG",
                             codec == AV_CODEC_ID_NONE ? "of an unknown kind" : avcodec_get_name(codec)),
                 fmt::format("Convert it: ffmpeg -i {} -c:v mjpeg -q:v 3 {}", for_shell(file.string()),
                             for_shell(file.stem().string() + "-mjpeg.mkv"))};
  }
  for (unsigned i = 0; i < context->nb_streams; ++i)
    if (context->streams[i] != stream) context->streams[i]->discard = AVDISCARD_ALL;
  timeless = (context->iformat->flags & AVFMT_NOTIMESTAMPS) != 0;
  return base::ok();
}

// False at the end.
bool FilmReader::Impl::next_picture() {
  for (int damage = 0;;) {
    av_packet_unref(packet.get());
    const int done = av_read_frame(context.get(), packet.get());
    if (done >= 0) {
      if (packet->stream_index != stream->index) continue;
      ++packets;
      if (packet->size == 0) continue;  // the picture before stands on
      note_whole();
      return true;
    }
    if (done == AVERROR_INVALIDDATA && ++damage < kMostDamage) continue;
    if (done != AVERROR_EOF)
      broke_off = libav_error("", done).detail;
    else if (bytes->error < 0)
      broke_off = libav_error("", bytes->error).detail;
    else
      note_cut_off();
    return false;
  }
}

// A picture's end may be missing where the file's is; many a container then only says so.
void FilmReader::Impl::note_whole() {
  cut_picture = (packet->flags & AV_PKT_FLAG_CORRUPT) != 0;
  if (!timeless) return;
  const auto picture =
      picture_in(std::as_bytes(std::span(packet->data, static_cast<std::size_t>(packet->size))));
  constexpr std::array kEnd = {std::byte{0xFF}, std::byte{0xD9}};
  cut_picture =
      cut_picture || std::search(picture.begin(), picture.end(), kEnd.begin(), kEnd.end()) == picture.end();
}

// At the end, which FFmpeg takes for a good one.
void FilmReader::Impl::note_cut_off() {
  // A header may be one off; and what is passed over as damaged is told elsewhere.
  constexpr std::int64_t kSlack = 2;
  constexpr std::int64_t kSlack_us = 1'000'000;
  if (cut_picture) {
    broke_off = "its last picture is cut off";
  } else if (stream->nb_frames - stream->nb_frames / 100 - kSlack > packets) {
    broke_off = fmt::format("{} of the {} pictures that it should hold", packets, stream->nb_frames);
  } else if (!timeless && context->nb_streams == 1 && context->duration > 0) {
    // Since the film's beginning rather than since its first picture. Another stream may go on for longer.
    const std::int64_t end =
        av_rescale_q(first_pts, stream->time_base, AVRational{1, AV_TIME_BASE}) + last.count();
    if (end + kSlack_us + context->duration / 50 < context->duration)
      broke_off =
          fmt::format("of the {:.3f} s that it should hold", static_cast<double>(context->duration) / 1e6);
  }
}

// Of the picture in `packet`, since the first.
Microseconds FilmReader::Impl::time() {
  const std::int64_t pts = packet->pts != AV_NOPTS_VALUE ? packet->pts : packet->dts;
  if (pictures == 0) {
    timeless = timeless || pts == AV_NOPTS_VALUE;
    first_pts = pts;
  }
  if (timeless) {
    return Microseconds{std::llround(static_cast<double>(pictures) * 1e6 / span.frames_per_s)};
  }
  if (pts == AV_NOPTS_VALUE) return last;
  const std::int64_t since =
      av_rescale_q(av_sat_sub64(pts, first_pts), stream->time_base, AVRational{1, 1'000'000});
  return Microseconds{std::clamp(since, -kLongest_us, kLongest_us)};
}

Error FilmReader::Impl::nothing_there() const {
  if (pictures == 0) {
    return {ErrorCode::not_found, file.string(),
            broke_off.empty() ? std::string("there is no picture in it")
                              : fmt::format("there is no whole picture in it ({})", broke_off)};
  }
  return {ErrorCode::not_found, file.string(),
          fmt::format("there is no picture from {:.3f} s {}", in_seconds(span.from),
                      span.to ? fmt::format("to {:.3f} s", in_seconds(*span.to)) : "on"),
          fmt::format("its last one seen is at {:.3f} s", in_seconds(last))};
}

FilmReader::FilmReader(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
FilmReader::~FilmReader() = default;

base::Result<std::unique_ptr<FilmReader>> FilmReader::open(const std::filesystem::path& file,
                                                           const FilmSpan& span,
                                                           std::function<bool()> go_on) {
  auto impl = std::make_unique<Impl>();
  impl->file = file;
  impl->span = span;
  impl->go_on = std::move(go_on);
  if (auto opened = impl->open(); !opened) return std::move(opened).error();
  return std::unique_ptr<FilmReader>(new FilmReader(std::move(impl)));
}

base::Result<std::optional<Microseconds>> FilmReader::step() {
  while (impl_->next_picture()) {
    impl_->last = impl_->time();
    ++impl_->pictures;
    if (impl_->span.to && impl_->last > *impl_->span.to) break;
    if (impl_->last < impl_->span.from) {
      if (impl_->go_on && !impl_->go_on())
        return Error{ErrorCode::cancelled, impl_->file.string(), "stopped before the end"};
      continue;
    }
    impl_->told_any = true;
    return std::optional{impl_->last};
  }
  av_packet_unref(impl_->packet.get());
  if (!impl_->told_any) return impl_->nothing_there();
  return std::optional<Microseconds>{};
}

base::Result<std::span<const std::byte>> FilmReader::read() & {
  const auto bytes =
      std::as_bytes(std::span(impl_->packet->data, static_cast<std::size_t>(impl_->packet->size)));
  return impl_->timeless ? picture_in(bytes) : bytes;
}

double FilmReader::passed() const {
  const auto size = static_cast<double>(avio_size(impl_->bytes.get()));
  return size > 0 ? std::clamp(static_cast<double>(avio_tell(impl_->bytes.get())) / size, 0.0, 1.0) : 0;
}

std::string FilmReader::remark() const {
  std::string text;
  if (impl_->timeless)
    text = fmt::format("the file says no times; taken as {:g} pictures a second (--frames-per-s)",
                       impl_->span.frames_per_s);
  if (!impl_->broke_off.empty())
    text += fmt::format("{}the file breaks off after {:.3f} s ({})", text.empty() ? "" : "; ",
                        in_seconds(impl_->last), impl_->broke_off);
  return text;
}

}  // namespace rookery::archive
