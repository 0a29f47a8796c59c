#include "proto/serial_rate.h"

#include <algorithm>

namespace rookery::proto {
namespace {

// Sequential test (Wald 1945) of two models of a byte: in text one in 50 is no good (a start in mid-byte, a
// glitch at power-on); in what a wrong rate makes of it, 45 in 100 (tests/proto/uart_line.h over all pairs of
// rates: 20 to 100 in 100).
constexpr double kGoodByte = -0.58;  // ln(0.55 / 0.98)
constexpr double kBadByte = 3.11;    // ln(0.45 / 0.02)
// Text from 35 good bytes on, garbage from 10 bad ones on: a glitch of a few bytes decides nothing.
constexpr double kText = -20;
constexpr double kGarbage = 30;
// A line that repeats one pattern can look like text at another rate; text has more letters, and line ends.
constexpr std::size_t kLeastKinds = 10;
// Held back at most until it is judged. Text is judged after 35 bytes and its first line end.
constexpr std::size_t kMostHeld_bytes = 4096;

bool is_good_ascii(unsigned char byte) {
  return (byte >= 0x20 && byte < 0x7f) || byte == '\n' || byte == '\r' || byte == '\t' || byte == 0x1b;
}

int continuations(unsigned char byte) {
  if (byte >= 0xc2 && byte <= 0xdf) return 1;
  if (byte >= 0xe0 && byte <= 0xef) return 2;
  if (byte >= 0xf0 && byte <= 0xf4) return 3;
  return 0;
}

}  // namespace

std::string_view name_of(RateVerdict verdict) {
  switch (verdict) {
    case RateVerdict::text:
      return "text";
    case RateVerdict::garbage:
      return "garbage";
    default:
      return "too-little";
  }
}

void RateJudge::push(std::string_view bytes) {
  for (const char byte : bytes) take_byte(static_cast<unsigned char>(byte));
}

// A character of several bytes counts when it is whole; when it is not, each of its bytes was bad.
void RateJudge::take_byte(unsigned char byte) {
  ++bytes_;
  if (utf8_due_ > 0) {
    if ((byte & 0xc0) == 0x80) {
      ++utf8_got_;
      if (--utf8_due_ == 0) weigh(true);
      return;
    }
    for (int i = 0; i < utf8_got_; ++i) weigh(false);
    utf8_due_ = 0;
  }
  if (const int due = continuations(byte)) {
    utf8_due_ = due;
    utf8_got_ = 1;
    return;
  }
  const bool good = is_good_ascii(byte);
  if (good) seen_.set(byte);
  if (byte == '\n' || byte == '\r') line_end_ = true;
  weigh(good);
}

// Held between the two bounds, so that what comes later can still turn it.
void RateJudge::weigh(bool good) {
  against_ = std::clamp(against_ + (good ? kGoodByte : kBadByte), kText, kGarbage);
}

RateVerdict RateJudge::verdict() const {
  if (against_ >= kGarbage) return RateVerdict::garbage;
  if (against_ <= kText && line_end_ && seen_.count() >= kLeastKinds) return RateVerdict::text;
  return RateVerdict::too_little;
}

RateSearch::RateSearch(std::optional<Baud> given)
    : given_(given.has_value()), rate_(given.value_or(kUsualRates[0])) {}

// In small pieces, so that text ends where garbage begins however much came at once.
RateSearch::Step RateSearch::push(std::string_view bytes) {
  constexpr std::size_t kPiece_bytes = 16;
  Step step;
  while (!bytes.empty() && !step.go_to) {
    take_piece(bytes.substr(0, kPiece_bytes), step);
    bytes.remove_prefix(std::min(kPiece_bytes, bytes.size()));
  }
  return step;
}

void RateSearch::take_piece(std::string_view bytes, Step& step) {
  bytes_ += bytes.size();
  judge_.push(bytes);
  const RateVerdict verdict = judge_.verdict();
  if (verdict == RateVerdict::garbage) {
    step.restart = true;
    open_ = false;
    held_.clear();
    refused_ = std::min(refused_ + 1, kUsualRates.size());
    if (given_) return;
    place_ = (place_ + 1) % kUsualRates.size();
    rate_ = kUsualRates.at(place_);
    step.go_to = rate_;
    judge_ = {};
    return;
  }
  if (verdict == RateVerdict::text) {
    open_ = true;
    refused_ = 0;
  }
  // Whoever names a rate wants to see what comes while it is not known to be wrong.
  if (open_ || (given_ && refused_ == 0)) {
    step.text += held_;
    held_.clear();
    step.text += bytes;
    return;
  }
  held_ += bytes;
  if (held_.size() > kMostHeld_bytes) held_.erase(0, held_.size() - kMostHeld_bytes);
}

std::string RateSearch::finish() {
  const bool clean = refused_ == 0 && std::ranges::all_of(held_, [](char c) {
                       return is_good_ascii(static_cast<unsigned char>(c));
                     });
  std::string out = clean ? std::move(held_) : std::string();
  held_.clear();
  return out;
}

}  // namespace rookery::proto
