// The words of a cue sheet: what is drawn, what changes, by which hand, when.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/plan/plan.hpp"
#include "files/pages/abbreviations.hpp"

namespace calcant {

// Knobs of one division, or the couplers.
struct KnobGroup {
  std::string label;
  std::vector<Knob> knobs;
};
// Left jamb before right, from the bottom upward; where places are not known, as printed.
[[nodiscard]] std::vector<KnobGroup> groups(const Organ& organ, const Registration& r);

[[nodiscard]] std::string name_of(const Organ& organ, Knob k, bool brief);
// With its division where that alone would be another stop too: "Ped Trpt 8".
[[nodiscard]] std::string plain_name(const Organ& organ, Knob k, bool brief);
// "Great composition pedal 2": what moves a cue's knobs, where a foot does; empty where a hand does.
[[nodiscard]] std::string pressed_words(const Organ& organ, const Cue& c);
[[nodiscard]] std::string box_name(const Organ& organ, BoxIndex box);  // "box"; by its name where there are several
[[nodiscard]] std::string box_words(float opening);                    // "a little open"
// "box shut", of a console with several each by its name; of those from which something is drawn.
[[nodiscard]] std::vector<std::string> boxes_words(const Organ& organ, const Registration& r);
// Over a hairpin: "open box gradually", "box gradually to half open".
[[nodiscard]] std::string gradual_words(std::string_view box, float opening);
// "hands on Gt, no pedal"
[[nodiscard]] std::string keyboard_words(const Organ& organ, const HandsAndFeet& on, bool brief);

// The cues that lead to a section, in order.
using Cues = std::vector<const Cue*>;
[[nodiscard]] Cues cues_to(const Plan& plan, std::size_t item, std::size_t section);
[[nodiscard]] bool is_new(const Cues& cues, Knob k);
// Where the hands were before a section.
[[nodiscard]] HandsAndFeet hands_before(const Plan& plan, std::size_t item, std::size_t section);

// "+ Principal 4, Fifteenth 2 (R)", "off: Sw to Gt (L)", "box open", "no pedal", a phrase a hand: `from` is where the hands
// were.
[[nodiscard]] std::vector<std::string> change_words(const Organ& organ, const Cue& c, const HandsAndFeet& from,
                                                    bool brief);
// "at v2's last chord", "from bar 8, beat 3"; empty where the section it leads to, `to`, says it.
[[nodiscard]] std::string when_words(const Item& item, const Section& to, const Cue& c);

}  // namespace calcant
