#include "engine/registration/practice.hpp"

#include <algorithm>

namespace calcant {
namespace {

constexpr std::array<int, 5> pitch_at{-12, 0, 12, 19, 24};  // semitones over the key: 16, 8, 4, 2 2/3 and 2 ft
constexpr std::size_t sixteen = 0;
constexpr std::size_t eight = 1;
constexpr std::size_t four = 2;
constexpr std::size_t twelfth = 3;
constexpr std::size_t two = 4;

// The couplers through which a stop is heard.
enum class Path { any, unison, own };

bool has(StopMask drawn, StopMask of) { return (drawn & of) != 0; }

// Stops of each division from 4 ft upwards, with those it has on the next lower step; mixtures stand on top.
std::vector<std::pair<StopMask, StopMask>> ladders(const Space& space) {
  const Organ& organ = space.organ();
  std::vector<std::pair<StopMask, StopMask>> out;
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    std::array<StopMask, 4> steps{};  // 8, 4, 2 ft, mixtures
    for (std::size_t i = 0; i < space.stops().size(); ++i) {
      const Stop& s = organ.stops[static_cast<std::size_t>(space.stops()[i])];
      if (s.division != static_cast<DivisionIndex>(d) || s.celeste) continue;
      const int semitones = s.feet.size() == 1 ? s.feet.front().semitones() : -1;
      const int step = s.mixture_ranks != 0 ? 3 : semitones < 0 || semitones % 12 != 0 ? -1 : semitones / 12;
      if (step >= 0 && step < 4) steps[static_cast<std::size_t>(step)] |= StopMask{1} << i;
    }
    StopMask below = 0;
    for (const StopMask step : steps) {
      if (step != 0 && below != 0) out.emplace_back(step, below);
      if (step != 0) below = step;
    }
  }
  return out;
}

}  // namespace

Practice::Practice(const Space& space, KeyboardIndex on, int played) : ladders_(ladders(space)), played_(played) {
  const Organ& organ = space.organ();
  const auto stop_of = [&](std::size_t i) -> const Stop& {
    return organ.stops[static_cast<std::size_t>(space.stops()[i])];
  };
  for (std::size_t i = 0; i < space.stops().size(); ++i) {
    const Stop& s = stop_of(i);
    const StopMask bit = StopMask{1} << i;
    if (s.celeste) {
      celestes_ |= bit;
      StopMask with = 0;
      const auto& partner = organ.ranks[static_cast<std::size_t>(s.parts.front().rank)].partner;
      for (std::size_t o = 0; partner && o < space.stops().size(); ++o) {
        for (const StopPart& p : stop_of(o).parts) {
          if (o != i && organ.ranks[static_cast<std::size_t>(p.rank)].id == *partner) with |= StopMask{1} << o;
        }
      }
      if (with != 0) partners_.emplace_back(bit, with);
    }
    if (s.mixture_ranks != 0) mixtures_ |= bit;
    if (s.family == Family::reed && !s.tremulous_solo) chorus_reeds_ |= bit;
    if (is_keen(s)) gambas_ |= bit;
  }

  has_principal_four_ = has_principal_four(organ, on);
  const auto& keyboard = organ.keyboards[static_cast<std::size_t>(on)];
  Sounding sounding{organ};
  PipeSet pipes;
  for (const Linking& linking : space.linkings()) {
    Heard heard;
    Registration unison_off;  // what is left of the keyboard's own path
    Registration unisons = linking.couplers;
    for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
      if (!linking.couplers.couplers.test(c)) continue;
      if (organ.couplers[c].unison_off) unison_off.couplers.set(c);
      if (organ.couplers[c].semitones == 0) continue;
      unisons.couplers.reset(c);
      heard.octaves = true;
    }
    for (std::size_t i = 0; i < space.stops().size(); ++i) {
      const Stop& s = stop_of(i);
      const StopMask bit = StopMask{1} << i;
      const bool soft_eight = s.family == Family::string || s.family == Family::flute;
      for (const Path path : {Path::any, Path::unison, Path::own}) {
        if (path == Path::own && s.division != keyboard.division) continue;
        Registration drawn = path == Path::own ? unison_off : path == Path::unison ? unisons : linking.couplers;
        drawn.stops.set(static_cast<std::size_t>(space.stops()[i]));
        for (const int key : {48, 60, 72}) {
          if (!keyboard.keys.contains(key)) continue;
          KeysDown down;
          down.keys[static_cast<std::size_t>(on)].insert(key);
          sounding.pipes(drawn, down, pipes);
          for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
            for (const int number : pipes.ranks[r]) {
              const int semitones = sounding_note(organ, {static_cast<RankIndex>(r), number}).midi - key + played;
              const auto found = std::find(pitch_at.begin(), pitch_at.end(), semitones);
              const auto pitch = static_cast<std::size_t>(found - pitch_at.begin());
              if (path == Path::unison) {
                if (found != pitch_at.end() && s.family != Family::reed) heard.plain[pitch] |= bit;
                const bool flue = s.family != Family::reed && s.mixture_ranks == 0;
                if (semitones == pitch_at[eight] && flue && s.family != Family::string) heard.sturdy |= bit;
                continue;
              }
              if (path == Path::any) {
                if (found != pitch_at.end()) heard.at[pitch] |= bit;
                const bool upper = semitones == pitch_at[four] || semitones == pitch_at[two];
                if (upper && (s.family == Family::principal || s.family == Family::reed)) heard.upper |= bit;
                if (semitones == pitch_at[eight] && s.family == Family::reed) heard.reeds |= bit;
                const bool principal_two = s.family == Family::principal && semitones == pitch_at[two];
                if (s.mixture_ranks != 0 || principal_two) heard.upperwork |= bit;
                if (s.family == Family::principal && semitones == pitch_at[four]) heard.fours |= bit;
                if (s.family == Family::reed && semitones == pitch_at[eight]) heard.coupled_reeds |= bit;
                if (semitones == pitch_at[four] && s.family == Family::reed) heard.clarions |= bit;
                if (semitones > pitch_at[twelfth] && semitones % 12 != 0 && s.mixture_ranks == 0)
                  heard.mutations |= bit;
                if (semitones == pitch_at[twelfth] && s.mixture_ranks == 0) heard.twelfths |= bit;
                if (!s.celeste && !(semitones == 0 && soft_eight)) heard.company |= bit;
                continue;
              }
              const bool principal_two = s.family == Family::principal && semitones == pitch_at[two];
              if (s.mixture_ranks != 0 || principal_two) heard.own_upperwork |= bit;
              if (found == pitch_at.end()) continue;
              if (pitch == eight) heard.own_eight |= bit;
              if (s.family == Family::principal && (pitch == four || pitch == two)) heard.own_upper |= bit;
              if (!s.celeste && s.mixture_ranks == 0) heard.own[static_cast<std::size_t>(s.family)][pitch] |= bit;
            }
          }
        }
      }
    }
    heard.coupled_reeds &= ~heard.own_eight;
    heard_.push_back(heard);
  }
}

