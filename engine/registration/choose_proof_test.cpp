// Steps, shades and accompaniments against every registration there is, enumerated here and judged by the rules that people
// are told and by the ear, with nothing of the chooser's own: docs/design/choosing.md word for word. The chapel organ has
// one manual, so that accompaniments are tried on the village organ.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/registration/choose.hpp"
#include "engine/registration/choose_test.hpp"
#include "engine/registration/solo.hpp"

namespace calcant {
namespace {

struct Practised {
  bool forbidden = false;
  int warnings = 0;
  int makeshifts = 0;
};
Practised practised(const ChurchOrgan& place, const Registration& drawn, int played = 0) {
  Occasion occasion;
  occasion.on = place.on;
  occasion.use = Use::chorus;
  occasion.played = played;
  Practised out;
  out.makeshifts = makeshifts_by_the_book(place.organ, drawn, place.on, played);
  // Something of the keyboard's own at 8 ft as it is heard, not by a coupler alone.
  const auto heard = heard_from(place.organ, drawn, place.on);
  out.forbidden = std::none_of(heard.begin(), heard.end(),
                               [&](const HeardStop& h) { return !h.coupled && h.semitones + played == 0; });
  for (const Advice& a : advise(place.organ, drawn, occasion)) {
    if (a.weight == Weight::against || a.rule == "R1") out.forbidden = true;
    if (a.weight == Weight::warning &&
        (a.rule == "R2" || a.rule == "R4" || a.rule == "R6" || a.rule == "R7" || a.rule == "R13"))
      ++out.warnings;
  }
  return out;
}

Difference difference(ChordEar& ear, const Registration& a, const Registration& b, bool least) {
  std::optional<Difference> out;
  for (std::size_t c = 0; c < ear.chords().size(); ++c) {
    const Difference here = change(ear.ear(), ear.hear(a).chords[c], ear.hear(b).chords[c]).difference;
    if (!out || (least ? here < *out : here > *out)) out = here;
  }
  return *out;
}

bool every_knob_is_heard(ChordEar& ear, const Organ& organ, const Registration& drawn) {
  for (const Knob k : knobs(organ, drawn)) {
    Registration without = drawn;
    set_drawn(without, k, false);
    if (difference(ear, without, drawn, false) < Difference::audible) return false;
  }
  return true;
}

// J of a step to `next`, or nothing where it is none.
std::optional<double> step_by_the_book(const ChurchOrgan& place, ChordEar& ear, const Registration& present,
                                       const Registration& next, bool louder) {
  const double step = (louder ? 1 : -1) * (ear.hear(next).phons - ear.hear(present).phons);
  if (step < 1 || !(ear.hear(next).pipes > 0)) return std::nullopt;
  const Practised before = practised(place, present);
  const Practised after = practised(place, next);
  if (after.forbidden && !before.forbidden) return std::nullopt;
  if (difference(ear, present, next, true) < Difference::audible) return std::nullopt;
  return 3 * knobs_moved(present, next) + std::abs(step - 2) +
         0.5 * std::abs(ear.hear(next).acums - ear.hear(present).acums) / 0.06 +
         2 * std::max(0, after.warnings - before.warnings) + 12 * std::max(0, after.makeshifts - before.makeshifts);
}

Registration of_bits(const std::vector<StopIndex>& stops, std::size_t bits) {
  Registration r;
  for (std::size_t i = 0; i < stops.size(); ++i) r.stops.set(static_cast<std::size_t>(stops[i]), (bits >> i & 1) != 0);
  return r;
}

// From each of the 63 registrations of the chapel to each of the others: three knobs at most, which is all that a step may
// move.
TEST(ChooseProof, NoStepInTheChapelIsBetter) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  auto chooser = Chooser::prepare(chapel.nave, chapel.on, {}, {}, Work{});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  ChordEar ear{chapel.nave, stated_chords(chapel.organ, chapel.on)};
  const std::vector<StopIndex> stops{0, 1, 2, 3, 4, 5};
  int taken = 0;
  int refused = 0;
  for (std::size_t from = 1; from < 64; ++from) {
    for (const bool louder : {true, false}) {
      Chooser::StepWish wish;
      wish.present = of_bits(stops, from);
      wish.louder = louder;
      SCOPED_TRACE(registration_text(chapel.organ, wish.present) + (louder ? ", louder" : ", softer"));
      std::optional<double> best;
      for (std::size_t to = 1; to < 64; ++to) {
        const Registration next = of_bits(stops, to);
        if (knobs_moved(wish.present, next) > 3) continue;
        const auto points = step_by_the_book(chapel, ear, wish.present, next, louder);
        if (points && (!best || *points < *best)) best = points;
      }
      const auto found = chooser->step(wish, Work{});
      ASSERT_EQ(found.has_value(), best.has_value());
      (best ? taken : refused) += 1;
      if (!best) continue;
      EXPECT_NEAR(found->front().chosen.points.sum(), *best, 1e-9);
    }
  }
  EXPECT_GT(taken, 80);
  EXPECT_GT(refused, 0);  // louder than everything, softer than the softest
}

// A shade more, a shade less: two phon from each of the registrations that practice allows.
TEST(ChooseProof, NoShadeInTheChapelIsBetter) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  auto chooser = Chooser::prepare(chapel.nave, chapel.on, {}, {}, Work{});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  const std::vector<StopIndex> stops{0, 1, 2, 3, 4, 5};
  struct Allowed {
    double phons;
    double points;  // all but the level's
  };
  std::vector<Allowed> allowed;
  std::vector<double> levels;
  for (const int played : {0, -12, 12}) {
    const auto chords = stated_chords(chapel.organ, chapel.on, played);
    ASSERT_FALSE(chords.empty());
    ChordEar ear{chapel.nave, chords};
    for (std::size_t bits = 1; bits < 64; ++bits) {
      const Registration drawn = of_bits(stops, bits);
      const Practised practice = practised(chapel, drawn, played);
      if (practice.forbidden || !every_knob_is_heard(ear, chapel.organ, drawn)) continue;
      const double phons = ear.hear(drawn).phons;
      if (played == 0) levels.push_back(phons);
      allowed.push_back({phons, static_cast<double>(drawn.stops.count()) + 2 * practice.warnings +
                                    12 * practice.makeshifts + (played != 0 ? 1 : 0)});
    }
  }
  int answered = 0;
  for (const double level : levels) {
    for (const double shade : {2.0, -2.0}) {
      Wish wish;
      wish.level = Phons{level + shade};
      std::optional<double> best;
      for (const Allowed& a : allowed) {
        const double off = std::abs(a.phons - wish.level.value());
        if (off <= 1 && (!best || a.points + off < *best)) best = a.points + off;
      }
      const auto choice = chooser->ask(wish, Work{});
      ASSERT_EQ(choice.has_value(), best.has_value()) << level << " " << shade;
      if (!best) continue;
      ++answered;
      EXPECT_NEAR(choice->answers.front().points.sum(), *best, 1e-9) << level << " " << shade;
    }
  }
  EXPECT_GT(answered, 20);
}

