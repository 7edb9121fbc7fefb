#include <algorithm>
#include <map>
#include <tuple>

#include "engine/score/score.hpp"

namespace calcant {
namespace {

// What each written note sounds like within its bar, the same every time the bar is played.
struct Sounding {
  Rational from;  // quarters from the bar's start
  Rational to;
};

const Rational grace_length{1, 8};
constexpr std::size_t most_open = 16;  // ties of one key that wait for their end; music has one or two

// The notes of one bar, [first, last) of Score::notes.
struct Range {
  std::size_t first = 0;
  std::size_t last = 0;
};

std::vector<Range> by_bar(const Score& s) {
  std::vector<Range> ranges(s.bars.size());
  for (std::size_t i = 0; i < s.notes.size(); ++i) {
    Range& r = ranges[static_cast<std::size_t>(s.notes[i].bar)];
    if (r.last == 0) r.first = i;
    r.last = i + 1;
  }
  return ranges;
}

// The notes of one part and voice that begin, or end, at one place of a bar.
struct Meeting {
  std::vector<std::size_t> graces;
  int places = 0;
  std::vector<std::size_t> mains;   // struck here
  Rational shortest;                // of the mains
  std::vector<std::size_t> before;  // ending here
};

void time_graces(const Score& s, Range range, std::vector<Sounding>& sounding) {
  using Key = std::tuple<int, std::string_view, Rational>;
  std::map<Key, Meeting> meetings;
  const auto key = [&](const WrittenNote& n, Rational at) {
    return Key{s.staves[static_cast<std::size_t>(n.stave)].part, n.voice, at};
  };
  for (std::size_t i = range.first; i < range.last; ++i) {
    const WrittenNote& n = s.notes[i];
    if (n.length > Rational{} || n.cue) continue;
    Meeting& m = meetings[key(n, n.at)];
    m.graces.push_back(i);
    m.places = std::max(m.places, n.grace_place + 1);
  }
  if (meetings.empty()) return;
  for (std::size_t i = range.first; i < range.last; ++i) {
    const WrittenNote& n = s.notes[i];
    if (n.length == Rational{} || n.cue) continue;
    if (const auto here = meetings.find(key(n, n.at)); here != meetings.end() && !n.tie_from) {
      Meeting& m = here->second;
      if (m.mains.empty() || n.length < m.shortest) m.shortest = n.length;
      m.mains.push_back(i);
    }
    if (const auto there = meetings.find(key(n, n.at + n.length)); there != meetings.end()) {
      there->second.before.push_back(i);
    }
  }
  for (auto& [where, m] : meetings) {
    const Rational at = std::get<Rational>(where);
    const Rational places{m.places};
    Rational each = grace_length;
    Rational start = at;
    if (!m.mains.empty()) {
      each = std::min(each, m.shortest / (places * Rational{2}));
      for (const std::size_t i : m.mains) sounding[i].from = at + each * places;
    } else if (at >= each * places) {
      start = at - each * places;
      for (const std::size_t i : m.before) {
        if (sounding[i].from < start && !s.notes[i].tie_to) sounding[i].to = start;
      }
    }
    for (const std::size_t i : m.graces) {
      sounding[i].from = start + each * Rational{s.notes[i].grace_place};
      sounding[i].to = sounding[i].from + each;
    }
  }
}

std::vector<Sounding> soundings(const Score& s, const std::vector<Range>& ranges) {
  std::vector<Sounding> sounding(s.notes.size());
  for (std::size_t i = 0; i < s.notes.size(); ++i) {
    sounding[i] = {s.notes[i].at, s.notes[i].at + s.notes[i].length};
  }
  for (const Range& r : ranges) time_graces(s, r, sounding);
  return sounding;
}

struct Roles {
  Role first = Role::either_hand;
  std::optional<Role> second;
};

// Who presses a note: its stave's player, but the bass of a hymn as the user wants it. Where tenor and bass meet on one
// written note the tenor's hand keeps it.
class Players {
 public:
  explicit Players(const Score& s) : s_(s), bass_(s.bass == Bass::hands ? std::vector<bool>{} : bass_notes(s)) {
    if (bass_.empty()) return;
    std::map<std::pair<int, Rational>, int> count;
    for (std::size_t i = 0; i < s.notes.size(); ++i) {
      if (bass_[i]) bass_stave_ = s.notes[i].stave;
    }
    for (const WrittenNote& n : s.notes) {
      if (n.stave == bass_stave_) ++count[{n.bar, n.at}];
    }
    std::size_t alone = 0;
    for (const auto& [place, notes] : count) alone += notes == 1;
    tenor_beside_ = alone * 2 < count.size();
    for (std::size_t i = 0; i < s.notes.size() && tenor_beside_; ++i) {
      const WrittenNote& n = s.notes[i];
      if (bass_[i] && covered(n)) bass_alone_.push_back(n.id);
    }
  }

  [[nodiscard]] Roles of(const WrittenNote& n) const {
    const Role hand = s_.staves[static_cast<std::size_t>(n.stave)].role;
    if (bass_.empty() || !bass_[n.id] || hand == Role::not_played) return {hand, std::nullopt};
    if (s_.bass == Bass::both || std::binary_search(bass_alone_.begin(), bass_alone_.end(), n.id)) {
      return {hand, Role::feet};
    }
    return {Role::feet, std::nullopt};
  }

