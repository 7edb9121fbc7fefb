#include "engine/plan/passages.hpp"

#include <algorithm>
#include <map>

namespace calcant {
namespace {

constexpr double hairpin_step = 0.2;  // of the range, where no mark stands at its end
const Rational mark_near{1};          // quarters: a mark so near its end is where a hairpin leads

struct Event {
  Rational at;
  enum class Kind { mark, hairpin_end, keyboards, wish } kind = Kind::mark;
  std::string text;
  double change = 0;  // a hairpin's: +1 louder, -1 softer
  Rational begun;
  const PlaceWish* wish = nullptr;
};

void dynamics(const Score& score, std::vector<Event>& out) {
  struct Open {
    Rational at;
    double change;
  };
  std::map<int, Open> open;  // by stave
  for (const Turn& turn : score.turns) {
    for (const Direction& d : score.directions) {
      if (d.bar != turn.bar) continue;
      const Rational at = turn.start + d.at;
      switch (d.kind) {
        case Direction::Kind::dynamics:
          if (const auto m = meaning(d.text, {}); m && m->share)
            out.push_back({at, Event::Kind::mark, d.text, 0, {}, nullptr});
          break;
        case Direction::Kind::wedge_opens: open[d.stave] = {at, 1}; break;
        case Direction::Kind::wedge_closes: open[d.stave] = {at, -1}; break;
        case Direction::Kind::wedge_ends:
          if (const auto o = open.find(d.stave); o != open.end()) {
            if (o->second.at < at)
              out.push_back({at, Event::Kind::hairpin_end, "", o->second.change, o->second.at, nullptr});
            open.erase(o);
          }
          break;
        default: break;
      }
    }
  }
}

void manuals(const Score& score, const Organ& organ, std::vector<Event>& out) {
  const auto words = manual_words(score, organ);
  for (const Turn& turn : score.turns) {
    for (const ManualWord& w : words) {
      if (w.bar == turn.bar && w.keyboard)
        out.push_back({turn.start + w.at, Event::Kind::keyboards, "", 0, {}, nullptr});
    }
  }
}

void wished(const Score& score, const std::vector<PlaceWish>& wishes, std::vector<Event>& out) {
  for (const PlaceWish& w : wishes) {
    for (const Turn& turn : score.turns) {
      if (turn.bar != w.bar_index || turn.pass != 1) continue;
      out.push_back({turn.start + w.at, Event::Kind::wish, w.wish, 0, {}, &w});
      break;
    }
  }
}

// Written times at which a slur goes on, per performed time.
bool within_slur(const Score& score, Rational performed) {
  const Moment m = moment_at(score, performed);
  const Rational here = written(score, m.bar_index, m.at);
  std::map<std::pair<int, std::string>, int> open;  // by stave and voice
  for (const WrittenNote& n : score.notes) {
    if (written(score, n.bar, n.at) >= here) break;
    int& count = open[{n.stave, n.voice}];
    count = std::max(0, count + n.slur_starts - n.slur_ends);
  }
  return std::any_of(open.begin(), open.end(), [](const auto& o) { return o.second > 0; });
}

}  // namespace

bool shows_phrases(const Score& score) {
  return std::any_of(score.notes.begin(), score.notes.end(), [](const WrittenNote& n) { return n.slur_starts > 0; }) ||
         std::any_of(score.directions.begin(), score.directions.end(), [](const Direction& d) {
           return d.kind == Direction::Kind::breath || d.kind == Direction::Kind::line_end;
         });
}

std::vector<Passage> passages(const Score& score, const Organ& organ, const std::vector<PlaceWish>& wishes,
                              const Wordbook& own) {
  std::vector<Event> events;
  dynamics(score, events);
  manuals(score, organ, events);
  wished(score, wishes, events);
  std::stable_sort(events.begin(), events.end(),
                   [](const Event& a, const Event& b) { return std::pair(a.at, a.kind) < std::pair(b.at, b.kind); });
  const bool sent =
      std::any_of(events.begin(), events.end(), [](const Event& e) { return e.kind == Event::Kind::keyboards; });
  const OnKeyboards where(score, organ);
  const auto keyboard = [&](Role role, Rational at) -> std::optional<KeyboardIndex> {
    if (!sent) return std::nullopt;
    const Moment m = moment_at(score, at);
    for (std::size_t s = 0; s < score.staves.size(); ++s) {
      if (score.staves[s].role == role) return where.at(static_cast<int>(s), role, written(score, m.bar_index, m.at));
    }
    return std::nullopt;
  };

  std::vector<Passage> out{Passage{}};
  const auto begin = [&](Rational at) -> Passage& {
    if (out.back().from == at) return out.back();
    Passage next = out.back();
    next.from = at;
    next.hairpin.reset();
    next.fixed = nullptr;
    out.push_back(next);
    return out.back();
  };
  for (std::size_t i = 0; i < events.size(); ++i) {
    const Event& e = events[i];
    switch (e.kind) {
      case Event::Kind::mark: {
        if (out.back().mark == e.text && out.back().fixed == nullptr) break;
        Passage& s = begin(e.at);
        s.mark = e.text;
        s.share = *meaning(e.text, {})->share;
        s.colour = 0;
        s.given = true;
        // The hairpin that led here.
        for (std::size_t j = i; j-- > 0 && e.at - events[j].at <= mark_near;) {
          if (events[j].kind == Event::Kind::hairpin_end) s.hairpin = events[j].begun;
        }
        break;
      }
      case Event::Kind::hairpin_end: {
        const bool marked = std::any_of(events.begin(), events.end(), [&](const Event& m) {
          return m.kind == Event::Kind::mark && e.at <= m.at && m.at - e.at <= mark_near;
        });
        if (marked) break;
        Passage& s = begin(e.at);
        s.share = std::clamp(s.share + e.change * hairpin_step, 0.0, 1.0);
        s.mark = e.change > 0 ? "louder" : "softer";
        s.given = true;
        s.hairpin = e.begun;
        break;
      }
      case Event::Kind::keyboards: begin(e.at); break;
      case Event::Kind::wish: {
        Passage& s = begin(e.at);
        if (const auto m = meaning(e.text, own)) {
          s.mark = e.text;
          s.share = m->share.value_or(s.share);
          s.colour = m->colour;
          s.given = true;
        }
        if (e.wish->fixed) s.fixed = &*e.wish->fixed;
        break;
      }
    }
  }
  for (Passage& s : out) {
    s.right = keyboard(Role::right_hand, s.from);
    s.left = keyboard(Role::left_hand, s.from);
    s.in_slur = s.from > Rational{} && within_slur(score, s.from);
  }
  // A keyboard word that changes nothing begins nothing.
  for (std::size_t i = 1; i < out.size();) {
    const Passage& a = out[i - 1];
    const Passage& b = out[i];
    const bool same = a.mark == b.mark && a.share == b.share && a.right == b.right && a.left == b.left && !b.hairpin &&
                      b.fixed == nullptr && a.fixed == nullptr;
    if (same) out.erase(out.begin() + static_cast<long>(i));
    else ++i;
  }
  return out;
}

}  // namespace calcant
