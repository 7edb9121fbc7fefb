#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <set>

#include "engine/playing/feet.hpp"
#include "engine/playing/feet_search.hpp"
#include "engine/playing/fit_parts.hpp"
#include "engine/playing/windows.hpp"

namespace calcant::fitting {

namespace {

int width(NoteSet s) { return s.empty() ? 0 : s.highest() - s.lowest(); }
bool holds(NoteSet s, int span) { return s.size() <= keys_in_a_hand && width(s) <= span; }
NoteSet up_to(NoteSet s, int high) { return s & NoteSet::range(0, high); }

// Whether two hands hold these keys of one manual, the left below the right.
bool two_hands_hold(NoteSet keys, const Player& p) {
  if (holds(keys, p.left.most.value) || holds(keys, p.right.most.value)) return true;
  for (const int cut : keys) {
    if (holds(up_to(keys, cut), p.left.most.value) && holds(keys - up_to(keys, cut), p.right.most.value)) return true;
  }
  return false;
}

struct Held {
  NoteSet left;
  NoteSet right;
  NoteSet either;
  std::map<KeyboardIndex, NoteSet> by_keyboard;
};

Held held_at(const Asked& a, std::size_t first, Rational t) {
  Held h;
  NoteSet feet;
  for (std::size_t i = 0; i < first; ++i) {
    if (a.presses[i].role == Role::feet && a.presses[i].start <= t && t < a.presses[i].end)
      feet.insert(a.presses[i].key.midi);
  }
  for (std::size_t i = 0; i < first; ++i) {
    const Press& p = a.presses[i];
    if (p.role == Role::feet || t < p.start || p.end <= t || feet.contains(p.key)) continue;
    (p.role == Role::left_hand ? h.left : p.role == Role::right_hand ? h.right : h.either).insert(p.key.midi);
    const auto k = a.keyboards.at(p.stave, p.role, onset_of(a.score, p.notes.front()));
    if (k) h.by_keyboard[*k].insert(p.key.midi);
  }
  return h;
}

}  // namespace

void stretches(const Asked& a, std::vector<FitFinding>& out) {
  std::set<std::pair<NoteId, FitKind>> told;
  // Only what sounds can be held: presses that have ended long ago are left behind.
  Asked near{a.score, a.organ, a.player, a.tempo, a.wishes, a.keyboards, {}};
  for (std::size_t i = 0; i < a.presses.size();) {
    const Rational t = a.presses[i].start;
    bool hands = false;
    NoteId first = a.presses[i].notes.front();
    std::erase_if(near.presses, [&](const Press& p) { return p.end <= t; });
    for (; i < a.presses.size() && a.presses[i].start == t; ++i) {
      near.presses.push_back(a.presses[i]);
      if (a.presses[i].role == Role::feet) continue;
      if (!hands) first = a.presses[i].notes.front();
      hands = true;
    }
    if (!hands) continue;
    const Held h = held_at(near, near.presses.size(), t);
    const NoteSet all = h.left | h.right | h.either;
    const Moment moment = first_moment(a.score, first);
    bool possible = h.by_keyboard.size() <= 2;
    if (h.by_keyboard.size() == 2) {
      for (const auto& [k, keys] : h.by_keyboard) {
        possible &= holds(keys, std::max(a.player.left.most.value, a.player.right.most.value));
      }
    } else if (h.by_keyboard.size() == 1) {
      possible = two_hands_hold(all, a.player);
    }
    if (!possible) {
      if (!told.insert({first, FitKind::third_hand}).second) continue;
      out.push_back(
          {FitKind::third_hand,
           moment,
           Note{all.lowest()},
           first,
           1,
           true,
           h.by_keyboard.size() > 2
               ? fmt::format("Notes stand on {} manuals at once, and there are two hands.", h.by_keyboard.size())
               : fmt::format("{} keys between {} and {} are more than two hands of this span hold.", all.size(),
                             name(Note{all.lowest()}), name(Note{all.highest()})),
           {fmt::format("Let the feet take {}, coupled, where they are free.", name(Note{all.lowest()})),
            "Leave out a note that is doubled at the octave.", "Break the chord from below."}});
      continue;
    }
    for (const Hand hand : {Hand::left, Hand::right}) {
      const NoteSet mine = hand == Hand::left ? h.left : h.right;
      const HandSpan& span = hand == Hand::left ? a.player.left : a.player.right;
      if (holds(mine, span.comfortable.value)) continue;
      const bool hinders = !holds(mine, span.most.value);
      if (!told.insert({first, FitKind::wide_stretch}).second) continue;
      const bool one_manual = h.by_keyboard.size() < 2;
      const Note far{hand == Hand::left ? mine.highest() : mine.lowest()};
      std::vector<std::string> ways;
      if (one_manual) ways.push_back(fmt::format("Let the {} hand take {}.", word(other(hand)), name(far)));
      ways.emplace_back("Leave out an inner note that is doubled.");
      ways.emplace_back("Break the chord.");
      // Where the other hand can help, it can be played as written.
      out.push_back(
          {FitKind::wide_stretch, moment, far, first, 1, hinders && !one_manual,
           fmt::format("The {} hand has {} keys over {} semitones; this player's hand spans {} at most, {} at "
                       "ease.",
                       word(hand), mine.size(), width(mine), span.most.value, span.comfortable.value),
           ways});
    }
  }
}

namespace {

void double_pedal(const Asked& a, std::vector<FitFinding>& out) {
  std::vector<const Press*> sounding;
  Rational last_end{-1};
  std::set<NoteId> told;
  for (const Press& p : a.presses) {
    if (p.role != Role::feet) continue;
    std::erase_if(sounding, [&](const Press* q) { return q->end <= p.start; });
    sounding.push_back(&p);
    if (sounding.size() < 2) continue;
    const bool goes_on = p.start <= last_end;
    for (const Press* q : sounding) last_end = std::max(last_end, q->end);
    if (goes_on && !out.empty() && out.back().kind == FitKind::double_pedal) {
      ++out.back().times;
      continue;
    }
    const NoteId n = p.notes.front();
    if (!told.insert(n).second) continue;
    const bool left_only = a.player.feet == FeetStyle::left_foot_only;
    out.push_back(
        {FitKind::double_pedal,
         first_moment(a.score, n),
         p.key,
         n,
         1,
         left_only,
         left_only ? "Two pedals are held at once, and this player uses the left foot only."
                   : "Two pedals are held at once: each foot has one.",
         {"Let a hand take the upper one, with the pedal coupled to that manual.", "Leave out the upper one."}});
  }
}

// What it costs the feet to give the right foot away between two places: a cost of one lift or more is told.
constexpr double dear = 5.0;

struct Swelling {
  NoteId first = 0;
  double dearer = 0;
};
std::optional<Swelling> swelling(const Asked& a, const std::vector<PedalPress>& part, Rational from, Rational to) {
  const Rational margin{8};
  std::vector<PedalNote> notes;
  std::optional<NoteId> first;
  for (const PedalPress& p : part) {
    if (p.note.end + margin < from || to + margin < p.note.start) continue;
    notes.push_back(p.note);
    if (!first && from < p.note.end && p.note.start < to) first = p.notes.front();
  }
  if (!first) return std::nullopt;
  FeetRules rules;
  rules.board = Pedalboard(a.organ.console);
  rules.heels = a.player.feet == FeetStyle::legato;
  rules.foot_span = a.player.foot_span.value;
  const double free = cheapest_feet(notes, rules, {}).cost;
  for (PedalNote& n : notes) {
    if (from < n.end && n.start < to) n.right_free = false;
  }
  const double dearer = cheapest_feet(notes, rules, {}).cost - free;
  if (dearer < dear) return std::nullopt;
  return Swelling{*first, dearer};
}

// Whether a word asks for louder or softer by degrees, or for the box itself.
bool moves_box(std::string_view text) {
  std::string small;
  for (const char c : text) small += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  static constexpr std::array<std::string_view, 8> words{"cresc",     "dim.",     "dimin",    "decresc",
                                                         "swell box", "box open", "box shut", "open box"};
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view w) { return small.find(w) != std::string::npos; });
}

