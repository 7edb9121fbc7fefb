#include "jobs/measure.hpp"

#include <fmt/format.h>

#include <cmath>

#include "cli/commands.hpp"
#include "cli/shared.hpp"

namespace calcant::cli {
namespace {

std::string whole(const std::optional<Cents>& c, const std::optional<Cents>& band) {
  if (!c) return "";
  // Whole cents, and no minus nought.
  const double rounded_cents = std::round(c->value()) + 0.0;
  std::string out = rounded_cents == 0 ? "0" : fmt::format("{:+.0f}", rounded_cents);
  if (band) out += fmt::format(" ± {:.0f}", std::ceil(band->value()));
  return out;
}

std::string text_of(const OrganContext& context, const StopMeasured& m) {
  const Organ& organ = context.described;
  std::string text = fmt::format("{}\n{}{}, {:.4g} °C{}\n\n", organ.name, invented_line(organ),
                                 full_name(organ.stops[static_cast<std::size_t>(m.stop)]), m.temperature.value(),
                                 m.temperature_given ? "" : " (assumed)");
  text += "  key   state    cents from the organ's pitch   in the run   speech     level\n";
  std::vector<double> levels;
  for (const MeasuredNote& n : m.run.notes) {
    if (n.level) levels.push_back(n.level->value());
  }
  std::sort(levels.begin(), levels.end());
  const double median = levels.empty() ? 0 : levels[levels.size() / 2];
  for (const MeasuredNote& n : m.run.notes) {
    std::string speech;
    if (n.speech) speech = n.speech->room_limited ? "room" : fmt::format("{:.0f} ms", 1000 * n.speech->speech.value());
    text +=
        fmt::format("  {:<5} {:<8} {:>16}{:16}{:>8}   {:>8}   {:>7}  {}\n", name(n.key), word(n.state),
                    whole(n.cents, n.cents_95), "", whole(n.in_run, std::nullopt), speech,
                    n.level ? fmt::format("{:+.0f} dB", std::round(n.level->value() - median) + 0.0) : "", n.remark);
  }
  text += "\n";
  if (m.run.findings.empty()) text += "Nothing stands out from the rank's own course.\n";
  for (const Finding& f : m.run.findings) {
    text += wrapped("- " + f.sentence, 2);
    std::string causes;
    for (const std::string& c : f.causes) causes += (causes.empty() ? "" : "; ") + c;
    if (!causes.empty()) text += wrapped("  may be: " + causes, 4);
    for (const SeparatingTest& t : f.tests) text += wrapped(fmt::format("  {}: {}", word(t.who), t.what), 4);
  }
  for (const std::string& r : m.remarks) text += wrapped(r, 0);
  for (const std::string& r : m.run.remarks) text += wrapped(r, 0);
  if (m.by_hand > 0) text += fmt::format("{} of the decisions are yours and stand.\n", m.by_hand);
  if (m.kept) text += fmt::format("Kept in the book as run {}.\n", *m.kept);
  return text;
}

}  // namespace

Command measure_command() {
  Command c;
  c.name = "measure";
  c.summary = "From a recording of one stop played through: what every pipe does, and what is wrong.";
  c.about =
      "Draw one stop, start the recorder, play every key from bottom to top ('calcant measure how' prints the "
      "instruction), and "
      "hand over the file. Dead notes, wrong keys, repeats, talk and a cipher are recognised; pitch comes with its 95 "
      "% interval "
      "and what ruled it. Findings name causes; what is to be tried uses only keys, stops, couplers, box and wind, "
      "anything "
      "else is the builder's.";
  c.arguments = {organ_argument(), {"RECORDING", "WAV, FLAC or Ogg"}};
  c.options = {
      {"--stop", "STOP", "the stop that was drawn: \"Principal 4\"", "", {}, true},
      {"--order", "ORDER", "how the keys were played", "chromatic", {"chromatic", "sides"}},
      {"--temperature", "CELSIUS", "at the pipes", ""},
      {"--close", "", "the microphone stood at the mouths"},
      {"--place", "WORDS", "where the microphone stood", ""},
      {"--decisions", "FILE",
       "where the cutting up is written, to be corrected by hand; lines marked ! in it stand, the rest is worked "
       "out again",
       ""},
      {"--keep", "", "write it into the book"},
      {"--on", "DATE", "the day of the recording; otherwise today", ""}};
  c.examples = {{"calcant measure my-church --stop \"Principal 4\" run.wav --temperature 14.5C --keep",
                 "A run of the Principal, kept in the book."},
                {"calcant measure my-church --stop \"Principal 4\" run.wav --decisions run.txt",
                 "Shows how the recording was cut up; again after a correction."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto context = calcant::open_organ(given.text_or("ORGAN", "."));
    if (!context) return tl::unexpected<Error>(context.error());
    MeasureRequest request;
    request.recording = *given.text("RECORDING");
    request.stop = *given.text("--stop");
    request.sides = given.text("--order") == "sides";
    request.close = given.has("--close");
    request.place = given.text_or("--place", "");
    const auto celsius = given.number("--temperature", -20, 50, "C");
    if (!celsius) return tl::unexpected<Error>(celsius.error());
    if (given.has("--on")) {
      if (const auto date = parse_date(*given.text("--on")); !date) return fail(date.error().message, "--on");
    }
    if (given.has("--keep")) request.keep_on = given.text_or("--on", today());
    if (given.has("--decisions")) request.decisions = *given.text("--decisions");
    const auto m =
        measure_stop(*context, request, *celsius ? std::optional{Celsius{**celsius}} : std::nullopt, console.work);
    if (!m) return tl::unexpected<Error>(m.error());
    return shown(text_of(*context, *m), json_text(*context, *m));
  };
  return c;
}

Command measure_how_command() {
  Command c;
  c.name = "measure how";
  c.summary = "Print the instruction for recording a stop.";
  c.about = "One page to take to the organ: what to see to before the run, how to play it, what is left alone.";
  c.examples = {{"calcant measure how", "What to do, in order."}};
  c.reports = false;
  c.run = [](const Given&, Console&) -> Result<Shown> { return shown(measuring_instructions(), ""); };
  return c;
}

}  // namespace calcant::cli
