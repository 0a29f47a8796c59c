// Inner: the last way over a lapse's pictures: those that were chosen, levelled, steadied and written.
#pragma once

#include <functional>
#include <vector>

#include "archive/film_text.h"
#include "archive/film_writer.h"
#include "archive/lapse.h"
#include "archive/lapse_beside.h"
#include "archive/lapse_look.h"
#include "archive/picture_fitter.h"
#include "vision/lapse_levels.h"
#include "vision/lapse_quiet.h"
#include "vision/lapse_steady.h"

namespace rookery::archive {

// One user at a time. Every picture is decoded twice: its light can only be set when that of the pictures
// behind it is known. What is measured is the picture alone, what is shown is quieted.
class LapseFrames {
 public:
  // All borrowed, and outlive it. Counts into `result`.
  LapseFrames(const LapseRequest& request, const LapseSpan& span, const LapseLook& look, LapseResult& result)
      : request_(request), span_(span), look_(look), result_(result) {}

  // Both go over the picks of a source that is before its first picture. Errors: those of film_size(), of the
  // source and of the writer, not_found when no picture can be decoded, cancelled.
  base::Result<void> measure(PictureSource& source, const std::function<bool(double)>& progress);
  base::Result<void> write(PictureSource& source, const std::filesystem::path& file,
                           const std::function<bool(double)>& progress);

 private:
  // What is to be done to a pick; nothing for one that could not be decoded.
  struct Plan {
    bool shown = false;
    vision::SteadyFrame steady;
    std::string cut;  // before it, and why; empty: none
    vision::LevelCorrection level;
    bool moved() const { return steady.dx_px != 0 || steady.dy_px != 0 || steady.turn_deg != 0; }
  };

  // A pick's picture as it was recorded, and the luma grids of those beside it.
  struct Group {
    std::size_t pick = 0;
    bool found = false;
    std::vector<std::byte> picture{};
    std::vector<std::vector<std::uint8_t>> beside{};
  };

  // Calls `each` with every pick's picture, fitted to the film's size and quieted by those beside it; null
  // where it is damaged or gone.
  base::Result<void> over_picks(PictureSource& source, const std::function<bool(double)>& progress,
                                const std::function<base::Result<void>(std::size_t, AVFrame*)>& each);
  base::Result<void> hand_on(const Group& group,
                             const std::function<base::Result<void>(std::size_t, AVFrame*)>& each);
  AVFrame* fitted(const Group& group);
  void quiet(const Group& group, AVFrame& frame);
  base::Result<void> begin();
  bool coarse() const;
  void steady(const AVFrame& picture, base::Microseconds at);
  base::Result<void> plan_levels();
  base::Result<void> put_card(AVFrame& first);
  void put_clock(AVFrame& picture, base::Microseconds at);

  const LapseRequest& request_;
  const LapseSpan& span_;
  const LapseLook& look_;
  LapseResult& result_;
  std::optional<PictureFitter> fitter_;
  std::optional<vision::Steadier> steadier_;
  bool steadier_tried_ = false;
  int resized_ = 0;                           // of the way that is under way
  int gone_ = 0;                              // likewise
  int quieted_ = 0;                           // likewise
  std::uint64_t found_bad_ = 0;               // likewise: picks that were not known to be damaged
  std::vector<vision::LevelSample> samples_;  // of those that are shown
  std::vector<Plan> plans_;                   // of all picks
  std::optional<BesideFinder> finder_;        // while it is measured
  std::vector<Beside> beside_;                // of all picks; none while it is measured
  TextPen pen_;
  std::optional<FilmWriter> film_;
};

}  // namespace rookery::archive
