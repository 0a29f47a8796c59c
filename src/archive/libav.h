// Inner: FFmpeg's C objects owned, its error numbers as Results, its log silenced. For sources of archive/
// only.
#pragma once

#include <memory>
#include <string>

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/frame.h>
#include <libswscale/swscale.h>
}

#include "base/result.h"

namespace rookery::archive {

struct LibavFree {
  void operator()(AVFormatContext* context) const { avformat_free_context(context); }
  void operator()(AVCodecContext* context) const { avcodec_free_context(&context); }
  void operator()(AVPacket* packet) const { av_packet_free(&packet); }
  void operator()(AVFrame* frame) const { av_frame_free(&frame); }
  void operator()(SwsContext* context) const { sws_freeContext(context); }
};
template <class T>
using LibavPtr = std::unique_ptr<T, LibavFree>;

// An Error from one of FFmpeg's negative returns: what stands for an errno keeps its kind (disk_full, …).
base::Error libav_error(std::string where, int returned);

// FFmpeg writes its own lines to standard error unless told otherwise; from now on they go to our log at
// debug level. Cheap to call again. any-thread.
void route_libav_log();

}  // namespace rookery::archive
