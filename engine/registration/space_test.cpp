// The space of registrations against the plain question "which pipes sound?" (engine/organ/sounding.hpp), asked of every
// single registration.
#include "engine/registration/space.hpp"

#include <gtest/gtest.h>

#include <map>

#include "engine/registration/small_organs_test.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

using Pipes = std::vector<std::vector<std::pair<std::uint64_t, std::uint64_t>>>;

Pipes sounding(const Organ& organ, const std::vector<KeysDown>& chords, const Registration& drawn) {
  Sounding question{organ};
  Pipes out;
  PipeSet pipes;
  for (const KeysDown& down : chords) {
    question.pipes(drawn, down, pipes);
    auto& on_chord = out.emplace_back();
    for (const NoteSet n : pipes.ranks) on_chord.emplace_back(n.low_bits(), n.high_bits());
  }
  return out;
}

// Every registration of the organ: what it makes sound, and the fewest knobs that do.
std::map<Pipes, int> every_registration(const Organ& organ, const std::vector<KeysDown>& chords) {
  std::map<Pipes, int> fewest;
  const std::size_t stops = organ.stops.size();
  const std::size_t couplers = organ.couplers.size();
  for (std::size_t m = 0; m < std::size_t{1} << (stops + couplers); ++m) {
    Registration drawn;
    for (std::size_t s = 0; s < stops; ++s) drawn.stops.set(s, (m >> s & 1) != 0);
    for (std::size_t c = 0; c < couplers; ++c) drawn.couplers.set(c, (m >> (stops + c) & 1) != 0);
    const int knobs = std::popcount(m);
    const auto [it, is_new] = fewest.try_emplace(sounding(organ, chords, drawn), knobs);
    if (!is_new) it->second = std::min(it->second, knobs);
  }
  return fewest;
}

void stands_for_every_registration(const Organ& organ, const std::vector<KeysDown>& chords) {
  const auto direct = every_registration(organ, chords);
  const auto space = Space::make(organ, chords);
  if (!space) {
    // The only thing a random organ can be refused for is that nothing can sound.
    EXPECT_EQ(direct.size(), 1U) << space.error().message;
    return;
  }
  std::map<Pipes, int> found;
  for (std::size_t l = 0; l < space->linkings().size(); ++l) {
    for (StopMask m = 0; m < StopMask{1} << space->stops().size(); ++m) {
      const Registration drawn = space->registration(l, m);
      const Pipes pipes = sounding(organ, chords, drawn);
      // The groups hit are exactly the pipes that sound.
      for (std::size_t k = 0; k < chords.size(); ++k) {
        PipeSet of_groups;
        of_groups.ranks.resize(organ.ranks.size());
        for (const Group& g : space->linkings()[l].groups[k]) {
          if ((g.stops & m) == 0) continue;
          for (const PipeId p : g.pipes) {
            EXPECT_FALSE(of_groups.contains(p)) << "groups share a pipe";
            of_groups.ranks[static_cast<std::size_t>(p.rank)].insert(p.number);
          }
        }
        for (std::size_t r = 0; r < organ.ranks.size(); ++r) {
          ASSERT_EQ(pipes[k][r].first, of_groups.ranks[r].low_bits());
          ASSERT_EQ(pipes[k][r].second, of_groups.ranks[r].high_bits());
        }
      }
      if (!space->canonical(l, m)) continue;
      const int knobs = static_cast<int>(drawn.stops.count() + drawn.couplers.count());
      EXPECT_TRUE(found.try_emplace(pipes, knobs).second) << "counted twice: " << registration_text(organ, drawn);
      EXPECT_EQ(knobs, direct.at(pipes)) << "not the fewest knobs: " << registration_text(organ, drawn);
      // And back again, with what cannot be heard drawn on top.
      const auto state = space->state(drawn);
      ASSERT_TRUE(state) << state.error().message;
      EXPECT_EQ(*state, (Space::State{l, m}));
    }
  }
  EXPECT_EQ(found, direct);
}

TEST(Space, StandsForEveryRegistrationOfSmallOrgans) {
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    SCOPED_TRACE(seed);
    Random random{1874, seed};
    const Organ organ = small_organ(random);
    ASSERT_TRUE(breaches(organ).empty()) << breaches(organ).front();
    stands_for_every_registration(organ, some_chords(organ, random));
    if (testing::Test::HasFatalFailure()) return;
  }
}

TEST(Space, StandsForEveryRegistrationOfTheChapel) {
  const auto folder = read_organ_folder("demo/chapel");
  ASSERT_TRUE(folder);
  for (const std::string keys : {"Manual:C2,E2", "Manual:C4,E4,G4 Pedal:C2", "Pedal:C2"}) {
    SCOPED_TRACE(keys);
    stands_for_every_registration(folder->organ, {*parse_keys(folder->organ, keys)});
  }
}

// Below tenor C the Dulciana of the chapel is the Stopped Diapason: with the two drawn or either, one sound.
TEST(Space, TwoStopsWithTheSamePipesAreOneState) {
  const auto folder = read_organ_folder("demo/chapel");
  ASSERT_TRUE(folder);
  const std::vector<KeysDown> low{*parse_keys(folder->organ, "Manual:C2,G2")};
  const auto space = Space::make(folder->organ, low);
  ASSERT_TRUE(space);
  const StopMask stopped = space->mask(parse_registration(folder->organ, "Stopped Diapason 8")->stops);
  const StopMask dulciana = space->mask(parse_registration(folder->organ, "Dulciana 8")->stops);
  EXPECT_TRUE(space->canonical(0, stopped));
  EXPECT_FALSE(space->canonical(0, dulciana));
  EXPECT_FALSE(space->canonical(0, stopped | dulciana));
}

TEST(Space, RefusesInWords) {
  const auto folder = read_organ_folder("demo/chapel");
  ASSERT_TRUE(folder);
  const Organ& organ = folder->organ;
  EXPECT_FALSE(Space::make(organ, {}));
  EXPECT_FALSE(Space::make(organ, std::vector<KeysDown>{KeysDown{}}));
  const std::vector<KeysDown> chords{*parse_keys(organ, "Manual:C4 Pedal:C2")};
  Registration all;
  all.stops.set();
  EXPECT_FALSE(Space::make(organ, chords, all));
  // What must not be drawn is no state of the space, and not taken for another one.
  const Registration forbidden = *parse_registration(organ, "Fifteenth 2, Manual to Pedal");
  const auto space = Space::make(organ, chords, forbidden);
  ASSERT_TRUE(space);
  EXPECT_FALSE(space->state(*parse_registration(organ, "Open Diapason 8, Fifteenth 2")));
  EXPECT_FALSE(space->state(*parse_registration(organ, "Open Diapason 8, Manual to Pedal")));
  EXPECT_TRUE(space->state(*parse_registration(organ, "Open Diapason 8")));
}

}  // namespace
}  // namespace calcant
