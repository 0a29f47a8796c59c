// Whatever bytes a board's serial line brings and however they are split, the same is made of them, in
// bounds, as text fit for a terminal.
#include <cstdint>
#include <string>
#include <string_view>

#include "fuzz/promise.h"
#include "proto/serial_rate.h"
#include "tests/proto/boot_log_support.h"

namespace {

using namespace rookery::proto;
using rookery::fuzz::require;

bool is_clean(std::string_view text) {
  for (const char c : text) {
    const auto code = static_cast<unsigned char>(c);
    if (code < 0x20 || code == 0x7f) return false;
  }
  return text.size() <= 400;
}

void check_rates(std::string_view bytes) {
  RateJudge whole;
  whole.push(bytes);
  RateJudge single;
  for (const char& byte : bytes) single.push(std::string_view(&byte, 1));
  require(whole.verdict() == single.verdict(), "splits are judged as the whole");
  RateSearch search;
  std::size_t handed_out = 0;
  for (std::string_view left = bytes; !left.empty();) {
    const auto step = search.push(left.substr(0, 61));
    handed_out += step.text.size();
    left.remove_prefix(std::min<std::size_t>(61, left.size()));
  }
  handed_out += search.finish().size();
  require(handed_out <= bytes.size(), "no byte is handed out twice");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view log(reinterpret_cast<const char*>(data), size);
  const test::Heard whole = test::read_log(log);
  for (const std::size_t piece : {1, 7}) {
    const test::Heard pieces = test::read_log(log, piece);
    require(pieces.findings.size() == whole.findings.size(), "splits find the same");
    require(pieces.summary.verdict == whole.summary.verdict, "splits are judged the same");
    require(pieces.summary.counts == whole.summary.counts, "splits count the same");
  }
  for (const BootFinding& finding : whole.findings) {
    require(finding.line >= 1 && finding.line <= whole.summary.lines, "a finding's line is one of the log");
    require(is_clean(finding.evidence) && is_clean(finding.words.meaning), "text is clean and short");
    require(!finding.evidence.empty() && !finding.words.meaning.empty(), "a finding says something");
  }
  require(is_clean(whole.summary.verdict) && !whole.summary.verdict.empty(), "there is a clean verdict");
  require(whole.summary.counts.size() <= 65, "kinds are bounded");
  check_rates(log);
  return 0;
}
