#include "jobs/kept_measurings.hpp"

#include <fmt/format.h>

#include <cmath>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "jobs/faults.hpp"
#include "jobs/text_file.hpp"

namespace calcant::cli {
namespace {

std::string run_line(const OrganContext& context, const Run& r) {
  const auto stop = stop_by_id(context.described, r.stop);
  const std::string name = stop ? full_name(context.described.stops[static_cast<std::size_t>(*stop)]) : r.stop;
  return fmt::format("{:>4}  {}  {:<24} {:>7}  {}\n", r.id, r.date, name,
                     r.temperature ? fmt::format("{:.4g} °C", r.temperature->value()) : "no temp.", r.place);
}

std::string signed_whole(double v) {
  const double whole = std::round(v) + 0.0;
  return whole == 0 ? "0" : fmt::format("{:+.0f}", whole);
}

std::string compared_text(const OrganContext& context, const MeasuringsCompared& c) {
  const Comparison& k = c.comparison;
  std::string out = context.described.name + "\n" + invented_line(context.described);
  out += run_line(context, c.before.run) + run_line(context, c.after.run) + "\n";
  if (k.whole) {
    out +=
        wrapped(fmt::format("The whole stop: {} cents, give or take {:.0f}, each against the organ's pitch at its own "
                            "temperature{}.",
                            signed_whole(k.whole->by), std::ceil(k.whole->half_width),
                            k.whole->sure ? "" : ": no change that can be told"),
                0);
  }
  bool any = false;
  for (const ComparedNote& n : k.notes) {
    if (!n.changed()) continue;
    any = true;
    std::string what;
    const auto add = [&](const std::string& words) { what += (what.empty() ? "" : "; ") + words; };
    if (n.before != n.after) add(n.before + ", now " + n.after);
    if (n.pitch && n.pitch->sure)
      add(fmt::format("{} cents within the stop, give or take {:.0f}", signed_whole(n.pitch->by),
                      std::ceil(n.pitch->half_width)));
    if (n.level && n.level->sure) add(fmt::format("{} dB", signed_whole(n.level->by)));
    if (n.speech && n.speech->sure) add(fmt::format("takes {:.1f} times as long to speak", n.speech->by));
    out += fmt::format("  {:<5} {}\n", name(n.key), what);
  }
  if (!any) out += "No note changed beyond what the two measurings could know.\n";
  for (const RankWarmth& r : c.learnt) {
    out += wrapped(
        fmt::format("{}: {:.2f} cents a kelvin, give or take {:.2f}, learnt from {} measurings between {:.3g} and "
                    "{:.3g} °C; {:.0f} % of what a flue moves.",
                    r.name, r.warmth.per_kelvin.value(), r.warmth.per_kelvin_95.value(), r.warmth.measurings,
                    r.warmth.coldest.value(), r.warmth.warmest.value(), 100.0 * r.warmth.flue_share),
        0);
  }
  for (const std::string& r : k.remarks) out += wrapped(r, 0);
  return out;
}

}  // namespace

Command measure_list_command() {
  Command c;
  c.name = "measure list";
  c.summary = "List the measurings in the book.";
  c.about = "Their numbers are what 'measure compare' and 'measure page' take.";
  c.arguments = {organ_argument()};
  c.examples = {{"calcant measure list my-church", "What was measured, when, how warm it was."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    const auto runs = book->runs();
    if (!runs) return tl::unexpected<Error>(runs.error());
    std::string text = context->described.name + "\n" + invented_line(context->described);
    for (const Run& r : *runs) text += run_line(*context, r);
    if (runs->empty()) text += "The book holds no measuring yet.\n";
    return shown(text, runs_json(*context, *runs));
  };
  return c;
}

Command measure_compare_command() {
  Command c;
  c.name = "measure compare";
  c.summary = "Set two measurings of one stop against each other: what changed, beyond what they could know.";
  c.about =
      "Both must have been written into the book with the temperature at the pipes. Levels are compared only where the "
      "microphone stood in the same place, speech only where it stood at the mouths. From all measurings of the stop "
      "since "
      "the tuner's last visit it is learnt how its pitch moves with the temperature.";
  c.arguments = {organ_argument(), {"BEFORE", "number of a run"}, {"AFTER", "number of a run"}};
  c.examples = {{"calcant measure compare my-church 3 8", "What became of the stop between runs 3 and 8."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto before = given.whole("BEFORE", 1, 1'000'000'000);
    if (!before) return tl::unexpected<Error>(before.error());
    const auto after = given.whole("AFTER", 1, 1'000'000'000);
    if (!after) return tl::unexpected<Error>(after.error());
    const auto compared = compare_runs(*context, **before, **after);
    if (!compared) return tl::unexpected<Error>(compared.error());
    return shown(compared_text(*context, *compared), json_text(*context, *compared));
  };
  return c;
}

Command measure_page_command() {
  Command c;
  c.name = "measure page";
  c.summary = "Make a page to print of what was measured.";
  c.about =
      "Each stop's pitch, speech and level along its keys with their uncertainty; then what stands out, what may be "
      "behind "
      "it, and what can be tried with keys, stops, couplers, box and wind. What several stops have in common (one "
      "groove, "
      "one side of the chest, one octave) stands first. Anything inside the case is the builder's.";
  c.arguments = {organ_argument()};
  c.options = {{"--out", "FILE", "the page, as HTML to print", "", {}, true},
               {"--run",
                "NUMBER",
                "this measuring; may be given several times; otherwise the newest of each stop",
                "",
                {},
                false,
                true},
               {"--on", "DATE", "the newest up to that day", ""}};
  c.examples = {{"calcant measure page my-church --out measured.html", "The newest measuring of each stop."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    std::vector<EntryId> runs;
    for (const std::string& word : given.all("--run")) {
      Given one;
      one.put("--run", {word}, true);
      const auto number = one.whole("--run", 1, 1'000'000'000);
      if (!number) return tl::unexpected<Error>(number.error());
      runs.push_back(**number);
    }
    const auto made = page_of_runs(*context, runs, given.text_or("--on", ""));
    if (!made) return tl::unexpected<Error>(made.error());
    const std::string out = *given.text("--out");
    if (const auto written = write_text_file(out, made->html); !written) return tl::unexpected<Error>(written.error());
    return shown(
        fmt::format("{} {} on the page {}\n", made->runs.size(), made->runs.size() == 1 ? "stop" : "stops", out),
        json_text(*context, *made));
  };
  return c;
}

}  // namespace calcant::cli
