// How written notes become keys going down and up.
//
// An organ's key makes no note louder: all articulation is in when a key is let go. What is said here is common practice,
// no source: in a hymn the tune's repeated notes are struck again, so that people hear when to sing; inner parts tie
// theirs within a line, so that the harmony holds; the bass strikes again on strong beats; at the end of a line all lift
// for breath. Every lift comes out of the note before, so the next one is in time, and is never shorter than this organ's
// action needs to let a pipe go and speak again.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/score/score.hpp"

namespace calcant {

struct Pedalling;
struct PedalPress;

// What is done with a note that comes again at once on the same key.
enum class Repeat { strike, tie, by_beat };     // by_beat: struck on strong beats, tied on others
[[nodiscard]] std::string_view word(Repeat r);  // "repeat", "tie", "beat"

struct Touch {
  Repeat tune = Repeat::strike;
  Repeat inner = Repeat::tie;
  Repeat bass = Repeat::by_beat;
  double lift_quarters = 0.25;  // at the end of a line, 0 to 2; at most half of the note

  friend bool operator==(const Touch&, const Touch&) = default;
};
// "tune=repeat, inner=tie, bass=beat, lift=0.25"; what is not named stays as it is in `base`.
[[nodiscard]] Result<Touch> parse_touch(std::string_view text, const Touch& base = {});
[[nodiscard]] std::string words(const Touch& t);  // as parse_touch reads it

// Half of the shortest time from one stroke to the next that the organ's action can follow: a pipe must be off for that
// long to be heard to speak again (an even share of on and off is assumed).
[[nodiscard]] Seconds shortest_lift(const Organ& organ);

// What the feet do to their notes.
struct FeetTouch {
  std::vector<NoteId> let_go_early;  // the same foot must leave for a key it cannot join; rising
  std::vector<NoteId> left_out;      // rising
};
[[nodiscard]] FeetTouch feet_touch(const Pedalling& pedalling, const std::vector<PedalPress>& part);

// One key held down.
struct KeyHeld {
  KeyboardIndex keyboard = 0;
  Note key;
  Rational start;  // performed quarters
  Seconds on;      // from the beginning of the score
  Seconds off;     // > on

  friend bool operator==(const KeyHeld&, const KeyHeld&) = default;
};

// Where a role plays at a performed time; nowhere: not heard.
using KeyboardAt = std::function<std::optional<KeyboardIndex>(Role, Rational performed)>;

// The whole score once through, by `on`, keyboard, key. A key that two voices share is pressed once. Repeats in other
// music than hymns are struck; what comes again faster than the action can repeat is held. Notes marked staccato are
// held for half their length; those the feet must leave give up a quarter, at most 0.15 s.
[[nodiscard]] std::vector<KeyHeld> keys_held(const Score& score, const Tempo& tempo, const Touch& touch,
                                             Seconds shortest, const FeetTouch& feet, const KeyboardAt& keyboard_at);

}  // namespace calcant
