#include "engine/playing/feet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "engine/playing/feet_search.hpp"

namespace calcant {

namespace {

constexpr double far_leap = 4.0;  // naturals: a leap of one foot worth a mark is a fifth or more

std::size_t index(Foot f) { return static_cast<std::size_t>(f); }
std::size_t index(FootPart p) { return static_cast<std::size_t>(p); }
std::size_t at(NoteId n) { return n; }

// Seconds of written time: each bar lasts as long as it does the first time through.
class WrittenSeconds {
 public:
  WrittenSeconds(const Score& s, const Tempo& tempo) : score_(s), tempo_(tempo), first_(s.bars.size(), -1) {
    for (std::size_t t = 0; t < s.turns.size(); ++t) {
      int& first = first_[at(s.turns[t].bar)];
      if (first < 0) first = static_cast<int>(t);
    }
    double sum = 0;
    for (std::size_t b = 0; b < s.bars.size(); ++b) {
      base_.push_back(sum);
      sum += within(b, s.bars[b].length);
    }
    base_.push_back(sum);
  }
  [[nodiscard]] Seconds operator()(Rational written) const {
    const auto after = std::upper_bound(score_.bars.begin(), score_.bars.end(), written,
                                        [](Rational q, const Bar& b) { return q < b.start; });
    const std::size_t b = after == score_.bars.begin() ? 0 : static_cast<std::size_t>(after - score_.bars.begin() - 1);
    return Seconds{base_[b] + within(b, written - score_.bars[b].start)};
  }

 private:
  static std::size_t at(int i) { return static_cast<std::size_t>(i); }
  [[nodiscard]] double within(std::size_t bar, Rational quarters) const {
    const Rational start = first_[bar] < 0 ? Rational{} : score_.turns[at(first_[bar])].start;
    return (tempo_.at(start + quarters) - tempo_.at(start)).value();
  }
  const Score& score_;
  const Tempo& tempo_;
  std::vector<int> first_;  // turn in which each bar is first played
  std::vector<double> base_;
};

Rational onset_of(const Score& s, NoteId n) { return written(s, s.notes[at(n)].bar, s.notes[at(n)].at); }

Moment first_moment(const Score& s, NoteId n) {
  const WrittenNote& w = s.notes[at(n)];
  Moment m;
  m.bar = s.bars[static_cast<std::size_t>(w.bar)].label;
  m.bar_index = w.bar;
  m.at = w.at;
  return m;
}

// Which presses a simplified bass keeps: long notes, and those that stand where the harmony above them changes.
class Simplifier {
 public:
  explicit Simplifier(const Score& s) {
    for (const Press& p : presses(s)) {
      if (p.role != Role::feet && p.role != Role::not_played) upper_.push_back(p);
    }
  }
  [[nodiscard]] bool keeps(const Score& s, const PedalPress& p, const PedalPress* before) const {
    const WrittenNote& w = s.notes[at(p.notes.front())];
    const Bar& bar = s.bars[static_cast<std::size_t>(w.bar)];
    const Rational beat{4, bar.beat_type > 0 ? bar.beat_type : 4};
    if (p.note.end - p.note.start > beat || before == nullptr) return true;
    const Rational beats = w.at / beat;
    if (beats.den() != 1) return false;  // between the beats
    if (before->note.key == p.note.key && before->note.end == p.note.start) return bar_begins(w);
    const Rational t = p.performed.front().first;
    return bar_begins(w) || classes_at(t) != classes_at(before->performed.front().first);
  }

