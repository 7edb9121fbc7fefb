// How loud and how bright something wants to be, in plain words: one table for a verse, for a place of a piece, and for
// whoever chooses a single registration. What each means stands in docs/reference/verse-words.md.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace calcant {

// share: how far up the range, 0 to 1; colour: -1 darker, +1 brighter than usual for the level; step: so much further up
// than what goes before. A word may say only one of them.
struct WishWord {
  std::string word;  // small letters; of several words with single blanks between: "very soft"
  std::optional<double> share;
  double colour = 0;
  std::optional<double> step{};
};
using Wordbook = std::vector<WishWord>;

// Even steps from the softest to the loudest, which the rest of the table lies between.
struct PlainLevel {
  std::string_view word;
  double share;
};
inline constexpr std::array<PlainLevel, 7> plain_levels{{{"very soft", 0.0},
                                                         {"soft", 0.2},
                                                         {"rather soft", 0.35},
                                                         {"moderate", 0.5},
                                                         {"rather loud", 0.65},
                                                         {"loud", 0.8},
                                                         {"full", 1.0}}};
// "very soft, soft, rather soft, ...".
[[nodiscard]] std::string plain_level_words();

// Those and every other: "gentle", "awe", "praise", dynamics "ppp" to "fff", "darker", "a shade louder". Ours; a user's own
// stand before them and overrule.
[[nodiscard]] const Wordbook& usual_words();

// What the words of a wish mean together: the mean of their shares, the sums of their colours and steps (colour within -1
// to +1). Nothing where none of them is known.
struct Meaning {
  std::optional<double> share;
  double colour = 0;
  std::optional<double> step;
};
[[nodiscard]] std::optional<Meaning> meaning(std::string_view wish, const Wordbook& own);

// A text taken apart: words that are known, as they were typed, and what is not followed. A phrase that is denied ("no
// reed", "not bright") is not followed as a whole, except where the table has it so ("not too loud").
struct WordsRead {
  std::vector<std::string> phrases{};  // of `phrases` given, which were found, in their order
  std::string known;                   // "very soft, dark"
  Meaning meaning;
  std::vector<std::string> unknown;                         // "like thunder"
  std::vector<std::string> denied;                          // "no reed"
  std::vector<std::pair<std::string, std::string>> graded;  // "very", "bright": taken as "bright"
};
// `phrases`: of several words too, that mean something besides (kinds of verses); the longest that fits is taken.
[[nodiscard]] WordsRead read_words(std::string_view text, const Wordbook& own,
                                   const std::vector<std::string_view>& phrases = {});

// The known words nearest to one that is not, for whoever mistyped it; empty where none is near.
[[nodiscard]] std::string nearest_word(std::string_view unknown, const Wordbook& own,
                                       const std::vector<std::string_view>& phrases = {});

}  // namespace calcant
