#include "engine/organ/sounding.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <set>
#include <sstream>

#include "engine/organ/allocations_test.hpp"
#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

Feet feet(std::int64_t num, std::int64_t den = 1) { return Feet{Rational{num, den}}; }

Rank rank(std::string id, ChestIndex chest, int low, int pipes, std::vector<Break> pitch) {
  Rank r;
  r.id = r.name = std::move(id);
  r.chest = chest;
  r.low_key = Note{low};
  r.pipes = pipes;
  r.pitch = std::move(pitch);
  return r;
}

Stop stop(std::string id, DivisionIndex division, std::vector<StopPart> parts) {
  Stop s;
  s.id = s.name = std::move(id);
  s.division = division;
  s.parts = std::move(parts);
  return s;
}

Coupler coupler(std::string id, KeyboardIndex from, DivisionIndex to, int semitones,
                std::vector<CouplerIndex> carries) {
  Coupler c;
  c.id = c.name = std::move(id);
  c.from = from;
  c.to = to;
  c.semitones = semitones;
  c.carries = std::move(carries);
  return c;
}

// The organ described in words at the top of sounding_cases.txt.
Organ case_organ() {
  Organ o;
  o.keyboards = {{"great", "Great", false, NoteSet::range(36, 91), 0},
                 {"swell", "Swell", false, NoteSet::range(36, 91), 1},
                 {"pedal", "Pedal", true, NoteSet::range(36, 65), 2}};
  o.divisions = {{"great", "Great", 0, Note{36}, Note{91}, {}},
                 {"swell", "Swell", 1, Note{36}, Note{103}, {}},
                 {"pedal", "Pedal", 2, Note{36}, Note{65}, {}}};
  for (int d = 0; d < 3; ++d) {
    Chest c;
    c.id = c.name = o.divisions[static_cast<std::size_t>(d)].id;
    c.division = d;
    o.chests.push_back(c);
  }
  const auto one = [](Feet f) { return std::vector<Break>{{Note{0}, f}}; };
  o.ranks = {rank("open", 0, 36, 56, one(feet(8))),
             rank("principal", 0, 36, 56, one(feet(4))),
             rank("twelfth", 0, 36, 56, one(feet(8, 3))),
             rank("mix-a", 0, 36, 56, {{Note{36}, feet(4, 3)}, {Note{60}, feet(2)}}),
             rank("mix-b", 0, 36, 56, {{Note{36}, feet(1)}, {Note{60}, feet(4, 3)}}),
             rank("gedackt", 1, 36, 68, one(feet(8))),
             rank("salicional", 1, 48, 56, one(feet(8))),
             rank("celeste", 1, 48, 56, one(feet(8))),
             rank("gemshorn", 1, 36, 56, one(feet(4))),
             rank("oboe", 1, 36, 68, one(feet(8))),
             rank("bourdon", 2, 36, 42, one(feet(16)))};
  const Note c2{36}, top{127};
  o.stops = {stop("open", 0, {{0, c2, top, 0, false}}),
             stop("principal", 0, {{1, c2, top, 0, false}}),
             stop("twelfth", 0, {{2, c2, top, 0, false}}),
             stop("mixture", 0, {{3, c2, top, 0, false}, {4, c2, top, 0, false}}),
             stop("gedackt", 1, {{5, c2, top, 0, false}}),
             stop("salicional", 1, {{6, Note{48}, top, 0, false}, {5, c2, Note{47}, 0, true}}),
             stop("celeste", 1, {{7, Note{48}, top, 0, false}}),
             stop("gemshorn", 1, {{8, c2, top, 0, false}}),
             stop("oboe", 1, {{9, c2, top, 0, false}}),
             stop("bourdon", 2, {{10, c2, top, 0, false}}),
             stop("bassflute", 2, {{10, c2, top, 12, false}})};
  o.couplers = {coupler("sw-gt", 0, 1, 0, {4, 1}),  coupler("gt-sw", 1, 0, 0, {0}),  coupler("gt-pd", 2, 0, 0, {0}),
                coupler("sw-pd", 2, 1, 0, {}),      coupler("sw-oct", 1, 1, 12, {}), coupler("sw-sub", 1, 1, -12, {}),
                coupler("sw-oct-gt", 0, 1, 12, {}), coupler("sw-off", 1, 1, 0, {}),  coupler("gt-oct", 0, 0, 12, {8})};
  o.couplers[7].unison_off = true;
  o.action.delay.resize(3);
  o.pitch.a.value = Hertz{440};
  return o;
}

