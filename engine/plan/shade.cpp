// States nobody gathered: how they are weighed and described like those of the vocabulary.
#include <fmt/format.h>

#include <algorithm>

#include "engine/organ/sounding.hpp"
#include "engine/plan/lower_hand.hpp"
#include "engine/plan/moves.hpp"
#include "engine/plan/pedal_fit.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {
namespace {

constexpr std::size_t pedals_under_fixed = 6;

std::string names(const Organ& organ, const std::vector<Knob>& knobs) {
  std::string out;
  for (const Knob k : knobs) out += (out.empty() ? "" : ", ") + full_name(organ, k);
  return out;
}

}  // namespace

HandsAndFeet usual_hands(const Organ& organ, const Registration& drawn, bool feet) {
  HandsAndFeet on{leading_manual(organ), leading_manual(organ), std::nullopt};
  const auto pedals = pedalboard(organ);
  if (!feet || !pedals) return on;
  KeysDown down;
  down.keys[static_cast<std::size_t>(*pedals)] = organ.keyboards[static_cast<std::size_t>(*pedals)].keys;
  Sounding sounding(organ);
  PipeSet pipes;
  sounding.pipes(drawn, down, pipes);
  if (pipes.size() > 0) on.feet = pedals;
  return on;
}

Shade shade_of(const Organ& organ, Scales& scales, const Registration& drawn, const HandsAndFeet& on) {
  Shade s;
  s.drawn = drawn;
  for (std::size_t b = organ.boxes.size(); b < max_boxes; ++b) s.drawn.box[b] = 1;  // of boxes there are none of
  s.on = on;
  s.loudness = scales.all(drawn, on);
  s.hands = on.feet ? scales.hands(drawn, on) : s.loudness;
  s.pedal = on.feet ? scales.feet(drawn, on) : Phons{0};
  s.what = names(organ, knobs(organ, drawn));
  return s;
}

std::vector<Shade> fixed_shades(const Organ& organ, Scales& scales, const VocabularyWish& wish, const FixedState& fixed,
                                bool feet) {
  const HandsAndFeet said = fixed.on.value_or(usual_hands(organ, fixed.drawn, feet));
  const auto pedals = pedalboard(organ);
  std::vector<Shade> out;
  if (fixed.pedal_open && feet && pedals) {
    HandsAndFeet on = said;
    on.feet = pedals;
    const bool left = left_is_lower(scales.chords());
    const PedalFit fit(organ, *pedals, wish.never, Placing::together, left);
    const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(*pedals)].division;
    const Phons carried = scales.hands(fixed.drawn, on.right == on.left ? on
                                                    : left              ? HandsAndFeet{{}, on.left, {}}
                                                                        : HandsAndFeet{on.right, {}, {}});
    const auto coupler = fit.follows(on);
    for (const Voicing& v : pedal_voicings(organ, home, wish.never)) {
      Registration own;
      own.box = fixed.drawn.box;
      Registration sixteen = own;
      for (const StopIndex s : v.stops) {
        own.stops.set(static_cast<std::size_t>(s));
        if (chorus_part(organ.stops[static_cast<std::size_t>(s)]) == ChorusPart::sixteen)
          sixteen.stops.set(static_cast<std::size_t>(s));
      }
      for (const bool coupled : {true, false}) {
        if (coupled && !coupler) continue;
        Registration r = fixed.drawn;
        r.stops |= own.stops;
        if (coupled) r.couplers.set(static_cast<std::size_t>(*coupler));
        const PedalLevels levels{carried, scales.feet(r, on), scales.feet(own, on), scales.feet(sixteen, on)};
        if (levels.feet <= Phons{0}) continue;
        Shade s = shade_of(organ, scales, r, on);
        s.against = v.against + fit.against(r, on, levels);
        s.what = fmt::format("{}; under it, as nothing is said of the pedal, {}",
                             names(organ, knobs(organ, fixed.drawn)), names(organ, newly_drawn(organ, fixed.drawn, r)));
        out.push_back(std::move(s));
      }
    }
    std::stable_sort(out.begin(), out.end(), [](const Shade& a, const Shade& b) { return a.against < b.against; });
    if (out.size() > pedals_under_fixed) out.resize(pedals_under_fixed);
  }
  if (out.empty()) out.push_back(shade_of(organ, scales, fixed.drawn, said));
  return out;
}

std::string described(const Organ& organ, const Registration& r, const HandsAndFeet& on) {
  const auto home = [&](KeyboardIndex k) { return organ.keyboards[static_cast<std::size_t>(k)].division; };
  const auto box_of = [&](KeyboardIndex k) { return organ.divisions[static_cast<std::size_t>(home(k))].box; };
  const auto drawn = [&](KeyboardIndex k) {
    std::vector<StopIndex> stops;
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      if (r.stops[s] && organ.stops[s].division == home(k)) stops.push_back(static_cast<StopIndex>(s));
    }
    return fmt::format("{} {}", organ.keyboards[static_cast<std::size_t>(k)].name,
                       stops.empty() ? "alone" : voicing_words(organ, stops));
  };
  if (!on.right) return {};
  std::string what = drawn(*on.right);
  std::optional<BoxIndex> box = box_of(*on.right);
  if (on.left && on.left != on.right) {
    what += " against " + drawn(*on.left);
    if (!box) box = box_of(*on.left);
  }
  for (std::size_t i = 0; i < organ.keyboards.size(); ++i) {
    const auto k = static_cast<KeyboardIndex>(i);
    const auto coupler =
        k == *on.right || organ.keyboards[i].pedal ? std::nullopt : unison_coupler(organ, *on.right, home(k), {});
    if (!coupler || !r.couplers[static_cast<std::size_t>(*coupler)]) continue;
    what += fmt::format(" with {} coupled", drawn(k));
    if (!box) box = box_of(k);
  }
  return box ? what + ", " + box_words(box, r.box[static_cast<std::size_t>(*box)]) : what;
}

}  // namespace calcant
