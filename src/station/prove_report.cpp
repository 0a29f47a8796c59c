#include "station/prove_report.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "base/markup.h"
#include "notices/base64.h"
#include "station/svg_graph.h"

namespace rookery::station {
namespace {

using camera::Finding;
using camera::Verdict;

// The page's own colours (page/src/style/paper.css), for a page that stands alone.
constexpr std::string_view kStyle = R"(
:root{color-scheme:light dark;--paper:#f6efe0;--sheet:#fdf8ec;--ink:#1e2434;--muted:#5d5748;--rule:#e6dbc3;
--strong:#cdbd9a;--margin:#b8c0d8;--trace:#27428f;--wash:rgba(39,66,143,.24);--amber:#965000;--amber-wash:rgba(238,163,40,.24)}
@media (prefers-color-scheme:dark){:root{--paper:#1b1815;--sheet:#24201c;--ink:#ece3d1;--muted:#b3a890;--rule:#332d26;
--strong:#504639;--margin:#39405a;--trace:#a9bcf3;--wash:rgba(169,188,243,.26);--amber:#f1b24c;--amber-wash:rgba(241,178,76,.16)}}
*{box-sizing:border-box}
body{margin:0;padding:24px 24px 24px 60px;background:linear-gradient(var(--margin),var(--margin)) 40px 0/1px 100% no-repeat var(--paper);
color:var(--ink);font:400 15px/1.45 "Archivo Narrow","Avenir Next Condensed","Segoe UI",system-ui,sans-serif;overflow-wrap:anywhere}
main{max-width:1080px}
h1,h2{font-family:"Iowan Old Style","Palatino Linotype",Georgia,serif;font-weight:600;margin:0 0 8px}
h2{margin-top:28px;border-bottom:1px solid var(--strong);padding-bottom:4px}
p{margin:0 0 6px}.muted,small{color:var(--muted)}
.overall{font-size:20px;border:2px solid currentColor;display:inline-block;padding:4px 14px;margin:8px 0;background:var(--sheet)}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}
.headings{table-layout:fixed}.headings col:nth-child(1){width:116px}.headings col:nth-child(2){width:23%}
.headings col:nth-child(4){width:29%}
th,td{text-align:left;vertical-align:top;padding:6px 12px 6px 0;border-bottom:1px solid var(--rule)}
tbody th{font-weight:600}
td:first-child{white-space:nowrap}
a{color:inherit}
.marginal,.unfit{color:var(--amber);font-weight:600}
tr.marginal td,tr.unfit td{color:var(--ink);font-weight:400}
tr.marginal td:first-child,tr.unfit td:first-child{color:var(--amber);font-weight:600}
tr.unfit{background:var(--amber-wash)}
figure{margin:14px 0;break-inside:avoid}figcaption{color:var(--muted)}
svg{width:100%;height:auto;display:block}svg text{fill:var(--muted);font-size:13px}
.graphs{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(430px,100%),1fr));gap:0 24px}
.rule{stroke:var(--strong);stroke-width:1}.limit{stroke:var(--amber);stroke-width:1.5;stroke-dasharray:6 4}
.trace{fill:none;stroke:var(--trace);stroke-width:1.2;stroke-linejoin:round}.bar{fill:var(--trace)}
.stills{display:grid;grid-template-columns:repeat(auto-fit,minmax(260px,1fr));gap:16px}
.stills img{width:100%;height:auto;border:1px solid var(--strong);background:var(--sheet)}
@media screen and (max-width:700px){body{padding:14px;background:var(--paper)}thead{display:none}table,tbody,tr,td{display:block}
h1{font-size:24px}td,tbody th{border:0;padding:2px 0}tr{border-bottom:1px solid var(--rule);padding:8px 0}
td:first-child,tbody th{display:inline;padding-right:10px}svg text{font-size:20px}}
@page{size:A4;margin:12mm}
@media print{:root{--paper:#fff;--sheet:#fff;--ink:#000;--muted:#444;--rule:#ccc;--strong:#999;--trace:#27428f;--amber:#965000;
--amber-wash:transparent}body{background:none;padding:0;font-size:8pt;line-height:1.28}tr{break-inside:avoid}
h1{font-size:16pt}h2{font-size:11pt;margin-top:12px;break-after:avoid}.overall{font-size:12pt}small{font-size:7pt}
th,td{padding:2.5px 10px 2.5px 0}.headings col:nth-child(1){width:84px}.headings col:nth-child(2){width:21%}
.headings col:nth-child(4){width:35%}main{max-width:none}
.graphs{grid-template-columns:1fr 1fr 1fr;gap:0 14px}figure{margin:4px 0}figcaption{font-size:7.5pt}svg text{font-size:24px}
.stills{grid-template-columns:1fr 1fr}.stills img{max-height:48mm;width:auto;max-width:100%}}
)";

// Shape and word, never colour alone.
std::string_view mark_of(const std::optional<Verdict>& verdict) {
  if (!verdict) return "–";
  switch (*verdict) {
    case Verdict::fit:
      return "● fit";
    case Verdict::marginal:
      return "◐ marginal";
    case Verdict::unfit:
      return "○ unfit";
  }
  return "";
}

std::string row_of(const Finding& finding) {
  const bool fine = !finding.verdict || *finding.verdict == Verdict::fit;
  std::string row =
      fmt::format("<tr id=\"{}\"{}><td>{}</td><th scope=\"row\">{}</th><td>{}{}", finding.limit->id,
                  fine ? "" : fmt::format(" class=\"{}\"", camera::name_of(*finding.verdict)),
                  mark_of(finding.verdict), base::escaped(finding.limit->title),
                  finding.verdict ? "" : "Not measured: ", base::escaped(finding.evidence));
  if (!fine) row += fmt::format("<br><b>What to do:</b> {}.", base::escaped(finding.limit->remedy));
  return row + fmt::format("</td><td><small>{}<br>{}</small></td></tr>\n",
                           base::escaped(camera::words_of(*finding.limit)),
                           base::escaped(finding.limit->source));
}

// "2026-03-01 12:00:00 UTC".
std::string time_words(base::WallTime time) {
  const std::string text = base::to_rfc3339(time);
  return fmt::format("{} {} UTC", text.substr(0, 10), text.substr(11, 8));
}

std::string still(const camera::FramePtr& frame, std::string_view caption) {
  if (!frame) return {};
  const std::string_view bytes(reinterpret_cast<const char*>(frame->bytes.data()), frame->bytes.size());
  return fmt::format(
      "<figure><img alt=\"{0}\" width=\"{1}\" height=\"{2}\" src=\"data:image/jpeg;base64,{3}\">"
      "<figcaption>{0}, {4}</figcaption></figure>",
      caption, frame->size.width_px, frame->size.height_px, notices::base64(bytes),
      time_words(frame->arrived));
}

// "16 fit, 1 marginal, 4 not measured", and which of them decided.
std::string tally(const camera::Acceptance& acceptance) {
  std::array<int, 4> counts{};
  std::string deciding;
  for (const Finding& finding : acceptance.findings) {
    ++counts.at(finding.verdict ? static_cast<std::size_t>(*finding.verdict) : 3);
    const bool decides =
        acceptance.overall && *acceptance.overall != Verdict::fit && finding.verdict == acceptance.overall;
    if (decides) {
      deciding += fmt::format("{}<a href=\"#{}\">{}</a>", deciding.empty() ? "" : " · ", finding.limit->id,
                              base::escaped(finding.limit->title));
    }
  }
  std::string text;
  constexpr std::array<std::string_view, 4> kWords = {"fit", "marginal", "unfit", "not measured"};
  for (std::size_t i = 0; i < counts.size(); ++i) {
    if (counts.at(i) > 0)
      text += fmt::format("{}{} {}", text.empty() ? "" : ", ", counts.at(i), kWords.at(i));
  }
  text = fmt::format("<p>Of {} headings {}.</p>", acceptance.findings.size(), text);
  if (!deciding.empty()) text += fmt::format("<p>Decided by: {}</p>", deciding);
  return text;
}

std::string overall(const camera::Measurements& measured, const camera::Acceptance& acceptance) {
  std::string text;
  if (acceptance.overall) {
    text = fmt::format("<p class=\"overall {}\">{}</p>", camera::name_of(*acceptance.overall),
                       mark_of(acceptance.overall));
    text += tally(acceptance);
  } else {
    text = fmt::format("<p class=\"overall\">Not proven</p><p>{}.</p>", base::escaped(acceptance.why));
  }
  if (!measured.cut_short.empty()) text += fmt::format("<p>Note: {}.</p>", base::escaped(measured.cut_short));
  if (measured.interrupted) {
    text += fmt::format("<p>Stopped after {:.0f} of {:.0f} s; this is what was seen until then.</p>",
                        measured.lasted_s, measured.wanted_s);
  }
  return text;
}

}  // namespace

