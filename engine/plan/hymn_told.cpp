#include "engine/plan/hymn_told.hpp"

#include <fmt/format.h>

#include <cmath>

#include "engine/quantity/typed.hpp"

namespace calcant {

std::string reason(const Hymn& hymn, const HymnPart& p, const Shade& s, Phons loudness, const SingersLevel& levels) {
  if (p.fixed != nullptr) return "Fixed by you: " + s.what + ".";
  const Verse& verse = hymn.verses[p.verse];
  std::string why = s.what;
  if (!p.wish.empty()) why += fmt::format(" for \u201c{}\u201d", p.wish);
  else if (hymn.kind == ItemKind::psalm && !verse.label.empty())
    why += " (no word was given for it; it is sung out, no softer than the verse before it)";
  else
    why += fmt::format(" ({}: by its place among the {})",
                       p.note.empty() ? "no word was given" : "no word that is known was given",
                       hymn.kind == ItemKind::piece ? "others" : "verses");
  if (verse.correction.value() != 0) {
    why += fmt::format("; aimed {:g} phon {}, because of what you said after earlier services",
                       std::abs(verse.correction.value()), verse.correction.value() > 0 ? "louder" : "softer");
  }
  if (p.apart) why += fmt::format("; the tune stands {:.0f} phon above what is under it (R28)", s.solo_over);
  const int singers = hymn.singers.count;
  if (!p.apart && hymn.kind != ItemKind::piece) {
    if (loudness >= levels.high) why += fmt::format("; enough for {} singers, even if they sing out", singers);
    else if (loudness >= levels.low) why += fmt::format("; enough for {} singers who do not sing out", singers);
    else why += fmt::format("; perhaps too little for {} singers", singers);
  }
  return why + ".";
}

void told_if_unheard(Section& s, const Hymn& hymn, const HymnPart& p, const HymnPart& before, const Shade& from,
                     const Shade& to) {
  // A tune apart is told by how far it stands above what is under it.
  if (p.apart || before.apart) return;
  const bool half = p.half == 2 && before.verse == p.verse;
  const double least = answers(hymn, p) ? answer_meant : verse_meant;
  const double rise = (p.aim.target - before.aim.target).value();
  // At the end of the range "louder" asks for nothing, and is told all the same.
  const bool at_the_end = p.aim.step != 0 && std::abs(rise) < least;
  const double missing = at_the_end ? p.aim.step * (from.loudness - to.loudness).value() + 1 : 0;
  if (missing <= 0 && unheard(before.aim, p.aim, from, to, least) <= 0.5) return;
  const char* way = rise >= least || p.aim.step > 0    ? "louder"
                    : rise <= -least || p.aim.step < 0 ? "softer"
                    : p.aim.colour < before.aim.colour ? "darker"
                                                       : "brighter";
  const std::string than = half                           ? "the first half"
                           : hymn.kind == ItemKind::piece ? "what goes before"
                           : before.over                  ? "the play-over"
                                                          : lower(before.label);
  s.note += fmt::format("{}no {} than {}", s.note.empty() ? "" : "; ", way, than);
  s.why.push_back(
      half ? fmt::format(
                 "It is no {} than the first half: no other manual and no box is, and in the {:.2f} s of the half "
                 "verse there is no time for a knob.",
                 way, hymn.half_gap_quarters * 60 / hymn.quarters_per_minute)
           : fmt::format(
                 "It is hardly {} than {}: that would take knobs for which there is no time, or more of them than "
                 "it is worth{}.",
                 way, than, hymn.kind == ItemKind::psalm ? " in a psalm" : ""));
}

void tell_stops(Section& s, const HymnPart& p, const Shade& shade) {
  if (!p.stops.any()) return;
  const auto note = [&](const std::string& more) { s.note += (s.note.empty() ? "" : "; ") + more; };
  if (p.fixed != nullptr) return note(fmt::format("\u201c{}\u201d gives way to what you fixed", words(p.stops)));
  StopsAsked had = p.stops;
  const auto take = [&](std::optional<bool>& asked, bool drawn, const char* what) {
    if (!asked || *asked == drawn) return;
    note(*asked ? fmt::format("no {} is to be had here", what) : fmt::format("a {} is heard all the same", what));
    asked.reset();
  };
  take(had.mixture, shade.mixture, "mixture");
  take(had.reed, shade.reed, "reed");
  if (!had.any()) return;
  s.kind = s.kind == word(VerseKind::harmony) ? words(had) : s.kind + ", " + words(had);
}

std::vector<std::string> remarks_of(const Hymn& hymn, const HymnLimits& limits) {
  std::vector<std::string> out;
  if (hymn.kind == ItemKind::piece) {
    out.push_back(
        "Planned without a score: loudness is judged on three chords, and where no rest was given "
        "before a change it is not known whether a hand is free.");
    return out;
  }
  if (hymn.tempo_assumed) {
    out.push_back(
        fmt::format("No tempo was given: {:g} crotchets a minute are assumed, with {:g} beats on a verse's "
                    "last chord and {:g} between verses.",
                    hymn.quarters_per_minute, hymn.last_chord_quarters, hymn.gap_quarters));
  }
  if (hymn.chords.empty()) {
    out.push_back(fmt::format("Without a score, loudness is judged on three chords of {}.",
                              hymn.key.empty() ? "G major (no key was given)" : hymn.key));
  }
  out.push_back(
      fmt::format("{} singers are taken for {:.0f} to {:.0f} phon in the nave (assumed: {:g} dB of sound power "
                  "each, give or take {:g}).",
                  hymn.singers.count, limits.singers.low.value(), limits.singers.high.value(),
                  hymn.singers.each.value(), hymn.singers.band));
  if (limits.fullest < limits.singers.low) out.push_back("This organ at its fullest may stand under so many singers.");
  for (std::size_t v = 0; v < hymn.verses.size(); ++v) {
    for (const LineCue& c : hymn.verses[v].cues) {
      if (c.after_line >= hymn.lines)
        out.push_back(fmt::format("Verse {}: a change was fixed after line {}, and there are {} lines.", v + 1,
                                  c.after_line, hymn.lines));
    }
  }
  if (hymn.bass != Bass::hands && !limits.pedals)
    out.push_back("This organ has no pedals: the bass is for the left hand.");
  if (hymn.bass != Bass::hands && hymn.kind == ItemKind::hymn && limits.pedals && !limits.sixteen)
    out.push_back("The pedals have no 16 ft in use here: the bass of a hymn stands on what the manuals have.");
  return out;
}

}  // namespace calcant
