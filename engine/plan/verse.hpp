// A verse as the organist thinks of it: a kind, and a word or two on how it wants to sound.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/plan/given.hpp"
#include "engine/plan/plain_words.hpp"

namespace calcant {

enum class VerseKind { harmony, unison, descant, solo, no_pedal, unaccompanied };
[[nodiscard]] std::string_view word(VerseKind k);  // "no pedal"

// Where a verse of a piece from paper stands in the copy; what is not said is 0 or empty.
struct CopyPlace {
  int page = 0;
  int system = 0;   // of the page, from the top
  std::string bar;  // as numbered in the copy, or of the system
};

// Of what kind of stops a verse is asked to be heard with (true) or without (false).
struct StopsAsked {
  std::optional<bool> mixture{};
  std::optional<bool> reed{};
  [[nodiscard]] bool any() const { return mixture || reed; }
};
[[nodiscard]] std::string words(const StopsAsked& asked);  // "no mixture, with reed"

struct Verse {
  VerseKind kind = VerseKind::harmony;
  std::string wish;  // what is understood of its words: "soft", "praise"; empty where nothing is, or none was given
  StopsAsked stops{};
  std::string label{};   // "Gloria"; empty: "Verse" and its number
  std::string second{};  // of a psalm's verse: the word for its second half; empty: as the first
  // What was said of it (and of its second half) and is not followed, for the sheet: "“no reed” is not followed". Empty:
  // nothing.
  std::string note{};
  std::string second_note{};
  std::optional<FixedState> fixed{};
  std::optional<GivenChange> change{};  // instead of a registration of its own: that of the verse before, changed so
  std::vector<LineCue> cues{};
  Phons correction{};  // from what was said after earlier services
  // Of a piece from paper: how long the hands are free before it, where the copy shows a rest; and where it stands.
  std::optional<Seconds> before{};
  std::optional<CopyPlace> place{};
};
// "soft", "no pedal", "unison praise", "gentle | full" for the halves of a psalm's verse: kinds and words in any order. Words
// in neither book, words denied ("no reed") and a second kind stand in the note.
[[nodiscard]] Verse parse_verse(std::string_view text, const Wordbook& own = {});
// Lays what was said on a verse: its kind, its words and its notes; what is fixed of it stays.
void lay_words(Verse& verse, const Verse& said);
// Of half a psalm's verse. What is said of the first leaves the second what was said of the whole.
enum class Half { first, second };
void lay_words(Verse& verse, const Verse& said, Half half);

}  // namespace calcant