// Written spans in which the copy wants the box to move: wedges; and from a word such as "cresc." to the next dynamic, or
// two bars where none follows.
std::vector<std::pair<Rational, Rational>> swellings(const Score& s) {
  using Kind = Direction::Kind;
  std::vector<std::pair<Rational, Rational>> out;
  for (std::size_t i = 0; i < s.directions.size(); ++i) {
    const Direction& d = s.directions[i];
    const bool wedge = d.kind == Kind::wedge_opens || d.kind == Kind::wedge_closes;
    if (!wedge && !(d.kind == Kind::words && moves_box(d.text))) continue;
    const Rational from = written(s, d.bar, d.at);
    const auto last = std::min(s.bars.size() - 1, static_cast<std::size_t>(d.bar) + 1);
    Rational to = s.bars[last].start + s.bars[last].length;
    for (std::size_t j = i + 1; j < s.directions.size(); ++j) {
      const Direction& e = s.directions[j];
      const Rational at = written(s, e.bar, e.at);
      if (at <= from || e.kind != (wedge ? Kind::wedge_ends : Kind::dynamics)) continue;
      to = wedge ? at : std::min(to, at);
      break;
    }
    out.emplace_back(from, to);
  }
  return out;
}

void swell_pedal(const Asked& a, std::vector<FitFinding>& out) {
  if (a.organ.boxes.empty() || a.player.feet == FeetStyle::left_foot_only) return;
  const std::vector<PedalPress> part = pedal_part(a.score, a.tempo);
  std::set<NoteId> told;
  for (const auto& [from, to] : swellings(a.score)) {
    const auto found = swelling(a, part, from, to);
    if (!found || !told.insert(found->first).second) continue;
    const bool lever = a.organ.boxes.front().pedal == SwellPedal::lever;
    std::vector<std::string> ways{"Move the box in the nearest bars without pedal."};
    if (lever) ways.emplace_back("Go straight to the next hitch between two notes, and leave the lever there.");
    ways.emplace_back("Take a simplified bass there, with the left foot.");
    if (a.player.helper) ways.emplace_back("Let the helper draw or put in a stop instead.");
    out.push_back({FitKind::swell_and_feet, first_moment(a.score, found->first), a.score.notes[found->first].note,
                   found->first, 1, false, "The box is to be moved here, and the feet cannot well spare the right one.",
                   ways});
  }
}

}  // namespace

void feet(const Asked& a, std::vector<FitFinding>& out) {
  double_pedal(a, out);
  swell_pedal(a, out);
}

}  // namespace calcant::fitting