std::vector<Knob> village_knobs(const ChurchOrgan& village, const Chooser& chooser) {
  std::vector<Knob> out;
  for (const StopIndex s : chooser.space().stops()) out.push_back({Knob::Kind::stop, s});
  for (const CouplerIndex c : chooser.space().couplers()) out.push_back({Knob::Kind::coupler, c});
  EXPECT_GT(out.size(), 10U) << village.organ.name;
  return out;
}

// No knob, no exchange of two, no place of the box beside the step taken is better.
TEST(ChooseProofSlow, NoKnobAndNoExchangeInTheVillageMakesABetterStep) {
  const ChurchOrgan village{"demo/village", "great"};
  auto chooser = Chooser::prepare(village.nave, village.on, {}, {}, Work{2}, 0);  // a step needs no map
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  ChordEar ear{village.nave, stated_chords(village.organ, village.on)};
  const auto all = village_knobs(village, *chooser);
  for (const char* present : {"Open Diapason 8, Principal 4, Swell box=0",
                              "Open Diapason 8, Swell to Great, Violin Diapason 8, Swell box=0"}) {
    for (const bool louder : {true, false}) {
      Chooser::StepWish wish;
      wish.present = village.draw(present);
      wish.louder = louder;
      const auto found = chooser->step(wish, Work{2});
      ASSERT_TRUE(found) << sentence(found.error());
      const Registration& taken = found->front().chosen.drawn;
      const double points = found->front().chosen.points.sum();
      SCOPED_TRACE(std::string{present} + (louder ? " louder: " : " softer: ") +
                   registration_text(village.organ, taken));
      const auto own = step_by_the_book(village, ear, wish.present, taken, louder);
      ASSERT_TRUE(own);
      EXPECT_NEAR(*own, points, 1e-9);
      std::vector<Registration> beside;
      for (const BoxPositions& box : chooser->boxes()) (beside.emplace_back(taken)).box = box;
      for (std::size_t i = 0; i < all.size(); ++i) {
        Registration one = taken;
        set_drawn(one, all[i], !is_drawn(one, all[i]));
        for (const BoxPositions& box : chooser->boxes()) (beside.emplace_back(one)).box = box;
        for (std::size_t j = i + 1; j < all.size(); ++j) {
          set_drawn(beside.emplace_back(one), all[j], !is_drawn(one, all[j]));
        }
      }
      ear.hear_all(beside, Work{2});
      for (const Registration& r : beside) {
        const auto others = step_by_the_book(village, ear, wish.present, r, louder);
        EXPECT_TRUE(!others || *others >= points - 1e-9) << registration_text(village.organ, r) << ": " << *others;
      }
    }
  }
}

