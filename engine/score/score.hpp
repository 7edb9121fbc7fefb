// Music as notes on keyboards in time.
//
// A Score keeps two times and links them: written time (a bar and quarters from its start, as printed) and performed
// time (repeats unfolded). Seconds exist only where a tempo is known. Every written note keeps an id from the file to
// the marked copy to the screen.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/rational.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

struct Score;

using NoteId = std::uint32_t;  // index into Score::notes; "n17" in files

// Where in the music, as people and files say it. bar: the printed label ("12a"); bar_index: 0 for the first bar;
// at: quarters from the bar's start; pass: 1 for the first time through that bar; verse: of a hymn, 1 up, 0 where there
// are none; line: of a hymn, 1 up, 0 where not known.
struct Moment {
  std::string bar;
  int bar_index = 0;
  Rational at;
  int pass = 1;
  int verse = 0;
  int line = 0;

  friend bool operator==(const Moment&, const Moment&) = default;
};
// "bar 12a, beat 2 1/3", "v3, line 2": for people.
[[nodiscard]] std::string words(const Moment& m);

// The same with beats counted in the time signature's own beats (dotted or not as it is printed: eighths in 6/8).
[[nodiscard]] std::string words(const Score& s, const Moment& m);
// The beat of a moment, 1 at the barline, in the time signature's own beats; a pick-up bar is counted from its end, so
// that an upbeat to a bar of four is beat 4.
[[nodiscard]] Rational beat(const Score& s, const Moment& m);
// "2", "2 1/3": a beat as musicians read it.
[[nodiscard]] std::string beat_text(Rational beat);

// What a stave is played on; not_played: a singer's or another player's line in the file.
enum class Role { right_hand, left_hand, either_hand, feet, not_played };
[[nodiscard]] std::string_view word(Role r);

// Who takes the bass of a two-stave hymn: the left hand, the feet instead of it, or both.
enum class Bass { hands, feet, both };
[[nodiscard]] std::string_view word(Bass b);
[[nodiscard]] Result<Bass> parse_bass(std::string_view text);  // "feet", "hands", "both"

struct Stave {
  int part = 0;           // which part of the file, 0 up
  int number = 1;         // which stave of that part, 1 up
  std::string name;       // "Organ", "Pedal"
  std::string file_part;  // the part's id in the file ("P1")
  char clef = '?';        // sign of its first clef: G, F, C; ? where there is none
  bool sung = false;      // carries words to sing
  Role role = Role::either_hand;
  std::string role_reason;  // "named Pedal", "lowest of three staves, bass clef", "overruled": shown to the user
};

struct WrittenNote {
  NoteId id = 0;
  int stave = 0;      // index into Score::staves
  std::string voice;  // as the file has it; may be empty
  int bar = 0;        // bar index
  Rational at;        // quarters from the bar's start
  Rational length;    // quarters; 0 for a grace note
  Note note;          // sounding pitch (transposition applied), the key to press
  char step = 'C';    // spelling as written
  int alter = 0;
  bool grace = false;
  int grace_place = 0;    // place in its group of grace notes, 0 up; those of one chord share it
  bool cue = false;       // small notes of another part: never played
  bool tie_from = false;  // tied to an earlier note
  bool tie_to = false;    // tied to a later one
  bool fermata = false;
  bool staccato = false;
  bool syllable = false;  // a syllable to be sung begins on it
  int slur_starts = 0;    // slurs that begin and end here
  int slur_ends = 0;
  // An editor's pedal mark in the file, where there is one.
  enum class Foot { none, left, right } foot = Foot::none;
  enum class Part { none, toe, heel } foot_part = Part::none;
  bool foot_change = false;  // the mark is a change of foot on the held key
  std::string file_id;       // its id attribute in the file; empty where it has none
};

struct Bar {
  std::string label;  // as printed: "12a", "X1"
  Rational length;    // as counted from its content, not from the time signature
  Rational start;     // quarters from the start of the written score
  int beats = 4;      // time signature in force
  int beat_type = 4;
  int fifths = 0;  // key signature in force, sharps positive
  bool pickup = false;
  bool double_bar_after = false;
  bool new_system = false;  // as encoded
  bool new_page = false;
};

