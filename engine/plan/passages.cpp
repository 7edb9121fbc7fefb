#include "engine/plan/passages.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "engine/playing/windows.hpp"

namespace calcant {
namespace {

constexpr double hairpin_step = 0.2;  // of the range, where no mark stands at its end
const Rational longest_wait{8};       // quarters: beyond, what is asked for within a slur is not waited for
const Rational mark_near{1};          // quarters: a mark so near its end is where a hairpin leads

struct Event {
  Rational at;
  enum class Kind { mark, hairpin_end, keyboards, copy, wish } kind = Kind::mark;
  std::string text;
  double change = 0;  // a hairpin's: +1 louder, -1 softer
  Rational begun;
  const PlaceWish* wish = nullptr;
  std::size_t ask = 0;
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
            out.push_back({at, Event::Kind::mark, d.text, 0, {}, nullptr, 0});
          break;
        case Direction::Kind::wedge_opens: open[d.stave] = {at, 1}; break;
        case Direction::Kind::wedge_closes: open[d.stave] = {at, -1}; break;
        case Direction::Kind::wedge_ends:
          if (const auto o = open.find(d.stave); o != open.end()) {
            if (o->second.at < at)
              out.push_back({at, Event::Kind::hairpin_end, "", o->second.change, o->second.at, nullptr, 0});
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
        out.push_back({turn.start + w.at, Event::Kind::keyboards, "", 0, {}, nullptr, 0});
    }
  }
}

void copied(const Score& score, const std::vector<CopyAsk>& asks, std::vector<Event>& out) {
  for (const Turn& turn : score.turns) {
    for (std::size_t a = 0; a < asks.size(); ++a) {
      const Moment& m = asks[a].word.moment;
      if (m.bar_index == turn.bar && !asks[a].empty())
        out.push_back({turn.start + m.at, Event::Kind::copy, "", 0, {}, nullptr, a});
    }
  }
}

void wished(const Score& score, const std::vector<PlaceWish>& wishes, std::vector<Event>& out) {
  for (const PlaceWish& w : wishes) {
    for (const Turn& turn : score.turns) {
      if (turn.bar != w.bar_index || turn.pass != w.pass) continue;
      out.push_back({turn.start + w.at, Event::Kind::wish, w.wish, 0, {}, &w, 0});
      break;
    }
  }
}

// Slurs in written time, of every part that is played: from their first note to the end of their last. One that never ends
// tells nothing.
std::vector<Span> slurs(const Score& score) {
  struct Open {
    int count = 0;
    Rational from;
  };
  std::map<std::pair<int, std::string>, Open> open;  // by stave and voice
  std::vector<Span> out;
  for (const WrittenNote& n : score.notes) {
    if (n.cue || score.staves[static_cast<std::size_t>(n.stave)].role == Role::not_played) continue;
    Open& o = open[{n.stave, n.voice}];
    const Rational at = written(score, n.bar, n.at);
    for (int i = 0; i < n.slur_ends && o.count > 0; ++i) {
      if (--o.count == 0) out.emplace_back(o.from, at + n.length);
    }
    for (int i = 0; i < n.slur_starts; ++i) {
      if (o.count++ == 0) o.from = at;
    }
  }
  return out;
}

// The first place from `at` on that no slur goes across.
Rational clear_of(const std::vector<Span>& slurs, Rational at) {
  for (bool moved = true; moved;) {
    moved = false;
    for (const Span& s : slurs) {
      if (s.first >= at || s.second <= at) continue;
      at = s.second;
      moved = true;
    }
  }
  return at;
}

// What is asked for within a slur is given where the slur ends, where that is near enough and before anything else is
// asked for.
void wait_for_phrases(const Score& score, const std::vector<CopyAsk>& asks, std::vector<Passage>& out) {
  const auto spans = slurs(score);
  for (std::size_t i = 1; i < out.size(); ++i) {
    const Moment m = moment_at(score, out[i].from);
    const Rational here = written(score, m.bar_index, m.at);
    const Rational clear = clear_of(spans, here);
    out[i].in_slur = clear > here;
    if (!out[i].in_slur || out[i].by_user() || clear - here > longest_wait) continue;
    const Rational at = out[i].from + (clear - here);
    if (at >= (i + 1 < out.size() ? out[i + 1].from : performed_length(score))) continue;
    const Moment then = moment_at(score, at);
    if (written(score, then.bar_index, then.at) != clear) continue;  // a repeat in between
    Passage waited = out[i];
    waited.from = at;
    // A box may be moved within a slur, knobs are not.
    for (StandingAsk& s : out[i].asks) s.fresh = s.fresh && asks[s.ask].box.has_value();
    for (StandingAsk& s : waited.asks) s.fresh = s.fresh && !asks[s.ask].box;
    waited.set_aside.clear();
    waited.hairpin.reset();
    waited.in_slur = false;
    waited.waited = true;
    out.insert(out.begin() + static_cast<long>(++i), waited);
  }
}

bool same_asks(const Passage& a, const Passage& b) {
  return std::equal(a.asks.begin(), a.asks.end(), b.asks.begin(), b.asks.end(),
                    [](const StandingAsk& x, const StandingAsk& y) {
                      return x.ask == y.ask && x.besides == y.besides && x.excused == y.excused;
                    });
}

// What leaving each word of the copy costs: the most where it is printed.
void weigh_asks(std::size_t asks, std::vector<Passage>& out) {
  std::vector<int> stands(asks);
  for (const Passage& p : out) {
    for (const StandingAsk& s : p.asks) stands[s.ask] += !s.fresh;
  }
  for (Passage& p : out) {
    for (StandingAsk& s : p.asks)
      s.weight = s.fresh ? copy_said : std::min(copy_stands, copy_stands_most / stands[s.ask]);
  }
}

}  // namespace

