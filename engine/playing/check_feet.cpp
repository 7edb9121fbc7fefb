#include "engine/playing/check_feet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <map>
#include <set>

namespace calcant {

namespace {

using Kind = FeetBreach::Kind;
using Place = std::pair<Rational, int>;  // written onset, key

class FeetChecker {
 public:
  FeetChecker(const Score& s, const Player& p, const FeetWishes& w, const Pedalling& pedalling)
      : score_(s), player_(p), wishes_(w), pedalling_(pedalling) {
    const std::vector<bool> bass = s.bass == Bass::hands ? std::vector<bool>(s.notes.size()) : bass_notes(s);
    for (const WrittenNote& n : s.notes) {
      const bool feet = s.staves[static_cast<std::size_t>(n.stave)].role == Role::feet || bass[n.id];
      if (!feet || n.cue) continue;
      theirs_.insert(n.id);
      Rational& to = ends_.try_emplace({onset(n.id), n.note.midi}, end(n.id)).first->second;
      to = std::max(to, end(n.id));
    }
    left_out_.insert(pedalling.left_out.begin(), pedalling.left_out.end());
  }

  std::vector<FeetBreach> run() {
    index();
    for (const NoteId n : theirs_) covered(n);
    for (const FootMark& m : pedalling_.marks) rules(m);
    for (const FixedFoot& f : wishes_.fixed) fixed(f);
    one_place_each();
    elsewhere();
    changes();
    std::stable_sort(out_.begin(), out_.end(),
                     [&](const FeetBreach& a, const FeetBreach& b) { return onset(a.note) < onset(b.note); });
    return std::move(out_);
  }

 private:
  [[nodiscard]] const WrittenNote& note(NoteId n) const { return score_.notes[n]; }
  [[nodiscard]] Rational onset(NoteId n) const {
    return n < score_.notes.size() ? written(score_, note(n).bar, note(n).at) : Rational{};
  }
  [[nodiscard]] Rational end(NoteId n) const { return onset(n) + note(n).length; }
  void tell(Kind k, NoteId n, std::string message) { out_.push_back({k, n, std::move(message)}); }

  void index() {
    for (const FootMark& m : pedalling_.marks) {
      const bool right = m.note < score_.notes.size() && theirs_.count(m.note) > 0 && left_out_.count(m.note) == 0 &&
                         m.onset == onset(m.note) && m.key == note(m.note).note;
      if (!right) {
        tell(Kind::not_theirs, m.note,
             "A mark stands on a note that is not for the feet, or not this key at this time.");
        continue;
      }
      if (!by_place_.try_emplace({m.onset, m.key.midi}, &m).second) {
        tell(Kind::twice, m.note, fmt::format("{} has two marks at one time.", name(m.key)));
      }
    }
    std::map<int, const FootMark*> struck;  // by key
    for (const auto& [place, mark] : by_place_) {
      if (!mark->held) struck[place.second] = mark;
      else if (mark->fixed) held_as_fixed_.insert(struck[place.second]);
    }
  }

  void covered(NoteId n) {
    if (left_out_.count(n) > 0) {
      if (pedalling_.style != FeetStyle::simplified) {
        tell(Kind::unmarked, n,
             fmt::format("{} is left out, though nothing was to be simplified.", name(note(n).note)));
      }
      return;
    }
    if (by_place_.count({onset(n), note(n).note.midi}) == 0) {
      tell(Kind::unmarked, n, fmt::format("Nobody takes {}.", name(note(n).note)));
    }
  }

  void rules(const FootMark& m) {
    // The player may break the player's own rules; what could not be helped is told; a key held on is as it was struck.
    if (m.fixed || m.booked || (m.held && m.obvious) || held_as_fixed_.count(&m) > 0) return;
    std::vector<FootUse> uses{m.use};
    if (m.becomes) uses.push_back(*m.becomes);
    static constexpr std::array<int, 5> sharps{1, 3, 6, 8, 10};
    const bool sharp = std::find(sharps.begin(), sharps.end(), m.key.midi % 12) != sharps.end();
    const bool heels = pedalling_.style == FeetStyle::legato || pedalling_.style == FeetStyle::simplified;
    for (const FootUse& u : uses) {
      if (u.part == FootPart::heel && sharp && !player_.heel_on_sharps) {
        tell(Kind::heel_on_sharp, m.note, fmt::format("The heel is on {}.", name(m.key)));
      }
      if (u.part == FootPart::heel && !heels) tell(Kind::style, m.note, "A heel, though none was to be used.");
      if (u.foot == Foot::right && pedalling_.style == FeetStyle::left_foot_only) {
        tell(Kind::style, m.note, "The right foot, though the left was to do it alone.");
      }
    }
  }

  void fixed(const FixedFoot& f) {
    const auto it =
        f.note < score_.notes.size() ? by_place_.find({onset(f.note), note(f.note).note.midi}) : by_place_.end();
    if (it == by_place_.end()) return;  // told as unmarked or not theirs
    const FootUse& u = it->second->use;
    if ((f.foot && *f.foot != u.foot) || (f.part && *f.part != u.part)) {
      tell(Kind::not_as_fixed, f.note, fmt::format("{} is not taken as it was fixed.", name(note(f.note).note)));
    }
  }

