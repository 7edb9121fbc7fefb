#include "engine/plan/changes.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace calcant {
namespace {

constexpr Seconds longest_lead{4};  // what is heard is not drawn longer before its place
const Rational end_near{1, 2};      // quarters: a window that ends so little before the place still serves
const Rational sixteenth{1, 16};

std::size_t index(Trip t) { return static_cast<std::size_t>(t); }
std::size_t index(Hand h) { return static_cast<std::size_t>(h); }

HandTime time_of(Rational from, Rational to, const Tempo& tempo, const Player& player) {
  if (to <= from) return {};
  HandTime t{from, to, tempo.at(to) - tempo.at(from), 0};
  t.knobs = knobs_within(player, t.seconds);
  return t;
}

// The latest start from which at least so many seconds are left until `to`, counted in sixteenths of a quarter.
Rational back_from(Rational to, Seconds seconds, const Tempo& tempo, Rational not_before) {
  const double quarters = seconds.value() * tempo.quarters_per_minute(to) / 60;
  Rational from = to - Rational{static_cast<std::int64_t>(std::ceil(quarters * 16)), 16};
  while (from > not_before && tempo.at(to) - tempo.at(std::max(from, not_before)) < seconds) from = from - sixteenth;
  return std::max(from, not_before);
}

// The knobs of one side, and the room there is for them.
struct Side {
  int heard = 0, early = 0, late = 0, any = 0;
  [[nodiscard]] int all() const { return heard + early + late + any; }
};
struct Openings {
  int there = 0, early = 0, late = 0;
};
int left_over(const Side& s, const Openings& room) {
  const int early_over = std::max(0, s.early - room.early);
  const int late_over = std::max(0, s.late - room.late);
  const int spare = std::max(0, room.early - s.early) + std::max(0, room.late - s.late);
  const int any_over = std::max(0, s.any - spare);
  return std::max(0, s.heard + early_over + late_over + any_over - room.there);
}

Openings room_of(const std::array<std::array<HandTime, 2>, 3>& times, Hand h) {
  return {times[index(Trip::there)][index(h)].knobs, times[index(Trip::early)][index(h)].knobs,
          times[index(Trip::late)][index(h)].knobs};
}

// Knobs that either hand reaches go where more room is left, one by one.
std::array<Side, 2> shared_out(const Sorted& k, const std::array<Openings, 2>& rooms) {
  std::array<Side, 2> sides{Side{k.heard.left, k.early.left, k.late.left, k.any.left},
                            Side{k.heard.right, k.early.right, k.late.right, k.any.right}};
  const auto give = [&](int count, int Side::*kind) {
    for (int i = 0; i < count; ++i) {
      std::array<Side, 2> with = sides;
      with[0].*kind += 1;
      with[1].*kind += 1;
      const int left = left_over(with[0], rooms[0]) - left_over(sides[0], rooms[0]);
      const int right = left_over(with[1], rooms[1]) - left_over(sides[1], rooms[1]);
      // As much trouble either way: the hand that has more time left.
      const bool to_left =
          left != right ? left < right : rooms[0].there - sides[0].all() > rooms[1].there - sides[1].all();
      sides[to_left ? 0 : 1].*kind += 1;
    }
  };
  give(k.heard.either, &Side::heard);
  give(k.early.either, &Side::early);
  give(k.late.either, &Side::late);
  give(k.any.either, &Side::any);
  return sides;
}

struct Shared {
  std::array<Side, 2> sides;
  bool helped = true;  // one hand plays for the other
  int over = 0;
};
Shared share(const Sorted& k, const Chance& chance) {
  const auto with = [&](const std::array<std::array<HandTime, 2>, 3>& times, bool helped) {
    const std::array<Openings, 2> rooms{room_of(times, Hand::left), room_of(times, Hand::right)};
    Shared s{shared_out(k, rooms), helped, 0};
    s.over = left_over(s.sides[0], rooms[0]) + left_over(s.sides[1], rooms[1]);
    return s;
  };
  const Shared helped = with(chance.helped, true);
  // Where both hands go neither can play for the other.
  if (helped.sides[0].all() == 0 || helped.sides[1].all() == 0) return helped;
  return with(chance.alone, false);
}

}  // namespace

