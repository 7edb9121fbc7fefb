// The feet under a hymn: what they draw is heard (R15 to R17; the margins are ours, engine/registration/rules.hpp).
#include "jobs/pedal_under.hpp"

#include <gtest/gtest.h>

#include "files/words/words.hpp"
#include "jobs/context.hpp"
#include "jobs/registrant.hpp"
#include "jobs/weigh.hpp"

namespace calcant {
namespace {

std::shared_ptr<const OrganContext> village() {
  auto context = open_organ("demo/village");
  EXPECT_TRUE(context);
  return std::make_shared<const OrganContext>(std::move(*context));
}

// The Great gives its Dulciana and everything else comes from the Swell: the Great's coupler brings the feet next to nothing.
TEST(PedalUnder, TriesTheCouplerFromWhereTheSoundComes) {
  const auto context = village();
  const Listening nave{context->organ, context->condition};
  Scales scales{nave, hymn_chords(0, false, true, false)};
  const auto hands =
      parse_registration(context->organ, "Dulciana 8, Gemshorn 4, Mixture II, Oboe 8, Swell to Great, Swell box=0.4");
  ASSERT_TRUE(hands);
  const auto under = pedal_under(scales, *hands, 0, {}, {});
  ASSERT_TRUE(under);
  EXPECT_FALSE(under->buried()) << registration_text(context->organ, under->knobs) << " " << under->feet.value();
  Registration swell_to_pedal = *parse_registration(context->organ, "Swell to Pedal");
  EXPECT_EQ(under->knobs.couplers & swell_to_pedal.couplers, swell_to_pedal.couplers);
}

// None of a dozen answers leaves the bass behind, and advise agrees.
TEST(PedalUnderSlow, NoHymnIsAnsweredWithoutABass) {
  const auto context = village();
  Registrant registrant{context};
  for (const Colour colour : {Colour::any, Colour::brighter, Colour::darker}) {
    ChooseRequest wish;
    wish.on = "Great";
    wish.level = "enough for 40";
    wish.colour = colour;
    wish.limit = 12;
    const auto found = registrant.choose(wish, Work{2});
    ASSERT_TRUE(found) << found.error().message;
    for (const ChoiceShown& a : found->answers) {
      AdviceRequest asked;
      asked.draw = registration_text(context->organ, a.drawn);
      asked.on = "Great";
      asked.use = Use::hymn;
      const auto advised = advise_registration(*context, asked);
      ASSERT_TRUE(advised) << advised.error().message;
      for (const Advice& one : advised->advice) EXPECT_NE(one.rule, "R16") << asked.draw << ": " << one.found;
      ASSERT_TRUE(advised->occasion.manual && advised->occasion.pedal);
      EXPECT_LE((*advised->occasion.manual - *advised->occasion.pedal).value(), 10) << asked.draw;
    }
  }
}

}  // namespace
}  // namespace calcant
