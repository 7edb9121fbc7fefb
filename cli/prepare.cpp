#include "jobs/prepare.hpp"

#include <fmt/format.h>

#include <map>
#include <utility>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "files/pages/cue_sheet.hpp"
#include "jobs/hymn_words.hpp"

namespace calcant::cli {
namespace {

Result<PrepareRequest> request_of(const Given& given) {
  PrepareRequest r;
  r.out = *given.text("--out");
  const int sources = static_cast<int>(given.has("SCORE")) + static_cast<int>(given.has("--hymn")) +
                      static_cast<int>(given.has("--psalm")) + static_cast<int>(given.has("--service"));
  if (sources != 1) {
    return fail(sources == 0 ? "Nothing was given to prepare: a SCORE, --hymn \"St Anne, C, CM, 4 verses\", --psalm "
                               "\"23, F, 6 verses\" or "
                               "--service sunday.toml."
                             : "A SCORE, --hymn, --psalm and --service exclude one another; give one of them.",
                "prepare");
  }
  if (given.has("SCORE")) r.score = *given.text("SCORE");
  if (given.has("--hymn")) r.hymn = given.text("--hymn");
  if (given.has("--psalm")) r.psalm = given.text("--psalm");
  if (given.has("--service")) r.service = *given.text("--service");
  const auto verses = given.whole("--verses", 1, 60);
  if (!verses) return tl::unexpected<Error>(verses.error());
  r.verses = *verses;
  if (given.has("--bass")) {
    const auto bass = parse_bass(*given.text("--bass"));
    if (!bass) return tl::unexpected<Error>(bass.error());
    r.bass = *bass;
  }
  const auto tempo = given.number("--tempo", 10, 400);
  if (!tempo) return tl::unexpected<Error>(tempo.error());
  r.tempo = *tempo;
  r.words = given.all("--word");
  r.number = given.text("--number");
  if (given.has("--play-over")) {
    const auto over = parse_play_over(*given.text("--play-over"));
    if (!over) return fail(over.error().message, "--play-over");
    r.play_over = *over;
  }
  const auto singers = given.whole("--singers", 1, 5000);
  if (!singers) return tl::unexpected<Error>(singers.error());
  r.singers = *singers;
  r.never = given.all("--not");
  r.staves = given.all("--stave");
  r.preview = !given.has("--no-preview");
  r.every_foot = given.has("--all-feet");
  return r;
}

// What was assumed for several items is said once.
std::string remarks_of_items(const Plan& plan) {
  std::map<std::string, std::size_t> times;
  for (const Item& item : plan.items) {
    for (const std::string& r : item.remarks) ++times[r];
  }
  std::string text;
  for (const Item& item : plan.items) {
    for (const std::string& r : item.remarks) {
      const std::size_t n = std::exchange(times[r], 0);
      const bool whose = n == 1 && plan.items.size() > 1;
      if (n > 0) text += wrapped(whose ? fmt::format("{}: {}", item.title, r) : r, 0);
    }
  }
  return text;
}

std::string text_of(const OrganContext& context, const Prepared& p) {
  std::string text = fmt::format("{}\n{}\n", context.organ.name, invented_line(context.organ));
  text += cue_sheet_text(context.organ, p.file.plan) + "\n";
  for (const std::string& f : p.file.faults) text += fmt::format("Allowed for: {}\n", f);
  for (const std::string& r : p.remarks) text += wrapped(r, 0);
  text += remarks_of_items(p.file.plan);
  text += wrapped(capitalised(context.heard) + "; levels are computed and rest on assumptions. Your ear decides.", 0);
  text += "\nWritten:\n";
  std::vector<std::pair<std::string, std::string>> rows;
  for (const auto& w : p.written) rows.emplace_back(w.path.string(), w.what);
  return text + columns(rows);
}

}  // namespace

Command prepare_command() {
  Command c;
  c.name = "prepare";
  c.summary = "Plan a hymn, a piece or a service, and write what is carried to the console.";
  c.about =
      "Makes a registration plan that two hands and two feet can carry out on this organ, and writes into the folder "
      "--out: "
      "cues.html (a cue sheet to print: one side in 14 point or larger, reasons on the back; a service on both sides), "
      "pencilling.txt and .html (the "
      "changes to "
      "pencil into a paper copy), plan.json, and where there is a score marked.musicxml (the score with registration, "
      "manuals and feet written in) and preview.flac.\n"
      "What is to be prepared is a score (MusicXML, plain or packed, or MIDI), or without any score --hymn with tune, "
      "key, metre or "
      "number of lines, and verses; --psalm with number, chant and verses; or a hymn board, --service sunday.toml. "
      "Where nothing else is said a hymn is "
      "played at 80 "
      "crotchets a minute, with two beats between verses, for 40 singers: all of it assumed, and said on the sheet.";
  c.arguments = {organ_argument(), {"SCORE", "a score: .musicxml, .xml, .mxl or .mid", true}};
  c.options = joined(
      {{{"--out", "DIR", "folder for the files; made where it is not there", "", {}, true},
        {"--hymn", "HYMN",
         "\"tune, key, metre or lines, verses\"; of a tune on a board of this organ, \"tune, verses\"", ""},
        {"--psalm", "PSALM", "\"number, single or double chant, key, verses\", and \"no Gloria\" where it is not sung",
         ""},
        {"--service", "FILE", "a hymn board: sunday.toml", ""},
        {"--verses", "N", "verses sung", ""},
        {"--bass", "WHO", "who takes a hymn's bass [feet]", "", {"feet", "hands", "both"}},
        {"--tempo", "CROTCHETS", "a minute", ""},
        {"--word",
         "WORD",
         "how a verse wants to sound: \"2: soft, no pedal\", \"5: full\"; of a psalm's half "
         "verses \"3b: dark\", \"Gloria: full\"",
         "",
         {},
         false,
         true},
        {"--play-over", "WHAT", "what is played before verse 1: first, last, both, whole, none", ""},
        {"--number", "NUMBER", "as on the hymn board", ""},
        {"--singers", "N", "how many sing [40]", ""},
        {"--not", "STOP", "a stop or coupler never to be drawn", "", {}, false, true},
        {"--stave",
         "STAVE=WHO",
         "who plays a stave, by its number from the top or its name: right, left, feet, none; or on which keyboard: "
         "2=swell",
         "",
         {},
         false,
         true},
        {"--all-feet", "", "every foot mark in the marked copy, not only those that are not obvious"},
        {"--no-preview", "", "leave out the sound"}},
       day_options(),
       place_options()});
  c.examples = {
      {"calcant prepare demo/village --hymn \"St Anne, C major, 8.6.8.6, 4 verses\" --out sunday",
       "A hymn without a score: a cue sheet and a plan."},
      {"calcant prepare demo/village demo/village/music/dundee.musicxml --verses 4 --bass feet --word \"3: "
       "soft\" --out sunday",
       "A hymn from its score, the third verse soft: marked copy and preview as well."},
      {"calcant prepare demo/village --psalm \"23, single chant, F, 6 verses\" --word \"4: dark | light\" --word "
       "\"Gloria: full\" --out sunday",
       "A psalm: a word for either half of a verse, and the Gloria."},
      {"calcant prepare demo/village --service demo/village/sunday.toml --out sunday",
       "A whole service on one sheet."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto request = request_of(given);
    if (!request) return tl::unexpected<Error>(request.error());
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto prepared = prepare(*context, *request, console.work);
    if (!prepared) return tl::unexpected<Error>(prepared.error());
    return shown(text_of(*context, *prepared), json_text(*context, *prepared));
  };
  return c;
}

}  // namespace calcant::cli
