// Rendered audio, measured by another library (libebur128, the K-weighting of ITU-R BS.1770), against the loudness that
// the hearing model computes from the same organ's lines: they must put registrations in the same order. The two do not
// mean the same by loudness, and the audio comes out of the model it is compared with, so this says that the sound made
// is as loud as the verdicts say, not that an organ is.
#include <ebur128.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>
#include <numeric>
#include <string>
#include <vector>

#include "engine/hearing/loudness.hpp"
#include "engine/organ/sounding.hpp"
#include "engine/sound/render.hpp"
#include "files/words/words.hpp"
#include "jobs/context.hpp"
#include "jobs/performance.hpp"

namespace calcant {
namespace {

// The chord is struck several times: partials of several pipes that fall together strengthen or cancel each other by
// chance, otherwise at each stroke.
constexpr int strokes = 5;
constexpr double held_s = 1.0;
constexpr double every_s = 1.25;
constexpr double begin_s = 0.5;
constexpr double end_s = strokes * every_s;

// Every stop alone, those of the Swell with the box open and shut; each manual built up stop by stop; and both together.
std::vector<std::string> registrations(const Organ& organ) {
  const auto stops_of = [&](const char* id) {
    std::vector<std::string> out;
    for (const Stop& s : organ.stops) {
      if (s.division == *division_by_id(organ, id) && !s.celeste) out.push_back(full_name(s));
    }
    return out;
  };
  const auto built_up = [](const std::vector<std::string>& stops) {
    std::vector<std::string> out;
    for (const auto& s : stops) out.push_back(out.empty() ? s : out.back() + ", " + s);
    return out;
  };
  const auto great = stops_of("great");
  const auto swell = stops_of("swell");
  const auto great_sums = built_up(great);
  const auto swell_sums = built_up(swell);
  std::vector<std::string> out = great;
  out.insert(out.end(), great_sums.begin() + 1, great_sums.end());
  for (const char* box : {"", ", box shut"}) {
    for (const auto& s : swell) out.push_back(s + box);
    for (std::size_t i = 1; i < swell_sums.size(); ++i) out.push_back(swell_sums[i] + box);
    for (std::size_t g = 0; g < great_sums.size(); g += 2) {
      for (std::size_t i = 1; i < swell_sums.size(); i += 2) out.push_back(great_sums[g] + ", " + swell_sums[i] + box);
    }
  }
  return out;
}

struct Weighed {
  double phons;
  double lufs;
};

Weighed weigh(const OrganContext& context, const Listening& listening, const std::string& words, bool dry) {
  const Organ& organ = context.organ;
  std::string drawn_words = words;
  float box = 1;
  if (const auto shut = words.find(", box shut"); shut != std::string::npos) {
    drawn_words = words.substr(0, shut);
    box = 0;
  }
  auto drawn = parse_registration(organ, drawn_words);
  EXPECT_TRUE(drawn) << words;
  drawn->box.fill(box);
  const auto down = parse_keys(organ, "Great:C4,E4,G4,C5 Swell:C4,E4,G4,C5");
  EXPECT_TRUE(down) << sentence(down.error());

  Sounding sounding(organ);
  PipeSet pipes;
  sounding.pipes(*drawn, *down, pipes);
  static const Ear ear;
  Weighed out{};
  out.phons = ear.hear(condensed(listening.lines(pipes, *drawn), Cents{5}))->loudness.phons.value();

  PipesInTime chord(organ);
  for (int i = 0; i < strokes; ++i) chord.keys(*drawn, *down, i * every_s, i * every_s + held_s);
  chord.accessories(*drawn, 0, end_s);
  RenderSettings settings;
  settings.dry = dry;
  settings.gain = Decibels{20};  // well above the meter's gate
  const auto close = [](ebur128_state* s) { ebur128_destroy(&s); };
  const std::unique_ptr<ebur128_state, decltype(close)> meter(
      ebur128_init(2, static_cast<unsigned>(sample_rate_hz), EBUR128_MODE_I), close);
  std::size_t at = 0;
  const auto from = static_cast<std::size_t>(begin_s * sample_rate_hz);
  const auto to = static_cast<std::size_t>(end_s * sample_rate_hz);
  const auto done = render(
      chord.done(end_s), listening, settings,
      [&](std::span<const float> block) -> Result<void> {
        const std::size_t frames = block.size() / 2;
        const std::size_t first = std::clamp(from, at, at + frames);
        const std::size_t last = std::clamp(to, at, at + frames);
        ebur128_add_frames_float(meter.get(), block.data() + 2 * (first - at), last - first);
        at += frames;
        return {};
      },
      Work{2});
  EXPECT_TRUE(done) << words;
  EXPECT_EQ(ebur128_loudness_global(meter.get(), &out.lufs), EBUR128_SUCCESS);
  return out;
}

std::vector<double> ranks(const std::vector<double>& x) {
  std::vector<std::size_t> order(x.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return x[a] < x[b]; });
  std::vector<double> out(x.size());
  for (std::size_t i = 0; i < order.size(); ++i) out[order[i]] = static_cast<double>(i);
  return out;
}

// Spearman's rank correlation, no ties.
double spearman(const std::vector<double>& a, const std::vector<double>& b) {
  const auto ra = ranks(a);
  const auto rb = ranks(b);
  double sum = 0;
  for (std::size_t i = 0; i < ra.size(); ++i) sum += (ra[i] - rb[i]) * (ra[i] - rb[i]);
  const auto n = static_cast<double>(ra.size());
  return 1 - 6 * sum / (n * (n * n - 1));
}

TEST(LoudnessRankSlow, RenderedRegistrationsStandInTheHearingModelsOrder) {
  const auto context = open_organ("demo/village");
  ASSERT_TRUE(context);
  const Listening listening{context->organ, context->condition};
  const auto all = registrations(context->organ);
  ASSERT_GE(all.size(), 40U);
  for (const bool dry : {true, false}) {
    std::vector<double> phons;
    std::vector<double> lufs;
    for (const auto& words : all) {
      const Weighed w = weigh(*context, listening, words, dry);
      phons.push_back(w.phons);
      lufs.push_back(w.lufs);
      if (std::getenv("CALCANT_VERBOSE") != nullptr) std::printf("%6.1f %6.1f %s\n", w.phons, w.lufs, words.c_str());
    }
    const auto [least, most] = std::minmax_element(phons.begin(), phons.end());
    EXPECT_GE(*most - *least, 25);
    const double rho = spearman(phons, lufs);
    std::printf("%zu registrations over %.0f phon, %s: Spearman %.3f\n", all.size(), *most - *least,
                dry ? "dry" : "in the room", rho);
    EXPECT_GE(rho, 0.95);
  }
}

}  // namespace
}  // namespace calcant
