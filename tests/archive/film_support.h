// Films for tests, put together by FFmpeg's own muxers.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <vector>

#include "archive/libav.h"
#include "tests/archive/matroska_support.h"

namespace rookery::archive::test {

// `muxer`: FFmpeg's name for the container. `pictures` are one film's packets, `frames_per_s` apart.
inline void write_film(const std::filesystem::path& file, const char* muxer,
                       const std::vector<Bytes>& pictures, int frames_per_s,
                       AVCodecID codec = AV_CODEC_ID_MJPEG) {
  AVFormatContext* made = nullptr;
  ASSERT_GE(avformat_alloc_output_context2(&made, nullptr, muxer, file.c_str()), 0);
  const LibavPtr<AVFormatContext> context{made};
  AVStream* stream = avformat_new_stream(made, nullptr);
  stream->time_base = {1, frames_per_s};
  stream->avg_frame_rate = {frames_per_s, 1};
  stream->codecpar->codec_type = AVMEDIA_TYPE_VIDEO;
  stream->codecpar->codec_id = codec;
  stream->codecpar->width = 64;
  stream->codecpar->height = 48;
  stream->codecpar->format = AV_PIX_FMT_YUVJ422P;
  ASSERT_GE(avio_open(&made->pb, file.c_str(), AVIO_FLAG_WRITE), 0);
  ASSERT_GE(avformat_write_header(made, nullptr), 0);
  const LibavPtr<AVPacket> packet{av_packet_alloc()};
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    ASSERT_EQ(av_new_packet(packet.get(), static_cast<int>(pictures[i].size())), 0);
    std::memcpy(packet->data, pictures[i].data(), pictures[i].size());
    packet->pts = packet->dts =
        av_rescale_q(static_cast<std::int64_t>(i), {1, frames_per_s}, stream->time_base);
    packet->duration = av_rescale_q(1, {1, frames_per_s}, stream->time_base);
    packet->flags |= AV_PKT_FLAG_KEY;
    ASSERT_GE(av_write_frame(made, packet.get()), 0);
    av_packet_unref(packet.get());
  }
  ASSERT_GE(av_write_trailer(made), 0);
  ASSERT_GE(avio_closep(&made->pb), 0);
}

}  // namespace rookery::archive::test
