// Against all states of small invented organs, sorted by the pipes that sound.
#include "engine/registration/equals.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <map>

#include "engine/registration/small_organs_test.hpp"

namespace calcant {
namespace {

TEST(Equals, OfAllThatSoundAlikeTheFewestKnobsWithinTheLimits) {
  Random random{7, 0};
  int others = 0;
  int nothing = 0;
  for (int organs = 0; organs < 25; ++organs) {
    const Organ organ = small_organ(random);
    std::vector<KeysDown> chords(2);
    chords[0].keys[0] = NoteSet::range(48, 49);
    chords[1].keys[0].insert(64);
    const auto space = Space::make(organ, chords);
    if (!space) continue;
    const StopMask all = (StopMask{1} << space->stops().size()) - 1;
    const StopMask must = random.below(3) == 0 ? StopMask{1} << random.below(4) & all : 0;
    const StopMask must_not = StopMask{1} << random.below(4) & all & ~must;
    std::vector<bool> linkings;
    for (std::size_t l = 0; l < space->linkings().size(); ++l) linkings.push_back(random.below(4) != 0);
    const Equals equals{*space, must, must_not, linkings};

    // By what sounds: the canonical state, and the fewest knobs that may be drawn for it.
    struct Alike {
      std::optional<Space::State> canonical;
      std::optional<int> fewest;
    };
    std::map<std::vector<std::string>, Alike> by_sound;
    Sounding sounding{organ};
    const auto sound = [&](const Space::State& s) {
      std::vector<std::string> out;
      PipeSet pipes;
      for (const KeysDown& down : chords) {
        sounding.pipes(space->registration(s.linking, s.stops), down, pipes);
        std::string text;
        for (const NoteSet& rank : pipes.ranks) {
          for (const int n : rank) text += std::to_string(n) + " ";
          text += "/";
        }
        out.push_back(text);
      }
      return out;
    };
    for (std::size_t l = 0; l < space->linkings().size(); ++l) {
      for (StopMask m = 0; m <= all; ++m) {
        if ((m & ~space->linkings()[l].sounding) != 0) continue;
        Alike& a = by_sound[sound({l, m})];
        if (space->canonical(l, m)) a.canonical = Space::State{l, m};
        if (!linkings[l] || (must & ~m) != 0 || (must_not & m) != 0) continue;
        const int knobs = space->linkings()[l].knobs + std::popcount(m);
        if (!a.fewest || knobs < *a.fewest) a.fewest = knobs;
      }
    }
    for (const auto& [heard, a] : by_sound) {
      ASSERT_TRUE(a.canonical);
      if (a.canonical->stops == 0) continue;  // silence
      const auto found = equals.of(*a.canonical);
      ASSERT_EQ(found.has_value(), a.fewest.has_value());
      if (!found) {
        ++nothing;
        continue;
      }
      EXPECT_EQ(sound(*found), heard);
      EXPECT_EQ(space->linkings()[found->linking].knobs + std::popcount(found->stops), *a.fewest);
      EXPECT_TRUE(linkings[found->linking] && (must & ~found->stops) == 0 && (must_not & found->stops) == 0);
      EXPECT_TRUE(equals.stands(*found));
      if (*found != *a.canonical) {
        ++others;
        EXPECT_FALSE(equals.stands(*a.canonical));
      }
    }
  }
  EXPECT_GT(others, 20);
  EXPECT_GT(nothing, 20);
}

}  // namespace
}  // namespace calcant
