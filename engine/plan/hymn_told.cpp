#include "engine/plan/hymn_told.hpp"

#include <fmt/format.h>

#include <cmath>

namespace calcant {

std::string reason(const Hymn& hymn, const HymnPart& p, const Shade& s, Phons loudness, const SingersLevel& levels) {
  if (p.fixed != nullptr) return "Fixed by you: " + s.what + ".";
  const Verse& verse = hymn.verses[p.verse];
  std::string why = s.what;
  const bool known = meaning(p.wish, hymn.words).has_value();
  const char* what = hymn.kind == ItemKind::piece ? "place" : "verse";
  if (!p.wish.empty() && !known)
    why += fmt::format(" ('{}' is no word this program knows; the {} leans on its place)", p.wish, what);
  else if (p.wish.empty())
    why += fmt::format(" (no word was given for this {}; it leans on its place among the others)", what);
  else why += fmt::format(" for '{}'", p.wish);
  if (verse.correction.value() != 0) {
    why += fmt::format("; {:g} phon {} than it would be, because of what you said after earlier services",
                       std::abs(verse.correction.value()), verse.correction.value() > 0 ? "louder" : "softer");
  }
  const int singers = hymn.singers.count;
  if (verse.kind != VerseKind::solo && hymn.kind != ItemKind::piece) {
    if (loudness >= levels.high) why += fmt::format("; enough for {} singers, whatever they are taken for", singers);
    else if (loudness >= levels.low)
      why += fmt::format("; enough for {} singers if they sing as softly as is assumed at least", singers);
    else why += fmt::format("; this may be under {} singers", singers);
  }
  return why + ".";
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
    if (hymn.verses[v].kind == VerseKind::solo && !limits.solos) {
      out.push_back(
          fmt::format("Verse {} asks for the tune on a solo stop; this organ has no second manual for the "
                      "harmony, so it is planned like the others.",
                      v + 1));
    }
    for (const LineCue& c : hymn.verses[v].cues) {
      if (c.after_line >= hymn.lines)
        out.push_back(fmt::format("Verse {}: a change was fixed after line {}, and there are {} lines.", v + 1,
                                  c.after_line, hymn.lines));
    }
  }
  if (hymn.bass != Bass::hands && !limits.pedals)
    out.push_back("This organ has no pedals: the bass is for the left hand.");
  return out;
}

}  // namespace calcant
