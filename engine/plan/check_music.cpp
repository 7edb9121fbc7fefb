#include "engine/plan/check_music.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "engine/organ/sounding.hpp"
#include "engine/plan/check_copy.hpp"
#include "engine/playing/check.hpp"
#include "engine/playing/feet.hpp"

namespace calcant {
namespace {

const Rational near_the_place{1, 2};  // quarters
constexpr double tolerance = 1e-6;    // seconds

struct Sides {
  int left = 0, right = 0, either = 0;
};
Sides sides_of(const Organ& organ, const Cue& c) {
  Sides s;
  for (const auto* list : {&c.draw, &c.put_in}) {
    for (const Knob k : *list) {
      const Jamb j = place(organ, k).jamb;
      ++(j == Jamb::left ? s.left : j == Jamb::right ? s.right : s.either);
    }
  }
  return s;
}

double seconds(const Player& p, int knobs) {
  return knobs == 0 ? 0 : p.one_knob.value.value() + (knobs - 1) * p.further_knob.value.value();
}

// Slurs as they are played, turn by turn: a jump ends them.
std::vector<Span> slurs_as_played(const Score& score) {
  std::vector<Span> out;
  std::map<std::tuple<int, std::string>, std::vector<Rational>> open;
  for (std::size_t t = 0; t < score.turns.size(); ++t) {
    const Turn& turn = score.turns[t];
    if (t > 0 && turn.bar != score.turns[t - 1].bar + 1) open.clear();
    for (const WrittenNote& n : score.notes) {
      if (n.bar != turn.bar || n.cue) continue;
      auto& begun = open[{n.stave, n.voice}];
      const Rational at = turn.start + n.at;
      for (int e = 0; e < n.slur_ends && !begun.empty(); ++e) {
        out.emplace_back(begun.back(), at + n.length);
        begun.pop_back();
      }
      begun.insert(begun.end(), static_cast<std::size_t>(n.slur_starts), at);
    }
  }
  return out;
}

class PieceChecker {
 public:
  PieceChecker(const Organ& organ, const Plan& plan, std::size_t item, const Score& score, const Tempo& tempo,
               const Player& player)
      : organ_(organ),
        plan_(plan),
        item_(item),
        score_(score),
        tempo_(tempo),
        player_(player),
        sounding_(organ),
        presses_(presses(score)),
        slurs_(slurs_as_played(score)) {}

  std::vector<std::string> all() {
    Registration now = plan_.initial;
    for (const Cue& c : plan_.cues) {
      const Registration next = after(now, c);
      if (c.item == static_cast<int>(item_) && c.section > 0) {
        cue(c, now, next);
        within_a_slur(c, now, next);
      }
      now = next;
    }
    Pedalling pedalling;
    if (!feet_.empty()) {
      const bool pedals =
          std::any_of(presses_.begin(), presses_.end(), [](const Press& p) { return p.role == Role::feet; });
      const bool board =
          std::any_of(organ_.keyboards.begin(), organ_.keyboards.end(), [](const Keyboard& k) { return k.pedal; });
      if (pedals && board) {
        // The feet are asked for a way that leaves the right one to the box then; what cannot be is found below.
        FeetWishes wishes;
        for (const FootChange& f : feet_) wishes.busy.push_back({f.foot, f.from, f.to});
        if (auto solved = solve_feet(score_, organ_, player_, tempo_, wishes)) pedalling = std::move(*solved);
      }
    }
    const Playing playing = playing_of(score_, plan_.items[item_]);
    for (const Breach& b : check_changes(score_, player_, tempo_, playing, hands_, feet_, pedalling))
      out_.push_back(
          fmt::format("{}, {}: {}", plan_.items[item_].title, words(score_, moment_at(score_, b.at)), b.message));
    for (std::string& fault : check_copy(organ_, plan_.items[item_], score_)) out_.push_back(std::move(fault));
    return std::move(out_);
  }

 private:
  template <class... A>
  void say(const Cue& c, fmt::format_string<A...> form, A&&... a) {
    out_.push_back(fmt::format("{}, {}: ", plan_.items[item_].title, words(score_, c.moment)) +
                   fmt::format(form, std::forward<A>(a)...));
  }

