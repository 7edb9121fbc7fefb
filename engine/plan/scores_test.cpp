// Every score of the fixtures and the demo voluntary, planned on the village and on the chapel organ: what an organist
// would ask of each plan. The scores of ../shared are engraved editions of music in the public domain (its README says
// which); what is asked are the rules of docs/reference/rules.md by their numbers, with their sources there. Seconds are
// told, not tested.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/plan/hymn.hpp"
#include "engine/plan/piece.hpp"
#include "engine/playing/copy_words.hpp"
#include "files/musicxml/musicxml.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

struct Case {
  const char* file;
  const char* organ;
  bool trio = false;
  bool hymn = false;
};
void PrintTo(const Case& c, std::ostream* out) { *out << c.file << " on " << c.organ; }

std::string text_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

class SharedScores : public testing::TestWithParam<Case> {
 protected:
  void SetUp() override {
    if (!std::filesystem::exists(GetParam().file)) GTEST_SKIP() << GetParam().file << " is not here";
    auto folder = read_organ_folder(std::string{"demo/"} + GetParam().organ);
    ASSERT_TRUE(folder);
    organ_ = folder->organ;
    auto read = read_musicxml(text_of(GetParam().file), GetParam().file);
    ASSERT_TRUE(read) << read.error().message;
    score_ = std::move(*read);
    ASSERT_EQ(score_.hymn, GetParam().hymn);
    copy_ = copy_words(score_, organ_);
    const auto began = std::chrono::steady_clock::now();
    const Listening listening(organ_, usual_condition(organ_));
    if (score_.hymn) plan_verses(listening);
    else plan_the_piece(listening);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - began;
    std::printf("%s on %s: %.2f s\n", GetParam().file, GetParam().organ, took.count());
    for (const Section& s : plan_.items.at(0).sections) {
      std::string drawn;
      for (const Knob k : knobs(organ_, s.drawn)) drawn += "  " + full_name(organ_, k);
      std::printf("  %-12s %5.1f %s\n", s.label.c_str(), s.loudness ? s.loudness->value() : 0, drawn.c_str());
    }
    for (const Cue& c : plan_.cues) {
      if (c.mover == Mover::helper) std::printf("  helper: %s\n", c.why.c_str());
    }
  }

  void plan_the_piece(const Listening& listening) {
    Piece piece;
    piece.title = score_.title;
    ASSERT_TRUE(plan_piece(plan_, organ_, listening, score_, piece, player_, {}, {}));
    const Tempo tempo(score_, piece.fallback_quarters_per_minute, piece.tempo);
    EXPECT_THAT(check_piece(organ_, plan_, 0, score_, tempo, player_), testing::IsEmpty());
  }
  void plan_verses(const Listening& listening) {
    Hymn h;
    h.tune = score_.title;
    h.verses = {parse_verse(""), parse_verse("soft"), parse_verse("full")};
    score_.bass = h.bass;
    h.chords = sampled_chords(score_, 6);
    ASSERT_TRUE(plan_hymn(plan_, organ_, listening, h, player_, {}, {}));
    EXPECT_THAT(check_hymn(organ_, plan_, 0, h, player_), testing::IsEmpty());
  }

