// explain(): the same question as Sounding answers, walked path by path.
#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <tuple>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

// A note that has come to a division from one key through a line of couplers.
struct Arrival {
  KeyboardIndex keyboard;
  Note key;
  DivisionIndex division;
  int note;  // may lie outside the division's range: then it is lost
  std::vector<CouplerIndex> through;
};

class Explaining {
 public:
  Explaining(const Organ& organ, const Registration& drawn) : o_(organ), drawn_(drawn) {}

  SoundingReport of(const KeysDown& down) {
    for (std::size_t k = 0; k < o_.keyboards.size(); ++k) {
      for (const int key : down.keys[k] & o_.keyboards[k].keys) follow(static_cast<KeyboardIndex>(k), Note{key});
    }
    SoundingReport report;
    for (auto& [pipe, from] : sounding_) report.pipes.push_back({pipe, std::move(from)});
    report.missing = std::move(missing_);
    return report;
  }

 private:
  const Division& division(int i) const { return o_.divisions[static_cast<std::size_t>(i)]; }
  const Coupler& coupler(int i) const { return o_.couplers[static_cast<std::size_t>(i)]; }
  bool on(int c) const { return drawn_.couplers[static_cast<std::size_t>(c)]; }

  bool unison_off(DivisionIndex d) const {
    for (std::size_t c = 0; c < o_.couplers.size(); ++c) {
      if (drawn_.couplers[c] && o_.couplers[c].unison_off && o_.couplers[c].to == d) return true;
    }
    return false;
  }

  // Breadth first, each (last coupler, note) once: the shortest way to it, and no cycle runs on.
  void follow(KeyboardIndex keyboard, Note key) {
    const DivisionIndex home = o_.keyboards[static_cast<std::size_t>(keyboard)].division;
    if (!unison_off(home)) arrive({keyboard, key, home, key.midi, {}});
    std::deque<Arrival> open;
    std::vector<NoteSet> seen(o_.couplers.size());
    const auto go = [&](const std::vector<CouplerIndex>& before, int note, CouplerIndex c) {
      Arrival a{keyboard, key, coupler(c).to, note + coupler(c).semitones, before};
      a.through.push_back(c);
      if (a.note >= division(a.division).low.midi && a.note <= division(a.division).high.midi) {
        if (seen[static_cast<std::size_t>(c)].contains(a.note)) return;
        seen[static_cast<std::size_t>(c)].insert(a.note);
        open.push_back(a);
      }
      arrive(a);
    };
    for (std::size_t c = 0; c < o_.couplers.size(); ++c) {
      const auto i = static_cast<CouplerIndex>(c);
      if (on(i) && !coupler(i).unison_off && coupler(i).from == keyboard) go({}, key.midi, i);
    }
    while (!open.empty()) {
      const Arrival a = std::move(open.front());
      open.pop_front();
      for (const CouplerIndex c : coupler(a.through.back()).carries) {
        if (on(c) && !coupler(c).unison_off) go(a.through, a.note, c);
      }
    }
  }

  void arrive(const Arrival& a) {
    for (std::size_t s = 0; s < o_.stops.size(); ++s) {
      if (drawn_.stops[s] && o_.stops[s].division == a.division) ask(static_cast<StopIndex>(s), a);
    }
  }

  void ask(StopIndex index, const Arrival& a) {
    const Stop& stop = o_.stops[static_cast<std::size_t>(index)];
    const Division& d = division(a.division);
    // The part that a note without one is told of: the nearest in the compass.
    const auto distance = [&](const StopPart& p) {
      return a.note < p.from.midi ? p.from.midi - a.note : a.note > p.to.midi ? a.note - p.to.midi : 0;
    };
    const StopPart& nearest = *std::min_element(
        stop.parts.begin(), stop.parts.end(), [&](const auto& x, const auto& y) { return distance(x) < distance(y); });
    if (a.note > d.high.midi) {
      return miss(index, nearest, a, fmt::format("the {} action ends at {}", d.name, name(d.high)));
    }
    if (a.note < d.low.midi) {
      return miss(index, nearest, a, fmt::format("the {} action begins at {}", d.name, name(d.low)));
    }
    if (stop.out_of_use) return miss(index, nearest, a, "out of use");
    if (distance(nearest) > 0) {
      const bool below = a.note < nearest.from.midi;
      return miss(index, nearest, a,
                  below ? fmt::format("the stop begins at {}", begins(nearest.from))
                        : fmt::format("the stop ends at {}", name(nearest.to)));
    }
    for (const StopPart& part : stop.parts) {
      if (distance(part) == 0) ask_part(index, part, a);
    }
  }

  static std::string begins(Note n) { return n == Note{48} ? "tenor C (C3)" : name(n); }

  void ask_part(StopIndex index, const StopPart& part, const Arrival& a) {
    const Rank& rank = o_.ranks[static_cast<std::size_t>(part.rank)];
    const PipeId pipe{part.rank, a.note + part.step - rank.low_key.midi + 1};
    const int shift = -part.step;
    if (pipe.number < 1) {
      return miss(index, part, a, fmt::format("the rank begins at {}", begins(Note{rank.low_key.midi + shift})));
    }
    if (pipe.number > rank.pipes) {
      return miss(index, part, a, fmt::format("the rank ends at {}", name(Note{rank.high_key().midi + shift})));
    }
    if (!o_.dead.empty() && o_.dead[static_cast<std::size_t>(part.rank)].contains(pipe.number)) {
      return miss(index, part, a, "dead");
    }
    auto& from = sounding_[pipe];
    for (const SoundingPipe::From& f : from) {
      const CouplerIndex last = a.through.empty() ? -1 : a.through.back();
      const CouplerIndex held = f.through.empty() ? -1 : f.through.back();
      if (f.keyboard == a.keyboard && f.key == a.key && f.stop == index && held == last) return;
    }
    from.push_back({a.keyboard, a.key, index, a.through});
  }

  void miss(StopIndex index, const StopPart& part, const Arrival& a, std::string why) {
    if (!told_.insert({index, part.rank, a.note}).second) return;
    const Rank& rank = o_.ranks[static_cast<std::size_t>(part.rank)];
    const int own_key = std::clamp(a.note + part.step, 0, highest_midi);
    const int sounds = std::clamp(own_key + rank.feet_at(Note{own_key}).semitones(), 0, highest_midi);
    missing_.push_back(
        {index, part.rank, Note{std::clamp(a.note, 0, highest_midi)}, Note{sounds}, a.keyboard, a.key, std::move(why)});
  }

  const Organ& o_;
  const Registration& drawn_;
  std::map<PipeId, std::vector<SoundingPipe::From>> sounding_;
  std::set<std::tuple<StopIndex, RankIndex, int>> told_;
  std::vector<MissingPipe> missing_;
};

}  // namespace

SoundingReport explain(const Organ& organ, const Registration& drawn, const KeysDown& down) {
  return Explaining{organ, drawn}.of(down);
}

}  // namespace calcant