 private:
  static bool bar_begins(const WrittenNote& w) { return w.at == Rational{}; }
  [[nodiscard]] std::set<int> classes_at(Rational t) const {
    std::set<int> out;
    for (const Press& p : upper_) {
      if (p.start <= t && t < p.end) out.insert(p.key.midi % 12);
      if (t < p.start) break;
    }
    return out;
  }
  std::vector<Press> upper_;  // by start
};

Crossing crossing_of(Foot arriving, Note key, Note other) {
  // The foot on a sharp stands further forward, so it is the one in front; on keys of a kind the right passes in front.
  if (is_sharp(key) != is_sharp(other)) return is_sharp(key) ? Crossing::in_front : Crossing::behind;
  return arriving == Foot::right ? Crossing::in_front : Crossing::behind;
}

struct Asked {
  std::vector<FeetDemand> demands;
  std::set<std::pair<std::size_t, Rational>> fixed;  // press, written onset
};

Result<Asked> asked(const Score& score, const std::vector<PedalPress>& part, const std::vector<FixedFoot>& fixed) {
  Asked a{std::vector<FeetDemand>(part.size()), {}};
  std::map<NoteId, std::size_t> press_of;
  for (std::size_t i = 0; i < part.size(); ++i) {
    for (const NoteId n : part[i].notes) press_of[n] = i;
  }
  for (const FixedFoot& f : fixed) {
    const auto it = press_of.find(f.note);
    if (it == press_of.end()) {
      return fail(fmt::format("The mark is fixed on a note that the feet do not play (note {}); fix marks on notes of "
                              "the pedal part.",
                              f.note),
                  at(f.note) < score.notes.size() ? words(score, first_moment(score, f.note)) : std::string{});
    }
    FeetDemand& d = a.demands[it->second];
    const bool tied = onset_of(score, part[it->second].notes.front()) < onset_of(score, f.note);
    (tied ? d.foot_after : d.foot) = f.foot;
    (tied ? d.part_after : d.part) = f.part;
    a.fixed.emplace(it->second, onset_of(score, f.note));
  }
  return a;
}

void mark_busy(std::vector<PedalPress>& part, const std::vector<BusyFoot>& busy) {
  for (PedalPress& p : part) {
    for (const auto& [from, to] : p.performed) {
      for (const BusyFoot& b : busy) {
        if (to <= b.from || b.to <= from) continue;
        (b.foot == Foot::left ? p.note.left_free : p.note.right_free) = false;
      }
    }
  }
}

// Turns the path into marks on written notes.
class Marker {
 public:
  Marker(const Score& score, const FeetRules& rules, const std::vector<PedalPress>& part,
         const std::vector<PedalNote>& notes, const FeetPath& path,
         const std::set<std::pair<std::size_t, Rational>>& fixed, double margin)
      : score_(score), rules_(rules), part_(part), notes_(notes), path_(path), fixed_(fixed), margin_(margin) {}

  std::vector<FootMark> all() {
    for (std::size_t i = 0; i < part_.size(); ++i) press(i);
    std::stable_sort(marks_.begin(), marks_.end(), [](const FootMark& a, const FootMark& b) {
      return a.onset != b.onset ? a.onset < b.onset : a.key < b.key;
    });
    return std::move(marks_);
  }

 private:
  [[nodiscard]] double term(std::size_t i, FeetTerm t) const { return path_.terms[i][static_cast<std::size_t>(t)]; }

  void press(std::size_t i) {
    const FeetChoice& c = path_.choices[i];
    FootMark m;
    m.note = part_[i].notes.front();
    m.moment = first_moment(score_, m.note);
    m.onset = onset_of(score_, m.note);
    m.key = notes_[i].key;
    m.use = {c.foot, c.part};
    m.fixed = fixed_.count({i, m.onset}) > 0;
    m.slide = term(i, FeetTerm::slide) > 0;
    m.lets_go = term(i, FeetTerm::early) > 0;
    m.booked = term(i, FeetTerm::not_free) > 0;
    const std::int64_t other = last_[1 - index(c.foot)];
    if (term(i, FeetTerm::cross) > 0 && other >= 0) {
      m.crossing = crossing_of(c.foot, m.key, notes_[static_cast<std::size_t>(other)].key);
    }
    reasons(i, m);
    alternatives(i, m);
    last_[index(c.foot)] = static_cast<std::int64_t>(i);

    const FeetChoice after = c.after();
    const bool changes = c.change != FeetChoice::Change::none;
    const std::vector<NoteId> tied = held_notes(i, m.onset);
    if (changes) {
      last_[index(after.foot)] = static_cast<std::int64_t>(i);
      if (tied.empty()) {
        m.becomes = FootUse{after.foot, after.part};
        say(m, "changed on the held key");
      }
    }
    marks_.push_back(m);
    // The change stands where the player fixed it, else on the last of the tied notes.
    std::size_t from = tied.empty() ? 0 : tied.size() - 1;
    for (std::size_t k = 0; k < tied.size(); ++k) {
      if (fixed_.count({i, onset_of(score_, tied[k])}) > 0) from = std::min(from, k);
    }
    for (std::size_t k = 0; k < tied.size(); ++k) {
      const bool here = changes && k >= from;
      FootMark h;
      h.note = tied[k];
      h.moment = first_moment(score_, h.note);
      h.onset = onset_of(score_, h.note);
      h.key = m.key;
      h.use = here ? FootUse{after.foot, after.part} : m.use;
      h.held = true;
      h.fixed = fixed_.count({i, h.onset}) > 0;
      h.booked = m.booked;
      if (here && k == from) say(h, "changed on the held key");
      if (h.fixed) say(h, "fixed by the player");
      marks_.push_back(h);
    }
  }

