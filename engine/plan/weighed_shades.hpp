// States of an organ as they come together for a plan: each once, listened to, under the pedals that carry it best, and with
// all that practice has against it.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "engine/organ/sounding.hpp"
#include "engine/plan/pedal_fit.hpp"
#include "engine/plan/vocabulary.hpp"
#include "engine/plan/voices.hpp"

namespace calcant {

class WeighedShades {
 public:
  // Organ, scales and wish must outlive it. Not thread-safe.
  WeighedShades(const Organ& organ, Scales& scales, const VocabularyWish& wish, Placing placing);

  // Where the feet are; nothing where they do not play or nothing could sound under them.
  [[nodiscard]] std::optional<KeyboardIndex> pedal() const { return pedal_; }
  [[nodiscard]] bool left_is_lower() const { return left_is_lower_; }
  // What practice has against a coupler of the pedals (PedalFit); null without pedals.
  [[nodiscard]] const PedalFit* fit() const { return fit_ ? &*fit_ : nullptr; }
  [[nodiscard]] QuickScales* heard(const HandsAndFeet& on) { return voices_->heard(on); }
  [[nodiscard]] const std::vector<Voicing>& voicings_of(KeyboardIndex manual, std::size_t most) {
    return voices_->of(manual, most);
  }

  // The hands' state under the pedals that carry it best: a few, and the best that leaves the pedals to themselves.
  [[nodiscard]] std::vector<Registration> with_pedals(const Registration& hands, const HandsAndFeet& on, Phons heard);
  // Takes a state in, if it is new and sounds under hands and feet; where it is, until the next is taken in.
  Shade* keep(const Registration& drawn, const HandsAndFeet& on, std::string what, double against);
  [[nodiscard]] bool has(const Registration& drawn, const HandsAndFeet& on) const {
    return seen_.contains(seen_as(drawn, on));
  }
  [[nodiscard]] std::vector<Shade>& shades() { return shades_; }

 private:
  using Seen = std::tuple<std::string, unsigned long long, BoxPositions, std::optional<KeyboardIndex>,
                          std::optional<KeyboardIndex>>;
  [[nodiscard]] static Seen seen_as(const Registration& r, const HandsAndFeet& on) {
    return {r.stops.to_string(), r.couplers.to_ullong(), r.box, on.right, on.left};
  }
  [[nodiscard]] bool pedal_speaks();
  [[nodiscard]] bool sounds_under(const Registration& drawn, KeyboardIndex k);
  [[nodiscard]] Registration forbidden() const;
  [[nodiscard]] PedalLevels pedal_levels(QuickScales& q, const Registration& r, Phons hands);
  [[nodiscard]] double pedal_cost(QuickScales& q, const Registration& r, const HandsAndFeet& on, Phons hands);
  [[nodiscard]] double idle_and_lost(QuickScales& q, const Registration& r, const QuickScales::Figures& hands);
  [[nodiscard]] DivisionIndex home(KeyboardIndex k) const {
    return organ_.keyboards[static_cast<std::size_t>(k)].division;
  }

  const Organ& organ_;
  Sounding sounding_;
  const VocabularyWish& wish_;
  std::optional<KeyboardIndex> lead_;
  std::optional<KeyboardIndex> pedal_;
  bool left_is_lower_;
  std::optional<Voices> voices_;
  std::optional<PedalFit> fit_;  // where there are pedals
  std::vector<Voicing> pedals_;
  decltype(Registration::stops) pedal_stops_;
  decltype(Registration::stops) sixteens_;  // the pedal's own
  std::set<Seen> seen_;
  std::vector<Shade> shades_;
};

}  // namespace calcant
