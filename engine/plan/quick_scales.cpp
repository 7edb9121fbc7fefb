#include "engine/plan/quick_scales.hpp"

#include <utility>

namespace calcant {
namespace {

constexpr Cents width{5};  // loudness moves by under 0.1 % (listening.hpp)

}  // namespace

Result<QuickScales> QuickScales::make(const Listening& listening, std::span<const Chord> chords, const HandsAndFeet& on,
                                      const Registration& forbidden, const Ear& ear) {
  QuickScales q;
  q.listening_ = &listening;
  q.feet_ = on.feet.has_value();
  q.chords_ = chords.size();
  const Organ& organ = listening.organ();
  for (const Chord& c : chords) q.down_.push_back(held(organ, c, on));
  if (q.feet_) {
    for (const Chord& c : chords) q.down_.push_back(held(organ, c, {on.right, on.left, {}}));
    for (const Chord& c : chords) q.down_.push_back(held(organ, c, {{}, {}, on.feet}));
  }
  auto space = Space::make(organ, q.down_, forbidden);
  if (!space) return tl::unexpected<Error>(space.error());
  q.space_ = std::make_unique<Space>(std::move(*space));
  for (std::size_t c = 0; c < q.chords_; ++c) {
    // Everything that could sound together: all couplers and stops, boxes open.
    PipeSet everything;
    everything.ranks.resize(organ.ranks.size());
    for (const Linking& l : q.space_->linkings()) {
      for (const Group& g : l.groups[c]) {
        for (const PipeId p : g.pipes) everything.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
      }
    }
    Registration open;
    open.box.fill(1);
    auto screen = Screen::make(ear, condensed(listening.lines(everything, open), width));
    if (!screen) return tl::unexpected<Error>(screen.error());
    q.screens_.push_back(std::move(*screen));
  }
  return q;
}

QuickScales::Figures QuickScales::mean(const Registration& drawn, std::size_t part) {
  const auto couplers = drawn.couplers.to_ullong();
  auto known = linkings_.find(couplers);
  if (known == linkings_.end()) {
    Registration only;
    only.couplers = drawn.couplers;
    const auto state = space_->state(only);
    known = linkings_.emplace(couplers, state ? std::optional{state->linking} : std::nullopt).first;
  }
  if (!known->second) return {};
  StopMask stops = 0;
  for (std::size_t i = 0; i < space_->stops().size(); ++i) {
    if (drawn.stops.test(static_cast<std::size_t>(space_->stops()[i]))) stops |= StopMask{1} << i;
  }
  Heard& sounds = heard(*known->second, drawn.box);
  stops &= sounds.counts[part];
  const auto [figures, fresh] = sounds.known[part].try_emplace(stops);
  if (fresh) figures->second = weighed(sounds, space_->linkings()[*known->second], stops, part);
  return figures->second;
}

QuickScales::Figures QuickScales::weighed(const Heard& heard, const Linking& linking, StopMask stops,
                                          std::size_t part) const {
  double phons = 0;
  double acums = 0;
  int counted = 0;
  for (std::size_t c = 0; c < chords_; ++c) {
    const std::size_t k = part * chords_ + c;
    Pattern whole;
    bool any = false;
    for (std::size_t g = 0; g < linking.groups[k].size(); ++g) {
      if ((linking.groups[k][g].stops & stops) == 0) continue;
      whole += heard.patterns[k][g];
      any = true;
    }
    if (!any) continue;
    const Screened s = screens_[c].screen(whole);
    phons += static_cast<double>(s.phons);
    acums += static_cast<double>(s.acums);
    ++counted;
  }
  if (counted == 0) return {};
  return {Phons{phons / counted}, Acums{acums / counted}};
}

QuickScales::Heard& QuickScales::heard(std::size_t linking, const BoxPositions& boxes) {
  const Linking& l = space_->linkings()[linking];
  // A box none of whose pipes can be reached makes no difference: such states share their patterns.
  Key key{linking, {}};
  for (const auto& on_chord : l.groups) {
    for (const Group& g : on_chord) {
      if (g.box) key.second[static_cast<std::size_t>(*g.box)] = boxes[static_cast<std::size_t>(*g.box)];
    }
  }
  const auto found = heard_.find(key);
  if (found != heard_.end()) return found->second;
  Heard out;
  out.patterns.resize(down_.size());
  Registration box;
  box.box = boxes;
  for (std::size_t k = 0; k < down_.size(); ++k) {
    for (const Group& g : l.groups[k]) {
      out.patterns[k].push_back(pattern_of(g, k % chords_, box));
      out.counts[k / chords_] |= g.stops;
    }
  }
  return heard_.emplace(key, std::move(out)).first->second;
}

// The same pipes come together under many couplings and under every position of a box they do not stand in.
const Pattern& QuickScales::pattern_of(const Group& group, std::size_t chord, const Registration& box) {
  const float opening = group.box ? box.box[static_cast<std::size_t>(*group.box)] : -1.0F;
  const auto [known, fresh] = patterns_.try_emplace({chord, opening, group.pipes});
  if (!fresh) return known->second;
  PipeSet pipes;
  pipes.ranks.resize(listening_->organ().ranks.size());
  for (const PipeId p : group.pipes) pipes.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
  // A group of pipes of one organ never has more lines than the ear takes; silence stands for what would.
  if (const auto heard = screens_[chord].pattern(condensed(listening_->lines(pipes, box), width)))
    known->second = *heard;
  return known->second;
}

}  // namespace calcant
