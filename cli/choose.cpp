#include "jobs/choose.hpp"

#include <fmt/format.h>

#include <cmath>
#include <memory>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "files/words/words.hpp"
#include "jobs/registrant.hpp"

namespace calcant::cli {
namespace {

std::string joined_words(const std::vector<std::string>& all) {
  std::string out;
  for (const std::string& s : all) out += (out.empty() ? "" : ", ") + s;
  return out;
}

// Chords of the user's own, for choose and buildup alike.
std::vector<Option> chord_options() {
  return {{"--chords", "CHORDS", "weigh on these chords, as \"C3 G3 C4 E4; C4 E4 G4 C5\"", ""},
          {"--passage", "SCORE", "weigh on chords of this score's hands", ""},
          {"--bars", "BARS", "of the passage, as 9-16", ""}};
}
ChordsAsked chords_given(const Given& given) {
  return {given.text_or("--chords", ""), given.text_or("--passage", ""), given.text_or("--bars", "")};
}

std::string changes_text(const Organ& organ, const Registration& before, const Registration& now) {
  std::vector<std::string> all;
  for (const Knob k : newly_drawn(organ, before, now)) {
    const std::string name = full_name(organ, k);
    const auto at = static_cast<std::size_t>(k.index);
    all.push_back(
        k.kind == Knob::Kind::stop
            ? fmt::format("+ {}: {}", organ.divisions[static_cast<std::size_t>(organ.stops[at].division)].name, name)
            : "+ " + name);
  }
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    if (now.box[b] != before.box[b]) all.push_back(fmt::format("{} = {:g}", organ.boxes[b].name, now.box[b]));
  }
  return joined_words(all);
}

std::string series_text(const Organ& organ, const BuildUp& b) {
  std::string text =
      fmt::format("{}: {}\n", b.name,
                  std::isfinite(b.evenness)
                      ? fmt::format("largest step {:.1f} times the smallest, {:.1f} knobs a step", b.evenness, b.knobs)
                      : std::string{"not every step is louder"});
  for (std::size_t i = 0; i < b.steps.size(); ++i) {
    const BuildUpStep& s = b.steps[i];
    std::string line = fmt::format("{:>2}. {:.0f} phon", i + 1, s.phons);
    if (i > 0) line += fmt::format(" ({:+.1f}, {} moved", s.louder, s.moved);
    if (s.ready > 0) line += fmt::format(", {} made ready", s.ready);
    if (i > 0) line += ")";
    // What is drawn, and then what the hands and the box do.
    text += wrapped(
        fmt::format("{}: {}", line,
                    i == 0 ? registration_text(organ, s.drawn) : changes_text(organ, b.steps[i - 1].drawn, s.drawn)),
        2);
  }
  return text;
}

}  // namespace

