#include "archive/picture_fitter.h"

#include <cmath>

namespace rookery::archive {
namespace {

base::Error undecodable(int returned) {
  return {base::ErrorCode::damaged, "picture", libav_error("", returned).detail};
}

}  // namespace

PictureFitter::PictureFitter()
    : packet_(av_packet_alloc()), decoded_(av_frame_alloc()), target_(av_frame_alloc()) {
  if (!packet_ || !decoded_ || !target_) throw std::bad_alloc();
}

base::Result<void> PictureFitter::begin(camera::PixelSize usual, camera::PixelSize target) {
  const AVCodec* codec = avcodec_find_decoder(AV_CODEC_ID_MJPEG);
  decoder_.reset(avcodec_alloc_context3(codec));
  if (const int opened = avcodec_open2(decoder_.get(), codec, nullptr); opened < 0)
    return libav_error("export: begin decoding", opened);
  usual_ = usual;
  target_->width = target.width_px;
  target_->height = target.height_px;
  target_->format = AV_PIX_FMT_YUV420P;
  target_->color_range = AVCOL_RANGE_MPEG;
  target_->colorspace = AVCOL_SPC_SMPTE170M;
  if (av_frame_get_buffer(target_.get(), 0) < 0) throw std::bad_alloc();
  return base::ok();
}

base::Result<void> PictureFitter::decode(std::span<const std::byte> jpeg) {
  // av_new_packet adds the zeros that decoders read beyond the end.
  av_packet_unref(packet_.get());
  if (av_new_packet(packet_.get(), static_cast<int>(jpeg.size())) < 0) throw std::bad_alloc();
  std::memcpy(packet_->data, jpeg.data(), jpeg.size());
  int done = avcodec_send_packet(decoder_.get(), packet_.get());
  if (done >= 0) done = avcodec_receive_frame(decoder_.get(), decoded_.get());
  if (done < 0) return undecodable(done);
  return base::ok();
}

void PictureFitter::paint_black() {
  // Limited range: 16 is black, 128 no colour.
  const std::array<int, 3> levels{16, 128, 128};
  for (std::size_t plane = 0; plane < 3; ++plane) {
    const int rows = plane == 0 ? target_->height : target_->height / 2;
    std::memset(target_->data[plane], levels[plane],
                static_cast<std::size_t>(target_->linesize[plane]) * rows);
  }
}

base::Result<PictureFitter::Fitted> PictureFitter::fit(const RecordedFrame& recorded) {
  auto fitted = fit(std::span<const std::byte>(recorded.bytes));
  if (fitted) return fitted;
  return base::Error(base::ErrorCode::damaged, "export",
                     fmt::format("the frame at {} cannot be decoded: {}", base::to_rfc3339(recorded.at),
                                 fitted.error().detail),
                     "export the spans before and after it, or export as Matroska");
}

base::Result<PictureFitter::Fitted> PictureFitter::fit(std::span<const std::byte> jpeg) {
  if (auto done = decode(jpeg); !done) return std::move(done).error();
  // The encoder may still look at the picture before.
  if (av_frame_make_writable(target_.get()) < 0) throw std::bad_alloc();
  const camera::PixelSize size{decoded_->width, decoded_->height};
  if (!scaler_ || size != scaled_from_ || decoded_->format != scaled_format_) {
    const double share = size == usual_ ? 0
                                        : std::min(static_cast<double>(target_->width) / size.width_px,
                                                   static_cast<double>(target_->height) / size.height_px);
    const auto even = [&](int length_px, int most_px) {
      if (size == usual_) return most_px;
      return std::clamp(static_cast<int>(std::lround(length_px * share / 2)) * 2, 2, most_px);
    };
    inner_ = {even(size.width_px, target_->width), even(size.height_px, target_->height)};
    scaler_.reset(sws_getContext(size.width_px, size.height_px, static_cast<AVPixelFormat>(decoded_->format),
                                 inner_.width_px, inner_.height_px, AV_PIX_FMT_YUV420P,
                                 SWS_BICUBIC | SWS_ACCURATE_RND, nullptr, nullptr, nullptr));
    if (!scaler_) return undecodable(AVERROR(EINVAL));
    // JFIF is full range with the matrix of BT.601, whatever size the picture has.
    const int* table = sws_getCoefficients(SWS_CS_ITU601);
    sws_setColorspaceDetails(scaler_.get(), table, 1, table, 0, 0, 1 << 16, 1 << 16);
    scaled_from_ = size;
    scaled_format_ = decoded_->format;
  }
  if (inner_.width_px != target_->width || inner_.height_px != target_->height) paint_black();
  const int left = (target_->width - inner_.width_px) / 4 * 2;
  const int top = (target_->height - inner_.height_px) / 4 * 2;
  std::array<std::uint8_t*, 4> planes{};
  for (std::size_t plane = 0; plane < 3; ++plane) {
    const int half = plane == 0 ? 1 : 2;
    planes[plane] = target_->data[plane] +
                    static_cast<std::ptrdiff_t>(top / half) * target_->linesize[plane] + left / half;
  }
  sws_scale(scaler_.get(), decoded_->data, decoded_->linesize, 0, size.height_px, planes.data(),
            target_->linesize);
  return Fitted{target_.get(), size != usual_};
}

}  // namespace rookery::archive
