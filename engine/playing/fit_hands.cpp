#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "engine/playing/fit_parts.hpp"
#include "engine/playing/windows.hpp"

namespace calcant::fitting {

namespace {

int width(NoteSet s) { return s.empty() ? 0 : s.highest() - s.lowest(); }
bool holds(NoteSet s, int span) { return s.size() <= keys_in_a_hand && width(s) <= span; }
NoteSet up_to(NoteSet s, int high) { return s & NoteSet::range(0, high); }

const HandSpan& span_of(const Player& p, Hand h) { return h == Hand::left ? p.left : p.right; }
NoteSet without(NoteSet s, int key) {
  s.erase(key);
  return s;
}

// Whether two hands hold these keys of one manual, the left below the right.
bool two_hands_hold(NoteSet keys, const Player& p) {
  if (holds(keys, p.left.most.value) || holds(keys, p.right.most.value)) return true;
  for (const int cut : keys) {
    if (holds(up_to(keys, cut), p.left.most.value) && holds(keys - up_to(keys, cut), p.right.most.value)) return true;
  }
  return false;
}

}  // namespace

Held held_at(const Asked& a, const std::vector<Press>& sounding, Rational t) {
  Held h;
  for (const Press& p : sounding) {
    if (p.role == Role::feet && p.start <= t && t < p.end) h.feet.insert(p.key.midi);
  }
  for (const Press& p : sounding) {
    if (p.role == Role::feet || t < p.start || p.end <= t || h.feet.contains(p.key)) continue;
    (p.role == Role::left_hand ? h.left : p.role == Role::right_hand ? h.right : h.either).insert(p.key.midi);
    if (p.start == t) h.struck.insert(p.key.midi);
    const auto k = a.keyboards.at(p.stave, p.role, onset_of(a.score, p.notes.front()));
    if (k) h.by_keyboard[*k].insert(p.key.midi);
  }
  return h;
}

bool hands_hold(const Player& player, const Held& h) {
  if (h.by_keyboard.size() > 2) return false;
  if (h.by_keyboard.size() < 2) return two_hands_hold(h.left | h.right | h.either, player);
  return std::all_of(h.by_keyboard.begin(), h.by_keyboard.end(), [&](const auto& on) {
    return holds(on.second, std::max(player.left.most.value, player.right.most.value));
  });
}

namespace {

Held less(Held h, int key) {
  h.left.erase(key);
  h.right.erase(key);
  h.either.erase(key);
  for (auto& [k, keys] : h.by_keyboard) keys.erase(key);
  std::erase_if(h.by_keyboard, [](const auto& on) { return on.second.empty(); });
  return h;
}

std::string names(NoteSet keys) {
  std::string out;
  for (const int k : keys)
    out += fmt::format("{}{}", out.empty() ? "" : k == keys.highest() ? " and " : ", ", name(Note{k}));
  return out;
}

// The lowest key under the feet, through a coupler from the pedals to its manual, where the feet rest.
std::optional<std::string> by_the_feet(const Asked& a, const Held& h) {
  if (!h.feet.empty() || h.by_keyboard.empty()) return std::nullopt;
  const auto lowest = std::min_element(h.by_keyboard.begin(), h.by_keyboard.end(), [](const auto& x, const auto& y) {
    return x.second.lowest() < y.second.lowest();
  });
  const int key = lowest->second.lowest();
  if (!hands_hold(a.player, less(h, key))) return std::nullopt;
  for (const Coupler& c : a.organ.couplers) {
    const Keyboard& from = board(a, c.from);
    if (!from.pedal || !from.keys.contains(key) || c.to != board(a, lowest->first).division) continue;
    if (c.semitones == 0 && !c.unison_off)
      return fmt::format("Let the feet take {}, which rest here, with {}.", name(Note{key}), c.name);
  }
  return std::nullopt;
}

// A key that sounds in another octave as well, and without which the rest is held.
template <typename Fits>
std::optional<std::string> leave_out(NoteSet of, NoteSet all, Fits fits) {
  for (const int key : of) {
    bool doubled = false;
    for (const int k : all) doubled |= k != key && k % 12 == key % 12;
    if (doubled && fits(key))
      return fmt::format("Leave out {}: the same note sounds in another octave.", name(Note{key}));
  }
  return std::nullopt;
}

std::optional<std::string> let_go(NoteSet held, const Held& h, bool helps) {
  if (!helps || (held - h.struck).empty()) return std::nullopt;
  return fmt::format("Let {} go when the new notes come.", names(held - h.struck));
}

FitFinding third_hand(const Asked& a, const Held& h, NoteId first) {
  const NoteSet all = h.left | h.right | h.either;
  FitFinding f;
  f.kind = FitKind::third_hand;
  f.moment = first_moment(a.score, first);
  f.note = Note{all.lowest()};
  f.written = first;
  const std::size_t manuals = h.by_keyboard.size();
  if (manuals > 2) {
    f.message = fmt::format("Notes stand on {} manuals at once, and there are two hands.", manuals);
    f.remedies.emplace_back("Play two of these staves on one manual.");
    return f;
  }
  f.message = manuals < 2 ? fmt::format("{} keys between {} and {} are more than two hands of this span hold.",
                                        all.size(), name(Note{all.lowest()}), name(Note{all.highest()}))
                          : "On one of two manuals there are more keys at once than a hand holds.";
  if (auto way = by_the_feet(a, h)) f.remedies.push_back(std::move(*way));
  if (manuals == 2 && two_hands_hold(all, a.player)) f.remedies.emplace_back("Play all of it on one manual here.");
  if (auto way = leave_out(all, all, [&](int key) { return hands_hold(a.player, less(h, key)); }))
    f.remedies.push_back(std::move(*way));
  Held new_ones = h;
  for (const int key : all - h.struck) new_ones = less(new_ones, key);
  if (auto way = let_go(all, h, hands_hold(a.player, new_ones))) f.remedies.push_back(std::move(*way));
  if (h.struck.size() > 1) f.remedies.emplace_back("Break the chord from below, and let go of the lowest notes.");
  return f;
}

// Keys of one hand that the other takes, so that neither is stretched beyond `span`: from the side nearer the other.
std::optional<NoteSet> handed_over(NoteSet mine, NoteSet theirs, Hand hand, int span, int other_span) {
  NoteSet given;
  while (!mine.empty()) {
    const int key = hand == Hand::left ? mine.highest() : mine.lowest();
    mine.erase(key);
    given.insert(key);
    if (!holds(theirs | given, other_span)) return std::nullopt;
    if (holds(mine, span)) return given;
  }
  return std::nullopt;
}

std::vector<std::string> stretch_remedies(const Asked& a, const Held& h, Hand hand) {
  const NoteSet mine = hand == Hand::left ? h.left : h.right;
  const NoteSet theirs = hand == Hand::left ? h.right : h.left;
  const HandSpan& span = span_of(a.player, hand);
  const HandSpan& other_span = span_of(a.player, other(hand));
  std::vector<std::string> out;
  if (h.by_keyboard.size() < 2) {
    auto given = handed_over(mine, theirs, hand, span.comfortable.value, other_span.comfortable.value);
    if (!given) given = handed_over(mine, theirs, hand, span.most.value, other_span.most.value);
    if (given) out.push_back(fmt::format("Let the {} hand take {}.", word(other(hand)), names(*given)));
  }
  const auto spanned = [&](int key) { return holds(without(mine, key), span.most.value); };
  if (hand == Hand::left && spanned(mine.lowest())) {
    if (auto way = by_the_feet(a, h)) out.push_back(std::move(*way));
  }
  if (auto way = leave_out(mine, h.left | h.right | h.either, spanned)) out.push_back(std::move(*way));
  if (auto way = let_go(mine, h, holds(mine & h.struck, span.most.value))) out.push_back(std::move(*way));
  if ((mine & h.struck).size() > 1) out.emplace_back("Break the chord.");
  return out;
}

FitFinding wide_stretch(const Asked& a, const Held& h, Hand hand, NoteId first) {
  const NoteSet mine = hand == Hand::left ? h.left : h.right;
  const HandSpan& span = span_of(a.player, hand);
  FitFinding f;
  f.kind = FitKind::wide_stretch;
  f.moment = first_moment(a.score, first);
  f.note = Note{hand == Hand::left ? mine.highest() : mine.lowest()};
  f.written = first;
  // Where the other hand can help, it can be played as written.
  f.hinders = !holds(mine, span.most.value) && h.by_keyboard.size() > 1;
  f.message = fmt::format("The {} hand has {} keys over {} semitones; this player's hand spans {} at most, {} at ease.",
                          word(hand), mine.size(), width(mine), span.most.value, span.comfortable.value);
  f.remedies = stretch_remedies(a, h, hand);
  return f;
}

}  // namespace

void stretches(const Asked& a, std::vector<FitFinding>& out) {
  std::set<std::pair<NoteId, FitKind>> told;
  const auto tell = [&](FitFinding f) {
    if (told.insert({*f.written, f.kind}).second) out.push_back(std::move(f));
  };
  // Only what sounds can be held: presses that have ended long ago are left behind.
  std::vector<Press> sounding;
  for (std::size_t i = 0; i < a.presses.size();) {
    const Rational t = a.presses[i].start;
    bool hands = false;
    NoteId first = a.presses[i].notes.front();
    std::erase_if(sounding, [&](const Press& p) { return p.end <= t; });
    for (; i < a.presses.size() && a.presses[i].start == t; ++i) {
      sounding.push_back(a.presses[i]);
      if (a.presses[i].role == Role::feet) continue;
      if (!hands) first = a.presses[i].notes.front();
      hands = true;
    }
    if (!hands) continue;
    const Held h = held_at(a, sounding, t);
    if (!hands_hold(a.player, h)) {
      tell(third_hand(a, h, first));
      continue;
    }
    for (const Hand hand : {Hand::left, Hand::right}) {
      if (!holds(hand == Hand::left ? h.left : h.right, span_of(a.player, hand).comfortable.value))
        tell(wide_stretch(a, h, hand, first));
    }
  }
}

}  // namespace calcant::fitting
