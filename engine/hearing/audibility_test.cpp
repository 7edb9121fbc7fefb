#include "engine/hearing/audibility.hpp"

#include <gtest/gtest.h>

#include <numeric>

#include "engine/hearing/cochlea.hpp"
#include "engine/hearing/test_sounds.hpp"

namespace calcant {
namespace {

PartLines span_of(std::size_t from, std::size_t to) {
  PartLines part(to - from);
  std::iota(part.begin(), part.end(), static_cast<std::uint32_t>(from));
  return part;
}
// `a` and `b` sounding together, each weighed among the other.
std::vector<Audibility> each(const Ear& ear, const Lines& a, const Lines& b) {
  const Lines whole = a + b;
  const PartLines parts[] = {span_of(0, a.size()), span_of(a.size(), whole.size())};
  return audibility(ear, whole, parts)->parts;
}
double partial(const Ear& ear, const Lines& a, const Lines& b) { return each(ear, a, b)[0].partial.value(); }

// Figures of 4.6: an open research library's implementation of Moore, Glasberg & Baer (1997) with ANSI numbers, free
// field, as rerun for this project; the paper's own text was not in hand. 2 % above 0.05 sone, 6 % below.
void expect_near(double got, double want) { EXPECT_NEAR(got / want, 1, want > .05 ? .02 : .06) << want; }
const Ear& ansi() {
  static const Ear ear({NumberSet::ansi, SoundField::free});
  return ear;
}

TEST(PartialLoudness, ToneInNoise) {
  struct {
    double per_hz, tone, tone_sone, noise_sone;
  } const rows[] = {{20, 40, .049, 3.87},  {20, 50, .783, 3.10}, {20, 60, 2.587, 2.23}, {20, 70, 6.896, 1.30},
                    {20, 80, 15.24, 1.06}, {30, 50, .0675, 0},   {30, 60, 1.352, 0},    {30, 70, 4.883, 0},
                    {30, 80, 13.93, 0},    {40, 60, .089, 0},    {40, 70, 2.343, 0},    {40, 80, 10.44, 0}};
  for (const auto& r : rows) {
    const auto parts = each(ansi(), tone(1000, r.tone), noise(500, 1500, r.per_hz));
    expect_near(parts[0].partial.value(), r.tone_sone);
    if (r.noise_sone > 0) expect_near(parts[1].partial.value(), r.noise_sone);
  }
}

// Levels at which a tone among a masker has 0.003 sone, the same library. To 0.6 dB (its K is read off a figure by eye),
// except where two habits of that library show, which an independent program of this model with both of them confirmed
// (every figure then within 0.2 dB, docs/accuracy/hearing.md): each sound passes filters as wide as it makes them by
// itself, and a filter lets 75.5 dB less through at the least, because a table of it ends there.
struct ByTone {
  double f, at_50, at_70, at_90;
};
constexpr ByTone by_500[] = {{250, 11.5, 12.0, 19.8}, {400, 22.9, 39.0, 56.4}, {550, 36.2, 57.7, 78.8},
                             {750, 11.1, 38.1, 65.8}, {1000, 2.3, 21.2, 54.3}, {2000, -1.4, -1.1, 29.3}};
template <class PartialOf>
double just_heard(const PartialOf& partial_of) {
  double low = -10;
  double high = 100;
  for (int i = 0; i < 14; ++i) {
    const double mid = (low + high) / 2;
    (partial_of(mid) < .003 ? low : high) = mid;
  }
  return low;
}

TEST(PartialLoudness, MaskedThresholds) {
  const auto threshold = [](double f, const Lines& masker) {
    return just_heard([&](double level) { return partial(ansi(), tone(f, level), masker); });
  };
  struct {
    double f, above_spectrum_level;
  } const in_noise[] = {{125, 16.7}, {250, 14.4}, {500, 14.4}, {1000, 15.9}, {2000, 18.7}, {4000, 21.4}};
  for (const auto& r : in_noise)
    EXPECT_NEAR(threshold(r.f, noise(50, 8000, 20)) - 20, r.above_spectrum_level, .6) << r.f;
  for (const auto& r : by_500) {
    const double beside = r.f == 550 ? 1.8 : .6;  // both sounds widen the same filters
    EXPECT_NEAR(threshold(r.f, tone(500, 50)), r.at_50, beside) << r.f;
    EXPECT_NEAR(threshold(r.f, tone(500, 70)), r.at_70, beside) << r.f;
    EXPECT_NEAR(threshold(r.f, tone(500, 90)), r.at_90, r.f == 250 ? 2.6 : beside)
        << r.f;  // an octave below: the table
  }
}

// The same with filters as wide as each sound makes them by itself: nothing is left but the end of that table.
TEST(PartialLoudness, MaskedThresholdsThroughEachSoundsOwnFilters) {
  const hearing::Cochlea& c = ansi().cochlea();
  const auto excitation = [&](const Lines& lines) { return c.excitation(c.components(c.arrivals(lines))); };
  const auto threshold = [&](double f, double masker) {
    const auto rest = excitation(tone(500, masker));
    return just_heard([&](double level) {
      const auto part = excitation(tone(f, level));
      double sum = 0;
      for (std::size_t i = 0; i < part.size(); ++i) sum += c.step() * c.partial(i, part[i], rest[i]);
      return sum;
    });
  };
  for (const auto& r : by_500) {
    EXPECT_NEAR(threshold(r.f, 50), r.at_50, .3) << r.f;
    EXPECT_NEAR(threshold(r.f, 70), r.at_70, .3) << r.f;
    if (r.f == 250) continue;
    EXPECT_NEAR(threshold(r.f, 90), r.at_90, .5) << r.f;
  }
}

TEST(PartialLoudness, WithNothingAroundItIsLoudness) {
  Random random(21);
  const Ear ear;
  for (int i = 0; i < 10; ++i) {
    const Lines lines = some_chorus(random);
    const PartLines parts[] = {span_of(0, lines.size())};
    const Weighed w = *audibility(ear, lines, parts);
    EXPECT_NEAR(w.parts[0].partial / w.whole.loudness.sones, 1, 1e-9);
    EXPECT_EQ(w.parts[0].alone.sones, w.whole.loudness.sones);
    EXPECT_TRUE(std::isinf(w.parts[0].drawn.loudness));
    EXPECT_EQ(w.parts[0].presence, Presence::heard);
  }
}

// Equations 17 to 20 meet at the masked threshold, where the part is as loud as at absolute threshold.
TEST(PartialLoudness, ContinuousAtTheMaskedThreshold) {
  for (NumberSet set : {NumberSet::iso, NumberSet::ansi}) {
    const hearing::Cochlea c({set});
    for (std::size_t i = 0; i < c.filters().size(); i += 5) {
      for (double rest : {0.0, 1e2, 1e5, 1e8}) {
        const double t = c.filters().masked[i] * rest + c.filters().threshold[i];
        EXPECT_NEAR(c.partial(i, t * (1 - 1e-9), rest) / c.partial(i, t * (1 + 1e-9), rest), 1, 1e-6);
        EXPECT_NEAR(c.partial(i, t, rest) / c.specific(i, c.filters().threshold[i]), 1, 1e-6);
      }
    }
  }
}

// Regression (own earlier figures, ANSI set, diffuse field): a flute-like 8 ft with a 4 ft of rising level.
TEST(Audibility, AFourFootOverAnEightFoot) {
  struct {
    double level, percent, partial;
  } const rows[] = {{30, .4, .031}, {40, 2.2, .19}, {50, 8.7, .64}, {60, 31, 4.1}, {70, 86, 11.2}};
  const Ear ear({NumberSet::ansi, SoundField::diffuse});
  const Lines eight = harmonics(261.6, 6, 70, -14);
  for (const auto& r : rows) {
    const Audibility four = each(ear, eight, harmonics(523.2, 5, r.level, -12))[1];
    EXPECT_NEAR(100 * four.drawn.loudness, r.percent, std::max(.1, .02 * r.percent)) << r.level;
    expect_near(four.partial.value(), r.partial);
    EXPECT_EQ(four.presence, r.partial > .05 ? Presence::heard : Presence::barely);
  }
}

// Two equal 8 ft stops: the one changes the whole, and cannot be heard as itself (own earlier figures; those
// of `partial` to 25 %, because with identical spectra a tenth of a decibel in K is several per cent).
TEST(Audibility, TheTwoAnswersAreNotOne) {
  struct {
    double under, percent, partial;
    Difference difference;
  } const rows[] = {{0, 19.6, 2.55, Difference::audible},         {-3, 11.1, .165, Difference::audible},
                    {-6, 6.0, .047, Difference::audible},         {-9, 3.1, .011, Difference::in_comparison},
                    {-12, 1.6, .0024, Difference::in_comparison}, {-15, .8, .0005, Difference::none}};
  const Ear ear;
  for (const auto& r : rows) {
    const auto parts = each(ear, harmonics(261.6, 6, 70, -14), harmonics(261.6, 6, 70 + r.under, -14));
    EXPECT_NEAR(100 * parts[1].drawn.loudness, r.percent, .35) << r.under;
    EXPECT_EQ(parts[1].drawn.difference, r.difference) << r.under;
    EXPECT_LT(parts[1].partial, parts[1].alone.sones * .5) << r.under;
    EXPECT_NEAR(parts[1].partial.value() / r.partial, 1, .26) << r.under;
  }
}

// Regression (own earlier figures): under an 8-4-2 principal chorus a soft flute is lost, a soft string shows on top.
TEST(Audibility, SoftStopsUnderAChorus) {
  const Ear ear;
  const Lines chorus = harmonics(261.6, 12, 70, -8) + harmonics(523.2, 10, 68, -8) + harmonics(1046.4, 8, 64, -8);
  const Audibility flute = each(ear, chorus, harmonics(261.6, 6, 60, -14))[1];
  EXPECT_LT(flute.drawn.loudness, .015);
  EXPECT_EQ(flute.presence, Presence::hidden);
  const Audibility string = each(ear, chorus, harmonics(261.6, 20, 60, -5))[1];
  EXPECT_GT(string.drawn.loudness, flute.drawn.loudness);
  EXPECT_GT(string.partial, flute.partial);
  EXPECT_GT(string.heard_at, Hertz{3000});
}

TEST(Audibility, WordsGoByTheTable) {
  const Ear ear;
  const auto heard = [&](double db) { return *ear.hear(harmonics(261.6, 8, db, -8)); };
  const auto between = [&](double from, double to) { return change(ear, heard(from), heard(to)); };
  EXPECT_EQ(between(70, 70).difference, Difference::none);
  EXPECT_EQ(between(70, 70.2).difference, Difference::none);
  EXPECT_EQ(between(70, 70.6).difference, Difference::in_comparison);
  EXPECT_EQ(between(70, 71.2).difference, Difference::audible);
  EXPECT_EQ(between(70, 74).difference, Difference::clear);
  EXPECT_EQ(between(70, 86).difference, Difference::twofold);
  EXPECT_EQ(between(86, 70).difference, Difference::twofold);
  EXPECT_EQ(between(71.2, 70).difference, Difference::audible);
  // A uniform 1 dB on an organ-like sound near 70 dB is about 6 % of loudness, and 1 dB in every filter
  // or a little more on the skirts, which widen.
  EXPECT_NEAR(between(70, 71).loudness, .0625, .01);
  EXPECT_NEAR(between(70, 71).excitation.value(), 1.2, .25);
  EXPECT_EQ(word(Difference::clear), "clearly louder");
  EXPECT_EQ(word(Difference::twofold, false), "half as loud");
}

TEST(Audibility, RefusesWhatIsNotThere) {
  const Ear ear;
  const PartLines beyond[] = {{1}};
  EXPECT_FALSE(audibility(ear, tone(440, 60), beyond));
  const PartLines nothing[] = {{}};
  const Weighed w = *audibility(ear, tone(440, 60), nothing);
  EXPECT_EQ(w.parts[0].partial, Sones{0});
  EXPECT_EQ(w.parts[0].drawn.difference, Difference::none);
  EXPECT_EQ(w.parts[0].heard_at, Hertz{0});
  EXPECT_TRUE(audibility(ear, {}, {}));
}

}  // namespace
}  // namespace calcant
