// The checker of feet.hpp's results: what the search gives passes it, on thousands of random pedal parts in every style,
// with feet booked and marks fixed; and a fault planted into such a result is caught, of every kind.
#include "engine/playing/check_feet.hpp"

#include <gtest/gtest.h>

#include <functional>
#include <map>

#include "engine/playing/by_hand_test.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

using by_hand::Played;
using Kind = FeetBreach::Kind;

// Single notes, pairs, overlaps, ties, repeated keys and rests, beside a hand that plays every bar.
Score random_part(Random& random, int count) {
  std::vector<Played> notes;
  Rational t;
  int key = 48;
  for (int i = 0; i < count; ++i) {
    key = std::clamp(key + random.below(11) - 5, 36, 65);
    const Rational length{1 + random.below(4), 2};
    const bool tied = random.below(5) == 0;
    notes.push_back({key, t, length, 1, false, tied});
    if (tied) notes.push_back({key, t + length, length, 1, true, false});
    const int shape = random.below(6);
    if (shape == 0) notes.push_back({std::min(65, key + 1 + random.below(14)), t, length, 1});
    if (shape == 1 && !tied) notes.back().length += Rational{1};  // held into what follows
    t += tied ? length + length : length;
    if (random.below(6) == 0) t += Rational{1 + random.below(4)};
  }
  for (Rational bar; bar < t; bar += Rational{4}) notes.push_back({72, bar, Rational{4}, 0});
  return by_hand::score(notes, {Role::right_hand, Role::feet});
}

FeetWishes random_wishes(Random& random, const Score& s) {
  FeetWishes w;
  w.style = static_cast<FeetStyle>(random.below(4));
  if (random.below(3) == 0) {
    const Rational from{random.below(12)};
    w.busy.push_back({random.below(2) == 0 ? Foot::left : Foot::right, from, from + Rational{1 + random.below(4)}});
  }
  if (random.below(3) == 0) {
    std::vector<NoteId> pedals;
    for (const WrittenNote& n : s.notes) {
      if (n.stave == 1 && !n.tie_from) pedals.push_back(n.id);
    }
    FixedFoot f{pedals[static_cast<std::size_t>(random.below(static_cast<int>(pedals.size())))], {}, {}};
    if (random.below(2) == 0) f.foot = random.below(2) == 0 ? Foot::left : Foot::right;
    if (!f.foot || random.below(2) == 0) f.part = FootPart::toe;
    w.fixed.push_back(f);
  }
  return w;
}

struct Case {
  Score score;
  FeetWishes wishes;
  Pedalling pedalling;
};

Case random_case(Random& random) {
  Case c;
  c.score = random_part(random, 10);
  c.wishes = random_wishes(random, c.score);
  auto p = solve_feet(c.score, by_hand::village(), default_player(), Tempo(c.score, 80), c.wishes);
  EXPECT_TRUE(p) << (p ? "" : sentence(p.error()));
  c.pedalling = p.value_or(Pedalling{});
  return c;
}

std::vector<FeetBreach> checked(const Case& c) { return check_feet(c.score, default_player(), c.wishes, c.pedalling); }

// One way of spoiling a pedalling; false where this one has no place for it.
using Fault = std::function<bool(Case&)>;

bool swap_foot(FootMark& m) {
  m.use.foot = m.use.foot == Foot::left ? Foot::right : Foot::left;
  return true;
}

// Notes that sound together and lie too far apart for one foot.
bool into_two_places(Case& c) {
  for (FootMark& a : c.pedalling.marks) {
    const Rational end = a.onset + c.score.notes[a.note].length;
    if (a.becomes) continue;
    for (FootMark& b : c.pedalling.marks) {
      const bool together = a.onset <= b.onset && b.onset < end && a.note != b.note && !b.becomes && !b.held;
      const bool told =
          std::any_of(c.pedalling.marks.begin(), c.pedalling.marks.end(), [&](const FootMark& m) { return m.lets_go; });
      if (!together || told || std::abs(a.key.midi - b.key.midi) <= 4 || a.use.foot == b.use.foot) continue;
      return swap_foot(b);
    }
  }
  return false;
}

