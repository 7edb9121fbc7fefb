#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <set>

#include "engine/playing/feet.hpp"
#include "engine/playing/feet_cost.hpp"
#include "engine/playing/feet_search.hpp"
#include "engine/playing/fit_parts.hpp"
#include "engine/playing/windows.hpp"

namespace calcant::fitting {

namespace {

std::optional<KeyboardIndex> keyboard_of(const Asked& a, Role hand, Rational written_at) {
  for (std::size_t s = 0; s < a.score.staves.size(); ++s) {
    if (a.score.staves[s].role == hand) return a.keyboards.at(static_cast<int>(s), hand, written_at);
  }
  return std::nullopt;
}

// A hand that can take one of two pedal notes beside what it holds then, on its own manual.
std::optional<std::string> hand_for(const Asked& a, const Press& pedal) {
  for (const Role role : {Role::left_hand, Role::right_hand}) {
    std::vector<Press> sounding;
    for (const Press& p : a.presses) {
      if (p.role != Role::feet && p.start < pedal.end && pedal.start < p.end) sounding.push_back(p);
    }
    const std::optional<KeyboardIndex> there = keyboard_of(a, role, onset_of(a.score, pedal.notes.front()));
    if (!there || !board(a, *there).keys.contains(pedal.key)) continue;
    // All that the hand has while the pedal note lasts, at each beginning.
    const bool held = std::all_of(sounding.begin(), sounding.end(), [&](const Press& p) {
      const Rational t = std::max(p.start, pedal.start);
      Held h = held_at(a, sounding, t);
      NoteSet& mine = role == Role::left_hand ? h.left : h.right;
      mine.insert(pedal.key.midi);
      const HandSpan& span = role == Role::left_hand ? a.player.left : a.player.right;
      return mine.size() <= keys_in_a_hand && mine.highest() - mine.lowest() <= span.most.value;
    });
    if (held)
      return fmt::format("Let the {} hand take {} on the {}, where it sounds without the pedal's stops.",
                         role == Role::left_hand ? "left" : "right", name(pedal.key), board(a, *there).name);
  }
  return std::nullopt;
}

FitFinding two_pedals(const Asked& a, const Press& lower, const Press& upper, NoteId at) {
  const bool left_only = a.player.feet == FeetStyle::left_foot_only;
  FitFinding f;
  f.kind = FitKind::double_pedal;
  f.moment = first_moment(a.score, at);
  f.note = a.score.notes[at].note;
  f.written = at;
  f.hinders = left_only;
  f.message = fmt::format("Two pedals are held at once, {} and {}{}", name(lower.key), name(upper.key),
                          left_only ? ", and this player uses the left foot only." : ": each foot has one.");
  if (auto way = hand_for(a, upper)) f.remedies.push_back(std::move(*way));
  f.remedies.push_back(fmt::format("Leave out {}{}.", name(upper.key),
                                   (upper.key.midi - lower.key.midi) % 12 == 0 ? ", which doubles the lower one" : ""));
  return f;
}

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
    const auto [low, high] = std::minmax_element(
        sounding.begin(), sounding.end(), [](const Press* x, const Press* y) { return x->key.midi < y->key.midi; });
    out.push_back(two_pedals(a, **low, **high, n));
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

// The nearest rest of the feet that is long enough to move the box in, not further off than the eye follows.
constexpr int near_quarters = 16;
const Rational long_enough{1, 2};
std::optional<std::string> nearest_rest(const Asked& a, const std::vector<PedalPress>& part, Rational from,
                                        Rational to) {
  std::optional<Rational> best;
  Rational best_distance{near_quarters + 1};
  const auto rest = [&](Rational begins, Rational ends) {
    if (ends - begins < long_enough) return;
    const Rational distance = ends <= from ? from - ends : to <= begins ? begins - to : Rational{};
    if (distance >= best_distance) return;
    best_distance = distance;
    best = begins;
  };
  Rational quiet;
  for (const PedalPress& p : part) {
    rest(quiet, p.note.start);
    quiet = std::max(quiet, p.note.end);
  }
  rest(quiet, a.score.bars.back().start + a.score.bars.back().length);
  if (!best || best_distance > Rational{near_quarters}) return std::nullopt;
  const auto bar =
      std::find_if(a.score.bars.rbegin(), a.score.bars.rend(), [&](const Bar& b) { return b.start <= *best; });
  Moment m;
  m.bar = bar->label;
  m.bar_index = static_cast<int>(a.score.bars.rend() - bar) - 1;
  m.at = *best - bar->start;
  return fmt::format("Move the box where the feet rest, from {}.", words(a.score, m));
}

void swell_pedal(const Asked& a, std::vector<FitFinding>& out) {
  if (a.organ.boxes.empty() || a.player.feet == FeetStyle::left_foot_only) return;
  const std::vector<PedalPress> part = pedal_part(a.score, a.tempo);
  std::set<NoteId> told;
  for (const auto& [from, to] : swellings(a.score)) {
    const auto found = swelling(a, part, from, to);
    if (!found || !told.insert(found->first).second) continue;
    const bool lever = a.organ.boxes.front().pedal == SwellPedal::lever;
    std::vector<std::string> ways;
    if (auto way = nearest_rest(a, part, from, to)) ways.push_back(std::move(*way));
    if (lever) ways.emplace_back("Go straight to the next hitch between two notes, and leave the lever there.");
    ways.emplace_back("Take a simplified bass there, with the left foot.");
    if (a.player.helper) ways.emplace_back("Let the helper draw or put in a stop instead.");
    const bool alone = found->dearer <= awkward_for_the_box;
    out.push_back({FitKind::swell_and_feet, first_moment(a.score, found->first), a.score.notes[found->first].note,
                   found->first, 1, false,
                   alone ? "The box is to be moved here, and the left foot has the bass alone: awkward, and possible."
                         : "The box is to be moved here, and the feet cannot well spare the right one.",
                   ways});
  }
}

}  // namespace

void feet(const Asked& a, std::vector<FitFinding>& out) {
  double_pedal(a, out);
  swell_pedal(a, out);
}

}  // namespace calcant::fitting