std::string prove_report(const camera::Measurements& measured, const camera::Acceptance& acceptance) {
  const std::string name = base::escaped(measured.camera);
  std::string html = fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
      "<meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; style-src "
      "'unsafe-inline'\">"
      "<title>Acceptance test of {}</title><style>{}</style></head><body><main>\n<h1>Acceptance test of "
      "{}</h1>\n",
      name, kStyle, name);
  html += fmt::format("<p class=\"muted\">{}, {}, {:.0f} s measured, {} pictures of {}×{}{}</p>\n",
                      base::escaped(measured.address), time_words(measured.began), measured.lasted_s,
                      measured.whole, measured.size.width_px, measured.size.height_px,
                      measured.profile.empty() ? "" : ", profile " + base::escaped(measured.profile));
  html += overall(measured, acceptance);
  html +=
      "<h2>Headings</h2>\n<table "
      "class=\"headings\"><colgroup><col><col><col><col></colgroup><thead><tr><th>Verdict</th><th>What</th>"
      "<th>Measured</th><th>Limits, and where they come from</th></tr></thead><tbody>\n";
  for (const Finding& finding : acceptance.findings) html += row_of(finding);
  html += "</tbody></table>\n<h2>Over time</h2>\n<div class=\"graphs\">";
  // One span of time for all, so that they can be read one above the other.
  double until_s = 1;
  for (const auto* points :
       {&measured.intervals_ms, &measured.bytes_each, &measured.laplacian_each, &measured.level_each}) {
    if (!points->empty()) until_s = std::max(until_s, points->back().at_s);
  }
  html += svg_over_time("Intervals between pictures; broken line: what counts as a gap", "ms",
                        measured.intervals_ms, until_s, measured.intervals.gap_bound.count());
  html += svg_histogram("How often which interval came", "ms", measured.intervals_ms);
  std::vector<camera::SeriesPoint> kilobytes = measured.bytes_each;
  for (camera::SeriesPoint& point : kilobytes) point.value /= 1e3;
  html += svg_over_time("Bytes a picture", "kB", kilobytes, until_s);
  html += svg_over_time("Sharpness: variance of the Laplacian", "", measured.laplacian_each, until_s);
  html += svg_over_time("Brightness", "grey levels", measured.level_each, until_s);
  html += "</div>\n<h2>Stills</h2>\n<div class=\"stills\">";
  html += still(measured.first_still, "The first picture");
  html += still(measured.last_still, "The last picture");
  html += "</div>\n</main></body></html>\n";
  return html;
}

}  // namespace rookery::station
