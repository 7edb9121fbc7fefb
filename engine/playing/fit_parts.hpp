// The questions fit() asks: fit_feet, fit_hands, fit_keys, fit_leaps, fit_manuals, fit_pipes. Internal to the part.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/playing/fit.hpp"
#include "engine/playing/manuals.hpp"

namespace calcant::fitting {

struct Asked {
  const Score& score;
  const Organ& organ;
  const Player& player;
  const Tempo& tempo;
  const FitWishes& wishes;
  const OnKeyboards& keyboards;
  std::vector<Press> presses;
};
[[nodiscard]] Moment first_moment(const Score& s, NoteId n);
[[nodiscard]] const Keyboard& board(const Asked& a, KeyboardIndex k);
// "great and swell" as people say it: the console's manuals.
[[nodiscard]] std::string manual_names(const Organ& o);
[[nodiscard]] std::string stave_name(const Asked& a, int stave);  // "Pedal", or "stave 3" without a name
[[nodiscard]] Rational onset_of(const Score& s, NoteId n);

// The keys down at one moment.
struct Held {
  NoteSet left;
  NoteSet right;
  NoteSet either;
  NoteSet feet;
  NoteSet struck;  // of the hands' keys, those that go down just then
  std::map<KeyboardIndex, NoteSet> by_keyboard;
};
[[nodiscard]] Held held_at(const Asked& a, const std::vector<Press>& sounding, Rational t);
// Whether two hands of this player can hold them, whoever they are written for.
[[nodiscard]] bool hands_hold(const Player& player, const Held& h);

// How much two hands are in one another's way on one manual.
struct InTheWay {
  int places = 0;                  // where both hands hold keys of one manual and one of them begins
  int crossed = 0;                 // ... the right hand below the left
  std::vector<std::size_t> again;  // presses that strike a key the other hand holds
  std::optional<NoteId> first;     // of either kind
  [[nodiscard]] int troubles() const { return crossed + static_cast<int>(again.size()); }
};
// `down`: semitones the left hand is moved, to see whether that would help.
[[nodiscard]] InTheWay in_the_way(const Asked& a, int down = 0);
// So much that the music is for two manuals: at one place in twelve and eight times at least (assumed; trio movements
// stand far above it, pieces for one manual far below).
[[nodiscard]] bool wants_two_manuals(const InTheWay& w);

void keys(const Asked& a, std::vector<FitFinding>& out);            // outside the keyboards, no pedals
void manuals_wanted(const Asked& a, std::vector<FitFinding>& out);  // missing manuals, two hands on one
void pipes(const Asked& a, std::vector<FitFinding>& out);           // dead, out of use, couplers, short stops
void stretches(const Asked& a, std::vector<FitFinding>& out);       // spans, a third hand
void leaps(const Asked& a, std::vector<FitFinding>& out);           // of one hand, too far for their time
void feet(const Asked& a, std::vector<FitFinding>& out);            // double pedal, swell pedal

// What is said of several places in the same words becomes one finding, with the other places in also_at; `findings` by
// moment. Remedies that are not for all of them say for which they are.
void gather(const Score& s, std::vector<FitFinding>& findings);

}  // namespace calcant::fitting
