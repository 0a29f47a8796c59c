// The planes of a picture that is made into a frame of a film: borrowed, 8 bits a sample.
#pragma once

#include <cstddef>
#include <cstdint>

namespace rookery::vision {

// One plane. Row y begins at data + y·stride.
struct PlaneView {
  std::uint8_t* data = nullptr;
  int width = 0;              // samples
  int height = 0;             // samples
  std::ptrdiff_t stride = 0;  // bytes, at least width

  std::uint8_t* row(int y) const { return data + y * stride; }
};

// Y, Cb, Cr; colour planes of any sampling, or none (data null). Full range (JPEG) or limited (16 to 235 and
// 16 to 240, as films store it).
struct PictureView {
  PlaneView luma;
  PlaneView blue;
  PlaneView red;
  bool full_range = true;
};

}  // namespace rookery::vision
