// A verse as the organist thinks of it: a kind, and a word or two on how it wants to sound.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/plan/given.hpp"

namespace calcant {

enum class VerseKind { harmony, unison, descant, solo, no_pedal, unaccompanied };
[[nodiscard]] std::string_view word(VerseKind k);  // "no pedal"

// A word for how it wants to sound. share: how far up this organ's range, 0 to 1; colour: -1 darker, +1 brighter than
// usual for the level; a word may say only one of them.
struct WishWord {
  std::string word;
  std::optional<double> share;
  double colour = 0;
};
using Wordbook = std::vector<WishWord>;
// "soft", "awe", "praise", "full"; dynamics "pp" to "ff". Ours; a player's wishes stand before them and overrule.
[[nodiscard]] const Wordbook& usual_words();

// What the words of a wish mean together: the mean of their shares, the sum of their colours (within -1 to +1). Nothing
// where none of them is known.
struct Meaning {
  std::optional<double> share;
  double colour = 0;
};
[[nodiscard]] std::optional<Meaning> meaning(std::string_view wish, const Wordbook& own);

// Where a verse of a piece from paper stands in the copy; what is not said is 0 or empty.
struct CopyPlace {
  int page = 0;
  int system = 0;   // of the page, from the top
  std::string bar;  // as numbered in the copy, or of the system
};

struct Verse {
  VerseKind kind = VerseKind::harmony;
  std::string wish;      // "soft", "praise", or any word of the user's own: empty where none was given
  std::string label{};   // "Gloria"; empty: "Verse" and its number
  std::string second{};  // of a psalm's verse: the word for its second half; empty: as the first
  std::optional<FixedState> fixed{};
  std::optional<GivenChange> change{};  // instead of a registration of its own: that of the verse before, changed so
  std::vector<LineCue> cues{};
  Phons correction{};  // from what was said after earlier services
  // Of a piece from paper: how long the hands are free before it, where the copy shows a rest; and where it stands.
  std::optional<Seconds> before{};
  std::optional<CopyPlace> place{};
};
// "soft", "no pedal", "unison praise", "gentle | full" for the halves of a psalm's verse: a kind and words in any order.
// Words in neither book stay as the wish; the plan then leans on the verse's place and says that it does not know them.
[[nodiscard]] Verse parse_verse(std::string_view text, const Wordbook& own = {});

}  // namespace calcant
