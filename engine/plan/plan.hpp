// A registration plan: what is drawn at the start, what is moved at which moment and by whom, and why.
//
// A Plan is one Sunday or one piece: items in the order they are played, each cut into sections (a play-over, a verse, a
// stretch of bars) that have one registration throughout, and cues that lead from each section to the next. The initial
// state and the cues in their order say everything; the state of every section stands beside them so that it can be
// printed, and check() (check.hpp) makes sure that the two agree.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/knob.hpp"
#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/units.hpp"
#include "engine/registration/rules.hpp"
#include "engine/score/score.hpp"

namespace calcant {

struct BoxSetting {
  BoxIndex box = 0;
  float opening = 1;  // 0 shut, 1 open
  friend bool operator==(const BoxSetting&, const BoxSetting&) = default;
};

// Who carries a cue out.
enum class Mover { nobody, left_hand, right_hand, both_hands, foot, helper };
[[nodiscard]] std::string_view word(Mover m);  // "left hand"

// The time in which a cue can be carried out, and how long it takes this player.
struct ChangeWindow {
  Moment from;
  Moment to;
  Seconds needed;
  Seconds available;
};

// Which keyboard each hand and the feet are on; a hand or the feet that have nothing to play are nowhere.
struct HandsAndFeet {
  std::optional<KeyboardIndex> right;
  std::optional<KeyboardIndex> left;
  std::optional<KeyboardIndex> feet;
  // Where notes of this role are played; nowhere where nobody plays them.
  [[nodiscard]] std::optional<KeyboardIndex> of(Role role) const {
    switch (role) {
      case Role::right_hand:
      case Role::either_hand: return right;
      case Role::left_hand: return left;
      case Role::feet: return feet;
      case Role::not_played: break;
    }
    return std::nullopt;
  }
  friend bool operator==(const HandsAndFeet&, const HandsAndFeet&) = default;
};

struct Cue {
  int item = 0;     // index into Plan::items
  int section = 0;  // the section it leads to, index into that item's sections
  Moment moment;    // when to begin moving
  std::vector<Knob> draw;
  std::vector<Knob> put_in;
  std::vector<BoxSetting> boxes;
  std::optional<HandsAndFeet> go_to;   // change of keyboards that goes with it
  Mover mover = Mover::nobody;         // of the knobs; a box moves by the foot besides
  std::optional<int> pressed{};        // the composition pedal that moves the knobs, into Organ::accessories
  std::optional<ChangeWindow> window;  // none: before the item begins
  std::string why;
  bool fixed = false;    // by the user
  bool gradual = false;  // over a hairpin: its boxes move from the moment on until the section begins
};

// What a word of the printed copy asks for at the beginning of a section, and what became of it.
struct CopyHeed {
  std::string text;    // as printed: "Gt. to Ped. off"
  std::string wanted;  // "Great to Pedal put in"
  bool followed = false;
  std::string instead{};  // where not: why, and another way; whole sentences
  bool in_part = false;   // not all of it, and some
};

// A stretch of one item with one registration.
struct Section {
  std::string label;  // "Play-over", "Verse 2", "Bars 9 to 16"
  std::string kind;   // "harmony", "unison", "no pedal"; empty for a piece
  std::string wish;   // the word it was planned for: "soft", "praise", "mf"; empty where none was given or understood
  Moment from;
  Registration drawn;
  HandsAndFeet keyboards;
  std::optional<Phons> loudness;        // of the hands and feet together, in the nave, mean over the item's chords
  std::optional<Phons> pedal_loudness;  // of the feet alone
  bool fixed = false;                   // by the user
  std::vector<std::string> why;         // whole sentences
  std::vector<Advice> advice;           // rules of practice that have something to say
  std::vector<CopyHeed> copy{};         // a piece's, in the order they are printed
  std::string note{};  // what was said of it and is not followed: "“no reed” is not followed"; empty: nothing
};

enum class ItemKind { hymn, psalm, piece };
[[nodiscard]] std::string_view word(ItemKind k);

// How an item's registrations were found: the cheapest of all ways through its sections, over `choices` registrations
// each, in the currency of docs/design/plan.md.
struct SearchNote {
  std::size_t choices = 0;
  double cost = 0;
};

struct Item {
  ItemKind kind = ItemKind::hymn;
  std::string number;                  // "247"; empty where none
  std::string title;                   // tune or title
  std::string subtitle;                // "G major, 8.6.8.6, 4 verses"
  std::vector<std::string> play_over;  // what is played before: "first line and last line, as verse 1"
  std::vector<std::string> notes;      // for the console, short: "give the note: G", "to cut: from bar 16 to bar 33"
  std::vector<Section> sections;       // never empty
  std::vector<std::string> remarks;    // what was assumed or could not be had, whole sentences
  SearchNote search;
};

struct Plan {
  Registration initial;
  HandsAndFeet initial_keyboards;
  std::vector<Item> items;
  std::vector<Cue> cues;  // in order of items and sections; a section without a cue goes on as it is
  std::vector<std::string> remarks;

  // The state that holds when the section begins, by replaying the cues.
  [[nodiscard]] Registration state(int item, int section) const;
};

// The registration after a cue.
[[nodiscard]] Registration after(const Registration& before, const Cue& cue);

}  // namespace calcant
