#include "engine/playing/check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

namespace calcant {

namespace {

// One written note as often as it is played. Nothing is joined: a tied note is two that follow each other.
struct Heard {
  Rational from;
  Rational to;
  int midi = 0;
  int part = 0;
  bool left = false;  // whose it may be
  bool right = false;
  bool struck = true;  // not held over from before
};

class Checker {
 public:
  Checker(const Score& s, const Player& p, const Tempo& t, const Playing& playing)
      : player_(p), tempo_(t), playing_(playing) {
    hear(s);
    find_onsets();
    end_ += playing.gap_after;
  }

  std::vector<Breach> run(const std::vector<HandChange>& hands, const std::vector<FootChange>& feet,
                          const Pedalling& pedalling) {
    for (std::size_t i = 0; i < hands.size(); ++i) {
      if (!span(hands[i].from, hands[i].to)) continue;
      one(hands[i]);
      for (std::size_t j = 0; j < i; ++j) {
        if (hands[j].hand == hands[i].hand && meet(hands[i], hands[j])) {
          tell(Breach::Kind::hand_twice, std::max(hands[i].from, hands[j].from),
               fmt::format("The {} hand is sent to two places at once.", word(hands[i].hand)));
        }
      }
    }
    for (const HandChange& a : hands) needed(a, hands);
    for (std::size_t i = 0; i < feet.size(); ++i) {
      if (!span(feet[i].from, feet[i].to)) continue;
      foot(feet[i], pedalling);
      for (std::size_t j = 0; j < i; ++j) {
        if (feet[j].foot == feet[i].foot && feet[i].from < feet[j].to && feet[j].from < feet[i].to) {
          tell(Breach::Kind::foot_twice, std::max(feet[i].from, feet[j].from),
               fmt::format("The {} foot is wanted in two places at once.", word(feet[i].foot)));
        }
      }
    }
    std::stable_sort(out_.begin(), out_.end(), [](const Breach& a, const Breach& b) { return a.at < b.at; });
    return std::move(out_);
  }

 private:
  static bool meet(const HandChange& a, const HandChange& b) { return a.from < b.to && b.from < a.to; }
  void tell(Breach::Kind k, Rational at, std::string message) { out_.push_back({k, at, std::move(message)}); }

  bool span(Rational from, Rational to) {
    if (to <= from) {
      tell(Breach::Kind::empty_span, from, "A change must end after it begins.");
      return false;
    }
    if (from < Rational{} || end_ < to) {
      tell(Breach::Kind::outside, from, "A change lies before the beginning or after the end of the music.");
      return false;
    }
    return true;
  }

  void one(const HandChange& c) {
    if (c.knobs < 1) tell(Breach::Kind::empty_span, c.from, "A change must move a knob.");
    if (!reaches(c.hand, c.side)) {
      tell(Breach::Kind::wrong_side, c.from, fmt::format("The {} hand does not reach the other side.", word(c.hand)));
    }
    double has = tempo_.at(c.to).value() - tempo_.at(c.from).value();
    const bool turns = player_.turns_own_pages && !player_.helper;
    for (const Rational t : playing_.page_turns) {
      if (turns && c.from <= t && t <= c.to) {
        has -= player_.page_turn.value.value();
        break;
      }
    }
    double wants = player_.one_knob.value.value();
    for (int k = 1; k < c.knobs; ++k) wants += player_.further_knob.value.value();
    if (has + 1e-9 < wants) {
      tell(Breach::Kind::too_short, c.from,
           fmt::format("There are {:.1f} s for {} {}, and this player needs {:.1f} s.", std::max(0.0, has), c.knobs,
                       c.knobs == 1 ? "knob" : "knobs", wants));
    }
  }

