// "Enough for 40": the first answer against every registration of the chapel, and against every knob and exchange of two in
// the village, by docs/design/choosing.md written once more from the ear and the rules that people are told.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/plan/singers.hpp"
#include "engine/registration/choose_test.hpp"
#include "engine/registration/chord_ear.hpp"
#include "jobs/pedal_under.hpp"
#include "jobs/registrant.hpp"

namespace calcant {
namespace {

struct HymnInChurch {
  HymnInChurch(const std::string& folder, const std::string& board) : church(folder, board) {
    for (const int played : {0, -12, 12}) {
      const auto chords = stated_chords(church.organ, church.on, played);
      if (!chords.empty()) ears.emplace_back(played, ChordEar{church.nave, chords});
    }
  }
  double level_of(int singers) {
    Singers s;
    s.count = singers;
    std::vector<Chord> tune;
    for (const KeysDown& down : ears.front().second.chords()) {
      Chord c;
      c.right = down.keys[static_cast<std::size_t>(church.on)];
      tune.push_back(c);
    }
    return loudness(s, Scales{church.nave, tune}).middle.value();
  }
  // J of a hymn's verse, or nothing where it is not allowed: every knob heard plainly (12 %, 2 dB), or just heard.
  std::optional<double> points(const Registration& drawn, int played, ChordEar& ear, double level, bool plainly) const {
    Occasion occasion;
    occasion.on = church.on;
    occasion.played = played;
    occasion.use = Use::hymn;
    double out = std::abs(ear.hear(drawn).phons - level) + (played != 0 ? 1 : 0);
    if (out - (played != 0 ? 1 : 0) > 1) return std::nullopt;
    for (const Advice& a : advise(church.organ, drawn, occasion)) {
      if (a.weight == Weight::against || a.rule == "R1") return std::nullopt;
      if (a.weight != Weight::warning) continue;
      if (a.rule == "R36") return std::nullopt;
      if (a.rule == "R2" || a.rule == "R4" || a.rule == "R6" || a.rule == "R7" || a.rule == "R13") out += 2;
    }
    // Something of the keyboard's own at 8 ft, as everywhere.
    const auto heard = heard_from(church.organ, drawn, church.on);
    if (std::none_of(heard.begin(), heard.end(),
                     [&](const HeardStop& h) { return !h.coupled && h.semitones + played == 0; })) {
      return std::nullopt;
    }
    for (const Knob k : knobs(church.organ, drawn)) {
      ++out;
      Registration without = drawn;
      set_drawn(without, k, false);
      bool told = false;
      for (std::size_t c = 0; c < ear.chords().size(); ++c) {
        const Change here = change(ear.ear(), ear.hear(without).chords[c], ear.hear(drawn).chords[c]);
        told = told || (plainly ? here.loudness >= 0.12 || here.excitation.value() >= 2
                                : here.loudness >= 0.06 || here.excitation.value() >= 1);
      }
      if (!told) return std::nullopt;
    }
    return out + 12 * makeshifts_by_the_book(church.organ, drawn, church.on, played);
  }
  ChurchOrgan church;
  std::vector<std::pair<int, ChordEar>> ears;
};

Result<Choices> asked(Registrant& registrant, const std::string& on, int singers) {
  ChooseRequest r;
  r.on = on;
  r.level = "enough for " + std::to_string(singers);
  r.limit = 2;
  return registrant.choose(r, Work{2});
}

TEST(SingersProof, NothingInTheChapelIsBetter) {
  HymnInChurch chapel{"demo/chapel", "manual"};
  Registrant registrant{std::make_shared<const OrganContext>(std::move(*open_organ("demo/chapel")))};
  int answered = 0;
  int refused = 0;
  for (const int singers : {1, 3, 8, 15, 25, 40, 60, 90, 150, 400, 5000}) {
    SCOPED_TRACE(singers);
    const double level = chapel.level_of(singers);
    std::optional<double> best;
    for (const bool plainly : {true, false}) {
      if (best) break;
      for (auto& [played, ear] : chapel.ears) {
        for (unsigned m = 1; m < 64; ++m) {
          Registration r;
          for (std::size_t s = 0; s < 6; ++s) r.stops.set(s, (m >> s & 1) != 0);
          const auto p = chapel.points(r, played, ear, level, plainly);
          if (p && (!best || *p < *best)) best = p;
        }
      }
    }
    const auto found = asked(registrant, "", singers);
    ASSERT_EQ(found.has_value(), best.has_value());
    (best ? answered : refused) += 1;
    if (best) {
      EXPECT_NEAR(found->answers.front().points, *best, 1e-9);
    }
  }
  EXPECT_GT(answered, 2);
  EXPECT_GT(refused, 0);
}

TEST(SingersProofSlow, NoKnobAndNoExchangeInTheVillageIsBetter) {
  HymnInChurch village{"demo/village", "great"};
  Registrant registrant{std::make_shared<const OrganContext>(std::move(*open_organ("demo/village")))};
  const Organ& organ = village.church.organ;
  Scales hymn{village.church.nave, hymn_chords(0, false, true, false)};
  for (const int singers : {12, 40, 120}) {
    SCOPED_TRACE(singers);
    const double level = village.level_of(singers);
    const auto found = asked(registrant, "Great", singers);
    ASSERT_TRUE(found) << sentence(found.error());
    const ChoiceShown& first = found->answers.front();
    // What the hands draw: the feet's stops and their coupler reach no key of theirs.
    Registration hands = first.claim.of.drawn;
    auto& ear = std::find_if(village.ears.begin(), village.ears.end(), [&](const auto& e) {
                  return e.first == first.played;
                })->second;
    ASSERT_NEAR(*village.points(hands, first.played, ear, level, true), first.points, 1e-9);
    std::vector<Knob> all;
    for (std::size_t s = 0; s < organ.stops.size(); ++s) all.push_back({Knob::Kind::stop, static_cast<int>(s)});
    for (std::size_t c = 0; c < organ.couplers.size(); ++c) all.push_back({Knob::Kind::coupler, static_cast<int>(c)});
    int tried = 0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      for (std::size_t j = i; j < all.size(); ++j) {
        Registration r = hands;
        set_drawn(r, all[i], !is_drawn(r, all[i]));
        if (j != i) set_drawn(r, all[j], !is_drawn(r, all[j]));
        const auto p = village.points(r, first.played, ear, level, true);
        tried += p ? 1 : 0;
        if (!p || *p >= first.points - 1e-9) continue;
        // What is better by these points is left out for its bass alone.
        const auto under = pedal_under(hymn, r, village.church.on, {}, {});
        EXPECT_TRUE(under && under->buried()) << registration_text(organ, r) << ": " << *p;
      }
    }
    EXPECT_GT(tried, 0);
  }
}

}  // namespace
}  // namespace calcant
