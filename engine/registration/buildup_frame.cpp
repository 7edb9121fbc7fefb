// What a build-up is made of.
#include <algorithm>
#include <array>
#include <tuple>

#include "engine/registration/buildup.hpp"
#include "engine/registration/choose_parts.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_stops = 16;  // what a series is found among in seconds

// Semitones over 8 ft by which a stop is named; far away where it has no length or several (a mixture).
constexpr int no_one_pitch = 1000;
int pitch_of(const Stop& s) {
  return s.mixture_ranks != 0 || s.feet.size() != 1 ? no_one_pitch : s.feet.front().semitones();
}
bool is_of_chorus(const Stop& s) {  // 8, 4 and 2 ft, mixtures, reeds at 8 ft
  const int pitch = pitch_of(s);
  return s.mixture_ranks != 0 || pitch == 0 || (s.family != Family::reed && (pitch == 12 || pitch == 24));
}

class Picking {
 public:
  Picking(Chooser& whole, const Registration& must, const Registration& must_not, const Registration& full)
      : whole_(whole), organ_(whole.organ()), must_(must), must_not_(must_not), full_(full) {
    home_ = organ_.keyboards[static_cast<std::size_t>(whole.on())].division;
    out_.full = full;
    const Registration beyond = beyond_full(organ_);
    for (const CouplerIndex c : whole.space().couplers()) {
      const Coupler& x = organ_.couplers[static_cast<std::size_t>(c)];
      const bool must_be = must.couplers.test(static_cast<std::size_t>(c));
      const bool brings = x.from == whole.on() && x.to != home_ && !beyond.couplers.test(static_cast<std::size_t>(c)) &&
                          !must_not.couplers.test(static_cast<std::size_t>(c)) &&
                          std::find(coupled_.begin(), coupled_.end(), x.to) == coupled_.end();
      if (!brings && !must_be) continue;
      out_.knobs.couplers.set(static_cast<std::size_t>(c));
      if (brings) coupled_.push_back(x.to);
    }
    for (const StopIndex s : whole.space().stops()) {
      if (may_be_drawn(s, beyond)) could_.push_back(s);
    }
  }

  BuildUpFrame pick() {
    // Too many to take all.
    if (could_.size() <= most_stops) {
      for (const StopIndex s : could_) take(s);
      return out_;
    }
    out_.left_out = true;
    for (const StopIndex s : could_) {
      if (must_.stops.test(static_cast<std::size_t>(s))) take(s);
    }
    // The manual's own first: what full has, then flues at 8, 4 and 2 ft under and before it.
    take_new_kinds(full_of(home_, false));
    take_new_kinds(softest_first(chorus_flues(home_)));
    for (const DivisionIndex d : coupled_) {
      take_new_kinds(full_of(d, true));
      for (const int pitch : {0, 12, 24}) {
        if (!has(d, pitch)) take_first(chorus_flues(d), pitch);
      }
    }
    for (const DivisionIndex d : coupled_) take_new_kinds(full_of(d, false));
    for (const StopIndex s : full_of(home_, false)) take(s);
    for (const DivisionIndex d : coupled_) {
      for (const StopIndex s : full_of(d, false)) take(s);
    }
    for (std::size_t c = 0; c < organ_.couplers.size(); ++c) {
      const bool brings = std::any_of(could_.begin(), could_.end(), [&](StopIndex s) {
        return out_.knobs.stops.test(static_cast<std::size_t>(s)) && stop(s).division == organ_.couplers[c].to;
      });
      if (!brings && !must_.couplers.test(c)) out_.knobs.couplers.reset(c);
    }
    return out_;
  }