  void cue(const Cue& c, const Registration& now, const Registration& next) {
    const int knobs = static_cast<int>(c.draw.size() + c.put_in.size());
    if (knobs == 0 && c.boxes.empty()) return;
    if (c.mover == Mover::helper) return;
    if (!c.window) return say(c, "nothing says when there is time for this.");
    const auto from = performed_at(score_, c.moment);
    const auto to = performed_at(score_, c.window->to);
    const auto place = performed_at(score_, plan_.items[item_].sections[static_cast<std::size_t>(c.section)].from);
    if (!from || !to || !place) return say(c, "its time is not in the music.");
    const Sides s = sides_of(organ_, c);
    switch (c.mover) {
      case Mover::left_hand:
        if (s.right > 0) say(c, "the left hand does not reach the right jamb.");
        hands_.push_back({*from, *to, Hand::left, s.left > 0 ? Jamb::left : Jamb::over_manual, knobs});
        break;
      case Mover::right_hand:
        if (s.left > 0) say(c, "the right hand does not reach the left jamb.");
        hands_.push_back({*from, *to, Hand::right, s.right > 0 ? Jamb::right : Jamb::over_manual, knobs});
        break;
      case Mover::foot:
        if (knobs > 0 && !one_press(now, next)) say(c, "no composition pedal does this.");
        feet_.push_back({*from, *to, Foot::right, false});
        if (tempo_.at(*to) - tempo_.at(*from) + Seconds{tolerance} < player_.foot_accessory.value)
          say(c, "there are {:.1f} s for the box, and the foot needs {:.1f} s.",
              (tempo_.at(*to) - tempo_.at(*from)).value(), player_.foot_accessory.value.value());
        break;
      default: say(c, "it is one trip of one hand or foot, and this is '{}'.", word(c.mover)); return;
    }
    unheard(c, now, next, *from, *to, *place);
  }

  // Whether a composition pedal of this organ leads from one to the other.
  [[nodiscard]] bool one_press(const Registration& now, const Registration& next) const {
    if (now.couplers != next.couplers || now.accessories != next.accessories) return false;
    return std::any_of(organ_.accessories.begin(), organ_.accessories.end(), [&](const Accessory& a) {
      if (a.kind != AccessoryKind::composition || !a.by_foot || !a.division) return false;
      for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
        const bool own = organ_.stops[s].division == *a.division;
        const bool left = std::find(a.draws.begin(), a.draws.end(), organ_.stops[s].id) != a.draws.end();
        if (next.stops[s] != (own ? left : now.stops[s])) return false;
      }
      return true;
    });
  }

  // What is moved early or late must change no pipe of any note played between then and its place.
  void unheard(const Cue& c, const Registration& now, const Registration& next, Rational from, Rational to,
               Rational place) {
    const bool there = to <= place && place <= to + near_the_place;
    if (there || c.mover == Mover::foot) return;
    const bool early = to < place;
    const Rational begin = early ? from : place;
    const Rational end = early ? place : to;
    const Section& section = plan_.items[item_].sections[static_cast<std::size_t>(early ? c.section - 1 : c.section)];
    for (const Press& p : presses_) {
      if (p.end <= begin || p.start >= end) continue;
      if (differ(p, section, now, next)) return say(c, "moved {}, it would be heard.", early ? "so early" : "so late");
    }
  }

  // A knob that is heard when it is moved where a slur goes on (R34), whoever moves it.
  void within_a_slur(const Cue& c, const Registration& now, const Registration& next) {
    if (c.draw.empty() && c.put_in.empty()) return;
    const auto& sections = plan_.items[item_].sections;
    const Section& last = sections[static_cast<std::size_t>(c.section) - 1];
    const Section& to = sections[static_cast<std::size_t>(c.section)];
    const auto place = performed_at(score_, to.from);
    const auto until = c.window ? performed_at(score_, c.window->to) : place;
    if (!place || !until || c.fixed || last.fixed) return;            // the user's own, or the way back from it
    if (*until + near_the_place < *place || *until > *place) return;  // moved elsewhere: unheard()
    for (const Span& slur : slurs_) {
      if (slur.first >= *place || slur.second <= *place) continue;
      for (const Press& p : presses_) {
        if (p.end <= *place || p.start >= slur.second) continue;
        if (!differ(p, last, now, next) || !differ(p, to, now, next)) continue;
        return say(c, "something that is heard is moved within a slur.");
      }
    }
  }
  bool differ(const Press& p, const Section& s, const Registration& now, const Registration& next) {
    const auto keyboard = s.keyboards.of(p.role);
    if (!keyboard) return false;
    KeysDown down;
    down.keys[static_cast<std::size_t>(*keyboard)].insert(p.key.midi);
    PipeSet a;
    PipeSet b;
    sounding_.pipes(now, down, a);
    sounding_.pipes(next, down, b);
    return !(a == b);
  }

