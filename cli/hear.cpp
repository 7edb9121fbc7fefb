#include "jobs/hear.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"

namespace calcant::cli {
namespace {

std::vector<Option> sound_options() {
  return {{"--out", "FILE", "the sound: .flac or .wav, 48 kHz, 24 bit", "", {}, true},
          {"--room", "FILE", "a recorded room response in place of the one made from the description", ""},
          {"--dry", "", "no room: every pipe at its mean level at the place", ""},
          {"--as-found", "", "not in order: with the pitches that were measured since a tuner came", ""},
          {"--untidy", "", "pitches wander a little, as in an organ not in order", ""},
          {"--by-hand", "", "the wind comes from the pump handle; where it falls short, the pressure sinks", ""},
          {"--gain", "DB", "listening gain; every file without it is on one scale", "0"},
          {"--full-scale", "DB", "peak sound pressure level of full scale", "120"},
          {"--division", "NAME", "only this division", ""},
          {"--apart", "", "besides, each division that sounds in a file of its own", ""}};
}

Result<HearSettings> settings_of(const Given& given) {
  HearSettings s;
  s.out = *given.text("--out");
  if (given.has("--room")) s.room = *given.text("--room");
  s.dry = given.has("--dry");
  s.untidy = given.has("--untidy");
  s.by_hand = given.has("--by-hand");
  const auto gain = given.number("--gain", -120, 120, "dB");
  if (!gain) return tl::unexpected<Error>(gain.error());
  s.gain_db = gain->value_or(0);
  const auto full = given.number("--full-scale", 60, 160, "dB");
  if (!full) return tl::unexpected<Error>(full.error());
  s.full_scale_db = full->value_or(120);
  if (given.has("--division")) s.division = given.text("--division");
  s.apart = given.has("--apart");
  if (s.apart && s.division)
    return fail("one division is asked for, or each apart: leave out --division or --apart", "--apart");
  return s;
}

Result<Seconds> held(const Given& given) {
  const auto seconds = given.number("--seconds", 0.2, 600, "s");
  if (!seconds) return tl::unexpected<Error>(seconds.error());
  return Seconds{seconds->value_or(4)};
}

Result<Shown> told(const OrganContext& context, const Result<HeardFile>& heard) {
  if (!heard) return tl::unexpected<Error>(heard.error());
  std::string text = fmt::format("{}: {:.1f} s, loudest peak {:.1f} dB under full scale\n", heard->path.string(),
                                 heard->length.value(), -heard->peak.value());
  text += wrapped(heard->scale, 0);
  for (const auto& path : heard->apart) text += fmt::format("apart: {}\n", path.string());
  for (const std::string& r : heard->remarks) text += wrapped(r, 0);
  return shown(std::move(text), json_text(context, *heard));
}

}  // namespace

Command hear_command() {
  Command c;
  c.name = "hear";
  c.summary = "Make a score, or a chord, into sound as this organ would give it in this church.";
  c.about =
      "A preview of the organ in order, computed from its description. Give a SCORE (with --plan, or one is planned), "
      "or --draw "
      "and --keys for a chord. Levels of all files are on one scale; --gain is added on top and written into the file.";
  c.arguments = {organ_argument(), {"SCORE", "MusicXML or MIDI; left out with --draw and --keys", true}};
  c.options = joined(
      {sound_options(),
       {{"--plan", "FILE", "plan.json made by 'prepare' for this score", ""},
        {"--item", "N", "which item of a service's plan this score is, from 1", ""},
        {"--from", "BAR", "first bar to be heard, as printed", ""},
        {"--to", "BAR", "last bar to be heard", ""},
        {"--verses", "N", "of a hymn", ""},
        {"--bass", "WHO", "who plays a hymn's bass", "", {"feet", "hands", "both"}},
        {"--tempo", "N", "crotchets a minute", ""},
        {"--touch", "WORDS", "of a hymn, over what player.toml says: \"tune=repeat, inner=tie, bass=beat, lift=0.25\"",
         ""},
        {"--draw", "REGISTRATION", "stops and couplers drawn: for a chord, or throughout a score", ""},
        {"--manual", "KEYBOARD", "with --draw and a score: where the hands are; otherwise the first that sounds", ""},
        {"--keys", "KEYS", "keys held, for a chord", ""},
        {"--seconds", "N", "how long the chord is held", "4"}},
       place_options(),
       day_options()});
  c.examples = {{"calcant hear demo/village demo/village/music/voluntary-in-d.musicxml --from 1 --to 8 --out v.flac",
                 "The first eight bars of the demo voluntary in the nave."},
                {"calcant hear demo/village --draw \"Open Diapason 8\" --keys Great:C4,E4,G4 --seconds 4 --out c.wav",
                 "A chord on one stop."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto how = settings_of(given);
    if (!how) return tl::unexpected<Error>(how.error());
    if (!given.has("SCORE")) {
      if (!given.has("--draw") || !given.has("--keys")) {
        return fail("what is to be heard? Give a SCORE, or both --draw and --keys for a chord");
      }
      for (const char* option : {"--plan", "--item", "--from", "--to", "--verses", "--bass", "--tempo", "--touch"})
        if (given.has(option)) return fail(fmt::format("{} is of a score; leave it out for a chord", option), option);
      const auto seconds = held(given);
      if (!seconds) return tl::unexpected<Error>(seconds.error());
      return told(*context,
                  hear_chord(*context, *given.text("--draw"), *given.text("--keys"), *seconds, *how, console.work));
    }
    if (given.has("--draw") && given.has("--plan")) {
      return fail("the plan says what is drawn; leave out --draw or --plan", "--draw");
    }
    HearScore what;
    what.score = *given.text("SCORE");
    if (given.has("--plan")) what.plan = *given.text("--plan");
    const auto item = given.whole("--item", 1, 100);
    if (!item) return tl::unexpected<Error>(item.error());
    what.item = *item;
    what.draw = given.text("--draw");
    what.on = given.text_or("--manual", "");
    what.from_bar = given.text("--from");
    what.to_bar = given.text("--to");
    what.touch = given.text("--touch");
    const auto tempo = given.number("--tempo", 10, 400);
    if (!tempo) return tl::unexpected<Error>(tempo.error());
    what.tempo = *tempo;
    const auto verses = given.whole("--verses", 1, 40);
    if (!verses) return tl::unexpected<Error>(verses.error());
    what.verses = *verses;
    if (given.has("--bass")) {
      const auto bass = parse_bass(*given.text("--bass"));
      if (!bass) return tl::unexpected<Error>(bass.error());
      what.bass = *bass;
    }
    return told(*context, hear_score(*context, what, *how, console.work));
  };
  return c;
}

Command compare_command() {
  Command c;
  c.name = "compare";
  c.summary = "Hear two registrations one after the other at their true relative level.";
  c.about = "The same keys with the first registration, a second's pause, then the second, in one file.";
  c.arguments = {organ_argument()};
  c.options = joined({{{"--draw", "REGISTRATION", "the first", "", {}, true},
                       {"--then", "REGISTRATION", "the second", "", {}, true},
                       {"--keys", "KEYS", "keys held", "", {}, true},
                       {"--seconds", "N", "how long each is held", "4"}},
                      sound_options(),
                      place_options(),
                      day_options()});
  c.examples = {
      {"calcant compare demo/village --draw \"Open Diapason 8\" --then \"Open Diapason 8, Principal 4\" --keys "
       "Great:C4,E4,G4 --out ab.flac",
       "What the Principal adds."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto how = settings_of(given);
    if (!how) return tl::unexpected<Error>(how.error());
    const auto seconds = held(given);
    if (!seconds) return tl::unexpected<Error>(seconds.error());
    return told(*context, hear_two(*context, *given.text("--draw"), *given.text("--then"), *given.text("--keys"),
                                   *seconds, *how, console.work));
  };
  return c;
}

}  // namespace calcant::cli
