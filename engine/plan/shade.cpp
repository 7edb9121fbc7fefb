// States nobody gathered: how they are weighed and described like those of the vocabulary.
#include <fmt/format.h>

#include "engine/organ/sounding.hpp"
#include "engine/plan/vocabulary.hpp"

namespace calcant {

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
  s.pedal = on.feet ? scales.feet(drawn, on) : Phons{0};
  for (const Knob k : knobs(organ, drawn)) s.what += (s.what.empty() ? "" : ", ") + full_name(organ, k);
  return s;
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