bool shows_phrases(const Score& score) {
  return std::any_of(score.notes.begin(), score.notes.end(), [](const WrittenNote& n) { return n.slur_starts > 0; }) ||
         std::any_of(score.directions.begin(), score.directions.end(), [](const Direction& d) {
           return d.kind == Direction::Kind::breath || d.kind == Direction::Kind::line_end;
         });
}

std::vector<Passage> passages(const Score& score, const Organ& organ, const std::vector<PlaceWish>& wishes,
                              const Wordbook& own, const std::vector<CopyAsk>& asks) {
  std::vector<Event> events;
  dynamics(score, events);
  manuals(score, organ, events);
  copied(score, asks, events);
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
    next.change = nullptr;
    next.note.clear();
    for (StandingAsk& s : next.asks) s.fresh = false;
    next.set_aside.clear();
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
        boxes_free(s.asks, asks);
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
        double to = std::clamp(s.share + e.change * hairpin_step, 0.0, 1.0);
        // On the way to the next mark it goes no further than half way, so that the mark is still heard.
        const auto next = std::find_if(events.begin() + static_cast<long>(i) + 1, events.end(),
                                       [](const Event& m) { return m.kind == Event::Kind::mark; });
        if (next != events.end()) {
          const double half = (s.share + *meaning(next->text, {})->share) / 2;
          if (e.change > 0 && half > s.share) to = std::min(to, half);
          if (e.change < 0 && half < s.share) to = std::max(to, half);
        }
        s.share = to;
        s.mark = e.change > 0 ? "louder" : "softer";
        s.given = true;
        s.hairpin = e.begun;
        boxes_free(s.asks, asks);
        break;
      }
      case Event::Kind::keyboards: begin(e.at); break;
      case Event::Kind::copy: ask(begin(e.at).asks, asks, e.ask); break;
      case Event::Kind::wish: {
        Passage& s = begin(e.at);
        for (const StandingAsk& a : s.asks) {
          if (a.fresh) s.set_aside.push_back(a.ask);
        }
        s.asks.clear();
        const Verse said = parse_verse(e.text, own);
        s.note = said.note;
        if (said.kind != VerseKind::harmony)
          s.note += fmt::format("{}\u201c{}\u201d is for hymns", s.note.empty() ? "" : "; ", word(said.kind));
        if (const auto m = meaning(said.wish, own)) {
          s.mark = said.wish;
          s.share = std::clamp(m->share.value_or(s.share) + m->step.value_or(0), 0.0, 1.0);
          s.colour = m->colour;
          s.given = true;
        }
        if (e.wish->fixed) s.fixed = &*e.wish->fixed;
        if (e.wish->change && e.at > Rational{0}) s.change = &*e.wish->change;
        break;
      }
    }
  }
  for (Passage& s : out) {
    s.right = keyboard(Role::right_hand, s.from);
    s.left = keyboard(Role::left_hand, s.from);
  }
  // A keyboard word that changes nothing begins nothing.
  for (std::size_t i = 1; i < out.size();) {
    const Passage& a = out[i - 1];
    const Passage& b = out[i];
    const bool same = a.mark == b.mark && a.share == b.share && a.right == b.right && a.left == b.left && !b.hairpin &&
                      same_asks(a, b) && !b.by_user() && a.fixed == nullptr && b.note.empty();
    if (same) out.erase(out.begin() + static_cast<long>(i));
    else ++i;
  }
  wait_for_phrases(score, asks, out);
  weigh_asks(asks.size(), out);
  return out;
}

}  // namespace calcant
