#include "archive/rebuild_strips.h"

namespace rookery::archive {

void StripMaker::add(const ByteSource& source, const SegmentIndex& index) {
  std::optional<base::WallTime> last;
  for (std::size_t i = 0; i < index.frames().size(); ++i) {
    const auto at = index.time_of(i);
    if (last && at - *last < std::chrono::seconds{1}) continue;
    auto bytes = read_frame(source, index.frames()[i]);
    if (!bytes || !jpeg::compute_luma_grid(*bytes, grid_) || grid_.damaged) continue;
    last = at;
    const auto since = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch();
    auto& step = steps_[base::WallTime{since / kStripStep * kStripStep}];
    step = std::max(step, energy_.add(grid_));
  }
}

std::vector<Strip> StripMaker::strips() const {
  std::vector<Strip> rows;
  for (const auto& [at, energy] : steps_) {
    const bool follows =
        !rows.empty() && rows.back().from + kStripStep * static_cast<int>(rows.back().steps.size()) == at;
    if (!follows) rows.push_back({at, {}});
    rows.back().steps.push_back({energy, Health::live});
  }
  return rows;
}

}  // namespace rookery::archive
