// The map against every registration asked one by one, and against the full model.
#include "engine/registration/map.hpp"

#include <gtest/gtest.h>

#include <set>

#include "engine/registration/small_organs_test.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

// What is heard: the pipes on every chord, and how far each box with a sounding pipe in it is open.
using HeardKey = std::pair<std::vector<std::pair<std::uint64_t, std::uint64_t>>, std::vector<float>>;

HeardKey key_of_state(const Listening& listening, const std::vector<KeysDown>& chords, const Registration& drawn) {
  HeardKey out;
  const Organ& organ = listening.organ();
  Sounding question{organ};
  out.second.assign(organ.boxes.size(), -1);
  PipeSet pipes;
  for (const KeysDown& down : chords) {
    question.pipes(drawn, down, pipes);
    for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
      out.first.emplace_back(pipes.ranks[r].low_bits(), pipes.ranks[r].high_bits());
      const auto box = listening.box_of(static_cast<RankIndex>(r));
      if (box && !pipes.ranks[r].empty()) {
        out.second[static_cast<std::size_t>(*box)] = drawn.box[static_cast<std::size_t>(*box)];
      }
    }
  }
  return out;
}

TEST(Map, HoldsEveryRegistrationOnce) {
  for (std::uint64_t seed = 0; seed < 25; ++seed) {
    SCOPED_TRACE(seed);
    Random random{1897, seed};
    const Organ organ = small_organ(random);
    const auto chords = some_chords(organ, random);
    const Listening listening{organ, usual_condition(organ)};
    const auto space = Space::make(organ, chords);
    if (!space) continue;
    const auto boxes = box_positions(organ);
    const auto map = Map::make(*space, listening, boxes, Work{});
    ASSERT_TRUE(map) << map.error().message;

    std::set<HeardKey> direct;
    for (std::size_t l = 0; l < space->linkings().size(); ++l) {
      for (StopMask m = 1; m < StopMask{1} << space->stops().size(); ++m) {
        for (const BoxPositions& box : boxes) {
          Registration drawn = space->registration(l, m);
          drawn.box = box;
          HeardKey key = key_of_state(listening, chords, drawn);
          if (std::any_of(key.first.begin(), key.first.end(), [](auto p) { return (p.first | p.second) != 0; })) {
            direct.insert(std::move(key));
          }
        }
      }
    }
    std::set<HeardKey> mapped;
    Sounding question{organ};
    map->for_each([&](const MapState& s) {
      Registration drawn = space->registration(s.linking, s.stops);
      drawn.box = s.box;
      EXPECT_TRUE(mapped.insert(key_of_state(listening, chords, drawn)).second)
          << "counted twice: " << registration_text(organ, drawn);
      double wind = 0;
      double pipes = 0;
      for (const KeysDown& down : chords) {
        PipeSet set;
        question.pipes(drawn, down, set);
        wind += listening.wind(set).value() / static_cast<double>(chords.size());
        pipes += set.size() / static_cast<double>(chords.size());
      }
      EXPECT_NEAR(s.wind, wind, 1e-3 * wind + 1e-3);
      EXPECT_NEAR(s.pipes, pipes, 1e-3);
    });
    EXPECT_EQ(mapped, direct);
    EXPECT_EQ(map->size(), mapped.size());
  }
}

struct Village {
  Village() : organ(read_organ_folder("demo/village")->organ), nave(organ, usual_condition(organ)) {}
  Organ organ;
  Listening nave;
};

TEST(Map, IsTheSameOnOneThreadAndTwoAndStops) {
  const Village v;
  const std::vector<KeysDown> chords{*parse_keys(v.organ, "Swell:C4,E4,G4"), *parse_keys(v.organ, "Swell:C5,E5")};
  const auto space = Space::make(v.organ, chords);
  ASSERT_TRUE(space);
  const auto boxes = box_positions(v.organ);
  const auto figures = [&](int threads) {
    std::vector<float> out;
    Map::make(*space, v.nave, boxes, Work{threads})->for_each([&](const MapState& s) {
      out.push_back(s.figures.phons);
      out.push_back(s.figures.acums);
    });
    return out;
  };
  const auto one = figures(1);
  EXPECT_GT(one.size(), 1000U);
  EXPECT_EQ(one, figures(2));

  std::stop_source stop;
  stop.request_stop();
  const auto stopped = Map::make(*space, v.nave, boxes, Work{2, stop.get_token()});
  ASSERT_FALSE(stopped);
  EXPECT_NE(stopped.error().message.find("stopped"), std::string::npos);
  EXPECT_FALSE(Map::make(*space, v.nave, {}, Work{}));
}

// Loudness within 2 % of the full model (0.1 Cam); 2 % of sone is under 0.3 phon.
TEST(Map, IsNearTheFullModel) {
  const Village v;
  const std::vector<KeysDown> chords{*parse_keys(v.organ, "Great:C3,G3,E4,C5")};
  const auto space = Space::make(v.organ, chords, *parse_registration(v.organ, "Swell Octave to Great"));
  ASSERT_TRUE(space);
  const auto boxes = box_positions(v.organ);
  const auto map = Map::make(*space, v.nave, boxes, Work{2});
  ASSERT_TRUE(map);
  const Ear ear;
  Sounding question{v.organ};
  PipeSet pipes;
  std::size_t n = 0;
  double worst = 0;
  map->for_each([&](const MapState& s) {
    if (++n % 997 != 0) return;
    Registration drawn = space->registration(s.linking, s.stops);
    drawn.box = s.box;
    question.pipes(drawn, chords[0], pipes);
    const Sones full = ear.hear(v.nave.lines(pipes, drawn))->loudness.sones;
    worst = std::max(worst, std::abs(ear.sones(Phons{s.figures.phons}) / full - 1));
  });
  EXPECT_GT(n, 50000U);
  EXPECT_LT(worst, 0.02);
  RecordProperty("worst_percent", static_cast<int>(1e4 * worst));
}

TEST(Map, SaysWhenThereAreTooMany) {
  const auto folder = read_organ_folder("demo/town");
  ASSERT_TRUE(folder);
  const Listening nave{folder->organ, usual_condition(folder->organ)};
  const std::vector<KeysDown> chords{*parse_keys(folder->organ, "Great:C4,E4,G4")};
  const auto space = Space::make(folder->organ, chords);
  ASSERT_TRUE(space) << space.error().message;
  EXPECT_GT(space->stops().size(), 40U);
  const auto map = Map::make(*space, nave, box_positions(folder->organ), Work{});
  ASSERT_FALSE(map);
  EXPECT_NE(map.error().message.find("search"), std::string::npos);
}

}  // namespace
}  // namespace calcant
