#include "jpeg/dc_skim.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdint>
#include <vector>

#include "jpeg/skim_data.h"
#include "jpeg/skim_header.h"
#include "jpeg/skim_lane.h"

namespace rookery::jpeg {
namespace {

// Whole bytes behind the last block that an encoder may have put there to fill up a word. libjpeg-turbo
// warns of more than what its own reading ahead has swallowed, up to 7.
constexpr std::int64_t kLeft_bits = 64;

// Positions are counted in 32 bits.
constexpr std::size_t kLongest_bytes = std::size_t{1} << 28;

// One picture on its way. prepare() and take() in turns, with the lane walked in between:
// prepare() says whether there is something to walk, take() uses what the walk found.
class Skim {
 public:
  SkimLane lane;

  // False if there is nothing to walk; result() says why.
  bool open(std::span<const std::byte> jpeg, LumaGrid& out) {
    result_ = SkimResult::left_out;
    if (jpeg.size() > kLongest_bytes) return false;
    auto header = read_skim_header(jpeg);
    if (!header) return false;
    header_ = std::move(*header);
    read_skim_data(jpeg, header_.scan_begin, data_);
    if (!data_.picture_ends) return false;
    result_ = SkimResult::damaged;
    if (!pieces_fit()) return false;
    plan();
    out_ = &out;
    out.width = (header_.width_px + 7) / 8;
    out.height = (header_.height_px + 7) / 8;
    out.cells.resize(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
    interval_ = 0;
    mcu_ = 0;
    begin_interval();
    return true;
  }

  SkimResult result() const { return result_; }

  // Uses the blocks that were walked. False if that was the last of the picture, or if it is damaged.
  bool take() {
    assert(lane.state.from + sizeof(std::uint64_t) <= data_.bytes.data() + data_.bytes.size());
    assert(lane.state.at < positions_.data() + positions_.size() - 1);
    if (lane.bad || lane.state.at < lane.until) return false;  // a wrong code, or the data has ended
    if (!take_cells()) return false;
    mcu_ += row_mcus_;
    if (mcu_ < interval_end_mcu_) {
      // One block more may have been passed; it belongs to the next row.
      const auto ahead = lane.state.at - lane.until;
      std::copy_n(lane.until, ahead + 1, positions_.data());
      lane.state.at = positions_.data() + ahead;
      begin_row();
      return true;
    }
    const std::int64_t left = static_cast<std::int32_t>(end_bit() - *lane.until);
    if (left < 0 || left >= kLeft_bits) return false;
    if (++interval_ < data_.ends.size()) {
      begin_interval();
      return true;
    }
    result_ = SkimResult::done;
    return false;
  }

 private:
  int mcus() const { return header_.mcus_across * header_.mcus_down; }
  int interval_mcus() const { return header_.restart_interval == 0 ? mcus() : header_.restart_interval; }
  std::uint32_t end_bit() const { return bit_address(data_.bytes.data() + data_.ends[interval_]); }

  // As many restart intervals as the size asks for; an empty one behind a last marker is no harm.
  bool pieces_fit() {
    const auto wanted = static_cast<std::size_t>((mcus() + interval_mcus() - 1) / interval_mcus());
    auto& ends = data_.ends;
    if (ends.size() == wanted + 1 && ends[wanted] == ends[wanted - 1]) ends.pop_back();
    return ends.size() == wanted;
  }

  void plan() {
    std::size_t n = 0;
    for (std::size_t c = 0; c < static_cast<std::size_t>(header_.components); ++c) {
      for (int i = 0; i < header_.blocks_of[c]; ++i, ++n) {
        const SkimTables& tables = *header_.tables[c];
        plan_[n] = {.tables = &tables, .start = tables.at_start.data(), .inside = tables.inside.data()};
      }
    }
    for (std::size_t i = 0; i < n; ++i) {
      plan_[i].next = &plan_[(i + 1) % n];
      plan_[i].next_start = plan_[i].next->start;
    }
    const auto row_blocks =
        static_cast<std::size_t>(header_.mcus_across) * static_cast<std::size_t>(header_.blocks);
    if (positions_.size() < row_blocks + 3) positions_.resize(row_blocks + 3);
    if (dcs_.size() < row_blocks) dcs_.resize(row_blocks);
  }

  void begin_interval() {
    const std::uint8_t* const bytes = data_.bytes.data();
    lane.begin(bytes + (interval_ == 0 ? 0 : data_.ends[interval_ - 1]), plan_.data(), positions_.data());
    // `from` runs ahead of the bits that are used by less than 8 bytes.
    lane.limit = bytes + data_.ends[interval_] + 8;
    interval_end_mcu_ = std::min(mcus(), mcu_ + interval_mcus());
    dc_ = 0;
    begin_row();
  }

  // The next piece: to the end of the row or of the interval.
  void begin_row() {
    row_mcus_ = std::min(interval_end_mcu_ - mcu_, header_.mcus_across - mcu_ % header_.mcus_across);
    lane.until = positions_.data() + row_mcus_ * header_.blocks;
  }

  int row_cells() const { return row_mcus_ * header_.luma_across; }

  // Cells of the luma blocks that begin at positions_. False: a DC value beyond what can be.
  bool take_cells() {
    read_dcs();
    const int cell_x = mcu_ % header_.mcus_across * header_.luma_across;
    const int cell_y = mcu_ / header_.mcus_across * header_.luma_down;
    // Blocks beyond the picture's edge fill up its last MCUs.
    const int inside = std::min(row_cells(), out_->width - cell_x);
    const auto length = static_cast<std::size_t>(row_cells());
    for (int y = 0; y < header_.luma_down; ++y) {
      const auto dcs = std::span(dcs_).subspan(static_cast<std::size_t>(y) * length, length);
      if (!within_limits(dcs)) return false;
      if (cell_y + y >= out_->height) continue;
      auto* const cells = out_->cells.data() + (cell_y + y) * out_->width + cell_x;
      const int q0 = header_.luma_q0;
      for (int x = 0; x < inside; ++x) {
        // libjpeg's jpeg_idct_1x1(), whose table of limits clips in this range like std::clamp.
        const int grey = ((dcs[static_cast<std::size_t>(x)] * q0 + 4) >> 3) + 128;
        cells[x] = static_cast<std::uint8_t>(std::clamp(grey, 0, 255));
      }
    }
    return true;
  }

  // Samples of 8 bits come to ±1024 before quantization, which rounds; a whole step is left for those that
  // round badly.
  bool within_limits(std::span<const std::int16_t> dcs) const {
    const int most = (1024 + header_.luma_q0) / header_.luma_q0;
    bool beyond = false;
    for (const int dc : dcs) beyond |= dc > most || dc < -most;
    return !beyond;
  }

  // A difference is under 2048, so that no value gets past 16 bits before one of them is beyond the limits.
  void read_dcs() {
    const SkimTables& tables = *header_.tables[0];
    const std::uint8_t* const bytes = data_.bytes.data();
    const std::uint32_t base = bit_address(bytes);
    const int across = header_.luma_across;
    const int down = header_.luma_down;
    const int blocks = header_.blocks;
    const int stride = row_cells();
    const std::uint32_t* mcu_at = positions_.data();
    std::uint32_t dc = dc_;
    for (int m = 0; m < row_mcus_; ++m, mcu_at += blocks) {
      const std::uint32_t* at = mcu_at;
      for (int y = 0; y < down; ++y) {
        std::int16_t* const to = dcs_.data() + y * stride + m * across;
        for (int x = 0; x < across; ++x, ++at) {
          const std::uint32_t offset = *at - base;
          const std::uint64_t bits = load_big_endian(bytes + (offset >> 3)) << (offset & 7);
          int difference = tables.difference[bits >> (64 - SkimTables::kDifference_bits)];
          if (difference == SkimTables::kLongDifference) [[unlikely]] {
            difference = difference_of(bits, tables.dc.read(static_cast<std::uint32_t>(bits >> 48)));
          }
          dc += static_cast<std::uint32_t>(difference);
          to[x] = static_cast<std::int16_t>(dc);
        }
      }
    }
    dc_ = dc;
  }

  SkimHeader header_;
  SkimData data_;
  std::array<BlockPlan, 10> plan_;
  std::vector<std::uint32_t> positions_;  // where blocks begin, for one row of MCUs
  std::vector<std::int16_t> dcs_;         // its luma, row of cells by row of cells
  LumaGrid* out_ = nullptr;
  SkimResult result_ = SkimResult::left_out;
  std::size_t interval_ = 0;
  int mcu_ = 0;  // the first one of the row
  int row_mcus_ = 0;
  int interval_end_mcu_ = 0;
  std::uint32_t dc_ = 0;  // of the last luma block; modulo 2³², for damaged data
};

// The calling thread's own, for their memory.
std::array<Skim, 2>& thread_skims() {
  thread_local std::array<Skim, 2> skims;
  return skims;
}

void finish(Skim& skim, bool more) {
  while (more) {
    run(skim.lane);
    more = skim.take();
  }
}

}  // namespace

SkimResult skim_luma_grid(std::span<const std::byte> jpeg, LumaGrid& out) {
  Skim& skim = thread_skims()[0];
  finish(skim, skim.open(jpeg, out));
  return skim.result();
}

std::pair<SkimResult, SkimResult> skim_luma_grids(const SkimTask& a, const SkimTask& b) {
  auto& [first, second] = thread_skims();
  bool more_first = first.open(a.jpeg, *a.out);
  bool more_second = second.open(b.jpeg, *b.out);
  while (more_first && more_second) {
    run_both(first.lane, second.lane);
    if (first.lane.paused()) more_first = first.take();
    if (second.lane.paused()) more_second = second.take();
  }
  finish(first, more_first);
  finish(second, more_second);
  return {first.result(), second.result()};
}

}  // namespace rookery::jpeg
