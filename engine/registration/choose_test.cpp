// Every registration of the chapel weighed against what the chooser hands back, by the objective evaluated directly; and
// on the village organ every registration a knob or an exchange away.
#include "engine/registration/choose.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "engine/registration/choose_test.hpp"
#include "engine/registration/solo.hpp"

namespace calcant {
namespace {

Wish wish_of(double phons, Colour colour = Colour::any, Manner manner = Manner::free) {
  Wish w;
  w.level = Phons{phons};
  w.colour = colour;
  w.manner = manner;
  return w;
}

// The objective and the constraints once more, from the ear and the rules that people are told, with nothing of the
// chooser's own: docs/design/choosing.md word for word.
std::optional<double> by_the_book(const ChurchOrgan& place, const Wish& wish, const Registration& drawn, int played,
                                  ChordEar& ear) {
  const Organ& organ = place.organ;
  if ((wish.must.stops & ~drawn.stops).any() || (wish.must_not.stops & drawn.stops).any()) return std::nullopt;
  Occasion occasion;
  occasion.on = place.on;
  occasion.played = played;
  occasion.use = wish.manner == Manner::hymn ? Use::hymn : Use::chorus;
  occasion.soft = wish.soft;
  int warnings = 0;
  for (const Advice& a : advise(organ, drawn, occasion)) {
    if (a.weight == Weight::against || a.rule == "R1") return std::nullopt;
    if (a.rule == "R36" && a.weight == Weight::warning) return std::nullopt;
    if (a.weight == Weight::warning &&
        (a.rule == "R2" || a.rule == "R4" || a.rule == "R6" || a.rule == "R7" || a.rule == "R13"))
      ++warnings;
  }
  const HeardOn& heard = ear.hear(drawn);
  if (std::abs(heard.phons - wish.level.value()) > wish.band) return std::nullopt;
  int count = 0;
  for (const Knob k : knobs(organ, drawn)) {
    ++count;
    if (is_drawn(wish.must, k)) continue;
    Registration without = drawn;
    set_drawn(without, k, false);
    bool told = false;
    for (std::size_t c = 0; c < heard.chords.size(); ++c) {
      const Change here = change(ear.ear(), ear.hear(without).chords[c], ear.hear(drawn).chords[c]);
      told = told || (wish.sure ? here.loudness >= 0.12 || here.excitation.value() >= 2
                                : here.loudness >= 0.06 || here.excitation.value() >= 1);
    }
    if (!told) return std::nullopt;
  }
  const int makeshifts = makeshifts_by_the_book(organ, drawn, place.on, played);
  double points =
      count + 2 * warnings + 12 * makeshifts + std::abs(heard.phons - wish.level.value()) + (played != 0 ? 1 : 0);
  if (wish.soft) points += 4 * soft_by_the_book(organ, drawn, place.on, played);
  if (wish.colour == Colour::brighter) points -= heard.acums / 0.06;
  if (wish.colour == Colour::darker) points += heard.acums / 0.06;
  return points;
}

// All 64 sets of stops at three places on the keyboard, for levels from the softest to the loudest and all colours.
TEST(Choose, NothingInTheChapelIsBetter) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  auto chooser = Chooser::prepare(chapel.nave, chapel.on, {}, {}, Work{});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  const auto range = chooser->range(Manner::free, Work{});
  ASSERT_TRUE(range);
  int answered = 0;
  int octaves = 0;
  for (const auto& [manner, strict] : {std::pair{Manner::free, false}, std::pair{Manner::free, true},
                                       std::pair{Manner::hymn, false}, std::pair{Manner::hymn, true}}) {
    for (const Colour colour : {Colour::any, Colour::darker, Colour::brighter}) {
      for (double phons = std::floor(range->low.value()); phons <= range->high.value() + 1; phons += 1.5) {
        Wish wish = wish_of(phons, colour, manner);
        wish.soft = wish.sure = strict;
        SCOPED_TRACE(testing::Message() << strict << " " << phons << " phon, colour " << static_cast<int>(colour));
        std::optional<double> best;
        for (const int played : {0, -12, 12}) {
          ChordEar& ear = chooser->ear(played);
          for (std::size_t m = 1; m < std::size_t{1} << chapel.organ.stops.size(); ++m) {
            Registration drawn;
            for (std::size_t s = 0; s < chapel.organ.stops.size(); ++s) drawn.stops.set(s, (m >> s & 1) != 0);
            const auto points = by_the_book(chapel, wish, drawn, played, ear);
            if (points && (!best || *points < *best)) best = points;
          }
        }
        const auto choice = chooser->ask(wish, Work{});
        ASSERT_EQ(choice.has_value(), best.has_value());
        if (!best) continue;
        ++answered;
        EXPECT_NEAR(choice->answers.front().points.sum(), *best, 1e-9);
        EXPECT_GE(*best, choice->at_least - 1e-9);
        for (const Chosen& c : choice->answers) {
          const auto points = by_the_book(chapel, wish, c.drawn, c.played, chooser->ear(c.played));
          ASSERT_TRUE(points) << registration_text(chapel.organ, c.drawn);
          EXPECT_NEAR(c.points.sum(), *points, 1e-9);
          octaves += c.played != 0 ? 1 : 0;
        }
      }
    }
  }
  EXPECT_GT(answered, 40);
  EXPECT_GT(octaves, 0);  // a flute an octave lower is found, though nobody asked for it
}

const ChurchOrgan& village() {
  static const ChurchOrgan church{"demo/village", "great"};
  return church;
}
// Prepared once for all tests here: that is what it is for.
Chooser& great() {
  static Chooser chooser = std::move(*Chooser::prepare(village().nave, village().on, {}, {}, Work{2}));
  return chooser;
}

void no_neighbour_is_better(Chooser& chooser, const Wish& wish) {
  const auto choice = chooser.ask(wish, Work{2});
  ASSERT_TRUE(choice) << sentence(choice.error());
  const Chosen& first = choice->answers.front();
  SCOPED_TRACE(registration_text(chooser.organ(), first.drawn));
  std::vector<Knob> all;
  for (const StopIndex s : chooser.space().stops()) all.push_back({Knob::Kind::stop, s});
  for (const CouplerIndex c : chooser.space().couplers()) all.push_back({Knob::Kind::coupler, c});
  const auto at_least_as_good = [&](const Registration& r) {
    const auto points = chooser.judge(wish, r, first.played);
    EXPECT_TRUE(!points || points->sum() >= first.points.sum() - 1e-9)
        << registration_text(chooser.organ(), r) << " has " << points->sum() << " points, not " << first.points.sum();
  };
  const auto own = chooser.judge(wish, first.drawn, first.played);
  ASSERT_TRUE(own) << sentence(own.error());
  EXPECT_NEAR(own->sum(), first.points.sum(), 1e-9);
  for (std::size_t i = 0; i < all.size(); ++i) {
    Registration one = first.drawn;
    set_drawn(one, all[i], !is_drawn(one, all[i]));
    for (const BoxPositions& box : chooser.boxes()) {
      one.box = box;
      at_least_as_good(one);
    }
    one.box = first.drawn.box;
    for (std::size_t j = i + 1; j < all.size(); ++j) {
      Registration two = one;
      set_drawn(two, all[j], !is_drawn(two, all[j]));
      at_least_as_good(two);
    }
  }
}

TEST(ChooseSlow, NoKnobAndNoExchangeInTheVillageIsBetter) {
  Chooser& chooser = great();
  const auto range = chooser.range(Manner::free, Work{});
  ASSERT_TRUE(range);
  for (const double share : {0.2, 0.6}) {
    const double phons = range->low.value() + share * (range->high - range->low).value();
    for (const Colour colour : {Colour::any, Colour::darker, Colour::brighter}) {
      no_neighbour_is_better(chooser, wish_of(phons, colour));
    }
    no_neighbour_is_better(chooser, wish_of(phons, Colour::any, Manner::hymn));
  }
}

TEST(Choose, IsTheSameOnOneThreadAndTwoAndStops) {
  const ChurchOrgan village{"demo/village", "swell"};
  const auto answers = [&](int threads) {
    auto chooser = Chooser::prepare(village.nave, village.on, {}, {}, Work{threads});
    std::vector<std::pair<Registration, double>> out;
    const auto range = chooser->range(Manner::free, Work{});
    const auto choice = chooser->ask(wish_of((range->low + range->high).value() / 2, Colour::darker), Work{threads});
    EXPECT_TRUE(choice) << choice.error().message;
    if (!choice) return out;
    for (const Chosen& c : choice->answers) {
      out.emplace_back(c.drawn, c.points.sum());
    }
    return out;
  };
  EXPECT_EQ(answers(1), answers(2));
  std::stop_source stop;
  stop.request_stop();
  EXPECT_FALSE(Chooser::prepare(village.nave, village.on, {}, {}, Work{2, stop.get_token()}));
  auto chooser = Chooser::prepare(village.nave, village.on, {}, {}, Work{2});
  ASSERT_TRUE(chooser);
  const auto stopped = chooser->ask(wish_of(60), Work{2, stop.get_token()});
  ASSERT_FALSE(stopped);
  EXPECT_NE(stopped.error().message.find("stopped"), std::string::npos);
}

TEST(Choose, KeepsToWhatMustAndMustNotBeDrawn) {
  Chooser& chooser = great();
  Wish wish = wish_of(90);
  wish.must = village().draw("Principal 4, Swell to Great");
  wish.must_not = village().draw("Open Diapason 8, Oboe 8");
  const auto choice = chooser.ask(wish, Work{});
  ASSERT_TRUE(choice) << sentence(choice.error());
  for (const Chosen& c : choice->answers) {
    EXPECT_TRUE((wish.must.stops & ~c.drawn.stops).none() && (wish.must.couplers & ~c.drawn.couplers).none());
    EXPECT_TRUE((wish.must_not.stops & c.drawn.stops).none());
    EXPECT_NEAR(c.heard.phons, 90, 1);
  }
  wish.level = Phons{119};
  const auto none = chooser.ask(wish, Work{});
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().message.find("one does of"), std::string::npos) << none.error().message;
  wish.limit = 0;
  EXPECT_FALSE(chooser.ask(wish, Work{}));
}

