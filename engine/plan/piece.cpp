#include "engine/plan/piece.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "engine/plan/moves.hpp"
#include "engine/playing/windows.hpp"

namespace calcant {
namespace {

struct Dynamic {
  std::string_view mark;
  double share;
};
// How far up this organ's range each mark leads (ours; marks say louder and softer, not how loud).
constexpr Dynamic dynamics[] = {{"ppp", 0.0}, {"pp", 0.05}, {"p", 0.2},   {"mp", 0.35},
                                {"mf", 0.55}, {"f", 0.8},   {"ff", 0.95}, {"fff", 1.0}};
constexpr double unmarked_share = 0.5;
constexpr std::size_t chords_weighed = 6;

constexpr double phon_per_unit = 1.2;
constexpr double near_enough = 0.7;  // phon
constexpr double per_knob = 0.2;
constexpr double no_time = 8.0;  // a second lacking: a helper is asked for before the music goes without its dynamic
constexpr double box_moved = 0.1;

struct Stretch {
  Rational from;     // performed quarters
  std::string mark;  // empty: none
  double share = unmarked_share;
};

std::vector<Stretch> stretches(const Score& score) {
  std::vector<Stretch> out{{Rational{0}, "", unmarked_share}};
  for (const Turn& turn : score.turns) {
    for (const Direction& d : score.directions) {
      if (d.kind != Direction::Kind::dynamics || d.bar != turn.bar) continue;
      const auto known =
          std::find_if(std::begin(dynamics), std::end(dynamics), [&](const Dynamic& x) { return d.text == x.mark; });
      if (known == std::end(dynamics)) continue;
      const Rational at = turn.start + d.at;
      if (at == out.back().from) out.back() = {at, d.text, known->share};
      else if (out.back().mark != d.text) out.push_back({at, d.text, known->share});
    }
  }
  return out;
}

// What a hand can use before a change at `t`, and when it may begin: its longest window that lasts until then, no more
// than `longest_lead` before, so that what is drawn is not heard long before its place. With `rests_only` no window counts
// in which the other hand must play for it.
constexpr double longest_lead = 4;         // seconds
constexpr double end_near_quarters = 0.5;  // a window that ends this much before the change still serves

struct HandTime {
  Seconds seconds;
  Rational from;
};
HandTime hand_time(const std::vector<Window>& all, const Tempo& tempo, Hand hand, Rational t, Rational not_before,
                   bool rests_only) {
  HandTime best{Seconds{0}, t};
  for (const Window& w : all) {
    if (w.hand != hand || w.from >= t || (w.to - t).to_double() < -end_near_quarters) continue;
    if (rests_only && w.kind != WindowKind::rest) continue;
    const Rational to = std::min(w.to, t);
    Rational from = std::max(w.from, not_before);
    if (from >= to) continue;
    double seconds = (tempo.at(to) - tempo.at(from)).value();
    if (seconds > longest_lead) {
      from = to - Rational{static_cast<std::int64_t>(longest_lead * tempo.quarters_per_minute(t) / 60 * 16), 16};
      from = std::max(from, w.from);
      seconds = (tempo.at(to) - tempo.at(from)).value();
    }
    if (seconds > best.seconds.value()) best = {Seconds{seconds}, from};
  }
  return best;
}

// When the feet last let go before a time.
Rational feet_let_go(const std::vector<Press>& presses, Rational before) {
  Rational last{0};
  for (const Press& p : presses) {
    if (p.start >= before) break;
    if (p.role == Role::feet) last = std::max(last, std::min(p.end, before));
  }
  return last;
}

}  // namespace

std::vector<Chord> sampled_chords(const Score& score, std::size_t count) {
  const auto all = presses(score);
  std::set<Rational> starts;
  for (const Press& p : all) {
    if (p.role != Role::not_played) starts.insert(p.start);
  }
  const std::vector<Rational> times(starts.begin(), starts.end());
  std::vector<Chord> chords;
  const std::size_t n = std::min(count, times.size());
  for (std::size_t i = 0; i < n; ++i) {
    const Rational t = times[(2 * i + 1) * times.size() / (2 * n)];
    Chord c;
    for (const Press& p : all) {
      if (p.start > t) break;
      if (p.end <= t) continue;
      if (p.role == Role::feet) c.feet.insert(p.key.midi);
      else if (p.role == Role::left_hand) c.left.insert(p.key.midi);
      else if (p.role != Role::not_played) c.right.insert(p.key.midi);
    }
    chords.push_back(c);
  }
  return chords;
}

Result<void> plan_piece(Plan& plan, const Organ& organ, const Listening& listening, const Score& score,
                        const Piece& piece, const Player& player, const PaletteWish& wish, const Work& work) {
  const auto all = presses(score);
  const auto role_used = [&](Role r) {
    return std::any_of(all.begin(), all.end(), [&](const Press& p) { return p.role == r; });
  };
  const bool feet = role_used(Role::feet) && pedalboard(organ).has_value();
  Scales scales(listening, sampled_chords(score, chords_weighed));
  if (scales.chords().empty()) return fail("There is nothing to play in this score.", piece.title);
  PaletteWish w = wish;
  w.feet = feet;
  work.tell(0.1, "weighing registrations");
  const std::vector<Shade> shades = palette(organ, scales, w);
  if (shades.empty()) return fail("No manual of this organ has a stop in use.", piece.title);
  if (work.stop.stop_requested()) return fail("Stopped before the plan was made.", piece.title);

  double low = std::numeric_limits<double>::infinity();
  double high = 0;
  for (const Shade& s : shades) {
    if (s.against >= 1) continue;
    low = std::min(low, s.loudness.value());
    high = std::max(high, s.loudness.value());
  }
  if (high == 0) {
    low = shades.front().loudness.value();
    high = shades.back().loudness.value();
  }

  const Tempo tempo(score, piece.fallback_quarters_per_minute, piece.tempo);
  const std::vector<Stretch> parts = stretches(score);
  const std::vector<Window> free_hands = windows(score, player, tempo);
  struct Rest {
    FreeTime one;   // where one hand moves, the other may play for it
    FreeTime both;  // where both move, neither can
    Rational left, right;
  };
  std::vector<Rest> rests(parts.size());
  for (std::size_t i = 1; i < parts.size(); ++i) {
    const Rational t = parts[i].from;
    const Rational since = parts[i - 1].from;
    const Seconds foot = tempo.at(t) - tempo.at(feet_let_go(all, t));
    const HandTime left = hand_time(free_hands, tempo, Hand::left, t, since, false);
    const HandTime right = hand_time(free_hands, tempo, Hand::right, t, since, false);
    rests[i].one = {left.seconds, right.seconds, foot};
    rests[i].both = {hand_time(free_hands, tempo, Hand::left, t, since, true).seconds,
                     hand_time(free_hands, tempo, Hand::right, t, since, true).seconds, foot};
    rests[i].left = left.from;
    rests[i].right = right.from;
  }
  const auto move = [&](std::size_t s, const Registration& from, const Registration& to) {
    const Move m = move_for(organ, from, to, player, rests[s].one);
    return m.mover == Mover::both_hands ? move_for(organ, from, to, player, rests[s].both) : m;
  };

  const bool first = plan.items.empty();
  const Registration before = first ? Registration{} : plan.state(static_cast<int>(plan.items.size()) - 1, 1 << 20);
  const auto own = [&](std::size_t s, std::size_t i) {
    const double target = low + parts[s].share * (high - low);
    const double off = std::max(0.0, std::abs(shades[i].loudness.value() - target) - near_enough) / phon_per_unit;
    return off * off + shades[i].against + (s == 0 && !first ? 0.02 * knobs_moved(before, shades[i].drawn) : 0);
  };
  const auto step = [&](std::size_t s, std::size_t i, std::size_t j) {
    const Shade& a = shades[i];
    const Shade& b = shades[j];
    return per_knob * knobs_moved(a.drawn, b.drawn) + (a.on == b.on ? 0 : 0.05) +
           box_moved * static_cast<double>(box_moves(organ, a.drawn, b.drawn).size()) +
           no_time * move(s, a.drawn, b.drawn).lacking().value();
  };
  const auto path = cheapest_path(std::vector<std::size_t>(parts.size(), shades.size()), own, step);

  Item item;
  item.kind = ItemKind::piece;
  item.number = piece.number;
  item.title = piece.title;
  if (!score.composer.empty()) item.subtitle = score.composer;
  const int index = static_cast<int>(plan.items.size());
  for (std::size_t s = 0; s < parts.size(); ++s) {
    const Shade& shade = shades[path[s]];
    Section section;
    section.from = moment_at(score, parts[s].from);
    section.wish = parts[s].mark;
    section.label = parts.size() == 1 ? "Throughout" : words(score, section.from);
    if (!section.label.empty() && section.label[0] >= 'a' && section.label[0] <= 'z') {
      section.label[0] = static_cast<char>(section.label[0] - 'a' + 'A');
    }
    section.drawn = shade.drawn;
    section.keyboards = shade.on;
    section.loudness = shade.loudness;
    Occasion occasion;
    occasion.on = *shade.on.right;
    if (shade.on.feet) {
      section.pedal_loudness = shade.pedal;
      occasion.manual = scales.hands(shade.drawn, shade.on);
      occasion.pedal = shade.pedal;
    }
    section.advice = advise(organ, shade.drawn, occasion);
    section.why.push_back(parts[s].mark.empty() ? fmt::format("{}; the score marks no dynamic here.", shade.what)
                                                : fmt::format("{} for {}.", shade.what, parts[s].mark));
    const Shade* from = s > 0 ? &shades[path[s - 1]] : nullptr;
    const Registration& then = from != nullptr ? from->drawn : before;
    const OnKeyboards then_on = from != nullptr ? from->on
                                : first         ? shade.on
                                                : plan.items.back().sections.back().keyboards;
    if (s == 0 && first) {
      plan.initial = shade.drawn;
      plan.initial_keyboards = shade.on;
    } else {
      Cue c;
      c.item = index;
      c.section = static_cast<int>(s);
      c.draw = newly_drawn(organ, then, shade.drawn);
      c.put_in = newly_drawn(organ, shade.drawn, then);
      c.boxes = box_moves(organ, then, shade.drawn);
      if (then_on != shade.on) c.go_to = shade.on;
      c.why = section.why.back();
      c.moment = section.from;
      const FreeTime at_leisure{Seconds{3600}, Seconds{3600}, Seconds{3600}};
      const Move m = s > 0 ? move(s, then, shade.drawn) : move_for(organ, then, shade.drawn, player, at_leisure);
      c.mover = m.mover == Mover::nobody && !c.boxes.empty() ? Mover::foot : m.mover;
      if (s > 0) {
        const Rational begins = m.mover == Mover::right_hand  ? rests[s].right
                                : m.mover == Mover::left_hand ? rests[s].left
                                                              : parts[s].from;
        c.moment = moment_at(score, begins);
        c.window = ChangeWindow{c.moment, section.from, m.needed, m.available};
        if (m.lacking() > Seconds{0}) {
          c.mover = Mover::helper;
          c.moment = section.from;
          c.why += fmt::format(" No rest is long enough ({:.1f} s needed, {:.1f} s there): a helper.", m.needed.value(),
                               m.available.value());
        }
      }
      if (!c.draw.empty() || !c.put_in.empty() || !c.boxes.empty() || c.go_to) plan.cues.push_back(std::move(c));
    }
    item.sections.push_back(std::move(section));
  }
  if (parts.size() == 1 && parts.front().mark.empty()) {
    item.remarks.push_back("The score marks no dynamics, so one registration of middling strength serves throughout.");
  }
  if (tempo.assumed()) {
    item.remarks.push_back(fmt::format("The score has no tempo: {:g} crotchets a minute are assumed.",
                                       piece.fallback_quarters_per_minute));
  }
  if (role_used(Role::feet) && !pedalboard(organ)) {
    item.remarks.push_back(
        "This organ has no pedals: the pedal part is not played, or the left hand takes what it can.");
  }
  for (const std::string& r : score.remarks) item.remarks.push_back(r);
  plan.items.push_back(std::move(item));
  return {};
}

}  // namespace calcant