Command choose_command() {
  Command c;
  c.name = "choose";
  c.summary = "Find what to draw for a purpose, each answer with its reasons.";
  c.about =
      "Weighs every registration of one manual (on a large organ it searches) and gives the few that come nearest to "
      "the wish, "
      "far enough from one another to be worth knowing. A level is the mean over three chords, low, middle and high, "
      "within a "
      "phon. Say the level in words: very soft, soft, rather soft, moderate, rather loud, loud, full, or any word that "
      "a "
      "verse may have (gentle, praise, mf); softer or louder "
      "(than "
      "--from); \"a shade more than NAME\", \"a shade less than NAME\", \"as loud as NAME\", a saved registration or "
      "stops; "
      "\"enough for 40\" singers. Your ear decides.";
  c.arguments = {organ_argument()};
  c.options = joined(
      {{{"--on", "MANUAL", "where the hands are; otherwise the first manual", ""},
        {"--level", "LEVEL", "how loud, in words", ""},
        {"--phon", "PHON", "how loud, in figures", ""},
        {"--colour", "COLOUR", "which way the colour is to go", "any", {"any", "darker", "brighter"}},
        {"--must", "KNOBS", "stops and couplers that are to be drawn", "", {}, false, true},
        {"--not", "KNOBS", "stops and couplers that are not", "", {}, false, true},
        {"--from", "REGISTRATION", "what is drawn now, for softer and louder", ""},
        {"--solo", "STOPS", "a tune on these, with an accompaniment under it", ""},
        {"--under", "MANUAL", "where the accompaniment is; otherwise another manual", ""},
        {"--singer-db", "DB", "sound power of one singer, dB re 1 pW (assumed)",
         fmt::format("{:g}", ChooseRequest{}.singer_db)},
        {"--singer-band", "DB", "how far that may be off, either way",
         fmt::format("{:g}", ChooseRequest{}.singer_band)},
        {"--limit", "N", "at most so many answers", "8"},
        {"--draws", "N", "how often the assumed levels are varied; 0: answers are not weighed one by one", "200"}},
       chord_options(),
       day_options(day_beside_keyboard),
       place_options()});
  c.examples = {{"calcant choose demo/village --on Great --level soft", "Soft registrations that are worth knowing."},
                {"calcant choose demo/village --on Great --level moderate --passage "
                 "demo/village/music/voluntary-in-d.musicxml --bars 1-8",
                 "On the music itself."},
                {"calcant choose demo/village --solo \"Swell: Oboe 8\" --under Great", "What to put under the Oboe."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    auto opened = open_organ(given, day_beside_keyboard);
    if (!opened) return tl::unexpected<Error>(opened.error());
    const auto context = std::make_shared<const OrganContext>(std::move(*opened));
    ChooseRequest r;
    r.on = given.text_or("--on", "");
    r.heard_on = chords_given(given);
    r.level = given.text_or("--level", "");
    const auto phon = given.number("--phon", 0, 130);
    if (!phon) return tl::unexpected<Error>(phon.error());
    r.phon = *phon;
    const std::string colour = given.text_or("--colour", "any");
    r.colour = colour == "darker" ? Colour::darker : colour == "brighter" ? Colour::brighter : Colour::any;
    r.must = joined_words(given.all("--must"));
    r.must_not = joined_words(given.all("--not"));
    r.from = given.text_or("--from", "");
    r.solo = given.text_or("--solo", "");
    r.under = given.text_or("--under", "");
    const auto singer = given.number("--singer-db", 50, 110);
    if (!singer) return tl::unexpected<Error>(singer.error());
    if (*singer) r.singer_db = **singer;
    const auto band = given.number("--singer-band", 0, 20);
    if (!band) return tl::unexpected<Error>(band.error());
    if (*band) r.singer_band = **band;
    const auto limit = given.whole("--limit", 1, 50);
    if (!limit) return tl::unexpected<Error>(limit.error());
    r.limit = limit->value_or(8);
    const auto draws = given.whole("--draws", 0, 2000);
    if (!draws) return tl::unexpected<Error>(draws.error());
    r.draws = draws->value_or(200);
    const auto found = Registrant{context}.choose(r, console.work);
    if (!found) return tl::unexpected<Error>(found.error());
    const Organ& organ = context->organ;
    std::string text = fmt::format("{}\n{}", organ.name, invented_line(organ));
    text += wrapped(fmt::format("Asked: {}.", found->purpose), 0) + "\n";
    int n = 0;
    for (const ChoiceShown& a : found->answers) {
      const std::string_view played = a.played > 0   ? ", the hands an octave higher"
                                      : a.played < 0 ? ", the hands an octave lower"
                                                     : "";
      text += wrapped(fmt::format("{}. {}{}", ++n, registration_text(organ, a.drawn), played), 0);
      for (const std::string& reason : a.reasons) text += wrapped(reason, 3);
      for (const Advice& v : a.advice) text += wrapped(fmt::format("{} ({}): {}", v.rule, word(v.weight), v.found), 3);
    }
    text += "\n" + wrapped(found->searched ? "Searched; not every registration was weighed."
                           : found->considered > 0
                               ? fmt::format("Out of {:.0f} registrations that sound different.", found->considered)
                               : std::string{"Every knob tried."},
                           0);
    if (found->searched && found->at_least) {
      text +=
          wrapped(fmt::format("In points (one for a knob, a phon off the level or a just noticeable step of colour the "
                              "wrong way, more for what practice is against; the fewer the better) the first has "
                              "{:.1f}, and none can have fewer than {:.1f}.",
                              found->answers.front().points, *found->at_least),
                  0);
    }
    text += wrapped(fmt::format("Levels as the model has them: {}. Your ear decides.", context->heard), 0);
    return shown(std::move(text), json_text(*context, *found));
  };
  return c;
}

Command buildup_command() {
  Command c;
  c.name = "buildup";
  c.summary = "Find the most even crescendo by hand, and judge the usual orders beside it.";
  c.about =
      "A series of registrations from soft to loud: every step heard, as even as can be, few knobs moved, foundations "
      "first, no "
      "celeste, the box only where its pedal can hold it. Steps are judged on chords that the search did not use.";
  c.arguments = {organ_argument()};
  c.options = joined({{{"--on", "MANUAL", "where the hands are; otherwise the first manual", ""},
                       {"--from", "LEVEL", "where it begins, in words as for choose", "soft"},
                       {"--to", "LEVEL", "where it ends", "full"},
                       {"--steps", "N", "registrations in the series, 2 to 24", "10"},
                       {"--must", "KNOBS", "stops and couplers drawn throughout", "", {}, false, true},
                       {"--not", "KNOBS", "stops and couplers left out", "", {}, false, true}},
                      chord_options(),
                      day_options(day_beside_keyboard),
                      place_options()});
  c.examples = {
      {"calcant buildup demo/village --on Great --from soft --to full --steps 10", "Ten steps to full Great."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    auto opened = open_organ(given, day_beside_keyboard);
    if (!opened) return tl::unexpected<Error>(opened.error());
    const auto context = std::make_shared<const OrganContext>(std::move(*opened));
    BuildUpRequest r;
    r.on = given.text_or("--on", "");
    r.heard_on = chords_given(given);
    r.from = given.text_or("--from", "soft");
    r.to = given.text_or("--to", "full");
    const auto steps = given.whole("--steps", 2, 24);
    if (!steps) return tl::unexpected<Error>(steps.error());
    r.steps = steps->value_or(10);
    r.must = joined_words(given.all("--must"));
    r.must_not = joined_words(given.all("--not"));
    const auto built = Registrant{context}.build_up(r, console.work);
    if (!built) return tl::unexpected<Error>(built.error());
    const Organ& organ = context->organ;
    const BuildUpReport& report = built->report;
    std::string text = fmt::format("{}\n{}", organ.name, invented_line(organ));
    text += wrapped(fmt::format("A build-up {}.", built->purpose), 0);
    if (!built->remarks.empty()) text += wrapped(built->remarks, 0);
    text += "\n" + series_text(organ, report.best);
    for (const BuildUp& o : report.others) text += "\n" + series_text(organ, o);
    text += wrapped(fmt::format("\nLevels as the model has them: {}. Your ear decides.", context->heard), 0);
    return shown(std::move(text), json_text(*context, *built));
  };
  return c;
}

}  // namespace calcant::cli
