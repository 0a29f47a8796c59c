#include <fmt/format.h>

#include "base/markup.h"
#include "plan/qr.h"
#include "plan/sheet.h"
#include "plan/sheet_drawing.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

// One page of paper, both A4 (210 × 297 mm) and Letter (216 × 279 mm): what is set wraps at the narrower of
// each.
constexpr std::string_view kStyle = R"css(
@page { margin: 11mm; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 14px; max-width: 186mm; font: 9pt/1.3 Georgia, "DejaVu Serif", serif; color: #1e2434; background: #fff; }
h1 { font-size: 17pt; margin: 0; }
h2 { font-size: 10.5pt; margin: 7px 0 2px; padding-top: 4px; border-top: 3px double #cdbd9a; break-after: avoid; }
p { margin: 3px 0; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: 1px 10px 1px 0; border-top: 1px solid #e6dbc3; font-weight: normal; }
thead th { border-top: 0; font-size: 8.5pt; color: #5d5748; }
.head { display: flex; justify-content: space-between; gap: 16px; align-items: flex-start; }
.label { display: flex; gap: 10px; align-items: center; border: 1.5px solid #1e2434; border-radius: 3px; padding: 6px 10px; break-inside: avoid; }
.label svg { width: 26mm; height: 26mm; flex: none; }
.label strong { font-size: 14pt; }
.small { font-size: 8pt; color: #5d5748; overflow-wrap: anywhere; }
.steps { list-style: none; padding: 0; margin: 0; }
.steps li { display: grid; grid-template-columns: 14px minmax(0, 1fr) auto; gap: 8px; padding: 1.5px 0; break-inside: avoid; }
.box { width: 12px; height: 12px; border: 1.5px solid #1e2434; margin-top: 2px; }
.blank { border-bottom: 1px solid #1e2434; min-width: 34mm; font-size: 8.5pt; color: #5d5748; text-align: right; align-self: end; }
.look { font-weight: bold; }
.cautions li { margin: 2px 0; }
.cautions { border: 1.5px solid #965000; padding: 6px 10px 6px 24px; margin: 4px 0; font-size: 8pt; columns: 2; column-gap: 8mm; }
.cautions li { break-inside: avoid; }
section, tr, .drawn { break-inside: avoid; }
.long { break-inside: auto; }
svg { max-width: 100%; height: auto; }
.drawn svg { width: 100%; max-height: 52mm; }

@media print { body { padding: 0; max-width: none; } }
@media screen and (max-width: 640px) { .head { flex-direction: column; } .cautions { columns: 1; } .steps li { grid-template-columns: 14px minmax(0, 1fr); } .blank { grid-column: 2; } .room { overflow-x: auto; } }
)css";

std::string label_html(const Sheet& sheet) {
  std::string code;
  if (!sheet.page.empty()) {
    if (const auto svg = qr_svg(sheet.page, "The address of this camera's page")) code = *svg;
  }
  std::string out =
      fmt::format("<div class=\"label\">{}<div><strong>{}</strong>", code, base::escaped(sheet.camera));
  if (!sheet.address.empty()) out += fmt::format("<br>{}", base::escaped(sheet.address));
  if (!sheet.page.empty())
    out += fmt::format("<br><span class=\"small\">{}</span>", base::escaped(sheet.page));
  if (sheet.page.empty()) out += "<br><span class=\"small\">No station is named in the plan: no code</span>";
  return out + "</div></div>";
}

std::string parts_html(const Sheet& sheet) {
  std::string rows;
  for (const Planned& sum : sheet.sums) {
    for (const SheetPart& part : sum.answer.parts) {
      rows += fmt::format(
          "<tr><td class=\"box-cell\"><span class=\"box\" style=\"display:inline-block\"></span></td>"
          "<th scope=\"row\">{}</th><td>{}</td></tr>",
          base::escaped(part.what), base::escaped(part.value));
    }
  }
  if (rows.empty()) return {};
  return "<section><h2>Parts</h2><table><tbody>" + rows + "</tbody></table></section>";
}

std::string sums_html(const Sheet& sheet) {
  std::string rows;
  for (const Planned& sum : sheet.sums) {
    const Limit* nearest = sum.answer.nearest_limit();
    const bool look = sum.answer.verdict() != Verdict::holds;
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td{}>{}</td><td>{}.",
                        base::escaped(find_subject(sum.answer.subject)->title), look ? " class=\"look\"" : "",
                        words_of(sum.answer.verdict()), base::escaped(sum.answer.headline));
    if (nearest != nullptr) {
      rows +=
          fmt::format(" <span class=\"small\">Nearest limit: {} {}, {} {}.{}{}</span>",
                      base::escaped(nearest->label), show_value(nearest->value, nearest->kind),
                      nearest->at_most ? "at most" : "at least", show_value(nearest->bound, nearest->kind),
                      look ? " " : "", look ? base::escaped(nearest->remedy) : "");
    }
    rows += "</td></tr>";
  }
  return "<section><h2>What the sums say</h2><table><tbody>" + rows + "</tbody></table></section>";
}

std::string wiring_html(const Sheet& sheet) {
  std::string rows;
  for (const SheetWire& wire : sheet.wires) {
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td class=\"small\">{}{}{}</td></tr>",
        base::escaped(wire.letter), base::escaped(wire.colour), base::escaped(wire.from),
        base::escaped(wire.to), base::escaped(wire.note),
        wire.only_while_loading && !wire.note.empty() ? "; " : "",
        wire.only_while_loading ? "loading only" : "");
  }
  return "<section class=\"long\"><div class=\"drawn\"><h2>Wiring</h2>" + wiring_drawing(sheet.wires) +
         "</div>"
         "<div class=\"room\"><table><thead><tr><th scope=\"col\">Wire</th><th scope=\"col\">Colour</th>"
         "<th scope=\"col\">From</th><th scope=\"col\">To</th><th scope=\"col\"></th></tr></thead><tbody>" +
         rows + "</tbody></table></div></section>";
}

std::string list_html(const SheetList& list) {
  std::string steps;
  for (const SheetStep& step : list.steps) {
    steps += fmt::format("<li><span class=\"box\"></span><span>{}</span>{}</li>", base::escaped(step.text),
                         step.measured.empty()
                             ? ""
                             : fmt::format("<span class=\"blank\">{}</span>", base::escaped(step.measured)));
  }
  return fmt::format("<section><h2>{}</h2><ul class=\"steps\">{}</ul></section>", base::escaped(list.title),
                     steps);
}

std::string cautions_html(const Sheet& sheet) {
  std::string items;
  for (const Note& note : sheet.cautions) {
    items += fmt::format("<li>{} {}</li>", base::escaped(note.text), base::escaped(note.remedy));
  }
  return "<section><h2>Cautions</h2><ul class=\"cautions\">" + items + "</ul></section>";
}

}  // namespace

std::string to_html(const Sheet& sheet, std::string_view printed) {
  std::string body = fmt::format(
      "<div class=\"head\"><div><h1>Build sheet: {}</h1><p>{}. <span class=\"small\">Made "
      "{}.</span></p></div>{}</div>",
      base::escaped(sheet.camera),
      sheet.verdict() == Verdict::holds   ? "All sums hold"
      : sheet.verdict() == Verdict::tight ? "A sum is tight: read it before you build"
                                          : "A sum does not hold: do not build it like this",
      base::escaped(printed), label_html(sheet));
  body += sums_html(sheet) + parts_html(sheet) + cautions_html(sheet) + wiring_html(sheet);
  for (const SheetList& list : sheet.lists) body += list_html(list);
  return fmt::format(
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width\"><title>Build sheet: "
      "{}</title><style>{}</style></head><body>{}</body></html>\n",
      base::escaped(sheet.camera), kStyle, body);
}

}  // namespace rookery::plan
