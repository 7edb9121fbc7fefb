// What a plan takes on the invented village organ, beside one registration weighed in full: the vocabulary of a hymn, the
// search through it with its kinds and without, a hymn of four verses, and twelve marked bars of a piece.
#include <benchmark/benchmark.h>

#include "engine/plan/hymn.hpp"
#include "engine/plan/hymn_steps.hpp"
#include "engine/plan/piece.hpp"
#include "engine/plan/search.hpp"
#include "engine/playing/by_hand_test.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

struct Village {
  Organ organ = read_organ_folder("demo/village")->organ;
  Listening listening{organ, usual_condition(organ)};
};
const Village& village() {
  static const Village v;
  return v;
}

void one_registration_in_full(benchmark::State& state) {
  Registration drawn;
  drawn.box.fill(1);
  drawn.stops.set(0).set(3);
  const auto great = keyboard_by_id(village().organ, "great");
  for (auto _ : state) {
    Scales scales(village().listening, hymn_chords(0, false, true, false));  // anew: what was asked is kept
    benchmark::DoNotOptimize(scales.all(drawn, {great, great, {}}));
  }
}
BENCHMARK(one_registration_in_full)->Unit(benchmark::kMillisecond);

void vocabulary_of_a_hymn(benchmark::State& state) {
  for (auto _ : state) {
    Scales scales(village().listening, hymn_chords(0, false, true, false));
    const auto shades = vocabulary(village().organ, scales, {}, Placing::together, {});
    state.counters["choices"] = static_cast<double>(shades->size());
  }
}
BENCHMARK(vocabulary_of_a_hymn)->Unit(benchmark::kMillisecond);

// Eight verses by turns soft and loud; range 1: with kinds, 0: every choice a kind of its own.
void search_of_eight_verses(benchmark::State& state) {
  static const std::vector<Shade> shades = [] {
    Scales scales(village().listening, hymn_chords(0, false, true, false));
    return vocabulary(village().organ, scales, {}, Placing::together, {}).value();
  }();
  std::vector<HymnStage> stages(8);
  for (std::size_t s = 0; s < stages.size(); ++s) {
    stages[s].options = &shades;
    for (const Shade& shade : shades) stages[s].left.push_back(shade.drawn);
    stages[s].aim.target = shades[shades.size() * (1 + s * 5 % 8) / 9].loudness;
    stages[s].aim.led = true;
    stages[s].gaps = {};
    for (HymnGap& gap : stages[s].gaps) gap = {Seconds{3}, Seconds{3}, Seconds{1.5}, Seconds{1.5}};
  }
  const Player player = default_player();
  const HymnSteps steps(village().organ, player, stages, Step::between_sections, true);
  Stages c;
  c.sizes.assign(stages.size(), shades.size());
  c.own = [&](std::size_t s, std::size_t i) { return own_cost(stages[s].aim, shades[i]); };
  c.kind = [&](std::size_t s, std::size_t i) { return steps.kind(s, i); };
  c.between = [&](std::size_t s, std::size_t a, std::size_t b, double enough) {
    return steps.between(s, a, b, enough);
  };
  c.step = [&](std::size_t s, std::size_t i, std::size_t j) { return steps.step(s, i, j); };
  const auto whole = [&](std::size_t s, std::size_t i, std::size_t j) {
    return steps.between(s, steps.kind(s - 1, i), steps.kind(s, j), 1e9) + steps.step(s, i, j);
  };
  for (auto _ : state) {
    const Cheapest found = state.range(0) == 1 ? cheapest_path(c) : cheapest_path(c.sizes, c.own, whole);
    state.counters["steps_weighed"] = static_cast<double>(found.weighed);
    benchmark::DoNotOptimize(found.cost);
  }
}
BENCHMARK(search_of_eight_verses)->Arg(1)->Arg(0)->Unit(benchmark::kMillisecond);

void hymn_of_four_verses(benchmark::State& state) {
  Hymn h;
  h.tune = "A tune";
  h.verses = {parse_verse(""), parse_verse("soft"), parse_verse(""), parse_verse("full")};
  for (auto _ : state) {
    Plan plan;
    benchmark::DoNotOptimize(plan_hymn(plan, village().organ, village().listening, h, default_player(), {}, {}));
  }
}
BENCHMARK(hymn_of_four_verses)->Unit(benchmark::kMillisecond);

void piece_of_twelve_marked_bars(benchmark::State& state) {
  std::vector<by_hand::Played> notes;
  for (int q = 0; q < 48; ++q) {
    if (q % 8 != 7) notes.push_back({70 + q % 5, Rational{q}, Rational{1}, 0});
    if (q % 8 != 3) notes.push_back({52 + q % 4, Rational{q}, Rational{1}, 1});
    notes.push_back({40 + q % 3, Rational{q}, Rational{1}, 2});
  }
  Score score = by_hand::score(notes, {Role::right_hand, Role::left_hand, Role::feet});
  const char* marks[] = {"p", "f", "mf", "ff", "pp", "f"};
  for (int i = 0; i < 6; ++i) {
    Direction d;
    d.kind = Direction::Kind::dynamics;
    d.bar = 2 * i;
    d.text = marks[i];
    score.directions.push_back(d);
  }
  Piece piece;
  piece.title = "By hand";
  for (auto _ : state) {
    Plan plan;
    benchmark::DoNotOptimize(
        plan_piece(plan, village().organ, village().listening, score, piece, default_player(), {}, {}));
  }
}
BENCHMARK(piece_of_twelve_marked_bars)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace calcant