 private:
  // Whether nothing else sounds on the bass's stave while the note does: tenor and bass on one notehead.
  [[nodiscard]] bool covered(const WrittenNote& bass) const {
    const auto begin = std::lower_bound(s_.notes.begin(), s_.notes.end(), bass.bar,
                                        [](const WrittenNote& n, int bar) { return n.bar < bar; });
    for (auto n = begin; n != s_.notes.end() && n->bar == bass.bar; ++n) {
      if (n->id == bass.id || n->stave != bass.stave) continue;
      if (n->at < bass.at + bass.length && bass.at < n->at + n->length) return false;
    }
    return true;
  }

  const Score& s_;
  std::vector<bool> bass_;
  int bass_stave_ = -1;
  bool tenor_beside_ = false;
  std::vector<NoteId> bass_alone_;  // rising
};

class Presser {
 public:
  explicit Presser(const Score& s) : s_(s), ranges_(by_bar(s)), sounding_(soundings(s, ranges_)), players_(s) {}

  std::vector<Press> go() {
    for (const Turn& turn : s_.turns) {
      const Range r = ranges_[static_cast<std::size_t>(turn.bar)];
      for (std::size_t i = r.first; i < r.last; ++i) {
        const WrittenNote& n = s_.notes[i];
        if (n.cue) continue;
        const Roles roles = players_.of(n);
        add(n, turn.start, roles.first);
        if (roles.second) add(n, turn.start, *roles.second);
      }
    }
    return joined();
  }

 private:
  struct Open {
    std::size_t press = 0;
    std::string_view voice;
  };

  void add(const WrittenNote& n, Rational turn_start, Role role) {
    if (role == Role::not_played) return;
    const Sounding& when = sounding_[n.id];
    if (when.to <= when.from) return;
    const Rational start = turn_start + when.from;
    const Rational end = turn_start + when.to;
    if (end <= start) return;  // shorter than the grid Rational rounds to where 64 bits do not hold the sum
    const int part = s_.staves[static_cast<std::size_t>(n.stave)].part;
    auto& open = open_[{part, n.note.midi, role == Role::feet}];
    if (n.tie_from) {
      auto from = open.end();
      for (auto o = open.begin(); o != open.end(); ++o) {
        if (presses_[o->press].end != start) continue;
        if (from == open.end() || o->voice == n.voice) from = o;
      }
      if (from != open.end()) {
        Press& held = presses_[from->press];
        held.end = end;
        held.notes.push_back(n.id);
        if (n.tie_to) from->voice = n.voice;
        else open.erase(from);
        return;
      }
    }
    presses_.push_back({n.stave, role, n.note, start, end, {n.id}});
    if (!n.tie_to) return;
    std::erase_if(open, [&](const Open& o) { return presses_[o.press].end < start; });
    if (open.size() >= most_open) open.erase(open.begin());
    open.push_back({presses_.size() - 1, n.voice});
  }

  // Two presses of one key by one player that overlap are one.
  std::vector<Press> joined() {
    std::stable_sort(presses_.begin(), presses_.end(), [](const Press& a, const Press& b) {
      return std::tie(a.role, a.key, a.start) < std::tie(b.role, b.key, b.start);
    });
    std::vector<Press> out;
    for (Press& p : presses_) {
      if (!out.empty() && out.back().role == p.role && out.back().key == p.key && p.start < out.back().end) {
        out.back().end = std::max(out.back().end, p.end);
        out.back().notes.insert(out.back().notes.end(), p.notes.begin(), p.notes.end());
        continue;
      }
      out.push_back(std::move(p));
    }
    std::stable_sort(out.begin(), out.end(), [](const Press& a, const Press& b) {
      return std::tie(a.start, a.stave, a.key) < std::tie(b.start, b.stave, b.key);
    });
    return out;
  }

  const Score& s_;
  std::vector<Range> ranges_;
  std::vector<Sounding> sounding_;
  Players players_;
  std::map<std::tuple<int, int, bool>, std::vector<Open>> open_;
  std::vector<Press> presses_;
};

}  // namespace

std::vector<Press> presses(const Score& s) { return Presser(s).go(); }

std::vector<bool> bass_notes(const Score& s) {
  std::vector<bool> bass(s.notes.size(), false);
  if (!s.hymn || s.staves.empty()) return bass;
  int lowest = -1;
  for (std::size_t i = 0; i < s.staves.size(); ++i) {
    if (s.staves[i].role != Role::not_played) lowest = static_cast<int>(i);
  }
  // In rising order of onset; a note is bass when no lower one of its stave sounds at its beginning and none lower
  // begins with it.
  std::vector<std::pair<Rational, NoteId>> order;
  for (const WrittenNote& n : s.notes) {
    if (n.stave == lowest && !n.cue && !n.grace) order.emplace_back(written(s, n.bar, n.at), n.id);
  }
  std::stable_sort(order.begin(), order.end(), [&](const auto& a, const auto& b) {
    return std::tie(a.first, s.notes[a.second].note) < std::tie(b.first, s.notes[b.second].note);
  });
  Rational held_until;
  int held = highest_midi + 1;
  for (const auto& [onset, id] : order) {
    const WrittenNote& n = s.notes[id];
    if (onset < held_until && n.note.midi > held) continue;
    bass[id] = true;
    held = n.note.midi;
    held_until = onset + n.length;
  }
  return bass;
}

}  // namespace calcant
