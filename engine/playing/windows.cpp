#include "engine/playing/windows.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <tuple>

namespace calcant {

namespace {

// How a hand stands in one stretch of time between two events; nothing: it is needed.
using Standing = std::optional<WindowKind>;

struct Stretch {
  Rational from;
  Rational to;
  std::array<NoteSet, 2> keys;  // by Hand
  NoteSet either;               // of staves for whichever hand
  NoteSet feet;
  bool onset = false;  // a manual note begins at `from`
};

const Rational after_stroke{1, 8};  // quarters

std::size_t index(Hand h) { return static_cast<std::size_t>(h); }

std::vector<Stretch> stretches(const Score& score, const std::vector<Span>& apart, Rational end) {
  const std::vector<Press> all = presses(score);
  std::set<Rational> cuts{Rational{}, end};
  for (const Press& p : all) {
    cuts.insert(p.start);
    if (p.end < end) cuts.insert(p.end);
    // A hand may strike a chord and then leave it to the other: what follows the stroke is a stretch of its own.
    if (p.role != Role::feet && p.start + after_stroke < p.end) cuts.insert(p.start + after_stroke);
  }
  for (const auto& [from, to] : apart) {
    if (Rational{} < from && from < end) cuts.insert(from);
    if (Rational{} < to && to < end) cuts.insert(to);
  }
  std::vector<Stretch> out;
  for (auto it = cuts.begin(); std::next(it) != cuts.end(); ++it) {
    Stretch s;
    s.from = *it;
    s.to = *std::next(it);
    out.push_back(s);
  }
  for (const Press& p : all) {
    auto s = std::lower_bound(out.begin(), out.end(), p.start,
                              [](const Stretch& a, const Rational& t) { return a.from < t; });
    for (; s != out.end() && s->from < p.end; ++s) {
      switch (p.role) {
        case Role::left_hand: s->keys[index(Hand::left)].insert(p.key.midi); break;
        case Role::right_hand: s->keys[index(Hand::right)].insert(p.key.midi); break;
        case Role::either_hand: s->either.insert(p.key.midi); break;
        case Role::feet: s->feet.insert(p.key.midi); break;
        case Role::not_played: break;
      }
    }
  }
  for (const Press& p : all) {
    if (p.role == Role::feet || p.role == Role::not_played) continue;
    const auto s = std::lower_bound(out.begin(), out.end(), p.start,
                                    [](const Stretch& a, const Rational& t) { return a.from < t; });
    if (s != out.end() && !s->feet.contains(p.key)) s->onset = true;
  }
  return out;
}

bool fits(NoteSet keys, int span) {
  return keys.empty() || (keys.size() <= keys_in_a_hand && keys.highest() - keys.lowest() <= span);
}

class Finder {
 public:
  Finder(const Score& score, const Player& player, const Tempo& tempo, const Playing& playing, Seconds least)
      : score_(score),
        player_(player),
        tempo_(tempo),
        playing_(playing),
        least_(least),
        stretches_(stretches(score, playing.apart, performed_length(score) + playing.gap_after)) {}

  std::vector<Window> all() {
    for (const Hand h : {Hand::left, Hand::right}) {
      std::vector<Standing> standing;
      Rational last_onset{-1000};
      for (const Stretch& s : stretches_) {
        standing.push_back(stand(h, s, last_onset));
        if (s.onset) last_onset = s.from;
      }
      for (const WindowKind worst : {WindowKind::rest, WindowKind::held_by_other, WindowKind::taken_by_other}) {
        collect(h, standing, worst);
      }
    }
    std::stable_sort(out_.begin(), out_.end(), [](const Window& a, const Window& b) {
      return std::tie(a.from, a.hand, a.to) < std::tie(b.from, b.hand, b.to);
    });
    return std::move(out_);
  }

 private:
  [[nodiscard]] bool apart(const Stretch& s) const {
    return std::any_of(playing_.apart.begin(), playing_.apart.end(),
                       [&](const Span& a) { return s.from < a.second && a.first < s.to; });
  }

  [[nodiscard]] Standing stand(Hand h, const Stretch& s, Rational last_onset) const {
    const NoteSet own = (s.keys[index(h)] | s.either) - s.feet;
    if (own.empty()) return WindowKind::rest;
    if (apart(s)) return std::nullopt;
    const NoteSet both = own | (s.keys[index(other(h))] - s.feet);
    const HandSpan& span = h == Hand::left ? player_.right : player_.left;
    if (!fits(both, s.onset ? span.comfortable.value : span.most.value)) return std::nullopt;
    if (!s.onset) return WindowKind::held_by_other;
    if (tempo_.at(s.from) - tempo_.at(std::max(last_onset, Rational{})) < easy_onsets && last_onset >= Rational{}) {
      return std::nullopt;
    }
    return WindowKind::taken_by_other;
  }