// Every set of stops of the Great under the Oboe and under the Open Diapason of the Swell, the box wherever it stays.
TEST(ChooseProofSlow, NothingUnderASoloInTheVillageIsBetter) {
  const ChurchOrgan village{"demo/village", "great"};
  const KeyboardIndex swell = *keyboard_by_id(village.organ, "swell");
  auto chooser = SoloChooser::prepare(village.nave, swell, village.on, Work{2});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  const auto moments = solo_moments(village.organ, swell, village.on);
  ASSERT_TRUE(moments);
  std::vector<StopIndex> stops;
  for (std::size_t s = 0; s < village.organ.stops.size(); ++s) {
    if (village.organ.stops[s].division == village.organ.keyboards[static_cast<std::size_t>(village.on)].division)
      stops.push_back(static_cast<StopIndex>(s));
  }
  ASSERT_GT(stops.size(), 5U);
  ChordEar tune{village.nave, moments->solo};
  ChordEar under{village.nave, moments->accompaniment};
  Sounding sounding{village.organ};
  // Heard as itself at every moment: from the pipes of both, by partial loudness.
  const auto stands_out = [&](const Registration& solo, const Registration& accompaniment) {
    for (std::size_t i = 0; i < moments->solo.size(); ++i) {
      PipeSet a;
      PipeSet b;
      sounding.pipes(solo, moments->solo[i], a);
      sounding.pipes(accompaniment, moments->accompaniment[i], b);
      Lines whole = condensed(village.nave.lines(a, solo), Cents{5});
      PartLines part;
      for (std::uint32_t k = 0; k < whole.size(); ++k) part.push_back(k);
      for (const Line& l : condensed(village.nave.lines(b, solo), Cents{5})) whole.push_back(l);
      if (audibility(under.ear(), whole, std::vector<PartLines>{part})->parts[0].partial < Sones{0.05}) return false;
    }
    return true;
  };
  int answered = 0;
  for (const char* on : {"Swell: Oboe 8", "Swell: Violin Diapason 8"}) {
    for (const Colour colour : {Colour::any, Colour::darker, Colour::brighter}) {
      SCOPED_TRACE(testing::Message() << on << ", colour " << static_cast<int>(colour));
      SoloWish wish;
      wish.solo = village.draw(on);
      wish.colour = colour;
      std::optional<double> best;
      for (const BoxPositions& box : box_positions(village.organ)) {
        Registration solo = wish.solo;
        solo.box = box;
        const double level = tune.hear(solo).phons - 4;
        for (std::size_t bits = 1; bits < std::size_t{1} << stops.size(); ++bits) {
          Registration drawn = of_bits(stops, bits);
          drawn.box = box;
          const double off = std::abs(under.hear(drawn).phons - level);
          if (off > 4) continue;
          const Practised practice = practised(village, drawn);
          if (practice.forbidden) continue;
          double points =
              static_cast<double>(drawn.stops.count()) + 2 * practice.warnings + 12 * practice.makeshifts + off;
          if (colour == Colour::darker) points += under.hear(drawn).acums / 0.06;
          if (colour == Colour::brighter) points -= under.hear(drawn).acums / 0.06;
          if (best && points >= *best) continue;
          if (every_knob_is_heard(under, village.organ, drawn) && stands_out(solo, drawn)) best = points;
        }
      }
      const auto choice = chooser->ask(wish, Work{2});
      ASSERT_EQ(choice.has_value(), best.has_value());
      if (!best) continue;
      ++answered;
      EXPECT_NEAR(choice->answers.front().points, *best, 0.02);
    }
  }
  EXPECT_GT(answered, 2);
}

}  // namespace
}  // namespace calcant
