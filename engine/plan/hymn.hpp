// A hymn planned verse by verse, with or without its score.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/plan/palette.hpp"
#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/plan/singers.hpp"
#include "engine/playing/player.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant {

enum class VerseKind { harmony, unison, descant, solo, no_pedal, unaccompanied };
[[nodiscard]] std::string_view word(VerseKind k);  // "no pedal"

struct Verse {
  VerseKind kind = VerseKind::harmony;
  std::string wish;     // "soft", "praise", or any word of the user's own: empty where none was given
  std::string label{};  // "Gloria"; empty: "Verse" and its number
};
// "soft", "no pedal", "unison praise": a kind and a wish in any order. A word that is neither stays as the wish; the
// plan then leans on the verse's place and says that it does not know the word.
[[nodiscard]] Verse parse_verse(std::string_view text);
// How far up this organ's range for hymns a wish leads, 0 to 1; nothing for an unknown word.
[[nodiscard]] std::optional<double> share_of(std::string_view wish);
[[nodiscard]] const std::vector<std::string>& known_wishes();

enum class PlayOver { first_line, last_line, first_and_last, whole, none };
[[nodiscard]] std::string_view word(PlayOver p);

struct Hymn {
  ItemKind kind = ItemKind::hymn;  // or a psalm: softer, a breath for a gap, and every change counts more
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
  double quarters_per_minute = 80;
  bool tempo_assumed = true;
  double last_chord_quarters = 2;  // of a verse
  double gap_quarters = 2;         // between verses, steady
  Singers singers;
  std::vector<Chord> chords;  // of the score; empty: hymn_chords() of its key
  Moment last_chord;          // of the score: bar and place of a verse's last chord; verse is filled in
};

// Adds the hymn to the plan as its next item; the plan's initial state too where it is the first. The error names what
// this organ cannot do at all (no manual stop that plays).
[[nodiscard]] Result<void> plan_hymn(Plan& plan, const Organ& organ, const Listening& listening, const Hymn& hymn,
                                     const Player& player, const PaletteWish& wish, const Work& work);

}  // namespace calcant