// Softer and louder: nothing with fewer knobs does it, checked by trying every one.
TEST(Choose, AStepMovesTheFewestKnobs) {
  Chooser& chooser = great();
  for (const std::string present : {"Open Diapason 8, Principal 4, Swell box=0", "Clarabella 8, Swell box=0",
                                    "Open Diapason 8, Swell to Great, Violin Diapason 8, Swell box=0"}) {
    for (const bool louder : {true, false}) {
      SCOPED_TRACE(present + (louder ? " louder" : " softer"));
      Chooser::StepWish wish;
      wish.present = village().draw(present);
      wish.louder = louder;
      const auto found = chooser.step(wish, Work{2});
      ASSERT_TRUE(found) << sentence(found.error());
      const auto& best = found->front();
      EXPECT_GE(best.step, 1.0);
      EXPECT_GE(chooser.ear().least(wish.present, best.chosen.drawn), Difference::audible);
      EXPECT_EQ(knobs_moved(wish.present, best.chosen.drawn), best.moved);
      if (best.moved <= 1) continue;
      for (const StopIndex s : chooser.space().stops()) {
        Registration one = wish.present;
        set_drawn(one, {Knob::Kind::stop, s}, !is_drawn(one, {Knob::Kind::stop, s}));
        const double step =
            (chooser.ear().hear(one).phons - chooser.ear().hear(wish.present).phons) * (louder ? 1 : -1);
        const auto state = chooser.space().state(one);
        EXPECT_FALSE(step >= 1 && std::abs(step - 2) + 3 < best.chosen.points.sum() - 3 &&
                     chooser.practice().allows(state->linking, state->stops, Manner::free) &&
                     chooser.ear().least(wish.present, one) >= Difference::audible)
            << registration_text(village().organ, one);
      }
    }
  }
}

