// "Full": everything that is heard, against every registration of the chapel and every knob and exchange of the village, by
// the ear and the rules that people are told. What a player draws for it is common practice, no source.
#include <gtest/gtest.h>

#include "engine/registration/choose.hpp"
#include "engine/registration/choose_test.hpp"

namespace calcant {
namespace {

bool allowed(const ChurchOrgan& place, const Registration& drawn) {
  Occasion occasion;
  occasion.on = place.on;
  occasion.use = Use::chorus;
  for (const Advice& a : advise(place.organ, drawn, occasion)) {
    if (a.weight == Weight::against || a.rule == "R1") return false;
  }
  return true;
}

bool every_knob_is_heard(const ChurchOrgan& place, ChordEar& ear, const Registration& drawn) {
  for (const Knob k : knobs(place.organ, drawn)) {
    Registration without = drawn;
    set_drawn(without, k, false);
    Difference most = Difference::none;
    for (std::size_t c = 0; c < ear.chords().size(); ++c) {
      most = std::max(most, change(ear.ear(), ear.hear(without).chords[c], ear.hear(drawn).chords[c]).difference);
    }
    if (most < Difference::audible) return false;
  }
  return true;
}

// Couplers, the manual's own chorus and reeds, what is coupled of these, other stops.
int standing(const ChurchOrgan& place, Knob k) {
  const auto at = static_cast<std::size_t>(k.index);
  if (k.kind == Knob::Kind::coupler) return 4;
  const Stop& s = place.organ.stops[at];
  const bool chorus = s.family == Family::principal || s.family == Family::reed || s.mixture_ranks > 0;
  const bool own = s.division == place.organ.keyboards[static_cast<std::size_t>(place.on)].division;
  return !chorus ? 1 : own ? 3 : 2;
}

std::size_t count(const Registration& r) { return r.stops.count() + r.couplers.count(); }

TEST(ChooseFull, NothingInTheChapelHasMoreThatIsHeard) {
  const ChurchOrgan chapel{"demo/chapel", "manual"};
  auto chooser = Chooser::prepare(chapel.nave, chapel.on, {}, {}, Work{});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  const auto full = chooser->everything(Wish{}, Work{});
  ASSERT_TRUE(full) << sentence(full.error());
  ChordEar ear{chapel.nave, stated_chords(chapel.organ, chapel.on)};
  EXPECT_TRUE(allowed(chapel, full->drawn) && every_knob_is_heard(chapel, ear, full->drawn));
  int others = 0;
  for (unsigned m = 1; m < 64; ++m) {
    Registration r;
    for (std::size_t s = 0; s < 6; ++s) r.stops.set(s, (m >> s & 1) != 0);
    if (!allowed(chapel, r) || !every_knob_is_heard(chapel, ear, r)) continue;
    ++others;
    EXPECT_LE(count(r), count(full->drawn)) << registration_text(chapel.organ, r);
  }
  EXPECT_GT(others, 10);
  // Without one of its stops it is another.
  Wish wish;
  wish.must_not = chapel.draw("Principal 4");
  const auto less = chooser->everything(wish, Work{});
  ASSERT_TRUE(less) << sentence(less.error());
  EXPECT_TRUE((less->drawn.stops & wish.must_not.stops).none());
}

TEST(ChooseFullSlow, NoKnobMoreAndNoLouderExchangeInTheVillage) {
  const ChurchOrgan village{"demo/village", "great"};
  auto chooser = Chooser::prepare(village.nave, village.on, {}, {}, Work{2});
  ASSERT_TRUE(chooser) << sentence(chooser.error());
  const auto full = chooser->everything(Wish{}, Work{2});
  ASSERT_TRUE(full) << sentence(full.error());
  SCOPED_TRACE(registration_text(village.organ, full->drawn));
  ChordEar& ear = chooser->ear();
  const Registration& drawn = full->drawn;
  EXPECT_TRUE(allowed(village, drawn) && every_knob_is_heard(village, ear, drawn));
  std::vector<Knob> out;
  for (const StopIndex s : chooser->space().stops()) {
    const Stop& stop = village.organ.stops[static_cast<std::size_t>(s)];
    if (!drawn.stops.test(static_cast<std::size_t>(s)) && !stop.celeste && !is_keen(stop)) {
      out.push_back({Knob::Kind::stop, s});
    }
    EXPECT_FALSE(drawn.stops.test(static_cast<std::size_t>(s)) && stop.celeste);
  }
  for (const CouplerIndex c : chooser->space().couplers()) {
    if (!drawn.couplers.test(static_cast<std::size_t>(c)) &&
        village.organ.couplers[static_cast<std::size_t>(c)].semitones == 0) {
      out.push_back({Knob::Kind::coupler, c});
    }
  }
  const double phons = ear.hear(drawn).phons;
  for (const Knob more : out) {
    Registration r = drawn;
    set_drawn(r, more, true);
    EXPECT_FALSE(allowed(village, r) && every_knob_is_heard(village, ear, r)) << registration_text(village.organ, r);
    for (const Knob gone : knobs(village.organ, drawn)) {
      if (standing(village, more) < standing(village, gone)) continue;
      Registration other = r;
      set_drawn(other, gone, false);
      if (ear.hear(other).phons <= phons) continue;
      Wish wish;
      wish.level = Phons{ear.hear(other).phons};
      EXPECT_FALSE(allowed(village, other) && every_knob_is_heard(village, ear, other) && chooser->judge(wish, other))
          << registration_text(village.organ, other);
    }
  }
}

}  // namespace
}  // namespace calcant
