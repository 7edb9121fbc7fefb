// Which manual each stave is played on: what names and words in the copy ask for, and what this console has.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/score/score.hpp"

namespace calcant {

// "Sw.", "Gt.", "Ch.", "Man. II", "Récit", "Hw.": a word that sends a stave to a manual, or a stave's own name that does
// so from the beginning. Coupler words ("Sw. to Gt.", "Gt. coupled", "+ Sw.") send nobody anywhere.
struct ManualWord {
  int bar = 0;
  Rational at;
  Rational written;                       // quarters from the start of the written score
  int stave = -1;                         // -1: every stave for the hands
  std::string text;                       // as printed
  std::string wanted;                     // "Swell", "manual III"
  std::optional<KeyboardIndex> keyboard;  // of this console; nothing where it has none such
  bool name = false;                      // the stave's name, not a word at a place
};
// By written time, names first. Numbered manuals are taken as I Great, II Swell, III a third (German custom; English
// numbering differs).
[[nodiscard]] std::vector<ManualWord> manual_words(const Score& score, const Organ& organ);

// Whether title or words ask for two manuals without naming them: "a 2 Clav. e Pedale", "for two manuals".
[[nodiscard]] bool asks_for_two_manuals(const Score& score);

// The organ's manuals, in its own order; pedals left out.
[[nodiscard]] std::vector<KeyboardIndex> manuals(const Organ& organ);

// Where each stave is played, from moment to moment.
class OnKeyboards {
 public:
  // `chosen`: by stave, where the player says so; that stave then stays there. Else names and words are followed; before
  // any the hands are on the Great (or the first manual), the feet on the pedals.
  OnKeyboards(const Score& score, const Organ& organ, const std::vector<std::optional<KeyboardIndex>>& chosen = {});

  // Nothing when the console has no such keyboard at all (no pedals).
  [[nodiscard]] std::optional<KeyboardIndex> at(int stave, Role role, Rational written) const;
  // Why a stave begins where it does: "as you said", "named Manual II"; for people.
  [[nodiscard]] std::string reason(int stave) const;
  // Performed spans in which the two hands' staves are on different manuals (Playing::apart).
  [[nodiscard]] std::vector<std::pair<Rational, Rational>> apart(const Score& score) const;

 private:
  struct Put {
    Rational from;
    KeyboardIndex keyboard;
    std::string why;
  };
  std::vector<std::vector<Put>> puts_;  // by stave
  std::optional<KeyboardIndex> manual_;
  std::optional<KeyboardIndex> pedal_;
};

}  // namespace calcant