Heeded heeded(const Organ& organ, Sounding& sounding, const Registration& drawn, const HandsAndFeet& on) {
  Heeded h;
  std::vector<bool> played(organ.keyboards.size());
  for (const auto k : {on.right, on.left, on.feet}) {
    if (k) played[static_cast<std::size_t>(*k)] = true;
  }
  KeysDown down;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (played[k]) down.keys[k] = organ.keyboards[k].keys;
  }
  const std::vector<NoteSet> notes = sounding.notes(drawn, down);
  for (std::size_t s = 0; s < organ.stops.size(); ++s)
    h.stops.set(s, !notes[static_cast<std::size_t>(organ.stops[s].division)].empty());
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    // A coupler from a played keyboard, and one that a drawn coupler from there carries on.
    bool counts = played[static_cast<std::size_t>(organ.couplers[c].from)];
    for (std::size_t d = 0; d < organ.couplers.size(); ++d) {
      const auto& carries = organ.couplers[d].carries;
      counts = counts || (drawn.couplers[d] &&
                          std::find(carries.begin(), carries.end(), static_cast<CouplerIndex>(c)) != carries.end());
    }
    h.couplers.set(c, counts);
  }
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    if (organ.divisions[d].box && !notes[d].empty()) h.boxes[static_cast<std::size_t>(*organ.divisions[d].box)] = true;
  }
  return h;
}

std::vector<Chance> chances(const Score& score, const std::vector<Passage>& passages,
                            const std::vector<Window>& windows, const std::vector<Span>& right_foot,
                            const Player& player, const Tempo& tempo) {
  std::vector<Chance> out(passages.size());
  const Rational end = performed_length(score);
  const auto begins = [&](std::size_t p) { return p < passages.size() ? passages[p].from : end; };
  const auto middle = [&](std::size_t p) { return (begins(p) + begins(p + 1)) * Rational{1, 2}; };
  for (std::size_t p = 1; p < passages.size(); ++p) {
    Chance& c = out[p];
    const Rational t = passages[p].from;
    // Nothing is moved at a mark that waits for the end of its slur.
    const Rational since = passages[p].waited ? begins(p - 1) : middle(p - 1);
    const Rational until = middle(p);
    for (const bool helped : {true, false}) {
      auto& times = helped ? c.helped : c.alone;
      const auto better = [](HandTime& best, const HandTime& other) {
        if (other.seconds > best.seconds) best = other;
      };
      for (const Window& w : windows) {
        if (w.page_turn || (!helped && w.kind != WindowKind::rest)) continue;
        auto& there = times[index(Trip::there)][index(w.hand)];
        if (w.from < t && w.to + end_near >= t) {
          const Rational to = std::min(w.to, t);
          better(there, time_of(back_from(to, longest_lead, tempo, std::max(w.from, since)), to, tempo, player));
        }
      }
      for (const Window& w : windows) {
        if (w.page_turn || (!helped && w.kind != WindowKind::rest)) continue;
        const HandTime& there = times[index(Trip::there)][index(w.hand)];
        const Rational before = there.to > there.from ? there.from : t;
        better(times[index(Trip::early)][index(w.hand)],
               time_of(std::max(w.from, since), std::min(w.to, before), tempo, player));
        better(times[index(Trip::late)][index(w.hand)],
               time_of(std::max(w.from, t), std::min(w.to, until), tempo, player));
      }
    }
    c.hairpin = passages[p].hairpin.has_value();
    for (const Span& s : right_foot) {
      if (s.first >= t || s.second < t) continue;
      // A hairpin over more than one passage is the box's from where the last of them begins.
      const Rational hairpin = std::max(passages[p].hairpin.value_or(t), begins(p - 1));
      if (c.hairpin && s.first > hairpin) continue;
      const Rational from = c.hairpin ? hairpin : back_from(t, longest_lead, tempo, std::max(s.first, since));
      c.foot = {from, t, tempo.at(t) - tempo.at(from), 0};
    }
  }
  return out;
}