  // Notes with a place and a length, and the foot they are surely under: nobody's while it changes.
  struct Held {
    NoteId note;
    Rational from;
    Rational to;
    const FootMark* mark;
    Rational struck;  // of a tied note: when its key went down
  };
  [[nodiscard]] std::vector<Held> held() const {
    std::vector<Held> out;
    std::map<int, Rational> struck;  // by key
    for (const auto& [place, mark] : by_place_) {
      const Rational to = ends_.at(place);
      if (!mark->held) struck[place.second] = place.first;
      if (place.first < to && !mark->becomes) out.push_back({mark->note, place.first, to, mark, struck[place.second]});
    }
    return out;
  }

  [[nodiscard]] bool holds_both(const FootMark& a, const FootMark& b) const {
    static constexpr std::array<bool, 12> sharp{false, true,  false, true,  false, false,
                                                true,  false, true,  false, true,  false};
    const int apart = std::abs(a.key.midi - b.key.midi);
    const bool toes_on_sharps = sharp[static_cast<std::size_t>(a.key.midi % 12)] &&
                                sharp[static_cast<std::size_t>(b.key.midi % 12)] && a.use.part == FootPart::toe &&
                                b.use.part == FootPart::toe;
    return apart <= player_.foot_span.value && (a.use.part != b.use.part || toes_on_sharps);
  }

  // Whether the foot has let go by `from` of what it took at `taken`: some mark of it in between says so.
  [[nodiscard]] bool let_go(Foot foot, Rational taken, Rational from) const {
    return std::any_of(pedalling_.marks.begin(), pedalling_.marks.end(), [&](const FootMark& m) {
      return m.lets_go && m.use.foot == foot && taken <= m.onset && m.onset <= from;
    });
  }

  void one_place_each() {
    std::vector<Held> sounding;
    for (const Held& h : held()) {
      std::erase_if(sounding, [&](const Held& o) { return o.to <= h.from; });
      for (const Held& o : sounding) {
        if (o.mark->use.foot != h.mark->use.foot || o.mark->key == h.mark->key) continue;
        if (holds_both(*o.mark, *h.mark) || let_go(h.mark->use.foot, std::min(o.struck, h.struck), h.from)) continue;
        tell(Kind::two_places, h.note,
             fmt::format("The {} foot is on {} and on {} at once.", word(h.mark->use.foot), name(o.mark->key),
                         name(h.mark->key)));
      }
      sounding.push_back(h);
    }
  }

  void elsewhere() {
    if (wishes_.busy.empty()) return;
    const std::vector<Held> all = held();
    for (const Turn& turn : score_.turns) {
      for (const Held& h : all) {
        if (note(h.note).bar != turn.bar || h.mark->booked) continue;
        const Rational from = turn.start + note(h.note).at;
        const Rational to = from + (h.to - h.from);
        for (const BusyFoot& b : wishes_.busy) {
          if (b.foot != h.mark->use.foot || to <= b.from || b.to <= from) continue;
          tell(Kind::booked, h.note,
               fmt::format("The {} foot is on {} while it is wanted elsewhere.", word(b.foot), name(h.mark->key)));
        }
      }
    }
  }

  // Tied notes: each against the one before it on its key.
  void changes() {
    std::map<int, const FootMark*> before;  // by key
    for (const auto& [place, mark] : by_place_) {
      const auto it = before.find(place.second);
      if (mark->held && it != before.end() && mark->obvious) {
        const FootMark& last = *it->second;
        if (last.becomes.value_or(last.use) != mark->use) {
          tell(Kind::hidden_change, mark->note, fmt::format("The foot changes on {} unsaid.", name(mark->key)));
        }
      }
      before[place.second] = mark;
    }
  }

  const Score& score_;
  const Player& player_;
  const FeetWishes& wishes_;
  const Pedalling& pedalling_;
  std::set<NoteId> theirs_;
  std::set<NoteId> left_out_;
  std::map<Place, Rational> ends_;  // of the written notes
  std::map<Place, const FootMark*> by_place_;
  std::set<const FootMark*> held_as_fixed_;  // struck marks whose key is fixed where it is held on
  std::vector<FeetBreach> out_;
};

}  // namespace

std::string_view word(FeetBreach::Kind k) {
  static constexpr std::array<std::string_view, 9> words{"no mark",
                                                         "two marks",
                                                         "not the feet's",
                                                         "heel on a sharp",
                                                         "not the style asked for",
                                                         "a foot in two places",
                                                         "a foot wanted elsewhere",
                                                         "not as fixed",
                                                         "a change unsaid"};
  return words[static_cast<std::size_t>(k)];
}

std::vector<FeetBreach> check_feet(const Score& score, const Player& player, const FeetWishes& wishes,
                                   const Pedalling& pedalling) {
  return FeetChecker(score, player, wishes, pedalling).run();
}

}  // namespace calcant
