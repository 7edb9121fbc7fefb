// A planned hymn as pipes in time.
#include "jobs/performance.hpp"

#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

constexpr double great_delay = 0.060;  // as demo/village/organ.toml has it

const Organ& village() {
  static const Organ organ = [] {
    auto folder = read_organ_folder("demo/village");
    EXPECT_TRUE(folder);
    return folder ? folder->organ : Organ{};
  }();
  return organ;
}

Score crotchets(const std::vector<int>& keys) {
  Score score;
  score.staves.resize(1);
  score.staves[0].role = Role::right_hand;
  score.bars.resize(1);
  score.bars[0].length = Rational{static_cast<int>(keys.size())};
  score.turns = {{0, 1, Rational{0}}};
  for (std::size_t i = 0; i < keys.size(); ++i) {
    WrittenNote n;
    n.id = static_cast<NoteId>(i);
    n.at = Rational{static_cast<int>(i)};
    n.length = Rational{1};
    n.note = Note{keys[i]};
    score.notes.push_back(n);
  }
  return score;
}

// Two crotchets on C4, then one on D4, sung twice; one 8 ft stop in verse 1, another in verse 2.
TEST(Performance, PlaysEachVerseWithItsOwnRegistration) {
  const Score score = crotchets({60, 60, 62});
  Plan plan;
  Item item;
  for (int v = 1; v <= 2; ++v) {
    Section s;
    s.from.verse = v;
    s.drawn.box.fill(1);
    s.drawn.stops.set(v == 1 ? 0 : 1);
    s.keyboards.right = 0;
    item.sections.push_back(s);
  }
  plan.items = {item};
  const Performance p = perform(village(), plan, 0, score, {60, std::nullopt, 2, {}, {}});
  ASSERT_EQ(p.events.size(), 6U);
  // The pipes follow their keys by the action's delay. Struck again at once: let go half an action's time before, so that
  // it is heard twice.
  EXPECT_NEAR(p.events[0].on.value(), great_delay, 1e-9);
  EXPECT_NEAR(p.events[0].off.value(), 1 - 1.0 / 16 + great_delay, 1e-9);
  EXPECT_NEAR(p.events[1].on.value(), 1 + great_delay, 1e-9);
  EXPECT_EQ(p.events[0].pipe, p.events[1].pipe);
  // Verse 2 begins after 3 s of music and 2 s of gap, on the other stop's rank.
  EXPECT_NEAR(p.events[3].on.value(), 5 + great_delay, 1e-9);
  EXPECT_NE(p.events[3].pipe.rank, p.events[0].pipe.rank);
  EXPECT_GE(p.length.value(), 7.9);
}

// A stop drawn, and another put in, while a key is down: heard at once, and what stays drawn sounds through.
TEST(Performance, AKnobMovedWhileAKeyIsHeldIsHeardAtOnce) {
  Score score = crotchets({60});
  score.bars[0].length = score.notes[0].length = Rational{4};
  Plan plan;
  Item item;
  item.kind = ItemKind::piece;
  const auto open = *stop_by_id(village(), "gt-open");
  const auto clarabella = *stop_by_id(village(), "gt-clarabella");
  const auto principal = *stop_by_id(village(), "gt-principal");
  for (int i = 0; i < 2; ++i) {
    Section s;
    s.from.at = Rational{2 * i};
    s.drawn.box.fill(1);
    s.drawn.stops.set(static_cast<std::size_t>(open));
    s.drawn.stops.set(static_cast<std::size_t>(i == 0 ? clarabella : principal));
    s.keyboards.right = 0;
    item.sections.push_back(s);
  }
  plan.items = {item};
  const Performance p = perform(village(), plan, 0, score, {60, std::nullopt, 2, {}, {}});
  ASSERT_EQ(p.events.size(), 3U);
  const auto span_of = [&](const char* rank) {
    for (const PipeEvent& e : p.events) {
      if (village().ranks[static_cast<std::size_t>(e.pipe.rank)].id == rank) {
        return std::pair{e.on.value() - great_delay, e.off.value() - great_delay};
      }
    }
    return std::pair{-1.0, -1.0};
  };
  EXPECT_NEAR(span_of("gt-open").first, 0, 1e-9);
  EXPECT_NEAR(span_of("gt-open").second, 4, 1e-9);
  EXPECT_NEAR(span_of("gt-clarabella").second, 2, 1e-9);
  EXPECT_NEAR(span_of("gt-principal").first, 2, 1e-9);
}

}  // namespace
}  // namespace calcant
