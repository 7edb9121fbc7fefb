// Resonance, scale, mouth and wind against published rules and worked figures.
#include <gtest/gtest.h>

#include <cmath>
#include <utility>

#include "engine/pipe/mouth.hpp"
#include "engine/pipe/resonance.hpp"
#include "engine/pipe/scale.hpp"

namespace calcant {
namespace {

constexpr MetresPerSecond c340{340};
constexpr Hertz c8{65.406}, c4{130.813}, c2{261.626}, c1{523.251}, c_half{1046.502};
Metres mm(double v) { return Metres{v / 1000}; }
double in_mm(Metres m) { return 1000 * m.value(); }

// Levine & Schwinger 1948 (limit) and Dalmont, Nederveen & Joly 2001 eq. 14b, 15a (table worked apart, pipes.md 1.2).
TEST(EndCorrection, OpenAndFlanged) {
  EXPECT_NEAR(in_mm(open_end_correction(mm(25), Hertz{0}, c340)), 15.33, 0.005);
  EXPECT_NEAR(in_mm(flanged_end_correction(mm(25), Hertz{0}, c340)), 20.54, 0.005);
  const double f_at_ka_1 = 340 / (2 * M_PI * 0.025);
  for (auto [ka, open, flanged] :
       {std::tuple{0.1, .6119, .8171}, {0.377, .5952, .7712}, {1.0, .5279, .6154}, {1.5, .4719, .5075}}) {
    EXPECT_NEAR(open_end_correction(mm(25), Hertz{ka * f_at_ka_1}, c340) / mm(25), open, 1e-4) << ka;
    EXPECT_NEAR(flanged_end_correction(mm(25), Hertz{ka * f_at_ka_1}, c340) / mm(25), flanged, 1e-4) << ka;
  }
}

// A. Cavaillé-Coll 1860 with c = 340; lengths worked in pipes.md 1.4. A. J. Ellis's form in inches and millimetres
// (Helmholtz, Sensations of Tone, app. XX): 510 000 / (3 L + 5 D).
TEST(Length, CavailleColl) {
  for (auto [f, d, l] : {std::tuple{c8, 155.5, 2340.0},
                         {c4, 92.46, 1145.5},
                         {c2, 54.98, 558.1},
                         {c1, 32.69, 270.4},
                         {c_half, 19.44, 130.0}})
    EXPECT_NEAR(in_mm(shop_length(f, mm(d), c340)), l, 0.1) << f.value();
  EXPECT_NEAR(in_mm(shop_length_square(c8, mm(137.81), c340)), 2323.5, 0.1);
  EXPECT_NEAR(shop_frequency(mm(2339.5), mm(155.5), c340).value(), 65.418, 0.001);
  EXPECT_NEAR(shop_frequency(mm(2339.5), mm(155.5), c340).value(), 510000 / (3 * 2339.5 + 5 * 155.5), 1e-9);
}

// Ingerslev & Frobenius 1947's mouth with Levine & Schwinger's end, worked in pipes.md 1.3 and 1.4.
TEST(Length, MouthAndEnd) {
  for (auto [f, d, l] : {std::tuple{c8, 155.5, 2323.8},
                         {c4, 92.46, 1135.8},
                         {c2, 54.98, 552.4},
                         {c1, 32.69, 267.0},
                         {c_half, 19.44, 128.0}}) {
    const Metres w = mm(d) * (M_PI / 4);
    EXPECT_NEAR(in_mm(open_length(f, mm(d), w, w / 4, c340)), l, 0.2) << f.value();
  }
  const Metres w = mm(65.4) * (M_PI / 4);
  EXPECT_NEAR(in_mm(stopped_length(c2, mm(65.4), w, w / 3, c340)), 242.0, 0.2);
}

// Passive losses of normal scale, worked in pipes.md section 6: time constants Q / (pi f).
TEST(Resonance, PassiveQuality) {
  EXPECT_NEAR(passive_quality(mm(77.75), c8, c340) / (M_PI * c8.value()), 0.610, 0.02);
  EXPECT_NEAR(passive_quality(mm(27.49), c2, c340) / (M_PI * c2.value()), 0.094, 0.004);
  EXPECT_NEAR(passive_quality(mm(9.72), c_half, c340) / (M_PI * c_half.value()), 0.014, 0.001);
}

// From the two quality factors worked there: 193 and 358 at 8 ft C.
TEST(Resonance, RadiatedShare) {
  EXPECT_NEAR(radiated_share(mm(77.75), c8, c340), 193.0 / (193 + 358), 0.005);
  EXPECT_LT(radiated_share(mm(20), c2, c340), radiated_share(mm(27.49), c2, c340));
}

// Published table of the normal scale (printed figures are cut, not rounded: 0.12 mm) and named deviations.
TEST(Scale, Normal) {
  for (auto [octave, d] :
       {std::pair{-2, 439.7}, {-1, 261.5}, {0, 155.5}, {1, 92.4}, {2, 54.9}, {3, 32.6}, {4, 19.3}, {5, 11.5}})
    EXPECT_NEAR(in_mm(normal_scale(c8 * std::exp2(octave))), d, 0.15) << octave;
  // stop list at 2 ft C in an encyclopaedia article on organ pipe scaling
  for (auto [d, ht] : {std::pair{35.6, -10},
                       {40.6, -7},
                       {46.2, -4},
                       {50.4, -2},
                       {54.9, 0},
                       {57.4, 1},
                       {65.4, 4},
                       {74.4, 7},
                       {81.1, 9}})
    EXPECT_NEAR(half_tones(mm(d), c2), ht, 0.06) << d;
  // Henry Willis III to E. M. Skinner: 7 3/8 in and 4 3/8 in at 8 ft CC; Merklin 1897 at Mantes-la-Jolie
  EXPECT_NEAR(half_tones(mm(7.375 * 25.4), c8), 4.30, 0.01);
  EXPECT_NEAR(half_tones(mm(4.375 * 25.4), c8), -7.76, 0.01);
  EXPECT_NEAR(half_tones(mm(95), c4), 0.63, 0.01);
  EXPECT_NEAR(half_tones(mm(60), c2), 2.02, 0.01);
  EXPECT_NEAR(half_tones(mm(36), c1), 2.23, 0.01);
  // American scale numbers (L. Chace 2001): 48 is 130.7 mm, 40 is 184.9 mm; 44 stands at normal
  EXPECT_NEAR(in_mm(scaled(c8, 44 - 48)), 130.7, 0.1);
  EXPECT_NEAR(in_mm(scaled(c8, 44 - 40)), 184.9, 0.1);
  // W. E. Dickson 1882: a wooden stopped diapason's middle C, 1 3/8 by 1 3/4 in
  EXPECT_NEAR(in_mm(equal_area_diameter(mm(34.925), mm(44.45))), 44.46, 0.01);
  EXPECT_NEAR(half_tones(equal_area_diameter(mm(34.925), mm(44.45)), c2), -4.90, 0.01);
}

TEST(Scale, OfARank) {
  Rank rank;
  rank.pitch = {{Note{36}, Feet{}}};
  rank.scale = {{Note{36}, mm(155.5)}, {Note{60}, mm(50.4)}};
  EXPECT_NEAR(in_mm(diameter(rank, Note{36})), 155.5, 0.01);
  EXPECT_NEAR(in_mm(diameter(rank, Note{60})), 50.4, 0.01);
  EXPECT_NEAR(half_tones(diameter(rank, Note{48}), nominal_pitch(rank, Note{48})), -1, 0.05);
  EXPECT_NEAR(half_tones(diameter(rank, Note{84}), nominal_pitch(rank, Note{84})), -2.01, 0.05);
  EXPECT_NEAR(half_tones(diameter(rank, Note{24}), nominal_pitch(rank, Note{24})), 0, 0.05);
  rank.scale.clear();
  rank.half_tones = given(-3.0);
  rank.pitch = {{Note{36}, Feet{Rational{4}}}, {Note{60}, Feet{Rational{8}}}};  // a break
  EXPECT_NEAR(nominal_pitch(rank, Note{59}).value(), 493.88, 0.01);
  EXPECT_NEAR(nominal_pitch(rank, Note{60}).value(), 261.63, 0.01);
  EXPECT_NEAR(in_mm(diameter(rank, Note{60})), 54.98 * std::exp2(-3 / 16.0), 0.01);
}

// Worked figures of pipes.md sections 3.1 and 8 (arithmetic on the published formulas).
TEST(Mouth, JetAndWind) {
  const KilogramsPerCubicMetre rho{1.2};
  EXPECT_NEAR(jet_speed(millimetres_of_water(75), rho).value(), 35.01, 0.005);
  EXPECT_NEAR(jet_speed(inches_of_water(3), rho).value(), 35.29, 0.005);
  EXPECT_NEAR(ising_number(c8, Pascals{735.5}, mm(1.0), mm(30.5), rho), 3.18, 0.01);
  EXPECT_NEAR(ising_number(c8, Pascals{735.5}, mm(1.0), mm(41.53), rho), 2.00, 0.005);
  EXPECT_NEAR(windway_flow(mm(122.1), mm(1.0), jet_speed(Pascals{735.5}, rho)).value(), 4.28, 0.01);
  for (auto [ratio, share] : {std::pair{0.25, .941}, {0.5, .800}, {0.75, .640}, {1.0, .500}, {2.0, .200}})
    EXPECT_NEAR(foot_share(ratio), share, 0.0005);
}

}  // namespace
}  // namespace calcant
