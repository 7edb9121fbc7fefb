#include "files/pages/measuring_page.hpp"

#include <fmt/format.h>

#include "engine/quantity/day_words.hpp"
#include "files/pages/html.hpp"
#include "files/pages/key_plot.hpp"

namespace calcant {
namespace {

constexpr std::string_view css = R"(
header { border-bottom: 1.2pt solid #000; padding-bottom: 1.5mm; margin-bottom: 3mm; }
header h1 { font-size: 19pt; font-weight: 600; }
section { break-before: page; }
section:first-of-type { break-before: auto; }
h2 { font-size: 16pt; font-weight: 600; margin: 0 0 1mm; }
h3 { font-size: 12.5pt; font-weight: 600; margin: 4mm 0 0; break-after: avoid; }
.small { font-size: 11pt; }
figure { margin: 3mm 0 0; break-inside: avoid; }
figcaption { font-size: 11pt; }
svg.keys { width: 100%; height: auto; display: block; }
svg.keys line { stroke: #000; stroke-width: .8; }
svg.keys .grid { stroke: #ccc; stroke-width: .6; }
svg.keys .octave { stroke: #999; stroke-width: .6; }
svg.keys .nought { stroke: #000; stroke-width: .6; stroke-dasharray: 3 2; }
svg.keys .bar { stroke-width: .9; }
svg.keys .cross { stroke-width: 1.4; }
svg.keys circle { stroke: #000; stroke-width: 1.1; }
svg.keys .in { fill: #000; }
svg.keys .out { fill: #fff; stroke-width: 1.6; }
svg.keys text { font-size: 11.5px; font-family: inherit; fill: #000; }
svg.keys .tick { text-anchor: end; }
svg.keys .key, svg.keys .name { text-anchor: middle; }
svg.keys .name { font-weight: 600; paint-order: stroke; stroke: #fff; stroke-width: 2.5px; }
article { border-top: .4pt solid #999; padding: 2mm 0; break-inside: avoid; font-size: 12.5pt; }
article p.what { font-weight: 600; }
article ul { padding-left: 5mm; }
article dt { font-style: italic; }
article dl { display: grid; grid-template-columns: 26mm 1fr; column-gap: 2mm; row-gap: .6mm; margin-top: .8mm; }
footer { margin-top: 4mm; font-size: 11pt; border-top: .4pt solid #999; padding-top: 1.5mm; }
@media screen { section { margin-top: 10mm; } section:first-of-type { margin-top: 0; } }
@media screen and (max-width: 700px) {
  body { padding: 5mm; } article dl { grid-template-columns: 1fr; } svg.keys text { font-size: 15px; } }
)";

std::string figure(const KeyPlot& plot, std::string_view caption) {
  const std::string drawing = key_plot(plot);
  if (drawing.empty()) return {};
  return fmt::format("<figure>{}<figcaption>{}</figcaption></figure>\n", drawing, escaped(caption));
}

bool silent(const MeasuringPage::Point& p) { return p.state == "dead"; }

std::string stop_section(const MeasuringPage::StopMeasured& s) {
  KeyPlot pitch{"Pitch of " + s.name + " along the keys", "cents", false, 10.0, {}};
  KeyPlot speech{"How long " + s.name + " takes to speak, along the keys", "ms", true, 4.0, {}};
  KeyPlot level{"Level of " + s.name + " along the keys", "dB", false, 12.0, {}};
  for (const auto& p : s.points) {
    pitch.points.push_back({p.midi, p.name, p.cents, p.cents_95.value_or(0.0), p.pitch_out, silent(p)});
    speech.points.push_back({p.midi, p.name, p.speech_ms, p.resolution_ms / 2.0, p.speech_out, silent(p)});
    level.points.push_back({p.midi, p.name, p.level, p.level_sd.value_or(0.0), p.level_out, silent(p)});
  }
  std::string out =
      fmt::format("<section><h2>{}</h2><p class=\"small\">{}. {}</p>\n<p class=\"small\">{}</p>\n", escaped(s.name),
                  escaped(day_in_words(s.date)), escaped(s.conditions), escaped(s.whole));
  out += figure(pitch,
                "Pitch, from the middle of the stop; the bar is the 95 % interval. Hollow: stands out from its "
                "neighbours. A cross: gave no sound.");
  out += figure(speech,
                s.room_limited
                    ? "From the first sign of sound to within 3 dB of steady. The recorder heard the room as much "
                      "as the pipe: only neighbours can be compared. The bar is what cannot be told apart."
                    : "From the first sign of sound to within 3 dB of steady. The bar is what cannot be told apart.");
  out +=
      figure(level,
             "Level, from the middle of the stop; the bar shows how evenly each sounds. At one place in a church a low "
             "pipe may stand 5 dB off by the room alone.");
  return out + "</section>\n";
}

void list(std::string& out, std::string_view title, const std::vector<std::string>& items) {
  if (items.empty()) return;
  out += fmt::format("<dt>{}</dt><dd>", title);
  if (items.size() == 1) {
    out += escaped(items.front());
  } else {
    out += "<ul>";
    for (const auto& i : items) out += "<li>" + escaped(i) + "</li>";
    out += "</ul>";
  }
  out += "</dd>";
}

std::string trouble_html(const MeasuringPage::Trouble& t) {
  std::string out = fmt::format("<article><p class=\"what\">{}</p><dl>", escaped(t.sentence));
  list(out, "may be", t.causes);
  list(out, "you can try", t.organist);
  list(out, "builder", t.builder);
  return out + "</dl></article>\n";
}

}  // namespace

std::string measuring_page(const MeasuringPage& m) {
  std::string body =
      fmt::format("<header><h1>What was measured</h1><p>{}{}</p></header>\n", escaped(m.organ),
                  m.invented ? " <span class=\"invented\">(an invented organ, and an invented measuring)</span>" : "");
  for (const auto& s : m.stops) body += stop_section(s);
  bool any = false;
  for (const auto& of : m.troubles) any = any || !of.troubles.empty();
  body +=
      "<section><h2>What stands out</h2>\n<p class=\"small\">For the organist. What you can try needs keys, knobs, "
      "couplers, the box and the wind switch, and nothing else; whatever is inside the case is the builder's.</p>\n";
  if (!any) body += "<p>Nothing stands out from its neighbours.</p>\n";
  for (const auto& of : m.troubles) {
    if (of.troubles.empty()) continue;
    body += "<h3>" + escaped(of.name) + "</h3>\n";
    for (const auto& t : of.troubles) body += trouble_html(t);
  }
  body += "</section>\n<footer><p>Octaves: C4 is middle C, C2 the bottom key. Whole cents; 100 to a semitone.</p>";
  for (const auto& r : m.remarks) body += "<p>" + escaped(r) + "</p>";
  body += "</footer>\n";
  return page("What was measured", css, body);
}

}  // namespace calcant
