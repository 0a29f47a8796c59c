#include "cli/prove_words.h"

#include <cmath>

#include <fmt/format.h>
#include <boost/json/array.hpp>

namespace rookery::cli {
namespace {

using camera::Finding;
using camera::Verdict;

double rounded(double value) { return std::round(value * 1e4) / 1e4; }

constexpr std::size_t kIndent = 12;  // of what stands behind the verdict

// The verdict in its column; amber where somebody has to look.
std::string verdict_word(const std::optional<Verdict>& verdict, const Terminal& terminal) {
  const std::string word(verdict ? camera::name_of(*verdict) : "-");
  const std::string padding(kIndent - 2 - std::min(word.size(), kIndent - 2), ' ');
  if (!verdict || *verdict == Verdict::fit) return word + padding;
  return terminal.amber(word) + padding;
}

void add_finding(std::string& text, const Finding& finding, const Terminal& terminal) {
  const auto add = [&](const std::string& words) { text += wrapped(words, kIndent, terminal.width) + '\n'; };
  text += "  " + verdict_word(finding.verdict, terminal);
  if (!finding.verdict)
    return add(fmt::format("{}: not measured: {}", finding.limit->title, finding.evidence));
  add(fmt::format("{}: {}", finding.limit->title, finding.evidence));
  if (*finding.verdict == Verdict::fit) return;
  const std::string under(kIndent, ' ');
  text += under;
  add(fmt::format("{} ({})", camera::words_of(*finding.limit), finding.limit->source));
  text += under;
  add(fmt::format("{}.", finding.limit->remedy));
}

boost::json::object finding_json(const Finding& finding) {
  const camera::AcceptanceLimit& limit = *finding.limit;
  boost::json::object object;
  object["heading"] = limit.id;
  object["title"] = limit.title;
  object["verdict"] = nullptr;
  if (finding.verdict) object["verdict"] = camera::name_of(*finding.verdict);
  object["value"] = nullptr;
  if (finding.value) object["value"] = rounded(*finding.value);
  object["unit"] = limit.unit;
  object["evidence"] = finding.evidence;
  object["more_is_better"] = limit.more_is_better;
  object["fit"] = limit.fit;
  object["marginal"] = nullptr;
  if (limit.marginal != camera::kNoUnfit) object["marginal"] = limit.marginal;
  object["source"] = limit.source;
  object["remedy"] = limit.remedy;
  return object;
}

}  // namespace

std::string text_of(const camera::Measurements& measured, const camera::Acceptance& acceptance,
                    const Terminal& terminal) {
  std::string text =
      fmt::format("{}, {}, {:.0f} s measured{}\n", measured.camera, measured.address, measured.lasted_s,
                  measured.profile.empty() ? "" : ", profile " + measured.profile);
  for (const Finding& finding : acceptance.findings) add_finding(text, finding, terminal);
  if (!measured.cut_short.empty())
    text += wrapped(fmt::format("Note: {}.", measured.cut_short), 0, terminal.width) + '\n';
  if (measured.interrupted) {
    text += fmt::format("Stopped after {:.0f} of {:.0f} s; this is what was seen until then.\n",
                        measured.lasted_s, measured.wanted_s);
  }
  if (!acceptance.overall) return text + fmt::format("Overall: not proven, {}", acceptance.why);
  text += terminal.bold(fmt::format("Overall: {}", camera::name_of(*acceptance.overall)));
  if (!acceptance.why.empty()) text += fmt::format(" ({})", acceptance.why);
  return text;
}

boost::json::object json_of(const camera::Measurements& measured, const camera::Acceptance& acceptance) {
  boost::json::object object;
  object["camera"] = measured.camera;
  object["address"] = measured.address;
  object["profile"] = measured.profile;
  object["began"] = base::to_rfc3339(measured.began);
  object["wanted_s"] = rounded(measured.wanted_s);
  object["lasted_s"] = rounded(measured.lasted_s);
  object["interrupted"] = measured.interrupted;
  object["cut_short"] = measured.cut_short;
  object["overall"] = nullptr;
  if (acceptance.overall) object["overall"] = camera::name_of(*acceptance.overall);
  object["why"] = acceptance.why;
  object["width_px"] = measured.size.width_px;
  object["height_px"] = measured.size.height_px;
  object["pictures"] = measured.whole;
  object["received"] = measured.received;
  object["looked_at_in_full"] = measured.looks;
  boost::json::object broken;
  for (const camera::BrokenCount& kind : measured.broken) broken[kind.kind] = kind.count;
  if (measured.damaged_scans > 0) broken["damaged-scan"] = measured.damaged_scans;
  object["broken"] = std::move(broken);
  boost::json::array sizes;
  for (const camera::SizeStep& step : measured.sizes.value_or(camera::SizeMeasures()).steps) {
    sizes.push_back(boost::json::object{{"value", step.value},
                                        {"width_px", step.size.width_px},
                                        {"height_px", step.size.height_px},
                                        {"bytes", rounded(step.bytes)},
                                        {"frames_per_s", rounded(step.intervals.frames_per_s)},
                                        {"bit_per_s", rounded(step.bit_per_s())},
                                        {"broken", step.broken}});
  }
  object["sizes"] = std::move(sizes);
  boost::json::array findings;
  for (const Finding& finding : acceptance.findings) findings.push_back(finding_json(finding));
  object["findings"] = std::move(findings);
  return object;
}

}  // namespace rookery::cli