  // Every instant at which something begins while the hand is away, and the instant it leaves.
  void needed(const HandChange& c, const std::vector<HandChange>& all) {
    if (c.to <= c.from) return;
    std::set<Rational> instants{c.from};
    std::vector<Heard> near;  // what sounds while the hand is away
    for (const std::vector<Heard>* part : {&hands_, &feet_}) {
      for (const Heard& h : *part) {
        if (c.to <= h.from || h.to <= c.from) continue;
        if (part == &hands_) near.push_back(h);
        for (const Rational t : {h.from, h.to}) {
          if (c.from < t && t < c.to) instants.insert(t);
        }
      }
    }
    for (const HandChange& o : all) {
      for (const Rational t : {o.from, o.to}) {
        if (c.from < t && t < c.to) instants.insert(t);
      }
    }
    for (const Span& a : playing_.apart) {
      if (c.from < a.first && a.first < c.to) instants.insert(a.first);
    }
    for (const Rational t : instants) {
      const std::string why = trouble(c, t, near, all);
      if (why.empty()) continue;
      tell(Breach::Kind::hand_needed, t, why);
      return;
    }
  }

  // Unfolds the written notes. Grace notes are passed over: they are within the time of their neighbours. A hymn's bass
  // that the feet play is theirs, whether a hand doubles it or not.
  void hear(const Score& s) {
    std::vector<std::vector<const WrittenNote*>> of_bar(s.bars.size());
    for (const WrittenNote& n : s.notes) {
      if (!n.cue) of_bar[static_cast<std::size_t>(n.bar)].push_back(&n);
    }
    const std::vector<bool> bass = s.bass == Bass::hands ? std::vector<bool>(s.notes.size()) : bass_notes(s);
    for (const Turn& turn : s.turns) {
      end_ = std::max(end_, turn.start + s.bars[static_cast<std::size_t>(turn.bar)].length);
      for (const WrittenNote* n : of_bar[static_cast<std::size_t>(turn.bar)]) {
        const Stave& stave = s.staves[static_cast<std::size_t>(n->stave)];
        if (stave.role == Role::not_played || n->length <= Rational{}) continue;
        Heard h;
        h.from = turn.start + n->at;
        h.to = h.from + n->length;
        h.midi = n->note.midi;
        h.part = stave.part;
        const bool feet = stave.role == Role::feet || bass[n->id];
        h.left = !feet && stave.role != Role::right_hand;
        h.right = !feet && stave.role != Role::left_hand;
        if (feet) foot_notes_[n->id].emplace_back(h.from, h.to);
        std::vector<Heard>& where = feet ? feet_ : hands_;
        if (n->tie_from && !feet) take_over(h);
        where.push_back(h);
        (feet ? feet_on_ : hands_on_)[static_cast<std::size_t>(h.midi)].push_back(h);
      }
    }
  }

  // A note tied over belongs to the hand that struck it.
  void take_over(Heard& h) const {
    const std::vector<Heard>& same = hands_on_[static_cast<std::size_t>(h.midi)];
    for (auto o = same.rbegin(); o != same.rend(); ++o) {
      if (o->part != h.part || o->to != h.from) continue;
      h.left = o->left;
      h.right = o->right;
      h.struck = false;
      return;
    }
  }

  // Times at which a hand begins a note that the feet do not play as well.
  void find_onsets() {
    for (const Heard& h : hands_) {
      if (!h.struck || by_feet(h.midi, h.from)) continue;
      const std::vector<Heard>& same = hands_on_[static_cast<std::size_t>(h.midi)];
      const bool held_already = std::any_of(same.begin(), same.end(), [&](const Heard& o) {
        if (o.left != h.left || o.right != h.right) return false;
        return (o.from < h.from && h.from < o.to) || (o.from == h.from && !o.struck);
      });
      if (!held_already) onsets_.insert(h.from);
    }
  }

  [[nodiscard]] bool by_feet(int midi, Rational t) const {
    const std::vector<Heard>& same = feet_on_[static_cast<std::size_t>(midi)];
    return std::any_of(same.begin(), same.end(), [&](const Heard& f) { return f.from <= t && t < f.to; });
  }