  // Written notes of the press that begin after it, one for each place.
  [[nodiscard]] std::vector<NoteId> held_notes(std::size_t i, Rational onset) const {
    std::vector<NoteId> out;
    for (const NoteId n : part_[i].notes) {
      const Rational o = onset_of(score_, n);
      if (onset < o && (out.empty() || onset_of(score_, out.back()) < o)) out.push_back(n);
    }
    return out;
  }

  static void say(FootMark& m, std::string_view why) {
    m.obvious = false;
    if (!m.why.empty()) m.why += ", ";
    m.why += why;
  }

  void reasons(std::size_t i, FootMark& m) const {
    if (m.crossing == Crossing::in_front) say(m, "crossing in front");
    if (m.crossing == Crossing::behind) say(m, "crossing behind");
    if (m.slide) say(m, "slide");
    if (m.lets_go) say(m, "letting the key before go early");
    if (m.booked) say(m, "this foot was not to be used here");
    if (term(i, FeetTerm::two_keys) > 0) say(m, "two keys under one foot");
    if (term(i, FeetTerm::other_foot) > 0) say(m, "change of feet");
    if (term(i, FeetTerm::other_part) > 0) say(m, "change of toe and heel");
    const std::int64_t own = last_[index(m.use.foot)];
    if (own >= 0) {
      const double way =
          std::abs(rules_.board.across(m.key) - rules_.board.across(notes_[static_cast<std::size_t>(own)].key));
      if (own + 1 == static_cast<std::int64_t>(i) && way >= far_leap) say(m, "leap");
    }
    if (m.obvious && !path_.at_sight[i]) say(m, "for what follows");
    if (m.fixed) say(m, "fixed by the player");
  }

  void alternatives(std::size_t i, FootMark& m) const {
    for (const Foot f : {Foot::left, Foot::right}) {
      for (const FootPart p : {FootPart::toe, FootPart::heel}) {
        const double dearer = path_.least_with[i][index(f)][index(p)] - path_.cost;
        if (FootUse{f, p} == m.use || dearer > margin_) continue;
        m.others.push_back({{f, p}, std::max(0.0, dearer)});
      }
    }
    std::stable_sort(m.others.begin(), m.others.end(),
                     [](const FootMark::Other& a, const FootMark::Other& b) { return a.dearer < b.dearer; });
  }

