#include "jpeg/codec.h"

#include <new>
#include <string>
#include <type_traits>

namespace rookery::jpeg {
namespace {

struct Destroy {
  void operator()(void* handle) const { tjDestroy(handle); }
};
using Handle = std::unique_ptr<std::remove_pointer_t<tjhandle>, Destroy>;

Handle checked(tjhandle handle) {
  if (handle == nullptr) throw std::bad_alloc();
  return Handle(handle);
}

base::ErrorCode code_of(BrokenKind kind) {
  switch (kind) {
    case BrokenKind::too_large:
      return base::ErrorCode::too_large;
    case BrokenKind::unsupported:
      return base::ErrorCode::unsupported;
    default:
      return base::ErrorCode::malformed;
  }
}

}  // namespace

tjhandle thread_decoder(const PictureInfo& picture) {
  thread_local Handle handle;
  if (!handle || !picture.huffman_tables) handle = checked(tjInitDecompress());
  return handle.get();
}

tjhandle thread_encoder() {
  thread_local const Handle handle = checked(tjInitCompress());
  return handle.get();
}

base::Result<PictureInfo> walked(std::span<const std::byte> jpeg, std::string_view where) {
  const WalkResult result = walk(jpeg);
  if (const auto* broken = std::get_if<BrokenKind>(&result)) {
    return base::Error(code_of(*broken), std::string(where), std::string(explain(*broken)));
  }
  return std::get<PictureInfo>(result);
}

base::Error decoder_error(tjhandle handle, std::string_view where) {
  return base::Error(base::ErrorCode::malformed, std::string(where),
                     std::string("the JPEG data cannot be decoded (") + tjGetErrorStr2(handle) + ")");
}

}  // namespace rookery::jpeg
