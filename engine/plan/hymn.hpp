// What is sung, planned verse by verse with or without its score; and music from paper, planned place by place.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/plan/singers.hpp"
#include "engine/plan/verse.hpp"
#include "engine/plan/vocabulary.hpp"
#include "engine/playing/player.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"
#include "engine/score/score.hpp"

namespace calcant {

enum class PlayOver { first_line, last_line, first_and_last, whole, none };
[[nodiscard]] std::string_view word(PlayOver p);

struct Hymn {
  // A psalm: softer, a breath for a gap, and every change counts more. A piece: its "verses" are places on paper,
  // nobody is led, and a change needs the time the copy leaves (Verse::before), where that is known.
  ItemKind kind = ItemKind::hymn;
  std::string number;
  std::string tune;
  std::string key;  // "G major", as typed; empty where not known
  int tonic = 7;    // 0 C to 11 B
  bool minor = false;
  std::string metre;  // as typed
  int lines = 4;
  std::vector<Verse> verses;  // never empty
  Bass bass = Bass::feet;
  PlayOver play_over = PlayOver::first_and_last;
  std::optional<Verse> over;  // the play-over's own registration: a word or a fixed one; nothing: as verse 1
  double quarters_per_minute = assumed_tempo;
  bool tempo_assumed = true;
  double last_chord_quarters = 2;  // of a verse, and of half a psalm's verse
  double gap_quarters = 2;         // between verses, steady
  double half_gap_quarters = 1;    // between the halves of a psalm's verse
  Singers singers;
  std::vector<Chord> chords;  // of the score; empty: hymn_chords() of its key
  Moment last_chord;          // of the score: bar and place of a verse's last chord; verse is filled in
  bool left_spared = true;    // at the last chord, while the right and the feet hold it: of the score, else taken so
  bool right_spared = true;
  Wordbook words;                  // of the user's own
  std::vector<std::string> notes;  // for the front of the sheet: where to cut, the note to give
};

// The last chord is struck by both hands before one leaves it to the other (assumed, as in engine/playing/windows.hpp).
inline constexpr double stroke_quarters = 0.125;

// How long the hands are free between two stretches of a hymn: one of them from the last chord on, where the other and
// the feet can hold it, the other in the gap alone; whichever way round suits the knobs.
struct HymnGap {
  Seconds left;   // if it is the left hand that goes at the last chord
  Seconds right;  // if it is the right
  Seconds gap;
  Seconds foot;  // for a box; as long as one likes where the feet do not play
};
// Before stretch `section` of an item planned from this hymn (not the first); its sections are as plan_hymn makes them.
[[nodiscard]] HymnGap gap_before(const Hymn& hymn, const Item& item, std::size_t section, bool pedals);

// Adds the hymn to the plan as its next item; the plan's initial state too where it is the first. The error names what
// this organ cannot do at all (no manual stop that plays).
[[nodiscard]] Result<void> plan_hymn(Plan& plan, const Organ& organ, const Listening& listening, const Hymn& hymn,
                                     const Player& player, const VocabularyWish& wish, const Work& work);

}  // namespace calcant