  // What is wrong at t with this hand away; empty when nothing.
  [[nodiscard]] std::string trouble(const HandChange& c, Rational t, const std::vector<Heard>& near,
                                    const std::vector<HandChange>& all) const {
    const bool left = c.hand == Hand::left;
    std::set<int> keys;
    bool own = false;
    for (const Heard& h : near) {
      if (t < h.from || h.to <= t || by_feet(h.midi, t)) continue;
      if (left ? h.left : h.right) own = true;
      keys.insert(h.midi);
    }
    if (!own) return {};
    for (const HandChange& o : all) {
      if (o.hand != c.hand && o.from <= t && t < o.to) return "Both hands are away while notes are held.";
    }
    for (const Span& a : playing_.apart) {
      if (a.first <= t && t < a.second) {
        return fmt::format("The {} hand has notes on a manual of its own.", word(c.hand));
      }
    }
    const HandSpan& span = left ? player_.right : player_.left;
    const int width = *keys.rbegin() - *keys.begin();
    const auto now = onsets_.find(t);
    const int reach = now == onsets_.end() ? span.most.value : span.comfortable.value;
    if (static_cast<int>(keys.size()) > keys_in_a_hand || width > reach) {
      return fmt::format("The {} hand has notes that the other cannot take: {} keys over {} semitones.", word(c.hand),
                         keys.size(), width);
    }
    if (now != onsets_.end() && now != onsets_.begin() && tempo_.at(t) - tempo_.at(*std::prev(now)) < easy_onsets) {
      return "Notes follow too fast for one hand to play for two.";
    }
    return {};
  }

  void foot(const FootChange& c, const Pedalling& pedalling) {
    const double has = tempo_.at(c.to).value() - tempo_.at(c.from).value();
    if (c.accessory && has + 1e-9 < player_.foot_accessory.value.value()) {
      tell(Breach::Kind::too_short, c.from,
           fmt::format("There are {:.1f} s for a foot, and this player needs {:.1f} s.", has,
                       player_.foot_accessory.value.value()));
    }
    for (const FootMark& m : pedalling.marks) {
      if (m.use.foot != c.foot && !(m.becomes && m.becomes->foot == c.foot)) continue;
      const auto played = foot_notes_.find(m.note);
      if (played == foot_notes_.end()) continue;
      for (const auto& [from, to] : played->second) {
        if (c.to <= from || to <= c.from) continue;
        tell(Breach::Kind::foot_needed, std::max(from, c.from),
             fmt::format("The {} foot has {} to play.", word(c.foot), name(m.key)));
        return;
      }
    }
  }

  const Player& player_;
  const Tempo& tempo_;
  const Playing& playing_;
  Rational end_;
  std::vector<Heard> hands_;
  std::vector<Heard> feet_;
  std::array<std::vector<Heard>, 128> hands_on_;  // by key
  std::array<std::vector<Heard>, 128> feet_on_;
  std::map<NoteId, std::vector<Span>> foot_notes_;
  std::set<Rational> onsets_;
  std::vector<Breach> out_;
};

}  // namespace

std::string_view word(Breach::Kind k) {
  switch (k) {
    case Breach::Kind::empty_span: return "no time or no knob";
    case Breach::Kind::outside: return "outside the music";
    case Breach::Kind::wrong_side: return "wrong side";
    case Breach::Kind::too_short: return "too short";
    case Breach::Kind::hand_twice: return "a hand in two places";
    case Breach::Kind::foot_needed: return "foot needed";
    case Breach::Kind::foot_twice: return "a foot in two places";
    case Breach::Kind::hand_needed: break;
  }
  return "hand needed";
}

std::vector<Breach> check_changes(const Score& score, const Player& player, const Tempo& tempo, const Playing& playing,
                                  const std::vector<HandChange>& hands, const std::vector<FootChange>& feet,
                                  const Pedalling& pedalling) {
  return Checker(score, player, tempo, playing).run(hands, feet, pedalling);
}

}  // namespace calcant