Sorted sorted_knobs(const Jambs& jambs, const Registration& from, const Heeded& then, const Registration& to,
                    const Heeded& next) {
  const auto stops = from.stops ^ to.stops;
  const auto couplers = from.couplers ^ to.couplers;
  Sorted s;
  s.heard = jambs.among(stops & then.stops & next.stops, couplers & then.couplers & next.couplers,
                        from.accessories ^ to.accessories);
  s.early = jambs.among(stops & ~then.stops & next.stops, couplers & ~then.couplers & next.couplers);
  s.late = jambs.among(stops & then.stops & ~next.stops, couplers & then.couplers & ~next.couplers);
  s.any = jambs.among(stops & ~then.stops & ~next.stops, couplers & ~then.couplers & ~next.couplers);
  return s;
}

int without_a_window(const Sorted& knobs, const Chance& chance) { return share(knobs, chance).over; }

std::vector<HandTrip> trips(const Organ& organ, const Registration& from, const Heeded& then, const Registration& to,
                            const Heeded& next, const Chance& chance) {
  const Jambs jambs(organ);
  const Shared shared = share(sorted_knobs(jambs, from, then, to, next), chance);
  const auto& times = shared.helped ? chance.helped : chance.alone;
  // What each side still may take, by kind; knobs of either side go where the sharing put them.
  std::array<Side, 2> wanted = shared.sides;
  std::array<Openings, 2> room{room_of(times, Hand::left), room_of(times, Hand::right)};
  std::vector<HandTrip> out;
  const auto put = [&](Trip trip, Mover mover, const HandTime& time, Knob k) {
    auto it =
        std::find_if(out.begin(), out.end(), [&](const HandTrip& h) { return h.mover == mover && h.trip == trip; });
    if (it == out.end()) {
      out.push_back({trip, mover, {}, {}, time});
      it = std::prev(out.end());
    }
    (is_drawn(to, k) ? it->draw : it->put_in).push_back(k);
  };
  const auto kind_of = [&](Knob k) -> int Side::* {
    const auto i = static_cast<std::size_t>(k.index);
    if (k.kind == Knob::Kind::accessory) return &Side::heard;
    const bool a = k.kind == Knob::Kind::stop ? then.stops[i] : then.couplers[i];
    const bool b = k.kind == Knob::Kind::stop ? next.stops[i] : next.couplers[i];
    return a && b ? &Side::heard : b ? &Side::early : a ? &Side::late : &Side::any;
  };
  std::vector<Knob> moved = newly_drawn(organ, from, to);
  for (const Knob k : newly_drawn(organ, to, from)) moved.push_back(k);
  const auto place_one = [&](Knob k, int Side::*kind, Hand h) {
    Openings& r = room[index(h)];
    const Mover mover = h == Hand::left ? Mover::left_hand : Mover::right_hand;
    const auto go = [&](Trip trip, int Openings::*where) {
      if (r.*where <= 0) return false;
      r.*where -= 1;
      put(trip, mover, times[index(trip)][index(h)], k);
      return true;
    };
    const bool early = kind == &Side::early || kind == &Side::any;
    const bool late = kind == &Side::late || kind == &Side::any;
    if ((early && go(Trip::early, &Openings::early)) || (late && go(Trip::late, &Openings::late)) ||
        go(Trip::there, &Openings::there))
      return;
    put(Trip::there, Mover::helper, {}, k);
  };
  // Those that can go at one time only come first, so that the room is theirs; of each kind the one-sided ones.
  for (int Side::*kind : {&Side::heard, &Side::early, &Side::late, &Side::any}) {
    for (const bool sided : {true, false}) {
      for (const Knob k : moved) {
        const Jamb jamb = place(organ, k).jamb;
        const bool one_side = jamb == Jamb::left || jamb == Jamb::right;
        if (kind_of(k) != kind || one_side != sided) continue;
        Hand h = jamb == Jamb::left ? Hand::left : Hand::right;
        if (!one_side) h = wanted[0].*kind > 0 ? Hand::left : Hand::right;
        wanted[index(h)].*kind -= 1;
        place_one(k, kind, h);
      }
    }
  }
  return out;
}

}  // namespace calcant