 private:
  using Stops = std::vector<StopIndex>;
  using Kind = std::tuple<DivisionIndex, Family, int>;
  [[nodiscard]] const Stop& stop(StopIndex s) const { return organ_.stops[static_cast<std::size_t>(s)]; }
  [[nodiscard]] Kind kind(StopIndex s) const { return {stop(s).division, stop(s).family, pitch_of(stop(s))}; }
  [[nodiscard]] bool may_be_drawn(StopIndex s, const Registration& beyond) const {
    const auto at = static_cast<std::size_t>(s);
    if (must_.stops.test(at)) return true;
    const bool reaches =
        stop(s).division == home_ || std::find(coupled_.begin(), coupled_.end(), stop(s).division) != coupled_.end();
    // A reed that nobody hears in full is a solo stop here.
    const bool solo = stop(s).family == Family::reed && full_.stops.any() && !full_.stops.test(at);
    return reaches && !solo && !beyond.stops.test(at) && !must_not_.stops.test(at) && !stop(s).out_of_use;
  }
  void take(StopIndex s) {
    if (out_.knobs.stops.count() >= most_stops) return;
    out_.knobs.stops.set(static_cast<std::size_t>(s));
  }
  [[nodiscard]] bool has_kind(const Kind& k) const {
    return std::any_of(could_.begin(), could_.end(),
                       [&](StopIndex o) { return out_.knobs.stops.test(static_cast<std::size_t>(o)) && kind(o) == k; });
  }
  [[nodiscard]] bool has(DivisionIndex d, int pitch) const {
    return std::any_of(could_.begin(), could_.end(), [&](StopIndex o) {
      return out_.knobs.stops.test(static_cast<std::size_t>(o)) && stop(o).division == d &&
             pitch_of(stop(o)) == pitch && stop(o).family != Family::reed;
    });
  }
  void take_new_kinds(const Stops& of) {
    for (const StopIndex s : of) {
      if (!has_kind(kind(s))) take(s);
    }
  }
  // Principals before flutes before strings, as families are numbered.
  void take_first(Stops of, int pitch) {
    std::stable_sort(of.begin(), of.end(), [&](StopIndex a, StopIndex b) { return stop(a).family < stop(b).family; });
    const auto found = std::find_if(of.begin(), of.end(), [&](StopIndex s) { return pitch_of(stop(s)) == pitch; });
    if (found != of.end()) take(*found);
  }
  [[nodiscard]] Stops full_of(DivisionIndex d, bool chorus_only) const {
    Stops out;
    for (const StopIndex s : could_) {
      const bool in_full = full_.stops.none() || full_.stops.test(static_cast<std::size_t>(s));
      if (stop(s).division == d && in_full && (!chorus_only || is_of_chorus(stop(s)))) out.push_back(s);
    }
    return out;
  }
  [[nodiscard]] Stops chorus_flues(DivisionIndex d) const {
    Stops out;
    for (const StopIndex s : could_) {
      if (stop(s).division == d && stop(s).family != Family::reed && stop(s).mixture_ranks == 0 &&
          is_of_chorus(stop(s)))
        out.push_back(s);
    }
    return out;
  }
  [[nodiscard]] Stops softest_first(const Stops& of) const {
    std::vector<std::pair<double, StopIndex>> heard;
    for (const StopIndex s : of) {
      Registration alone;
      alone.box.fill(1);
      alone.stops.set(static_cast<std::size_t>(s));
      heard.emplace_back(whole_.ear().hear(alone).phons, s);
    }
    std::sort(heard.begin(), heard.end());
    Stops out;
    for (const auto& [_, s] : heard) out.push_back(s);
    return out;
  }

  Chooser& whole_;
  const Organ& organ_;
  const Registration& must_;
  const Registration& must_not_;
  const Registration& full_;
  DivisionIndex home_ = 0;
  std::vector<DivisionIndex> coupled_;
  Stops could_;
  BuildUpFrame out_;
};

}  // namespace

Result<BuildUpFrame> build_up_frame(Chooser& whole, const Registration& must, const Registration& must_not,
                                    const Work& work) {
  Wish everything;
  everything.must = must;
  everything.must_not = must_not;
  const auto full = whole.everything(everything, work);
  if (work.stop.stop_requested()) return fail("stopped before it was known what full is");
  return Picking{whole, must, must_not, full ? full->drawn : Registration{}}.pick();
}

Registration all_but(const Organ& organ, const BuildUpFrame& frame) {
  Registration out;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) out.stops.set(s, !frame.knobs.stops.test(s));
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) out.couplers.set(c, !frame.knobs.couplers.test(c));
  return out;
}

}  // namespace calcant
