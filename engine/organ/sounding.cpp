#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

std::size_t at(int i) { return static_cast<std::size_t>(i); }

}  // namespace

int PipeSet::size() const {
  int n = 0;
  for (const NoteSet& numbers : ranks) n += numbers.size();
  return n;
}

Sounding::Sounding(const Organ& organ) {
  for (const Keyboard& k : organ.keyboards) {
    keys_.push_back(k.keys);
    home_.push_back(k.division);
  }
  for (const Division& d : organ.divisions) range_.push_back(NoteSet::range(d.low.midi, d.high.midi));
  for (const Coupler& c : organ.couplers) {
    std::uint64_t carries = 0;
    for (const CouplerIndex k : c.carries) {
      if (!organ.couplers[at(k)].unison_off) carries |= std::uint64_t{1} << k;
    }
    ways_.push_back({c.from, c.to, c.semitones, c.unison_off, carries});
  }
  for (std::size_t r = 0; r < organ.ranks.size(); ++r) {
    NoteSet pipes = NoteSet::range(1, organ.ranks[r].pipes);
    if (!organ.dead.empty()) pipes = pipes - organ.dead[r];
    speaking_.push_back(pipes);
  }
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    const Stop& stop = organ.stops[s];
    if (stop.out_of_use) continue;
    for (const StopPart& part : stop.parts) {
      const int to_number = part.step - organ.ranks[at(part.rank)].low_key.midi + 1;
      const NoteSet with_pipe = speaking_[at(part.rank)].shifted(-to_number);
      taps_.push_back({static_cast<StopIndex>(s), stop.division, part.rank,
                       NoteSet::range(part.from.midi, part.to.midi) & with_pipe, to_number});
    }
  }
  reached_.resize(organ.divisions.size());
  brought_.resize(organ.couplers.size());
}

const std::vector<NoteSet>& Sounding::notes(const Registration& drawn, const KeysDown& down) {
  for (NoteSet& r : reached_) r = {};
  for (NoteSet& b : brought_) b = {};
  std::uint64_t on = 0;        // couplers drawn
  std::uint64_t silenced = 0;  // divisions whose unison is off
  for (std::size_t c = 0; c < ways_.size(); ++c) {
    if (!drawn.couplers[c]) continue;
    if (ways_[c].unison_off) silenced |= std::uint64_t{1} << ways_[c].to;
    else on |= std::uint64_t{1} << c;
  }
  for (std::size_t k = 0; k < keys_.size(); ++k) {
    if ((silenced >> home_[k] & 1) == 0) reached_[at(home_[k])] |= down.keys[k] & keys_[k] & range_[at(home_[k])];
  }
  // What each coupler brings from the keys; then, as long as anything new comes, what the others make of it.
  // Sets only grow, so a cycle ends.
  std::uint64_t fresh = 0;
  for (std::uint64_t left = on; left != 0; left &= left - 1) {
    const auto c = static_cast<std::size_t>(std::countr_zero(left));
    const Way& w = ways_[c];
    brought_[c] = (down.keys[at(w.from)] & keys_[at(w.from)]).shifted(w.semitones) & range_[at(w.to)];
    if (!brought_[c].empty()) fresh |= std::uint64_t{1} << c;
  }
  while (fresh != 0) {
    const auto c = static_cast<std::size_t>(std::countr_zero(fresh));
    fresh &= fresh - 1;
    for (std::uint64_t fed = ways_[c].carries & on; fed != 0; fed &= fed - 1) {
      const auto f = static_cast<std::size_t>(std::countr_zero(fed));
      const NoteSet more = brought_[f] | (brought_[c].shifted(ways_[f].semitones) & range_[at(ways_[f].to)]);
      if (more == brought_[f]) continue;
      brought_[f] = more;
      fresh |= std::uint64_t{1} << f;
    }
  }
  for (std::uint64_t left = on; left != 0; left &= left - 1) {
    const auto c = static_cast<std::size_t>(std::countr_zero(left));
    reached_[at(ways_[c].to)] |= brought_[c];
  }
  return reached_;
}

void Sounding::pipes(const Registration& drawn, const KeysDown& down, PipeSet& out) {
  const std::vector<NoteSet>& reached = notes(drawn, down);
  out.ranks.assign(speaking_.size(), NoteSet{});
  for (const Tap& t : taps_) {
    if (drawn.stops[at(t.stop)]) {
      out.ranks[at(t.rank)] |= (reached[at(t.division)] & t.notes).shifted(t.to_number);
    }
  }
}

}  // namespace calcant