std::vector<std::string> split(const std::string& line, char at) {
  std::vector<std::string> out;
  std::string part;
  std::istringstream in(line);
  while (std::getline(in, part, at)) out.push_back(part);
  return out;
}
std::vector<std::string> words(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string w; in >> w;) out.push_back(w);
  return out;
}

Registration draw(const Organ& o, const std::vector<std::string>& names) {
  Registration r;
  for (const std::string& n : names) {
    const auto s = stop_by_id(o, n);
    const auto c = coupler_by_id(o, n);
    EXPECT_TRUE(s || c) << "the case draws \"" << n << "\"";
    if (s) r.stops.set(static_cast<std::size_t>(*s));
    if (c) r.couplers.set(static_cast<std::size_t>(*c));
  }
  return r;
}

KeysDown hold(const Organ& o, const std::vector<std::string>& keys) {
  KeysDown down;
  for (const std::string& k : keys) {
    const auto parts = split(k, ':');
    const auto board = keyboard_by_id(o, parts.at(0));
    const auto note = parse_note(parts.at(1));
    EXPECT_TRUE(board && note) << k;
    if (board && note) down.keys[static_cast<std::size_t>(*board)].insert(note->midi);
  }
  return down;
}

PipeId pipe(const Organ& o, const std::string& text) {
  const auto slash = text.find('/');
  const auto r = rank_by_id(o, text.substr(0, slash));
  EXPECT_TRUE(r) << text;
  return {r.value_or(0), std::atoi(text.substr(slash + 1).c_str())};
}

std::string listed(const Organ& o, const std::set<PipeId>& pipes) {
  std::string out;
  for (const PipeId p : pipes) {
    out += o.ranks[static_cast<std::size_t>(p.rank)].id + "/" + std::to_string(p.number) + " ";
  }
  return out;
}

std::set<PipeId> members(const PipeSet& set) {
  std::set<PipeId> out;
  for (std::size_t r = 0; r < set.ranks.size(); ++r) {
    for (const int n : set.ranks[r]) out.insert({static_cast<RankIndex>(r), n});
  }
  return out;
}

// The organ less what this line says is dead or out of use.
void mark(Organ& o, const std::vector<std::string>& faults) {
  o.dead.assign(o.ranks.size(), NoteSet{});
  for (const std::string& f : faults) {
    if (f.find('/') != std::string::npos) {
      const PipeId p = pipe(o, f);
      o.dead[static_cast<std::size_t>(p.rank)].insert(p.number);
    } else {
      const auto s = stop_by_id(o, f);
      ASSERT_TRUE(s) << f;
      o.stops[static_cast<std::size_t>(*s)].out_of_use = true;
    }
  }
}

// Source: worked by hand from the rules in engine/organ/sounding.hpp; common practice of English organs
// (the octave coupler that does not feed itself, the borrowed bass), no published source.
TEST(Sounding, CasesWorkedByHand) {
  std::ifstream in("engine/organ/sounding_cases.txt");
  ASSERT_TRUE(in);
  int cases = 0;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    ++cases;
    SCOPED_TRACE(line);
    auto field = split(line, '|');
    ASSERT_GE(field.size(), 5U);
    field.resize(6);
    Organ o = case_organ();
    mark(o, words(field[3]));
    const Registration drawn = draw(o, words(field[1]));
    const KeysDown down = hold(o, words(field[2]));

    std::set<PipeId> expected;
    for (const std::string& w : words(field[4])) {
      const auto parts = split(w, '=');
      const PipeId p = pipe(o, parts[0]);
      expected.insert(p);
      if (parts.size() > 1) {
        EXPECT_EQ(name(sounding_note(o, p)), parts[1]) << parts[0];
      }
    }
    PipeSet out;
    Sounding{o}.pipes(drawn, down, out);
    EXPECT_EQ(listed(o, members(out)), listed(o, expected));

    const SoundingReport report = explain(o, drawn, down);
    std::set<PipeId> explained;
    for (const SoundingPipe& p : report.pipes) explained.insert(p.pipe);
    EXPECT_EQ(listed(o, explained), listed(o, expected));
    std::string missing;
    for (const MissingPipe& m : report.missing) {
      EXPECT_FALSE(m.why.empty());
      missing += o.ranks[static_cast<std::size_t>(m.rank)].id + " at " + name(m.sounds) + " ";
    }
    std::string wanted;
    for (const std::string& w : words(field[5])) wanted += w + " ";
    EXPECT_EQ(missing, wanted);
  }
  EXPECT_GE(cases, 35);
}

TEST(Sounding, TheCaseOrganKeepsToTheRules) { EXPECT_TRUE(breaches(case_organ()).empty()); }

