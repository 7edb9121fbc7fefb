#include "engine/plan/voices.hpp"

#include <cmath>

namespace calcant {
namespace {

constexpr double cell_phon = 0.75;
constexpr double cell_acum = 0.12;
constexpr double wider = 1.3;  // cells are made so much wider until few enough are left
constexpr std::size_t kept_in_cell = 2;

}  // namespace

std::pair<int, int> cell_of(const QuickScales::Figures& heard, double width) {
  const auto cell = [](double v, double w) { return static_cast<int>(std::floor(v / w)); };
  return {cell(heard.loudness.value(), width), cell(heard.brightness.value(), width * cell_acum / cell_phon)};
}

Voices::Voices(const Organ& organ, Scales& scales, const std::vector<Knob>& never, std::optional<KeyboardIndex> pedals,
               const Registration& forbidden)
    : organ_(organ), scales_(scales), never_(never), pedals_(pedals), forbidden_(forbidden) {}

QuickScales* Voices::heard(const HandsAndFeet& on) {
  for (auto& [where, scales] : quick_) {
    if (where == on) return scales.get();
  }
  auto made = QuickScales::make(scales_.listening(), scales_.chords(), on, forbidden_, scales_.ear());
  quick_.emplace_back(on, made ? std::make_unique<QuickScales>(std::move(*made)) : nullptr);
  return quick_.back().second.get();
}

const std::vector<Voicing>& Voices::of(KeyboardIndex manual, std::size_t most) {
  const auto key = std::pair{manual, most};
  const auto known = voices_.find(key);
  if (known != voices_.end()) return known->second;
  const DivisionIndex division = organ_.keyboards[static_cast<std::size_t>(manual)].division;
  auto all = voicings(organ_, division, never_);
  QuickScales* q = heard({manual, manual, pedals_});
  if (q != nullptr && all.size() > most) {
    struct Tried : Voicing {
      QuickScales::Figures figures;
      bool crown = false;
    };
    std::vector<Tried> left;
    for (Voicing& v : all) {
      Registration r;
      r.box.fill(1.0F);
      for (const StopIndex s : v.stops) r.stops.set(static_cast<std::size_t>(s));
      left.push_back({std::move(v), q->hands(r), crowned(organ_, r)});
    }
    for (double width = cell_phon / 2; left.size() > most; width *= wider)
      thin(left, kept_in_cell, [&](const Tried& h) { return std::pair(cell_of(h.figures, width), h.crown); });
    all.assign(left.begin(), left.end());
  }
  return voices_.emplace(key, std::move(all)).first->second;
}

}  // namespace calcant