bool onto_a_booked_foot(Case& c) {
  if (c.wishes.busy.empty()) return false;
  const BusyFoot& b = c.wishes.busy.front();
  for (FootMark& m : c.pedalling.marks) {
    const WrittenNote& n = c.score.notes[m.note];
    if (m.booked || m.becomes || m.held || m.use.foot == b.foot || n.tie_to) continue;
    if (b.from < m.onset + n.length && m.onset < b.to) return swap_foot(m);
  }
  return false;
}

bool heel_onto_a_sharp(Case& c) {
  for (FootMark& m : c.pedalling.marks) {
    if (m.key.midi % 12 != 6 || m.fixed || m.booked || m.held) continue;  // F sharp
    m.use.part = FootPart::heel;
    return true;
  }
  return false;
}

bool against_the_style(Case& c) {
  if (!c.wishes.fixed.empty()) return false;  // what is fixed may break it
  for (FootMark& m : c.pedalling.marks) {
    if (m.fixed || m.booked || m.held || c.pedalling.style != FeetStyle::left_foot_only) continue;
    m.use.foot = Foot::right;
    return true;
  }
  return false;
}

bool against_what_was_fixed(Case& c) {
  if (c.wishes.fixed.empty() || !c.wishes.fixed.front().foot) return false;
  for (FootMark& m : c.pedalling.marks) {
    if (m.note == c.wishes.fixed.front().note) return swap_foot(m);
  }
  return false;
}

bool changes_unsaid(Case& c) {
  for (FootMark& m : c.pedalling.marks) {
    if (m.held && m.obvious) return swap_foot(m);
  }
  return false;
}

bool on_the_hands_note(Case& c) {
  for (const WrittenNote& n : c.score.notes) {
    if (n.stave != 0) continue;
    FootMark m;
    m.note = n.id;
    m.onset = written(c.score, n.bar, n.at);
    m.key = n.note;
    c.pedalling.marks.push_back(m);
    return true;
  }
  return false;
}

const std::map<Kind, Fault>& faults() {
  static const std::map<Kind, Fault> all{
      {Kind::unmarked,
       [](Case& c) {
         c.pedalling.marks.erase(c.pedalling.marks.begin() + static_cast<std::ptrdiff_t>(c.pedalling.marks.size() / 2));
         return true;
       }},
      {Kind::twice,
       [](Case& c) {
         c.pedalling.marks.push_back(c.pedalling.marks.front());
         return true;
       }},
      {Kind::not_theirs, on_the_hands_note},
      {Kind::heel_on_sharp, heel_onto_a_sharp},
      {Kind::style, against_the_style},
      {Kind::two_places, into_two_places},
      {Kind::booked, onto_a_booked_foot},
      {Kind::not_as_fixed, against_what_was_fixed},
      {Kind::hidden_change, changes_unsaid},
  };
  return all;
}

void pass_and_catch(std::uint64_t seed, int parts, int least_planted) {
  Random random(seed, 1);
  std::map<Kind, int> planted;
  for (int i = 0; i < parts; ++i) {
    const Case sound = random_case(random);
    for (const FeetBreach& b : checked(sound)) {
      ADD_FAILURE() << "part " << i << ", note " << b.note << ", " << word(b.kind) << ": " << b.message;
    }
    for (const auto& [kind, fault] : faults()) {
      Case spoilt = sound;
      if (!fault(spoilt)) continue;
      ++planted[kind];
      const std::vector<FeetBreach> found = checked(spoilt);
      EXPECT_TRUE(std::any_of(found.begin(), found.end(), [&](const FeetBreach& b) { return b.kind == kind; }))
          << "part " << i << ": planted \"" << word(kind) << "\" and not caught";
    }
  }
  for (const auto& [kind, fault] : faults()) EXPECT_GE(planted[kind], least_planted) << word(kind);
}

TEST(CheckFeet, PassesWhatTheSearchGivesAndCatchesWhatIsPlanted) { pass_and_catch(5, 120, 1); }

TEST(CheckFeetSlow, ThousandsOfRandomParts) { pass_and_catch(6, 3000, 50); }

}  // namespace
}  // namespace calcant