bool Practice::allows(std::size_t linking, StopMask stops, Manner manner) const {
  const Heard& h = heard_[linking];
  if (!has(stops, h.own_eight) || (has(stops, h.twelfths) && !has(stops, h.at[two]))) return false;
  if (has(stops, celestes_)) {
    if (manner != Manner::free || has(stops, h.company)) return false;
    for (const auto& [celeste, partner] : partners_) {
      if (has(stops, celeste) && !has(stops, partner)) return false;
    }
  }
  if (manner == Manner::hymn) return has(stops, h.at[four]);
  if (manner == Manner::chorus) {
    const StopMask plain = stops & ~mixtures_;
    const bool up_to_four = has(plain, h.plain[four]);
    const bool up_to_two = up_to_four && has(plain, h.plain[two]);
    if ((has(stops, h.at[two]) || has(stops, h.at[sixteen])) && !up_to_four) return false;
    if ((has(stops, mixtures_) && !up_to_four) || (h.octaves && !up_to_two)) return false;
    if (has(stops, h.clarions) && !has(stops, h.reeds)) return false;
    for (const auto& [step, below] : ladders_) {
      if (has(stops, step) && !has(stops, below)) return false;
    }
  }
  return true;
}

int Practice::makeshifts(std::size_t linking, StopMask stops) const {
  const Heard& h = heard_[linking];
  const bool four_foot = has(stops & ~mixtures_, h.plain[four]);
  const bool mixture = has(stops, mixtures_);
  int out = 0;
  if (h.octaves && !four_foot) ++out;
  if (mixture && !four_foot) ++out;
  if ((mixture || has(stops, h.upper)) && !has(stops & ~mixtures_, h.sturdy)) ++out;
  if (played_ < 0 && has(stops, h.at[sixteen])) ++out;
  if (has(stops, h.reeds) && !has(stops & ~mixtures_, h.sturdy)) ++out;
  if (has(stops, h.clarions) && !has(stops, h.reeds)) ++out;
  if (has(stops, h.mutations) && !four_foot) ++out;
  return out;
}

double Practice::against_soft(std::size_t linking, StopMask stops) const {
  const Heard& h = heard_[linking];
  return (has(stops & ~mixtures_, h.at[two]) ? SoftPractice::upperwork : 0) +
         (has(stops, mixtures_) ? SoftPractice::mixture : 0) + (has(stops, chorus_reeds_) ? SoftPractice::reed : 0) +
         (h.octaves ? SoftPractice::octaves : 0);
}

int Practice::warnings(std::size_t linking, StopMask stops) const {
  const Heard& h = heard_[linking];
  int out = 0;
  if (has(stops, h.at[two] | h.mutations) && !has(stops, h.at[four])) ++out;
  if (has(stops, h.at[sixteen]) && !has(stops, h.at[four])) ++out;
  const StopMask own_reeds = chorus_reeds_ & h.own_eight;
  const bool full_swell = !has(stops, h.own_upperwork | own_reeds) && has(stops, h.coupled_reeds);
  if (has_principal_four_ && has(stops, h.upperwork | own_reeds) && !has(stops, h.fours) && !full_swell) ++out;
  for (const auto& of_family : h.own) {
    for (const std::size_t pitch : {sixteen, eight, four, two}) {
      const StopMask alike = stops & of_family[pitch];
      if ((alike & (alike - 1)) != 0) ++out;  // two or more
    }
  }
  const StopMask strings = h.own[static_cast<std::size_t>(Family::string)][eight];
  if (has(stops, strings & gambas_) && has(stops, h.own_upper)) ++out;
  return out;
}

}  // namespace calcant
