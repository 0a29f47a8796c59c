// Inner: the calling thread's libjpeg-turbo handles, and walk() as a Result. For sources of jpeg/ only.
#pragma once

#include <memory>
#include <span>
#include <string_view>

#include <turbojpeg.h>

#include "base/result.h"
#include "jpeg/walk.h"

namespace rookery::jpeg {

// The calling thread's own decoder and encoder, made at first use and freed with the thread. Never null:
// running out of memory for them throws std::bad_alloc. A decoder keeps Huffman tables from picture to
// picture: for one that brings none, it is made anew, and decodes with the standard ones.
tjhandle thread_decoder(const PictureInfo& picture);
tjhandle thread_encoder();

// walk(), a broken kind being an error of this place ("luma grid").
base::Result<PictureInfo> walked(std::span<const std::byte> jpeg, std::string_view where);

// What the handle's last call complained about.
base::Error decoder_error(tjhandle handle, std::string_view where);

// True if the last call on the handle decoded everything but found damage. Also true if it gave up after a
// warning, which TurboJPEG 2.1 does not tell apart: what it did not write is to be something harmless.
inline bool only_warned(tjhandle handle) { return tjGetErrorCode(handle) == TJERR_WARNING; }

inline const unsigned char* as_uchar(std::span<const std::byte> bytes) {
  return reinterpret_cast<const unsigned char*>(bytes.data());
}

}  // namespace rookery::jpeg
