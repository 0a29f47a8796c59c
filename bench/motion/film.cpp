#include "bench/motion/film.h"

#include <algorithm>
#include <cstdio>
#include <memory>

#include <fmt/format.h>

namespace rookery::bench {

std::vector<sim::Picture> read_pictures(const std::string& name, int every, int most) {
  const auto [width, height] = kBoardSize;
  const std::string command = fmt::format(
      "ffmpeg -v quiet -nostdin -threads 1 -i '{}{}' -vf 'select=not(mod(n\\,{})),"
      "scale={}:{}:force_original_aspect_ratio=increase:flags=area,crop={}:{}' -vsync vfr -frames:v {} "
      "-f rawvideo -pix_fmt yuvj422p - 2>/dev/null",
      kExamples, name, every, width, height, width, height, most);
  std::vector<sim::Picture> pictures;
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> pipe(::popen(command.c_str(), "r"), ::pclose);
  if (!pipe) return pictures;
  const auto fill = [&](std::vector<std::uint8_t>& plane) {
    return std::fread(plane.data(), 1, plane.size(), pipe.get()) == plane.size();
  };
  for (sim::Picture picture(kBoardSize); fill(picture.y) && fill(picture.u) && fill(picture.v);)
    pictures.push_back(picture);
  return pictures;
}

sim::Picture median_of(const std::vector<sim::Picture>& pictures) {
  sim::Picture median(pictures.front().size);
  std::vector<std::uint8_t> samples(pictures.size());
  for (const auto plane : {&sim::Picture::y, &sim::Picture::u, &sim::Picture::v}) {
    for (std::size_t i = 0; i < (median.*plane).size(); ++i) {
      for (std::size_t n = 0; n < pictures.size(); ++n) samples[n] = (pictures[n].*plane)[i];
      const auto middle = samples.begin() + static_cast<std::ptrdiff_t>(samples.size() / 2);
      std::nth_element(samples.begin(), middle, samples.end());
      (median.*plane)[i] = *middle;
    }
  }
  return median;
}

int quality_for(const sim::Picture& picture, std::size_t bytes) {
  sim::Encoder encoder;
  int quality = 10;
  while (quality < 98 && encoder.encode(picture, quality + 1)->size() <= bytes) ++quality;
  return quality;
}

}  // namespace rookery::bench