// --- The oracle: slow, obvious, with no set of bits in it. ---

struct Oracle {
  const Organ& o;
  const Registration& drawn;
  const KeysDown& down;
  std::set<std::pair<int, int>> arrived{};  // (division, note)
  std::set<std::pair<int, int>> walked{};   // (coupler, note before it): walked once from there is enough

  bool on(std::size_t c) const { return drawn.couplers[c]; }
  bool in_range(int division, int note) const {
    const Division& d = o.divisions[static_cast<std::size_t>(division)];
    return note >= d.low.midi && note <= d.high.midi;
  }

  void through(std::size_t c, int note) {
    const Coupler& k = o.couplers[c];
    if (!on(c) || k.unison_off || !walked.insert({static_cast<int>(c), note}).second) return;
    const int there = note + k.semitones;
    if (!in_range(k.to, there)) return;
    arrived.insert({k.to, there});
    for (const CouplerIndex next : k.carries) through(static_cast<std::size_t>(next), there);
  }

  std::set<PipeId> pipes() {
    for (std::size_t b = 0; b < o.keyboards.size(); ++b) {
      for (int key = 0; key < 128; ++key) {
        if (!down.keys[b].contains(key) || !o.keyboards[b].keys.contains(key)) continue;
        const int home = o.keyboards[b].division;
        bool unison = true;
        for (std::size_t c = 0; c < o.couplers.size(); ++c) {
          if (on(c) && o.couplers[c].unison_off && o.couplers[c].to == home) unison = false;
        }
        if (unison && in_range(home, key)) arrived.insert({home, key});
        for (std::size_t c = 0; c < o.couplers.size(); ++c) {
          if (o.couplers[c].from == static_cast<int>(b)) through(c, key);
        }
      }
    }
    // Asked of every pipe of the organ in turn: would any drawn stop let it speak?
    std::set<PipeId> speak;
    for (std::size_t r = 0; r < o.ranks.size(); ++r) {
      for (int n = 1; n <= o.ranks[r].pipes; ++n) {
        if (!o.dead.empty() && o.dead[r].contains(n)) continue;
        for (std::size_t s = 0; s < o.stops.size(); ++s) {
          if (!drawn.stops[s] || o.stops[s].out_of_use) continue;
          for (const StopPart& p : o.stops[s].parts) {
            const int note = o.ranks[r].low_key.midi + n - 1 - p.step;
            if (p.rank == static_cast<int>(r) && note >= p.from.midi && note <= p.to.midi &&
                arrived.count({o.stops[s].division, note}) != 0) {
              speak.insert({static_cast<RankIndex>(r), n});
            }
          }
        }
      }
    }
    return speak;
  }
};

NoteSet random_keys(Random& random) {
  const int low = 30 + random.below(12);
  NoteSet keys = NoteSet::range(low, low + 20 + random.below(50));
  if (random.below(3) == 0) keys.erase(low + 1);  // a short octave
  return keys;
}

Organ random_organ(Random& random) {
  Organ o;
  const int boards = 1 + random.below(4);
  const int divisions = boards + random.below(2);
  for (int d = 0; d < divisions; ++d) {
    const int low = 28 + random.below(16);
    Division division{"d" + std::to_string(d), "D", std::nullopt, Note{low}, Note{low + 10 + random.below(70)}, {}};
    if (d < boards) division.keyboard = d;
    o.divisions.push_back(division);
    Chest c;
    c.id = c.name = division.id;
    c.division = d;
    o.chests.push_back(c);
  }
  for (int b = 0; b < boards; ++b) {
    o.keyboards.push_back({"k" + std::to_string(b), "K", b + 1 == boards, random_keys(random), b});
  }
  const int ranks = 1 + random.below(6);
  for (int r = 0; r < ranks; ++r) {
    const int low = 24 + random.below(36);
    o.ranks.push_back(rank("r" + std::to_string(r), random.below(divisions), low,
                           1 + random.below(std::min(97, 128 - low)), {{Note{0}, feet(8)}, {Note{low + 5}, feet(4)}}));
  }
  const int stops = 1 + random.below(8);
  for (int s = 0; s < stops; ++s) {
    std::vector<StopPart> parts;
    for (int p = 1 + random.below(3); p > 0; --p) {
      const int from = 20 + random.below(60);
      parts.push_back({random.below(ranks), Note{from}, Note{from + random.below(127 - from + 1)},
                       random.below(4) == 0 ? random.below(49) - 24 : 0, random.below(2) == 0});
    }
    o.stops.push_back(stop("s" + std::to_string(s), random.below(divisions), parts));
    o.stops.back().out_of_use = random.below(10) == 0;
  }
  const int couplers = random.below(9);
  constexpr std::array<int, 5> steps{0, 0, 12, -12, 7};
  for (int c = 0; c < couplers; ++c) {
    std::vector<CouplerIndex> carries;
    for (int k = 0; k < couplers; ++k) {
      if (random.below(3) == 0) carries.push_back(k);
    }
    o.couplers.push_back(coupler("c" + std::to_string(c), random.below(boards), random.below(divisions),
                                 steps[static_cast<std::size_t>(random.below(5))], carries));
    o.couplers.back().unison_off = random.below(6) == 0;
  }
  if (random.below(2) == 0) {
    o.dead.resize(o.ranks.size());
    for (NoteSet& d : o.dead) d.insert(1 + random.below(40));
  }
  o.action.delay.resize(o.divisions.size());
  o.pitch.a.value = Hertz{440};
  return o;
}