// What an organist would shake his head at is no first answer where something plain is at hand.
TEST(Choose, PlainRegistrationsComeBeforeMakeshifts) {
  Chooser& chooser = great();
  const auto range = chooser.range(Manner::free, Work{});
  for (const double share : {0.2, 0.5, 0.8}) {
    for (const Colour colour : {Colour::any, Colour::brighter}) {
      const auto choice =
          chooser.ask(wish_of(range->low.value() + share * (range->high - range->low).value(), colour), Work{2});
      ASSERT_TRUE(choice) << choice.error().message;
      const Chosen& first = choice->answers.front();
      EXPECT_EQ(makeshifts_by_the_book(village().organ, first.drawn, village().on, first.played), 0)
          << registration_text(village().organ, first.drawn);
    }
  }
}

// A dozen worth knowing: none after the first that practice has more against than one warning, no 8 ft of the manual's own
// more than three times, and in something soft no mixture, no reed of the chorus, no octave coupler where it can be helped.
TEST(ChooseSlow, TheOthersAreWorthKnowing) {
  Chooser& chooser = great();
  const auto range = chooser.range(Manner::free, Work{});
  ASSERT_TRUE(range);
  for (const double share : {0.0, 0.2, 0.5}) {
    Wish wish = wish_of(range->low.value() + share * (range->high - range->low).value());
    wish.soft = share < SoftPractice::below;
    wish.sure = true;
    wish.limit = 12;
    const auto choice = chooser.ask(wish, Work{2});
    ASSERT_TRUE(choice) << choice.error().message;
    std::map<std::string, int> on_the_same;
    for (const Chosen& c : choice->answers) {
      SCOPED_TRACE(registration_text(village().organ, c.drawn));
      EXPECT_LE(c.points.practice(), choice->answers.front().points.practice() + 2);
      EXPECT_TRUE(!wish.soft || soft_by_the_book(village().organ, c.drawn, village().on, c.played) == 0);
      std::string eight;
      for (const HeardStop& h : heard_from(village().organ, c.drawn, village().on)) {
        if (!h.coupled && h.semitones + c.played == 0)
          eight += village().organ.stops[static_cast<std::size_t>(h.stop)].name + ",";
      }
      EXPECT_LE(++on_the_same[eight + std::to_string(c.played)], 3);
    }
  }
}