  [[nodiscard]] bool drawn(const Section& s, DivisionIndex d, Family family, int semitones) const {
    for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
      const Stop& stop = organ_.stops[i];
      if (s.drawn.stops[i] && stop.division == d && stop.family == family && stop.feet.size() == 1 &&
          stop.feet.front().semitones() == semitones)
        return true;
    }
    return false;
  }
  [[nodiscard]] DivisionIndex home(KeyboardIndex k) const {
    return organ_.keyboards[static_cast<std::size_t>(k)].division;
  }
  // Divisions that sound under a keyboard at their own pitch.
  [[nodiscard]] std::vector<DivisionIndex> under(const Section& s, KeyboardIndex k) const {
    std::vector<DivisionIndex> out{home(k)};
    for (std::size_t c = 0; c < organ_.couplers.size(); ++c) {
      if (s.drawn.couplers[c] && organ_.couplers[c].from == k && organ_.couplers[c].semitones == 0)
        out.push_back(organ_.couplers[c].to);
    }
    return out;
  }
  // Whether any stop of this pitch, of whatever family, sounds under a keyboard; 100: a mixture.
  [[nodiscard]] bool pitch(const Section& s, KeyboardIndex k, int semitones) const {
    for (const DivisionIndex d : under(s, k)) {
      for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
        const Stop& stop = organ_.stops[i];
        if (!s.drawn.stops[i] || stop.division != d) continue;
        const bool mixture = stop.mixture_ranks > 0 || stop.feet.size() != 1;
        if (mixture ? semitones == 100 : stop.feet.front().semitones() == semitones) return true;
      }
    }
    return false;
  }

  Organ organ_;
  Score score_;
  std::vector<CopyWord> copy_;
  Plan plan_;
  Player player_ = default_player();
};

TEST_P(SharedScores, IsCarriedOutByTwoHandsAndTwoFeet) {
  EXPECT_THAT(check(organ_, plan_), testing::IsEmpty());
  EXPECT_TRUE(plan_.items[0].sections.size() > 1 || plan_.cues.empty());
  // A helper at most where the copy marks something, once in the whole piece, and never within a slur.
  int helped = 0;
  for (const Cue& c : plan_.cues) helped += c.mover == Mover::helper;
  EXPECT_LE(helped, 1);
}

TEST_P(SharedScores, StandsOnEightFeetAndHasNoGapInItsLadder) {
  for (const Section& s : plan_.items[0].sections) {
    for (const Advice& a : s.advice) EXPECT_NE(a.weight, Weight::against) << s.label << ": " << a.found;
    for (const auto k : {s.keyboards.right, s.keyboards.left}) {
      if (!k) continue;
      EXPECT_TRUE(pitch(s, *k, 0)) << s.label << ": R1";
      EXPECT_TRUE(pitch(s, *k, 12) || !(pitch(s, *k, 24) || pitch(s, *k, 100))) << s.label << ": R2";
      EXPECT_TRUE(pitch(s, *k, 24) || !pitch(s, *k, 19)) << s.label << ": R3";
      EXPECT_TRUE(pitch(s, *k, 12) || !pitch(s, *k, -12)) << s.label << ": R13";
    }
    for (std::size_t i = 0; i < organ_.stops.size(); ++i)
      EXPECT_FALSE(s.drawn.stops[i] && organ_.stops[i].celeste) << s.label << ": R8";
    EXPECT_TRUE(s.drawn.accessories.none()) << s.label << ": R9";
  }
}

// Upperwork stands on a Principal, or it is the full Swell over the Great's diapason (R4; common practice c. 1900).
TEST_P(SharedScores, UpperworkStandsOnPrincipals) {
  for (const Section& s : plan_.items[0].sections) {
    const auto k = s.keyboards.right;
    if (!k || s.keyboards.left != k || !(pitch(s, *k, 24) || pitch(s, *k, 100))) continue;
    const bool principal = drawn(s, home(*k), Family::principal, 12);
    bool full_swell = drawn(s, home(*k), Family::principal, 0);
    bool reed = false;
    for (const DivisionIndex d : under(s, *k)) reed = reed || drawn(s, d, Family::reed, 0);
    full_swell = full_swell && reed;
    const bool has_principal = std::any_of(organ_.stops.begin(), organ_.stops.end(), [&](const Stop& stop) {
      return stop.division == home(*k) && stop.family == Family::principal && stop.feet.size() == 1 &&
             stop.feet.front().semitones() == 12;
    });
    EXPECT_TRUE(principal || full_swell || !has_principal) << s.label;
  }
}

