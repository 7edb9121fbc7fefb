#include "files/pages/ear_trial_page.hpp"

#include <fmt/format.h>

#include "files/pages/html.hpp"

namespace calcant {
namespace {

constexpr std::string_view css = R"(
header { border-bottom: 1.2pt solid #000; padding-bottom: 1.5mm; margin-bottom: 3mm; }
header h1 { font-size: 19pt; font-weight: 600; }
p.how { font-size: 11.5pt; margin: 0 0 1mm; }
table { border-collapse: collapse; width: 100%; font-size: 12pt; margin-top: 3mm; }
th { text-align: left; font-weight: 600; border-bottom: .8pt solid #000; padding: 0 2mm 1mm 0; }
td { padding: 1.6mm 2mm 1.6mm 0; border-bottom: .4pt solid #999; vertical-align: top; }
td.number { width: 12mm; }
td.keys { width: 34mm; }
section + section { break-before: page; margin-top: 14mm; }
section.listener td { padding: 4mm 2mm 4mm 0; font-size: 15pt; }
)";

std::string head(const EarTrialPage& trial, std::string_view title, const std::vector<std::string>& how) {
  std::string out = fmt::format("<header><h1>{}</h1><p>{}{}. {}</p></header>\n", title, escaped(trial.organ),
                                trial.invented ? " (an invented organ)" : "", escaped(trial.date));
  for (const std::string& line : how) out += fmt::format("<p class=\"how\">{}</p>\n", escaped(line));
  return out;
}

}  // namespace

std::vector<std::string> for_the_helper() {
  return {
      "Boxes open, tremulants in, the church empty and still. Put everything in, draw A, hold the keys for about "
      "four seconds, and let the sound die; then the same with B.",
      "Call only the number, \"A\" and \"B\". Again as often as the listener asks. Say and show nothing else."};
}

std::vector<std::string> for_the_listener() {
  return {
      "Sit in the nave, in the middle, and stay on one seat. Mark A, B or the same for what is asked; where you "
      "cannot tell, it is the same.",
      "Do not look at the helper's side before all are marked."};
}

std::string ear_trial_page(const EarTrialPage& trial) {
  std::string body = "<section class=\"helper\">" + head(trial, "Ear trial: for the helper", for_the_helper());
  body += "<table><thead><tr><th>Pair</th><th>Keys</th><th>A</th><th>B</th></tr></thead><tbody>\n";
  int number = 0;
  for (const EarTrialPage::Pair& p : trial.pairs) {
    body += fmt::format("<tr><td class=\"number\">{}</td><td class=\"keys\">{}</td><td>{}</td><td>{}</td></tr>\n",
                        ++number, escaped(p.keys), escaped(p.first), escaped(p.second));
  }
  body += "</tbody></table></section>\n<section class=\"listener\">";
  body += head(trial, "Ear trial: for the listener", for_the_listener()) + "<table><tbody>\n";
  number = 0;
  for (const EarTrialPage::Pair& p : trial.pairs) {
    body += fmt::format(
        "<tr><td class=\"number\">{}</td><td>Which was {}?</td><td>&#9744; A</td><td>&#9744; B</td><td>&#9744; the "
        "same</td></tr>\n",
        ++number, escaped(p.question));
  }
  body += "</tbody></table></section>\n";
  return page("Ear trial", css, body);
}

}  // namespace calcant