TEST(Sounding, AgreesWithTheOracleOnRandomOrgans) {
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    Random random{seed, 1};
    const Organ o = random_organ(random);
    ASSERT_TRUE(breaches(o).empty()) << breaches(o).front();
    Sounding sounding{o};
    PipeSet out;
    for (int state = 0; state < 10; ++state) {
      Registration drawn;
      KeysDown down;
      for (std::size_t s = 0; s < o.stops.size(); ++s) drawn.stops[s] = random.below(2) == 0;
      for (std::size_t c = 0; c < o.couplers.size(); ++c) drawn.couplers[c] = random.below(2) == 0;
      for (NoteSet& keys : down.keys) {
        for (int k = random.below(6); k > 0; --k) keys.insert(random.below(128));
      }
      const std::set<PipeId> expected = Oracle{o, drawn, down}.pipes();
      sounding.pipes(drawn, down, out);
      ASSERT_EQ(listed(o, members(out)), listed(o, expected)) << "seed " << seed << " state " << state;

      const SoundingReport report = explain(o, drawn, down);
      std::set<PipeId> explained;
      for (const SoundingPipe& p : report.pipes) {
        explained.insert(p.pipe);
        ASSERT_FALSE(p.from.empty());
        for (const SoundingPipe::From& f : p.from) {
          // Every reason given is a true one: the key is held, and walking its couplers leads to this pipe's
          // note.
          ASSERT_TRUE(down.keys[static_cast<std::size_t>(f.keyboard)].contains(f.key));
          int note = f.key.midi;
          for (const CouplerIndex c : f.through) note += o.couplers[static_cast<std::size_t>(c)].semitones;
          bool leads = false;
          for (const StopPart& part : o.stops[static_cast<std::size_t>(f.stop)].parts) {
            leads = leads || (part.rank == p.pipe.rank && note + part.step == key_of(o, p.pipe).midi);
          }
          ASSERT_TRUE(leads);
        }
      }
      ASSERT_EQ(listed(o, explained), listed(o, expected)) << "seed " << seed << " state " << state;
    }
  }
}

TEST(Sounding, AllocatesNothingAfterTheFirstCall) {
  const Organ o = case_organ();
  Sounding sounding{o};
  Registration all;
  for (std::size_t s = 0; s < o.stops.size(); ++s) all.stops.set(s);
  for (std::size_t c = 0; c < o.couplers.size(); ++c) all.couplers.set(c);
  KeysDown down;
  down.keys[0] = NoteSet::range(60, 67);
  down.keys[2] = NoteSet::range(36, 37);
  PipeSet out;
  sounding.pipes(all, down, out);
  EXPECT_GT(out.size(), 0);
  const long before = allocations();
  for (int i = 0; i < 100; ++i) {
    down.keys[0] = down.keys[0].shifted(i % 2 == 0 ? 1 : -1);
    sounding.pipes(all, down, out);
  }
  EXPECT_EQ(allocations(), before);
}

TEST(Sounding, WaysAreTold) {
  const Organ o = case_organ();
  const SoundingReport report = explain(o, draw(o, {"gedackt", "sw-gt", "sw-oct", "sw-oct-gt"}), hold(o, {"great:C4"}));
  ASSERT_EQ(report.pipes.size(), 2U);
  EXPECT_EQ(report.pipes[0].from.size(), 1U);
  EXPECT_EQ(report.pipes[0].from[0].through, std::vector<CouplerIndex>{0});
  // The octave comes both through Swell to Great and Swell Octave, and through Swell Octave to Great.
  ASSERT_EQ(report.pipes[1].from.size(), 2U);
}

}  // namespace
}  // namespace calcant
