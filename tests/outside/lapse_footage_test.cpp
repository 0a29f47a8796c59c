// Lapses of films that were not drawn for the purpose, from Debian's package opencv-doc (a street, a tree, a
// film with cuts), looked at by FFmpeg's own programs; and a lamp's flicker laid over the street, which has
// to go.
#include <gtest/gtest.h>

#include <boost/json.hpp>
#include <cmath>
#include <sstream>

#include "archive/film_reader.h"
#include "archive/lapse.h"
#include "base/file.h"
#include "tests/outside/film.h"
#include "tests/outside/neighbours_ssim.h"
#include "tests/support/needs.h"
#include "tests/support/program.h"
#include "tests/support/temp_folder.h"
#include "vision/lapse_measures.h"

namespace rookery::outside {
namespace {

using std::filesystem::path;

void run_ffmpeg(std::vector<std::string> words) {
  words.insert(words.begin(), {"ffmpeg", "-v", "error", "-nostdin"});
  const test::Ended ended = test::run_program(words);
  ASSERT_EQ(ended.exit_code, 0) << ended.err;
}

// The mean luma of each frame.
std::vector<double> levels_of(const path& file) {
  const test::Ended told = test::run_program(
      {"ffmpeg", "-v", "error", "-nostdin", "-i", file.string(), "-vf",
       "format=yuv420p,signalstats,metadata=print:key=lavfi.signalstats.YAVG:file=-", "-f", "null", "-"});
  EXPECT_EQ(told.exit_code, 0) << told.err;
  std::vector<double> levels;
  std::istringstream lines(told.out);
  for (std::string line; std::getline(lines, line);) {
    const auto at = line.find("YAVG=");
    if (at != std::string::npos) levels.push_back(std::stod(line.substr(at + 5)));
  }
  return levels;
}

archive::LapseResult lapse(const path& source, double length_s, const path& file) {
  archive::LapseRequest request;
  request.what = source.stem().string();
  request.length_s = length_s;
  auto made = archive::make_lapse(
      [&] {
        return base::Result<std::unique_ptr<archive::PictureSource>>(
            archive::FilmReader::open(source).value());
      },
      request, file, [](double) { return true; });
  EXPECT_TRUE(made) << made.error().text();
  return made ? *made : archive::LapseResult{};
}

struct Clip {
  const char* name;
  int width_px;
  int height_px;
};

class LapseOfFootage : public ::testing::TestWithParam<Clip> {
 protected:
  path clip() const { return path(kFilm).parent_path() / GetParam().name; }
  test::TempFolder folder;
};

INSTANTIATE_TEST_SUITE_P(All, LapseOfFootage,
                         ::testing::Values(Clip{"vtest.avi", 768, 576}, Clip{"Megamind.avi", 720, 528},
                                           Clip{"tree.avi", 320, 240}),
                         [](const auto& info) { return path(info.param.name).stem().string(); });

TEST_P(LapseOfFootage, PlaysEverywhereAndNeitherFlickersNorJumpsMoreThanWhatIsTakenEvenly) {
  ROOKERY_NEEDS_FILM();
  const path source = folder.path() / "source.avi";
  run_ffmpeg(
      {"-i", clip().string(), "-an", "-frames:v", "250", "-c:v", "mjpeg", "-q:v", "4", source.string()});
  const path film = folder.path() / "film.mp4";
  const auto made = lapse(source, 2, film);
  EXPECT_EQ(made.frames + made.empty, 50);
  EXPECT_EQ(made.bad, 0u);

  const test::Ended told =
      test::run_program({"ffprobe", "-v", "error", "-show_streams", "-show_frames", "-show_entries",
                         "frame=pts_time:stream:format_tags", "-show_format", "-of", "json", film.string()});
  ASSERT_EQ(told.exit_code, 0);
  const auto json = boost::json::parse(told.out).as_object();
  const auto& stream = json.at("streams").as_array().at(0).as_object();
  EXPECT_EQ(stream.at("codec_name").as_string(), "h264");
  EXPECT_EQ(stream.at("pix_fmt").as_string(), "yuv420p");
  EXPECT_EQ(stream.at("width").to_number<int>(), GetParam().width_px);
  EXPECT_EQ(stream.at("height").to_number<int>(), GetParam().height_px);
  EXPECT_EQ(stream.at("avg_frame_rate").as_string(), "25/1");
  EXPECT_EQ(told.out.find("creation_time"), std::string::npos)
      << "nobody knows when a file's first picture was taken";
  const auto& frames = json.at("frames").as_array();
  ASSERT_EQ(frames.size(), static_cast<std::size_t>(made.frames));
  for (std::size_t n = 0; n < frames.size(); ++n)
    EXPECT_NEAR(std::stod(std::string(frames[n].at("pts_time").as_string())), static_cast<double>(n) / 25,
                1e-5);
  const std::string bytes = base::read_file(film, 64 << 20).value();
  EXPECT_LT(bytes.find("moov"), bytes.find("mdat"));

  const path even = folder.path() / "even.mp4";
  run_ffmpeg({"-i", source.string(), "-vf", "select=not(mod(n\\,5)),setpts=N/25/TB", "-r", "25", "-c:v",
              "libx264", "-preset", "veryfast", "-crf", "23", "-pix_fmt", "yuv420p", even.string()});
  const double flicker = vision::flicker(levels_of(film));
  const double even_flicker = vision::flicker(levels_of(even));
  const double ssim = test::neighbours_ssim(film);
  const double even_ssim = test::neighbours_ssim(even);
  std::cout << GetParam().name << ": flicker " << even_flicker << " → " << flicker << ", SSIM " << even_ssim
            << " → " << ssim << ", quieted " << made.quieted << ", steadied " << made.steadied << ", cuts "
            << made.cuts.size() << '\n';
  // Under half a grey level it is what passes by, not the light.
  EXPECT_LE(flicker, std::max(even_flicker, 0.5));
  EXPECT_GE(ssim, even_ssim);
}

// As many frames as pictures, so the film differs from the street in its light alone.
TEST(LapseOfFlickeringFootage, ALampsFlickerIsLevelledToThreeTenthsAtMost) {
  ROOKERY_NEEDS_FILM();
  const test::TempFolder folder;
  const path street = folder.path() / "street.avi";
  run_ffmpeg({"-i", kFilm, "-frames:v", "100", "-vf", "scale=384:288", "-c:v", "mjpeg", "-q:v", "2",
              street.string()});
  for (const auto& [what, gain] :
       {std::pair{"slow and fast together", "(1+0.12*sin(2.1*N)+0.06*sin(0.9*N))"},
        {"every other frame", "(1-0.15*mod(N,2))"},
        {"to one side more than to the other", "(1+0.15*sin(1.7*N)*(0.6+0.4*X/W))"}}) {
    const path lit = folder.path() / "lit.avi";
    run_ffmpeg({"-y", "-i", street.string(), "-vf",
                std::string("geq=lum='clip(lum(X,Y)*") + gain + ",0,255)':cb='cb(X,Y)':cr='cr(X,Y)'", "-c:v",
                "mjpeg", "-q:v", "2", lit.string()});
    const path film = folder.path() / "film.mp4";
    std::filesystem::remove(film);
    const auto made = lapse(lit, 4, film);
    ASSERT_EQ(made.frames, 100);
    const auto truth = levels_of(street);
    const auto untreated = levels_of(lit);
    const auto treated = levels_of(film);
    ASSERT_EQ(truth.size(), 100u);
    ASSERT_EQ(untreated.size(), 100u);
    ASSERT_EQ(treated.size(), 100u);
    // How far each frame's light is from the street's own, and how much that spreads.
    const auto spread = [&](const std::vector<double>& levels) {
      double sum = 0, squares = 0;
      for (std::size_t i = 0; i < levels.size(); ++i) {
        const double ratio = (levels[i] - 16) / (truth[i] - 16);
        sum += ratio;
        squares += ratio * ratio;
      }
      const auto count = static_cast<double>(levels.size());
      return std::sqrt(std::max(0.0, squares / count - sum / count * (sum / count)));
    };
    std::cout << what << ": spread " << spread(untreated) << " → " << spread(treated) << '\n';
    EXPECT_GT(spread(untreated), 0.03) << what;
    EXPECT_LE(spread(treated), 0.3 * spread(untreated)) << what;
  }
}

}  // namespace
}  // namespace rookery::outside
