// The pedal part under two feet: which foot, toe or heel, crossing, changing on a held key.
//
// The whole part is solved at once, exactly, over the cost model of feet_cost.hpp on this console's geometry. What comes
// out is one good way, never "the correct one": other ways nearly as good are told, and a mark fixed by the player is
// kept while the rest is solved again round it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/playing/feet_cost.hpp"
#include "engine/playing/player.hpp"
#include "engine/score/score.hpp"

namespace calcant {

[[nodiscard]] std::string_view word(Foot f);      // "left"
[[nodiscard]] std::string_view word(FootPart p);  // "toe"

enum class Crossing { none, in_front, behind };
[[nodiscard]] std::string_view word(Crossing c);  // "in front"

struct FootUse {
  Foot foot = Foot::left;
  FootPart part = FootPart::toe;
  friend bool operator==(const FootUse&, const FootUse&) = default;
};

// How one written note of the pedal part is taken.
struct FootMark {
  NoteId note = 0;
  Moment moment;   // first time through
  Rational onset;  // quarters from the start of the written score, repeats not unfolded
  Note key;        // as written
  FootUse use;
  bool held = false;                   // tied over from before: held, not struck
  std::optional<FootUse> becomes;      // changed to while this note is held
  Crossing crossing = Crossing::none;  // of this foot against the other
  bool slide = false;                  // the foot slides here from the key before
  bool lets_go = false;                // to take it the foot lets another key go before its time
  bool booked = false;                 // the foot is wanted elsewhere, and nothing better was found
  bool obvious = true;                 // what a player would take at sight: not worth printing
  bool fixed = false;                  // by the player
  std::string why;                     // where not obvious: "crossing behind", "change of feet"
  struct Other {
    FootUse use;
    double dearer = 0;  // by how much the whole part would cost more, in awkwardnesses
  };
  std::vector<Other> others;  // ways nearly as good, cheapest first
};

// A mark that the player wants; what is not said is left to the search.
struct FixedFoot {
  NoteId note = 0;
  std::optional<Foot> foot;
  std::optional<FootPart> part;
};
// A foot that is wanted elsewhere (swell pedal, composition pedal), in performed quarters.
struct BusyFoot {
  Foot foot = Foot::right;
  Rational from;
  Rational to;
};

struct FeetWishes {
  std::optional<FeetStyle> style;  // else the player's own
  double margin = 0.75;            // ways dearer by no more than this are told
  std::vector<FixedFoot> fixed;
  std::vector<BusyFoot> busy;
};

struct Pedalling {
  FeetStyle style = FeetStyle::legato;
  std::vector<FootMark> marks;       // by onset, key
  std::vector<NoteId> left_out;      // simplified style: notes not played
  std::vector<std::string> remarks;  // sentences: what could not be done as written, what was assumed
  double cost = 0;
};

// Fails when there is nothing for the feet, or a fixed mark names a note that is not theirs.
[[nodiscard]] Result<Pedalling> solve_feet(const Score& score, const Organ& organ, const Player& player,
                                           const Tempo& tempo, const FeetWishes& wishes = {});

// Heel and toe marks that stand in the file, as wishes.
[[nodiscard]] std::vector<FixedFoot> marks_in(const Score& score);

// One press of the feet in written time, with the written notes it is made of.
struct PedalPress {
  PedalNote note;
  std::vector<NoteId> notes;                             // first struck, the rest tied to it
  std::vector<std::pair<Rational, Rational>> performed;  // every time it is played
};
// The pedal part: what presses() gives the feet (a hymn's bass, too, as Score::bass says), each written note once, by
// written start and key.
[[nodiscard]] std::vector<PedalPress> pedal_part(const Score& score, const Tempo& tempo);

}  // namespace calcant
