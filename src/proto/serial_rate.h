// Whether bytes from a serial line were read at the rate at which they were sent.
#pragma once

#include <array>
#include <bitset>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace rookery::proto {

// Bits a second on a serial line.
struct Baud {
  std::uint32_t bits_per_s = 115200;
  bool operator==(const Baud&) const = default;
};

// In the order in which they are tried: the boards' own, the older sister chip's, then what programs are set
// to (common practice, no source).
inline constexpr std::array<Baud, 7> kUsualRates = {
    {{115200}, {74880}, {9600}, {57600}, {230400}, {460800}, {921600}}};

enum class RateVerdict {
  too_little,  // not enough to tell
  text,        // text at this rate
  garbage,     // what a wrong rate makes of text
};

// A machine word: "too-little", "text", "garbage".
std::string_view name_of(RateVerdict verdict);

// strand-bound. Weighs each byte: printable ASCII, its white space, escapes and valid UTF-8 speak for text,
// all else against it. It goes on weighing, so a program that changes its rate later is noticed after some 20
// bytes. The bytes may be split anywhere.
class RateJudge {
 public:
  void push(std::string_view bytes);
  RateVerdict verdict() const;
  std::uint64_t bytes() const { return bytes_; }

 private:
  void weigh(bool good);
  void take_byte(unsigned char byte);

  std::uint64_t bytes_ = 0;
  double against_ = 0;     // weight of evidence against text, in nats
  std::bitset<256> seen_;  // kinds of good bytes
  bool line_end_ = false;
  int utf8_due_ = 0;  // continuation bytes that must follow
  int utf8_got_ = 0;
};

// strand-bound. Looks for the rate at which a line sends text: stays while it is text, goes on to the next
// when it is garbage. What was read at a wrong rate is never handed out.
class RateSearch {
 public:
  // With `given` it stays at that rate whatever comes.
  explicit RateSearch(std::optional<Baud> given = std::nullopt);

  // What follows from some bytes, in this order.
  struct Step {
    std::string text;           // to be read on
    bool restart = false;       // what was handed out before, but not ended by a line end, was garbage
    std::optional<Baud> go_to;  // what follows in these bytes is dropped: set the line to this rate now, and
                                // drop what it still holds
  };
  Step push(std::string_view bytes);
  // No more bytes come: what was held back, when nothing speaks against it.
  std::string finish();

  Baud rate() const { return rate_; }
  RateVerdict verdict() const { return judge_.verdict(); }
  // Rates at which garbage was read since text was, or ever; at kUsualRates.size() all were tried.
  std::size_t refused() const { return refused_; }
  std::uint64_t bytes() const { return bytes_; }

 private:
  void take_piece(std::string_view bytes, Step& step);

  bool given_;
  Baud rate_;
  std::size_t place_ = 0;  // in kUsualRates
  std::size_t refused_ = 0;
  std::uint64_t bytes_ = 0;
  bool open_ = false;  // text was read at this rate
  std::string held_;   // bytes not yet judged; bounded
  RateJudge judge_;
};

}  // namespace rookery::proto