// Words, dynamics, wedges and tempo marks, kept with their place. wedge_opens: getting louder; wedge_closes: softer.
// pause: a fermata on a rest or a barline (on notes it is WrittenNote::fermata); line_end: where a line of a hymn or a
// chorale ends (lines.hpp), its text saying how that is known.
struct Direction {
  enum class Kind { words, dynamics, wedge_opens, wedge_closes, wedge_ends, tempo, rehearsal, breath, line_end, pause };
  Kind kind = Kind::words;
  int bar = 0;
  Rational at;
  int stave = -1;                  // index into staves; -1: the whole score
  std::string text;                // "mf", "Sw. Oboe", "A"
  double quarters_per_minute = 0;  // tempo only
};

// The order in which bars are played: repeats, endings, da capo, dal segno and coda unfolded.
struct Turn {
  int bar = 0;     // bar index
  int pass = 1;    // how many times this bar has been begun, this one included
  Rational start;  // performed quarters from the beginning
};

struct Score {
  std::string title;
  std::string composer;
  std::vector<Stave> staves;
  std::vector<Bar> bars;
  // By bar, at, grace notes first in the order they are played, stave, rising note. A note's id is its index.
  std::vector<WrittenNote> notes;
  std::vector<Direction> directions;  // by bar, at
  std::vector<Turn> turns;
  std::vector<std::string> remarks;  // what the reader had to guess or leave out, in sentences
  bool hymn = false;                 // two staves, four parts, strophic: verses are sung to it
  Bass bass = Bass::hands;           // of a hymn; obeyed by presses()
};
// Quarters from the start of the written score.
[[nodiscard]] Rational written(const Score& s, int bar, Rational at);

// A key pressed and let go in performed time: ties joined (across barlines, repeats and staves), two voices on one key
// of one role joined into one press. Grace notes take a short time, an eighth of a quarter each at most, from the note
// they lead to, or from the one before them where none follows.
struct Press {
  int stave = 0;
  Role role = Role::either_hand;
  Note key;
  Rational start;             // performed quarters
  Rational end;               // end > start
  std::vector<NoteId> notes;  // written notes it is made of, in order
};
[[nodiscard]] std::vector<Press> presses(const Score& s);  // by start, stave, key; cue notes left out
// For each written note, whether it is the bass: the lowest part of a hymn's lowest stave; nothing in other music.
[[nodiscard]] std::vector<bool> bass_notes(const Score& s);

// Performed quarters of the end of the music.
[[nodiscard]] Rational performed_length(const Score& s);
// Written place of a performed time, and the reverse (nothing where the bar is not played that often). Times before the
// beginning and after the end are taken as those. The line is counted through repeats.
[[nodiscard]] Moment moment_at(const Score& s, Rational performed);
[[nodiscard]] std::optional<Rational> performed_at(const Score& s, const Moment& m);

// Quarters a minute where neither the score nor the player says: an everyday hymn tempo (common practice, no source); told as
// assumed wherever it is used.
inline constexpr double assumed_tempo = 80;

// Seconds from the beginning at a performed time. `fallback` is used before the first tempo mark. `overrule` replaces
// the tempo of the beginning; later marks keep their proportion to it. Pauses are not lengthened. All in quarters a
// minute, more than 0.
class Tempo {
 public:
  Tempo(const Score& s, double fallback_quarters_per_minute, std::optional<double> overrule = std::nullopt);
  [[nodiscard]] Seconds at(Rational performed) const;
  [[nodiscard]] double quarters_per_minute(Rational performed) const;
  [[nodiscard]] bool assumed() const { return assumed_; }  // no tempo mark at the beginning and none given

 private:
  struct Span {
    Rational from;
    double start_seconds;
    double quarters_per_minute;
  };
  [[nodiscard]] const Span& span_at(Rational performed) const;
  std::vector<Span> spans_;
  bool assumed_ = false;
};

}  // namespace calcant
