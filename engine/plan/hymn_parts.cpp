#include "engine/plan/hymn_parts.hpp"

#include <algorithm>

namespace calcant {
namespace {

// Without a word: the first verse firm enough to lead, the middle ones by turns, one softer before the end, the last
// above them all. Leanings, not laws (R37, R39).
double leaning(std::size_t verse, std::size_t verses) {
  if (verses == 1) return 0.65;
  if (verse == 0) return 0.6;
  if (verse + 1 == verses) return 0.95;
  if (verses > 3 && verse + 2 == verses) return 0.4;
  return verse % 2 == 1 ? 0.5 : 0.7;
}
// A chant is recited: its verses hardly differ of themselves.
double psalm_leaning(std::size_t verse, std::size_t verses) { return verse + 1 == verses ? 0.5 : 0.4; }
constexpr double gloria_leaning = 0.75;
constexpr double psalm_share = 0.7;     // a psalm is carried, not led
constexpr double loud_share = 0.7;      // a piece so loud is on a chorus (as piece.cpp)
constexpr double solo_near_enough = 6;  // phon, of a tune alone (ours)

}  // namespace

Aim aim_of(const Hymn& hymn, const HymnPart& p, const HymnRange& range, const HymnPart* before) {
  const Verse& verse = hymn.verses[p.verse];
  const std::size_t n = hymn.verses.size();
  const auto said = meaning(p.wish, hymn.words);
  const bool psalm = hymn.kind == ItemKind::psalm;
  Aim a;
  // Where nothing is said of it the Gloria is sung out, and never softer than what it ends.
  const bool gloria = psalm && !verse.label.empty() && !(said && (said->share || said->step)) && p.half != 2;
  a.share = said && said->share ? *said->share
            : gloria            ? gloria_leaning
            : psalm             ? psalm_leaning(p.verse, n)
                                : leaning(p.verse, n);
  if (psalm) a.share *= psalm_share;
  if (said && said->step) a.share = (before != nullptr && !said->share ? before->aim.share : a.share) + *said->step;
  a.share = std::clamp(a.share, 0.0, 1.0);
  if (said && said->step && !said->share && before != nullptr) a.step = *said->step > 0 ? 1 : -1;
  if (verse.kind == VerseKind::unison && verse.wish.empty()) a.share = std::min(1.0, a.share + 0.1);
  if (verse.kind == VerseKind::descant && verse.wish.empty()) a.share = 0.8;  // full, but under the treble
  if (hymn.kind == ItemKind::piece) {
    if (!said) a.share = 0.5;
    // Finer than where a score's windows decide what can be moved: there is time, so the level asked for is to be had.
    a.near_enough = 1.0;
    a.unit = 1.2;
  }
  a.colour = said ? said->colour : 0;
  a.target = Phons{range.low + a.share * (range.high - range.low)} + verse.correction;
  if (gloria && before != nullptr) {
    a.share = std::max(a.share, before->aim.share);
    a.target = std::max(a.target, before->aim.target);
  }
  a.floor = range.floor;
  a.led = hymn.kind == ItemKind::hymn || (hymn.kind == ItemKind::piece && a.share >= loud_share);
  a.tune_alone = p.apart;
  // What matters of a tune alone is that it stands clear; how loud it is by its verse's place nobody minds.
  if (p.apart && verse.wish.empty()) a.near_enough = std::max(a.near_enough, solo_near_enough);
  return a;
}

bool answers(const Hymn& hymn, const HymnPart& part) {
  return !part.wish.empty() && (part.aim.step != 0 || hymn.kind == ItemKind::psalm);
}

}  // namespace calcant