  const Score& score_;
  const FeetRules& rules_;
  const std::vector<PedalPress>& part_;
  const std::vector<PedalNote>& notes_;
  const FeetPath& path_;
  const std::set<std::pair<std::size_t, Rational>>& fixed_;
  double margin_;
  std::array<std::int64_t, 2> last_{-1, -1};
  std::vector<FootMark> marks_;
};

void remark_on(const Score& score, const std::vector<PedalPress>& part, const FeetPath& path, Pedalling& out) {
  const auto tell = [&](FeetTerm t, std::string_view what) {
    std::string places;
    int count = 0;
    for (std::size_t i = 0; i < part.size(); ++i) {
      if (path.terms[i][static_cast<std::size_t>(t)] <= 0) continue;
      if (count++ < 5) {
        places += places.empty() ? "" : "; ";
        places += words(score, first_moment(score, part[i].notes.front()));
      }
    }
    if (count == 0) return;
    out.remarks.push_back(
        fmt::format("{} ({}{}).", what, places, count > 5 ? fmt::format(" and {} more", count - 5) : ""));
  };
  tell(FeetTerm::early, "A key must be let go before its time to reach the next");
  tell(FeetTerm::not_free, out.style == FeetStyle::left_foot_only
                               ? "The left foot alone cannot do it, and the right helps"
                               : "A foot is wanted here that is booked elsewhere (swell pedal or accessory)");
}

}  // namespace

std::string_view word(Foot f) { return f == Foot::left ? "left" : "right"; }
std::string_view word(FootPart p) { return p == FootPart::toe ? "toe" : "heel"; }
std::string_view word(Crossing c) {
  switch (c) {
    case Crossing::in_front: return "in front";
    case Crossing::behind: return "behind";
    case Crossing::none: break;
  }
  return "none";
}

std::vector<PedalPress> pedal_part(const Score& score, const Tempo& tempo) {
  std::vector<PedalPress> part;
  if (score.bars.empty()) return part;
  const WrittenSeconds seconds(score, tempo);
  std::map<NoteId, std::size_t> known;  // by the note struck
  for (const Press& p : presses(score)) {
    if (p.role != Role::feet) continue;
    const auto [it, fresh] = known.try_emplace(p.notes.front(), part.size());
    if (!fresh) {
      part[it->second].performed.emplace_back(p.start, p.end);
      continue;
    }
    PedalPress out;
    out.note.key = p.key;
    out.note.start = onset_of(score, p.notes.front());
    out.note.end = out.note.start + (p.end - p.start);
    out.note.from = seconds(out.note.start);
    out.note.to = seconds(out.note.end);
    out.notes = p.notes;
    out.performed.emplace_back(p.start, p.end);
    part.push_back(std::move(out));
  }
  std::stable_sort(part.begin(), part.end(), [](const PedalPress& a, const PedalPress& b) {
    return a.note.start != b.note.start ? a.note.start < b.note.start : a.note.key < b.note.key;
  });
  return part;
}

std::vector<FixedFoot> marks_in(const Score& score) {
  std::vector<FixedFoot> out;
  for (const WrittenNote& n : score.notes) {
    if (n.cue || (n.foot == WrittenNote::Foot::none && n.foot_part == WrittenNote::Part::none)) continue;
    FixedFoot f;
    f.note = n.id;
    if (n.foot != WrittenNote::Foot::none) f.foot = n.foot == WrittenNote::Foot::left ? Foot::left : Foot::right;
    if (n.foot_part != WrittenNote::Part::none) {
      f.part = n.foot_part == WrittenNote::Part::toe ? FootPart::toe : FootPart::heel;
    }
    out.push_back(f);
  }
  return out;
}

Result<Pedalling> solve_feet(const Score& score, const Organ& organ, const Player& player, const Tempo& tempo,
                             const FeetWishes& wishes) {
  std::vector<PedalPress> part = pedal_part(score, tempo);
  if (part.empty()) {
    return fail(
        "There is nothing here for the feet: no stave is given to them. Say which stave is the pedal's, or for "
        "a hymn that the feet take the bass.");
  }
  Pedalling out;
  out.style = wishes.style.value_or(player.feet);
  FeetRules rules;
  rules.board = Pedalboard(organ.console);
  rules.heels = out.style == FeetStyle::legato || out.style == FeetStyle::simplified;
  rules.heel_on_sharps = player.heel_on_sharps;
  rules.foot_span = player.foot_span.value;

  if (out.style == FeetStyle::simplified) {
    const Simplifier simple(score);
    std::vector<PedalPress> kept;
    for (PedalPress& p : part) {
      const bool fixed = std::any_of(wishes.fixed.begin(), wishes.fixed.end(),
                                     [&](const FixedFoot& f) { return f.note == p.notes.front(); });
      if (fixed || simple.keeps(score, p, kept.empty() ? nullptr : &kept.back())) {
        kept.push_back(std::move(p));
      } else {
        out.left_out.insert(out.left_out.end(), p.notes.begin(), p.notes.end());
      }
    }
    part = std::move(kept);
  }
  mark_busy(part, wishes.busy);
  Result<Asked> demands = asked(score, part, wishes.fixed);
  if (!demands) return tl::unexpected(demands.error());
  std::vector<PedalNote> notes;
  for (std::size_t i = 0; i < part.size(); ++i) {
    notes.push_back(part[i].note);
    const FeetDemand& d = demands->demands[i];
    const bool right_fixed = d.foot == Foot::right || d.foot_after == Foot::right;
    if (out.style == FeetStyle::left_foot_only && !right_fixed) notes.back().right_free = false;
  }
  const FeetPath path = cheapest_feet(notes, rules, demands->demands);
  if (path.choices.size() != notes.size()) {
    return fail("The fixed marks cannot be met together: one of them asks for a change on a note too short for it.");
  }
  out.cost = path.cost;
  out.marks = Marker(score, rules, part, notes, path, demands->fixed, wishes.margin).all();
  remark_on(score, part, path, out);
  if (tempo.assumed()) out.remarks.emplace_back("The tempo is assumed: where feet must hurry rests on it.");
  return out;
}

}  // namespace calcant
