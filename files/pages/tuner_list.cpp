#include "files/pages/tuner_list.hpp"

#include <fmt/format.h>

#include "engine/quantity/day_words.hpp"
#include "files/pages/html.hpp"

namespace calcant {
namespace {

constexpr std::string_view css = R"(
header { border-bottom: 1.2pt solid #000; padding-bottom: 1.5mm; margin-bottom: 3mm; }
header h1 { font-size: 19pt; font-weight: 600; }
table { border-collapse: collapse; width: 100%; font-size: 11.5pt; }
th { text-align: left; font-weight: 600; border-bottom: .8pt solid #000; padding: 0 2mm 1mm 0; }
td { padding: 1.4mm 2mm 1.4mm 0; border-bottom: .4pt solid #999; vertical-align: top; }
td.write, th.write { width: 27mm; border-left: .4pt solid #999; padding-left: 1.5mm; }
tbody th { border-bottom: .4pt solid #999; padding-top: 3mm; }
tr { break-inside: avoid; }
footer { margin-top: 4mm; font-size: 11.5pt; }
)";

std::string row_html(const TunerList::Row& r) {
  std::string when = r.when;
  if (!r.temperature.empty()) when += (when.empty() ? "" : ", ") + r.temperature;
  return fmt::format(
      "<tr><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td class=\"write\"></td><td class=\"write\"></td>"
      "<td class=\"write\"></td></tr>\n",
      escaped(r.note), escaped(r.heard), escaped(when), escaped(date_in_words(r.reported)));
}

}  // namespace

std::string tuner_list_page(const TunerList& list) {
  std::string body = fmt::format("<header><h1>For the tuner</h1><p>{}{}</p><p>{}{}</p></header>\n", escaped(list.organ),
                                 list.invented ? " (an invented organ)" : "",
                                 list.date.empty() ? "" : escaped(day_in_words(list.date)) + ". ", escaped(list.pitch));
  if (list.rows.empty()) {
    body += "<p>Nothing is open in the book.</p>\n";
  } else {
    body +=
        "<table><thead><tr><th>Note</th><th>What was heard</th><th>When</th><th>Since</th><th "
        "class=\"write\">Found</th>"
        "<th class=\"write\">Done</th><th class=\"write\">Leave</th></tr></thead><tbody>\n";
    std::string stop;
    for (const TunerList::Row& r : list.rows) {
      if (r.stop != stop)
        body += fmt::format("<tr><th colspan=\"7\" scope=\"rowgroup\">{}</th></tr>\n", escaped(r.stop));
      stop = r.stop;
      body += row_html(r);
    }
    body += "</tbody></table>\n";
  }
  body +=
      "<footer><p>What was heard, not what is wrong: the causes are yours to find. Octaves in keyboard words: CC is "
      "the bottom of the manual, middle C its 25th key.</p>";
  if (list.left_out_cold > 0) {
    body += fmt::format("<p>{} out-of-tune {} heard in a cold church {} left out.</p>", list.left_out_cold,
                        list.left_out_cold == 1 ? "note" : "notes", list.left_out_cold == 1 ? "is" : "are");
  }
  body += "</footer>\n";
  return page("For the tuner", css, body);
}

}  // namespace calcant
