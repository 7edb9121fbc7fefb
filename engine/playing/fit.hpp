// Does this music fit this organ and this player? What does not, where, and what can be done about it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/playing/player.hpp"
#include "engine/score/score.hpp"

namespace calcant {

enum class FitKind {
  outside_keyboard,  // a note for which the manual has no key
  outside_pedals,    // a note for which the pedalboard has no key
  no_pedals,         // a pedal part and no pedals
  manual_missing,    // a manual is asked for that this console has not
  two_manuals,       // the hands are so much in one another's way that it wants a manual for each
  same_key,          // one hand strikes a key that the other holds
  wide_stretch,      // more than one hand spans
  third_hand,        // more than two hands can hold, or on more than two manuals at once
  coupler_runs_out,  // a coupler asks for notes that have no pipes
  stop_short,        // a drawn stop has no pipe for keys that are played
  dead_note,         // a pipe that does not speak today is wanted
  out_of_use,        // a drawn stop that is out of use
  double_pedal,      // two or more pedals at once
  swell_and_feet,    // the swell pedal is wanted while the right foot is
  leap               // a hand has further to go than it has time for
};
[[nodiscard]] std::string_view word(FitKind k);  // "outside the keyboard"

struct FitFinding {
  FitKind kind = FitKind::outside_keyboard;
  Moment moment;  // where it is met first
  std::optional<Note> note;
  std::optional<NoteId> written;      // the written note, where it is about one
  int times = 1;                      // how often the piece wants it
  bool hinders = true;                // it cannot be played as written; else it is told and that is all
  std::string message;                // a sentence
  std::vector<std::string> remedies;  // sentences, best first
  bool if_drawn = false;              // only where the stop or coupler it names is drawn
  std::vector<Moment> also_at{};      // the other places of which the same is to be said
};

struct FitWishes {
  std::vector<std::optional<KeyboardIndex>> keyboards;  // by stave: played there, whatever the words say
  std::optional<Registration> drawn;  // what is drawn; else every stop and coupler of the keyboards played is looked at
};

// Where a stave is played at the beginning, and why there.
struct StaveKeyboard {
  std::optional<KeyboardIndex> keyboard;  // nothing: not played, or no such keyboard
  std::string reason;
};

struct Fit {
  bool fits = true;                   // nothing hinders
  std::vector<FitFinding> findings;   // by moment
  std::vector<StaveKeyboard> staves;  // by stave
  std::vector<std::string> manuals;   // wanted by name or number, in the copy's order; empty where none is named
  std::vector<std::string> remarks;   // what was taken for granted
};

// `organ`: the organ of the day (dead pipes and stops out of use laid over it).
[[nodiscard]] Fit fit(const Score& score, const Organ& organ, const Player& player, const Tempo& tempo,
                      const FitWishes& wishes = {});

}  // namespace calcant