// A step keeps to what must and must not be drawn, and to a colour.
TEST(Choose, AStepKeepsToWhatIsAsked) {
  Chooser& chooser = great();
  Chooser::StepWish wish;
  wish.present = village().draw("Open Diapason 8");
  wish.must = village().draw("Twelfth 2 2/3, Fifteenth 2");
  const auto with = chooser.step(wish, Work{2});
  ASSERT_TRUE(with) << with.error().message;
  for (const Chooser::StepTaken& t : *with) {
    EXPECT_TRUE((wish.must.stops & ~t.chosen.drawn.stops).none());
    EXPECT_EQ(knobs_moved(wish.present, t.chosen.drawn), t.moved);
  }
  wish.must = {};
  wish.must_not = wish.present;
  const auto without = chooser.step(wish, Work{2});
  ASSERT_TRUE(without) << without.error().message;
  for (const Chooser::StepTaken& t : *without) EXPECT_TRUE((t.chosen.drawn.stops & wish.present.stops).none());
  wish.must_not = {};
  for (const Colour colour : {Colour::darker, Colour::brighter}) {
    wish.colour = colour;
    const auto coloured = chooser.step(wish, Work{2});
    ASSERT_TRUE(coloured) << coloured.error().message;
    for (const Chooser::StepTaken& t : *coloured) {
      const double change = t.chosen.heard.acums - chooser.ear().hear(wish.present).acums;
      EXPECT_TRUE(colour == Colour::darker ? change < 0 : change > 0) << change;
    }
  }
}

// A coupler that must be drawn has something to couple, on the map and by search.
TEST(Choose, ACouplerAskedForCouplesSomething) {
  const ChurchOrgan& church = village();
  for (const double mapped_up_to : {Chooser::most_mapped, 0.0}) {
    auto chooser = Chooser::prepare(church.nave, church.on, {}, {}, Work{2}, mapped_up_to);
    ASSERT_TRUE(chooser) << chooser.error().message;
    Wish wish = wish_of(78);
    wish.must = church.draw("Swell to Great");
    const auto choice = chooser->ask(wish, Work{2});
    ASSERT_TRUE(choice) << choice.error().message;
    for (const Chosen& c : choice->answers) {
      Registration without = c.drawn;
      without.couplers.reset();
      EXPECT_GT(c.heard.pipes, chooser->ear(c.played).hear(without).pipes) << registration_text(church.organ, c.drawn);
    }
  }
}