  const Organ& organ_;
  const Plan& plan_;
  std::size_t item_;
  const Score& score_;
  const Tempo& tempo_;
  const Player& player_;
  Sounding sounding_;
  std::vector<Press> presses_;
  std::vector<Span> slurs_;
  std::vector<HandChange> hands_;
  std::vector<FootChange> feet_;
  std::vector<std::string> out_;
};

// The seconds each hand has: the one that may leave at the last chord, and the other.
struct HymnTime {
  double chord = 0;
  double gap = 0;
};

}  // namespace

std::vector<std::string> check_piece(const Organ& organ, const Plan& plan, std::size_t item, const Score& score,
                                     const Tempo& tempo, const Player& player) {
  return PieceChecker(organ, plan, item, score, tempo, player).all();
}

namespace {

// Whether any pipe of such stops sounds under the right hand, wherever on its keyboard.
template <class Such>
bool heard(const Organ& organ, const Section& s, Such such) {
  if (!s.keyboards.right) return false;
  const auto k = static_cast<std::size_t>(*s.keyboards.right);
  KeysDown down;
  down.keys[k] = organ.keyboards[k].keys;
  Registration without = s.drawn;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    if (such(organ.stops[i])) without.stops.reset(i);
  }
  Sounding sounding(organ);
  PipeSet all;
  PipeSet rest;
  sounding.pipes(s.drawn, down, all);
  sounding.pipes(without, down, rest);
  return all.size() != rest.size();
}

// What verses were asked to be heard with or without is so, or their notes say that it is not.
void check_stops_asked(const Organ& organ, const Item& item, const Hymn& hymn, std::vector<std::string>& out) {
  for (const Section& s : item.sections) {
    if (s.from.verse == 0 || static_cast<std::size_t>(s.from.verse) > hymn.verses.size()) continue;
    const Verse& verse = hymn.verses[static_cast<std::size_t>(s.from.verse) - 1];
    if (verse.kind == VerseKind::unaccompanied || s.fixed) continue;
    const bool mixture = heard(organ, s, [](const Stop& x) { return x.mixture_ranks > 0 || x.feet.empty(); });
    const bool reed = heard(organ, s, [](const Stop& x) { return x.family == Family::reed; });
    const auto as_asked = [&](std::optional<bool> asked, bool is, const char* what) {
      if (asked && *asked != is && s.note.find(what) == std::string::npos)
        out.push_back(fmt::format("{}, {}: a {} is {} and that is not as its word asks.", item.title, s.label, what,
                                  is ? "heard" : "not heard"));
    };
    as_asked(verse.stops.mixture, mixture, "mixture");
    as_asked(verse.stops.reed, reed, "reed");
  }
}

}  // namespace