TEST_P(SharedScores, PedalHasSixteenAndEightAndFollowsTheHands) {
  for (const Section& s : plan_.items[0].sections) {
    if (!s.keyboards.feet) continue;
    EXPECT_TRUE(pitch(s, *s.keyboards.feet, 0)) << s.label << ": R15";
    const bool has_sixteen = std::any_of(organ_.stops.begin(), organ_.stops.end(), [&](const Stop& stop) {
      return stop.division == home(*s.keyboards.feet) && !stop.feet.empty() && stop.feet.front().semitones() == -12;
    });
    EXPECT_TRUE(pitch(s, *s.keyboards.feet, -12) || !has_sixteen) << s.label << ": R15";
    for (std::size_t c = 0; c < organ_.couplers.size(); ++c) {
      if (!s.drawn.couplers[c] || organ_.couplers[c].from != *s.keyboards.feet) continue;
      const bool follows = organ_.couplers[c].to == home(s.keyboards.left.value_or(*s.keyboards.right));
      const bool asked = std::any_of(copy_.begin(), copy_.end(), [&](const CopyWord& w) {
        return w.kind == CopyKind::coupler_on && w.coupler == static_cast<CouplerIndex>(c);
      });
      EXPECT_TRUE(follows || asked) << s.label << ": R17";
    }
  }
}

TEST_P(SharedScores, ATrioHasAManualForEachHand) {
  if (!GetParam().trio) return;
  EXPECT_TRUE(is_trio(score_));
  const Item& item = plan_.items[0];
  ASSERT_EQ(item.sections.size(), 1U);  // nothing is moved within a movement
  const Section& s = item.sections[0];
  const std::size_t manuals = static_cast<std::size_t>(
      std::count_if(organ_.keyboards.begin(), organ_.keyboards.end(), [](const Keyboard& k) { return !k.pedal; }));
  if (manuals < 2) {
    EXPECT_THAT(item.remarks, testing::Contains(testing::HasSubstr("a manual for each hand")));
    return;
  }
  ASSERT_NE(s.keyboards.right, s.keyboards.left);
  for (const KeyboardIndex k : {*s.keyboards.right, *s.keyboards.left, *s.keyboards.feet})
    EXPECT_THAT(under(s, k), testing::SizeIs(1)) << "no coupler between the voices";
  for (const KeyboardIndex k : {*s.keyboards.right, *s.keyboards.left})
    EXPECT_TRUE(pitch(s, k, 0) && pitch(s, k, 12)) << "8 and 4 ft";
  const Listening listening(organ_, usual_condition(organ_));
  Scales scales(listening, sampled_chords(score_, 6));
  const Phons right = scales.all(s.drawn, {s.keyboards.right, {}, {}});
  const Phons left = scales.all(s.drawn, {{}, s.keyboards.left, {}});
  EXPECT_LE(std::abs((right - left).value()), 3) << "voices of like strength";
}

std::vector<Case> cases() {
  std::vector<Case> out;
  for (const char* organ : {"village", "chapel"}) {
    out.push_back({"../shared/scores/bach-bwv529-1.musicxml", organ, true});
    out.push_back({"../shared/scores/bach-bwv533-1-pedalled.musicxml", organ});
    out.push_back({"../shared/scores/bach-bwv549-prelude-pedalled.musicxml", organ});
    out.push_back({"../shared/scores/bach-bwv599-pedalled.musicxml", organ});
    out.push_back({"../shared/scores/franck-op18-prelude-pedalled.musicxml", organ});
    out.push_back({"../shared/scores/hymn-old_100th.musicxml", organ, false, true});
    out.push_back({"../shared/scores/hymn-st_anne.musicxml", organ, false, true});
    out.push_back({"demo/village/music/voluntary-in-d.musicxml", organ});
  }
  return out;
}
INSTANTIATE_TEST_SUITE_P(OnBothOrgans, SharedScores, testing::ValuesIn(cases()));

}  // namespace
}  // namespace calcant