// What it says there is, there is.
TEST(Choose, TheNearestLevelCanBeHad) {
  Chooser& chooser = great();
  Wish wish = wish_of(78.9);
  wish.must = village().draw("Voix Celeste 8");
  const auto none = chooser.look(wish, Work{2});
  ASSERT_TRUE(none && !*none);
  const auto nearest = chooser.nearest_level(wish, 30, Work{2});
  ASSERT_TRUE(nearest);
  EXPECT_GT(std::abs((*nearest - wish.level).value()), 0.5);
  EXPECT_NE(chooser.ask(wish, Work{2}).error().message.find(fmt::format("one does of {:.0f}", nearest->value())),
            std::string::npos);
  wish.level = *nearest;
  EXPECT_TRUE(chooser.ask(wish, Work{2}));
}

TEST(Choose, LooksNoFurtherThanItsPatience) {
  Chooser& chooser = great();
  const auto range = chooser.range(Manner::free, Work{});
  ASSERT_TRUE(range);
  Wish wish = wish_of((range->low.value() + range->high.value()) / 2);
  wish.limit = 3;
  const auto all = chooser.ask(wish, Work{2});
  ASSERT_TRUE(all) << all.error().message;
  wish.patience = 512;
  const auto patient = chooser.ask(wish, Work{2});
  ASSERT_TRUE(patient) << patient.error().message;
  EXPECT_EQ(patient->answers.front().drawn, all->answers.front().drawn);
  wish.patience = 1;  // fewer than are heard at once
  EXPECT_FALSE(chooser.ask(wish, Work{2}));
}

// Classic effects of the small organ come out as answers; nothing in the source knows of them.
TEST(Choose, FindsFullSwellBehindTheGreatEightFoot) {
  Chooser& chooser = great();
  const auto range = chooser.range(Manner::free, Work{});
  bool found = false;
  for (const double share : {0.3, 0.4, 0.6, 0.7, 0.8}) {
    if (found) break;
    const auto choice = chooser.ask(
        wish_of(range->low.value() + share * (range->high - range->low).value(), Colour::brighter), Work{2});
    if (!choice) continue;
    for (const Chosen& c : choice->answers) {
      const bool coupled = c.drawn.couplers.test(static_cast<std::size_t>(*coupler_by_id(village().organ, "sw-gt")));
      int great_upper = 0;
      int swell = 0;
      for (const Knob k : knobs(village().organ, c.drawn)) {
        if (k.kind != Knob::Kind::stop) continue;
        const Stop& s = village().organ.stops[static_cast<std::size_t>(k.index)];
        if (s.division == *division_by_id(village().organ, "swell")) ++swell;
        else if (s.feet.front().semitones() > 0) ++great_upper;
      }
      found = found || (coupled && swell >= 3 && great_upper == 0 && c.drawn.box[0] == 0);
    }
  }
  EXPECT_TRUE(found);
}

TEST(Choose, ASoloStandsOverWhatIsUnderIt) {
  const ChurchOrgan village{"demo/village", "great"};
  const KeyboardIndex swell = *keyboard_by_id(village.organ, "swell");
  auto chooser = SoloChooser::prepare(village.nave, swell, village.on, Work{2});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  SoloWish wish;
  wish.solo = village.draw("Swell: Oboe 8");
  const auto choice = chooser->ask(wish, Work{2});
  ASSERT_TRUE(choice) << sentence(choice.error());
  EXPECT_GE(choice->answers.size(), 1U);
  for (const SoloAnswer& a : choice->answers) {
    EXPECT_NEAR(a.solo_phons - a.accompaniment_phons, 4, 4.02);
    EXPECT_EQ(a.presence, Presence::heard);
    EXPECT_FALSE(a.drawn.couplers.test(static_cast<std::size_t>(*coupler_by_id(village.organ, "sw-gt"))));
    EXPECT_TRUE(a.drawn.stops.test(static_cast<std::size_t>(*stop_by_id(village.organ, "sw-oboe"))));
  }
  EXPECT_FALSE(SoloChooser::prepare(village.nave, swell, swell, Work{}));
}

}  // namespace
}  // namespace calcant