std::vector<std::string> check_hymn(const Organ& organ, const Plan& plan, std::size_t item, const Hymn& hymn,
                                    const Player& player, const Score* score) {
  std::vector<std::string> out;
  const Item& it = plan.items[item];
  check_stops_asked(organ, it, hymn, out);
  const double quarter = 60 / hymn.quarters_per_minute;
  const bool board =
      std::any_of(organ.keyboards.begin(), organ.keyboards.end(), [](const Keyboard& k) { return k.pedal; });
  for (const Cue& c : plan.cues) {
    if (c.item != static_cast<int>(item) || c.section == 0 || c.mover == Mover::helper) continue;
    const auto here = static_cast<std::size_t>(c.section);
    const Section& last = it.sections[here - 1];
    const Section& to = it.sections[here];
    const auto say = [&](std::string message) {
      out.push_back(fmt::format("{}, {}: {}", it.title, to.label, message));
    };
    if (hymn.kind == ItemKind::piece) {
      const auto& before = hymn.verses[here].before;
      const Sides s = sides_of(organ, c);
      if (before && before->value() + tolerance < std::max(seconds(player, s.left), seconds(player, s.right)))
        say("the rest the copy shows is too short.");
      continue;
    }
    const VerseKind kind =
        last.from.verse == 0 ? VerseKind::harmony : hymn.verses[static_cast<std::size_t>(last.from.verse) - 1].kind;
    if (kind == VerseKind::unaccompanied) continue;
    const bool same_verse = last.from.verse == to.from.verse && last.from.verse > 0;
    if (same_verse && hymn.kind != ItemKind::psalm && !c.fixed) say("something is moved within a verse.");
    if (same_verse && hymn.kind == ItemKind::psalm && to.from.line != hymn.lines / 2 + 1 && !c.fixed)
      say("something is moved within half a verse.");
    const bool feet_play =
        board && hymn.bass != Bass::hands && kind != VerseKind::no_pedal && last.keyboards.right == last.keyboards.left;
    HymnTime time;
    time.gap = same_verse ? (hymn.kind == ItemKind::psalm ? hymn.half_gap_quarters : 0) * quarter
                          : hymn.gap_quarters * quarter;
    time.chord = time.gap + (feet_play ? std::max(0.0, hymn.last_chord_quarters - stroke_quarters) * quarter : 0);
    const Sides s = sides_of(organ, c);
    // One hand may leave at the last chord, whichever; knobs over the manuals are either's.
    const auto fits = [&](double left, double right) {
      for (int e = 0; e <= s.either; ++e) {
        if (seconds(player, s.left + e) <= left + tolerance &&
            seconds(player, s.right + s.either - e) <= right + tolerance)
          return true;
      }
      return false;
    };
    const double left = hymn.left_spared ? time.chord : time.gap;
    const double right = hymn.right_spared ? time.chord : time.gap;
    if (!fits(left, time.gap) && !fits(time.gap, right))
      say(fmt::format("{} knobs left, {} right and {} over the manuals in {:.1f} s from the last chord on.", s.left,
                      s.right, s.either, time.chord));
    if (!c.boxes.empty() && last.keyboards.feet && time.gap + tolerance < player.foot_accessory.value.value())
      say(fmt::format("{:.1f} s are too short for the box.", time.gap));
    // The score again: the hand that goes at the last chord must be spared by its notes.
    if (score == nullptr || same_verse || last.from.verse == 0) continue;
    const bool one_side = s.either == 0 && ((s.left == 0) != (s.right == 0));
    if (!one_side) continue;
    const int knobs = s.left + s.right;
    if (seconds(player, knobs) <= time.gap) continue;
    Playing playing;
    playing.gap_after = Rational{static_cast<std::int64_t>(std::floor(hymn.gap_quarters * 16)), 16};
    const Tempo tempo(*score, hymn.quarters_per_minute, hymn.quarters_per_minute);
    const Rational end = performed_length(*score) + playing.gap_after;
    const auto from = performed_at(*score, Moment{c.moment.bar, c.moment.bar_index, c.moment.at, 1, 0, 0});
    if (!from) {
      say("its moment is not in the score.");
      continue;
    }
    const Hand hand = s.left > 0 ? Hand::left : Hand::right;
    for (const Breach& b :
         check_changes(*score, player, tempo, playing,
                       {{*from + Rational{1, 8}, end, hand, s.left > 0 ? Jamb::left : Jamb::right, knobs}}))
      say(b.message);
  }
  return out;
}

std::vector<std::string> check_wishes(const Organ& organ, const Plan& plan, std::size_t item,
                                      const VocabularyWish& wish) {
  std::vector<std::string> out;
  for (const Section& s : plan.items[item].sections) {
    if (s.fixed || (!s.keyboards.right && !s.keyboards.left)) continue;  // silent: what is drawn may be the user's
    for (const Knob k : wish.never) {
      if (is_drawn(s.drawn, k))
        out.push_back(fmt::format("{}, {}: {} is drawn and was not to be.", plan.items[item].title, s.label,
                                  full_name(organ, k)));
    }
    for (const Knob k : wish.must) {
      if (!is_drawn(s.drawn, k))
        out.push_back(fmt::format("{}, {}: {} is not drawn and was to be.", plan.items[item].title, s.label,
                                  full_name(organ, k)));
    }
  }
  return out;
}

}  // namespace calcant
