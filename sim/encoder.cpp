#include "sim/encoder.h"

#include <turbojpeg.h>

#include <stdexcept>

namespace rookery::sim {

Encoder::Encoder() : handle_(tjInitCompress()) {
  if (handle_ == nullptr) throw std::runtime_error("JPEG compressor cannot be made");
}

Encoder::~Encoder() { tjDestroy(handle_); }

Bytes Encoder::encode(const Picture& picture, int quality) {
  const int width = picture.size.width;
  const int height = picture.size.height;
  buffer_.resize(tjBufSize(width, height, TJSAMP_422));
  const unsigned char* planes[3] = {picture.y.data(), picture.u.data(), picture.v.data()};
  const int strides[3] = {width, width / 2, width / 2};
  unsigned char* out = buffer_.data();
  unsigned long size = buffer_.size();
  const int failed = tjCompressFromYUVPlanes(handle_, planes, width, strides, height, TJSAMP_422, &out, &size,
                                             quality, TJFLAG_NOREALLOC | TJFLAG_FASTDCT);
  if (failed != 0) return make_bytes({});
  return make_bytes(
      std::vector<std::uint8_t>(buffer_.begin(), buffer_.begin() + static_cast<std::ptrdiff_t>(size)));
}

std::optional<Gray> decode_gray(std::span<const std::uint8_t> jpeg, bool halved) {
  const tjhandle handle = tjInitDecompress();
  int width = 0;
  int height = 0;
  int sampling = 0;
  int space = 0;
  std::optional<Gray> gray;
  if (tjDecompressHeader3(handle, jpeg.data(), jpeg.size(), &width, &height, &sampling, &space) == 0) {
    if (halved) {
      width = (width + 1) / 2;
      height = (height + 1) / 2;
    }
    Gray made{width, height, {}};
    made.luma.resize(static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    if (tjDecompress2(handle, jpeg.data(), jpeg.size(), made.luma.data(), width, 0, height, TJPF_GRAY, 0) ==
        0)
      gray = std::move(made);
  }
  tjDestroy(handle);
  return gray;
}

}  // namespace rookery::sim