  void collect(Hand h, const std::vector<Standing>& standing, WindowKind worst) {
    const auto good = [&](std::size_t i) { return standing[i] && *standing[i] <= worst; };
    for (std::size_t i = 0; i < standing.size();) {
      if (!good(i)) {
        ++i;
        continue;
      }
      Window w;
      w.hand = h;
      w.from = stretches_[i].from;
      for (; i < standing.size() && good(i); ++i) {
        w.to = stretches_[i].to;
        w.kind = std::max(w.kind, *standing[i]);
        if (*standing[i] == WindowKind::rest) continue;
        if (!w.other_needed.empty() && w.other_needed.back().second == stretches_[i].from) {
          w.other_needed.back().second = stretches_[i].to;
        } else {
          w.other_needed.emplace_back(stretches_[i].from, stretches_[i].to);
        }
      }
      if (w.kind == worst) add(std::move(w));
    }
  }

  void add(Window w) {
    w.seconds = tempo_.at(w.to) - tempo_.at(w.from);
    if (player_.turns_own_pages && !player_.helper) {
      w.page_turn = std::any_of(playing_.page_turns.begin(), playing_.page_turns.end(),
                                [&](Rational t) { return w.from <= t && t <= w.to; });
      if (w.page_turn) w.seconds = std::max(Seconds{0}, w.seconds - player_.page_turn.value);
    }
    if (w.seconds < least_) return;
    w.moment = moment_at(score_, w.from);
    out_.push_back(std::move(w));
  }

  const Score& score_;
  const Player& player_;
  const Tempo& tempo_;
  const Playing& playing_;
  Seconds least_;
  std::vector<Stretch> stretches_;
  std::vector<Window> out_;
};

}  // namespace

std::string_view word(Hand h) { return h == Hand::left ? "left" : "right"; }

std::string_view word(WindowKind k) {
  switch (k) {
    case WindowKind::held_by_other: return "the other hand holds";
    case WindowKind::taken_by_other: return "the other hand takes";
    case WindowKind::rest: break;
  }
  return "rests";
}

std::vector<Window> windows(const Score& score, const Player& player, const Tempo& tempo, const Playing& playing,
                            Seconds least) {
  if (performed_length(score) + playing.gap_after <= Rational{}) return {};
  return Finder(score, player, tempo, playing, least).all();
}

int knobs_within(const Player& p, Seconds available) {
  if (available < p.one_knob.value) return 0;
  const double further = p.further_knob.value.value();
  if (further <= 0) return max_stops;
  const double more = (available - p.one_knob.value).value() / further;
  return 1 + static_cast<int>(std::min(std::floor(more + 1e-9), static_cast<double>(max_stops)));
}

std::array<std::vector<Span>, 2> free_feet(const Score& score, const Pedalling& pedalling) {
  std::vector<const FootMark*> mark_of(score.notes.size(), nullptr);
  for (const FootMark& m : pedalling.marks) mark_of[m.note] = &m;
  std::array<std::vector<Span>, 2> busy;
  for (const Press& p : presses(score)) {
    if (p.role != Role::feet) continue;
    // Both feet that touch the key are taken as busy for all of it.
    for (const NoteId n : p.notes) {
      const FootMark* m = mark_of[n];
      if (m == nullptr) continue;
      busy[static_cast<std::size_t>(m->use.foot)].emplace_back(p.start, p.end);
      if (m->becomes) busy[static_cast<std::size_t>(m->becomes->foot)].emplace_back(p.start, p.end);
    }
  }
  std::array<std::vector<Span>, 2> free;
  const Rational end = performed_length(score);
  for (std::size_t f = 0; f < 2; ++f) {
    std::sort(busy[f].begin(), busy[f].end());
    Rational at;
    for (const auto& [from, to] : busy[f]) {
      if (at < from) free[f].emplace_back(at, from);
      at = std::max(at, to);
    }
    if (at < end) free[f].emplace_back(at, end);
  }
  return free;
}

std::vector<BusyFoot> foot_for_box(const SwellBox& box, const std::vector<BoxMove>& moves, Rational end) {
  std::vector<BusyFoot> out;
  bool held = false;
  for (const BoxMove& m : moves) {
    if (held) {
      out.back().to = m.to;  // it never left the lever
    } else {
      out.push_back({Foot::right, m.from, m.to});
    }
    held = box.pedal == SwellPedal::lever && std::none_of(box.hitches.begin(), box.hitches.end(),
                                                          [&](double h) { return std::abs(h - m.opening) < 0.02; });
  }
  if (held) out.back().to = std::max(out.back().to, end);
  return out;
}

}  // namespace calcant
