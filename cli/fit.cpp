#include "jobs/fit.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "engine/playing/copy_words.hpp"
#include "engine/score/score.hpp"

namespace calcant::cli {
namespace {

std::vector<Option> score_options() {
  return {{"--bass", "WHO", "who plays a hymn's bass; otherwise the feet", "", {"feet", "hands", "both"}},
          {"--tempo", "N", "crotchets a minute, where the score has none", fmt::format("{:g}", assumed_tempo)},
          {"--stave",
           "N=WHO",
           "who plays stave N, counted from the top: right, left, either, feet, none; or on which keyboard: 2=swell",
           "",
           {},
           false,
           true}};
}

Result<ScoreRequest> request_of(const Given& given) {
  ScoreRequest r;
  r.score = *given.text("SCORE");
  if (given.typed("--tempo")) {
    const auto tempo = given.number("--tempo", 10, 400);
    if (!tempo) return tl::unexpected<Error>(tempo.error());
    r.tempo = *tempo;
  }
  if (given.has("--bass")) {
    const auto bass = parse_bass(*given.text("--bass"));
    if (!bass) return tl::unexpected<Error>(bass.error());
    r.bass = *bass;
  }
  r.staves = given.all("--stave");
  return r;
}

std::string heading(const OrganContext& context, const Score& score) {
  return fmt::format("{}\n{}{}{}{}\n\n", context.organ.name, invented_line(context.organ), score.title,
                     score.composer.empty() ? "" : ", ", score.composer);
}

std::string stave_line(const Score& score, std::size_t s) {
  const Stave& stave = score.staves[s];
  return fmt::format("Stave {}{}: {} ({})", s + 1, stave.name.empty() ? "" : " \"" + stave.name + "\"",
                     word(stave.role), stave.role_reason);
}

std::string remarks_text(const Score& score) {
  std::string text;
  for (const std::string& r : score.remarks) text += wrapped(r, 0);
  return text;
}

std::string staves_text(const Score& score) {
  std::string text;
  for (std::size_t s = 0; s < score.staves.size(); ++s) text += wrapped(stave_line(score, s) + ".", 0);
  return text + remarks_text(score);
}

// The other places of a finding; all of them are in the JSON.
std::string other_places(const Score& score, const FitFinding& f) {
  constexpr std::size_t most = 12;
  std::string text;
  for (std::size_t i = 0; i < std::min(most, f.also_at.size()); ++i) {
    text += fmt::format("{}{}", i == 0 ? ", and also " : "; ", words(score, f.also_at[i]));
  }
  if (f.also_at.size() > most) text += fmt::format("; and {} more", f.also_at.size() - most);
  return text;
}

std::string findings_text(const FitResult& f, bool if_drawn) {
  std::string text;
  for (const FitFinding& one : f.fit.findings) {
    if (one.if_drawn != if_drawn) continue;
    text += wrapped(
        fmt::format("- {}{}: {}{}", words(f.read.score, one.moment), other_places(f.read.score, one), one.message,
                    one.times > 1 && one.kind == FitKind::double_pedal ? fmt::format(" ({} times)", one.times) : ""),
        2);
    for (const std::string& r : one.remedies) text += wrapped("    " + r, 6);
  }
  return text;
}

// What the copy says of couplers, box and stops.
std::string copy_text(const OrganContext& context, const Score& score) {
  std::string text;
  for (const CopyWord& w : copy_words(score, context.organ)) {
    text += wrapped(fmt::format("- {}: {}", words(score, w.moment), words(context.organ, w)), 2);
  }
  return text.empty() ? text : "The copy's registration, beside the manuals it names:\n" + text + "\n";
}

std::string fit_text(const OrganContext& context, const FitResult& f) {
  std::string text = heading(context, f.read.score);
  const std::string always = findings_text(f, false);
  const std::string drawn = findings_text(f, true);
  text += !f.fit.fits      ? "It does not fit as it is written.\n"
          : always.empty() ? "It fits this organ and this player.\n"
                           : "It can be played, with this in mind:\n";
  text += always;
  if (!drawn.empty()) text += "\nWhere these are drawn:\n" + drawn;
  text += "\n" + copy_text(context, f.read.score);
  for (const std::string& r : f.fit.remarks) text += wrapped(r, 0);
  for (std::size_t s = 0; s < f.read.score.staves.size(); ++s) {
    const StaveKeyboard& on = f.fit.staves[s];
    text += wrapped(
        stave_line(f.read.score, s) +
            (on.keyboard ? fmt::format(", on the {} ({})",
                                       context.organ.keyboards[static_cast<std::size_t>(*on.keyboard)].name, on.reason)
                         : "") +
            ".",
        0);
  }
  return text + remarks_text(f.read.score);
}

std::string feet_text(const OrganContext& context, const FeetResult& f, bool all) {
  std::string text = heading(context, f.read.score);
  text += "One good way, not the only one. ^ toe, o heel; R right, L left.\n";
  int printed = 0;
  int shown_bar = -1;
  for (const FootMark& m : f.pedalling.marks) {
    if (m.obvious && (m.held || !all)) continue;
    ++printed;
    const auto mark = [](FootUse u) {
      return fmt::format("{}{}", u.foot == Foot::left ? 'L' : 'R', u.part == FootPart::heel ? 'o' : '^');
    };
    if (m.moment.bar_index != shown_bar) text += fmt::format("bar {}\n", m.moment.bar);
    shown_bar = m.moment.bar_index;
    text += fmt::format("    beat {:<7} {:<4} {}{}", beat_text(beat(f.read.score, m.moment)),
                        spelling(f.read.score, m.note), m.held ? "then " : "", mark(m.use));
    if (m.becomes) text += " then " + mark(*m.becomes);
    if (!m.why.empty()) text += " (" + m.why + ")";
    for (std::size_t i = 0; i < m.others.size(); ++i) {
      text += fmt::format("{}{}", i == 0 ? "; or " : ", ", mark(m.others[i].use));
    }
    text += "\n";
  }
  std::size_t strokes = 0;
  for (const FootMark& m : f.pedalling.marks) strokes += m.held ? 0 : 1;
  text += fmt::format("\n{} of {} notes are marked{}.\n", printed, strokes,
                      all ? "" : "; the rest is what one would take at sight (--all prints it)");
  for (const std::string& r : f.pedalling.remarks) text += wrapped(r, 0);
  return text + staves_text(f.read.score);
}

}  // namespace

Command fit_command() {
  Command c;
  c.name = "fit";
  c.summary = "Say whether a score fits this organ's keys and stops, and this player's hands and feet.";
  c.about =
      "Notes outside the keyboards with what can be done, manuals that are wanted, stretches, a third hand, leaps, "
      "dead notes "
      "of the "
      "day and how often the piece wants them, double pedal, the swell pedal against a busy foot. The player's spans "
      "are "
      "those of player.toml in the organ folder.";
  c.arguments = {organ_argument(), {"SCORE", "MusicXML (.musicxml, .xml, .mxl) or MIDI"}};
  c.options = joined({score_options(),
                      {{"--draw", "REGISTRATION", "what is drawn: couplers and short stops are judged by it", ""}},
                      day_options()});
  c.examples = {
      {"calcant fit demo/chapel demo/village/music/voluntary-in-d.musicxml", "A three-stave piece on one manual."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto request = request_of(given);
    if (!request) return tl::unexpected<Error>(request.error());
    const auto f = fit_score(*context, *request, given.text_or("--draw", ""));
    if (!f) return tl::unexpected<Error>(f.error());
    return shown(fit_text(*context, *f), json_text(*context, *f));
  };
  return c;
}

Command feet_command() {
  Command c;
  c.name = "feet";
  c.summary = "Work out a pedal part for two feet: toe and heel, crossings, changes.";
  c.about =
      "The whole part at once, on this console's pedalboard. Only what is not obvious is printed unless --all is "
      "given; ways "
      "nearly as good are told. A mark may be fixed, and the rest is solved again round it. With --out the marks are "
      "written into a copy of the score.";
  c.arguments = {organ_argument(), {"SCORE", "MusicXML (.musicxml, .xml, .mxl) or MIDI"}};
  c.options = joined(
      {score_options(),
       {{"--style", "STYLE", "otherwise as player.toml says", "", {"legato", "toes", "left-foot-only", "simplified"}},
        {"--fix", "MARK", "a mark that is to stay: \"bar 12, beat 2: left toe\"", "", {}, false, true},
        {"--marks", "FILE", "marks that are to stay, from a feet.toml", ""},
        {"--all", "", "print every mark"},
        {"--out", "FILE", "the score with the feet written in (.musicxml)", ""}}});
  c.examples = {{"calcant feet demo/village demo/village/music/voluntary-in-d.musicxml --all",
                 "Every mark of the demo voluntary."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto request = request_of(given);
    if (!request) return tl::unexpected<Error>(request.error());
    std::optional<FeetStyle> style;
    if (given.has("--style")) {
      const auto parsed = parse_feet_style(*given.text("--style"));
      if (!parsed) return tl::unexpected<Error>(parsed.error());
      style = *parsed;
    }
    Result<std::vector<std::string>> fixed;
    if (given.has("--marks")) fixed = marks_of_file(*given.text("--marks"));
    if (!fixed) return tl::unexpected<Error>(fixed.error());
    for (const std::string& one : given.all("--fix")) fixed->push_back(one);
    const auto f = feet_of_score(*context, *request, style, *fixed);
    if (!f) return tl::unexpected<Error>(f.error());
    std::string text = feet_text(*context, *f, given.has("--all"));
    if (given.has("--out")) {
      const auto written = write_feet(*f, given.has("--all"), *given.text("--out"));
      if (!written) return tl::unexpected<Error>(written.error());
      text += fmt::format("Written: {}\n", *given.text("--out"));
    }
    return shown(std::move(text), json_text(*context, *f));
  };
  return c;
}

}  // namespace calcant::cli
