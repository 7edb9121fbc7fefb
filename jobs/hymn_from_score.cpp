#include "jobs/hymn_from_score.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/plan/piece.hpp"
#include "engine/playing/windows.hpp"
#include "engine/score/lines.hpp"

namespace calcant {
namespace {

// Which hand can leave at the last chord, as the windows of its notes have it.
void spare_hands(Hymn& h, const Score& score, Rational last_chord, Rational end, const Player& player) {
  const Tempo tempo(score, h.quarters_per_minute);
  h.left_spared = h.right_spared = false;
  for (const Window& w : windows(score, player, tempo)) {
    if (w.from > last_chord + Rational{1, 4} || w.to < end) continue;
    (w.hand == Hand::left ? h.left_spared : h.right_spared) = true;
  }
}

}  // namespace

void take_from_score(Hymn& h, Score& score, std::optional<double> tempo, const Player& player) {
  score.bass = h.bass;
  if (h.tune.empty()) h.tune = score.title;
  h.chords = sampled_chords(score, 6);
  const auto all = presses(score);
  const Rational end = performed_length(score);
  Rational last{0};
  for (const Press& p : all) {
    if (p.role != Role::not_played) last = std::max(last, p.start);
  }
  h.last_chord = moment_at(score, last);
  h.last_chord_quarters = std::max(0.5, (end - last).to_double());
  spare_hands(h, score, last, end, player);
  if (const auto ends = line_ends(score); !ends.empty()) h.lines = static_cast<int>(ends.size());
  const Tempo t(score, h.quarters_per_minute, tempo);
  h.quarters_per_minute = t.quarters_per_minute(Rational{0});
  h.tempo_assumed = t.assumed();
  if (h.key.empty() && !score.bars.empty()) {
    // The key signature names two keys; the last bass note tells which.
    static constexpr const char* majors[] = {"C flat", "G flat", "D flat", "A flat", "E flat", "B flat",  "F",      "C",
                                             "G",      "D",      "A",      "E",      "B",      "F sharp", "C sharp"};
    static constexpr const char* minors[] = {"A flat",  "E flat",  "B flat",  "F",       "C",
                                             "G",       "D",       "A",       "E",       "B",
                                             "F sharp", "C sharp", "G sharp", "D sharp", "A sharp"};
    const int fifths = std::clamp(score.bars.front().fifths, -7, 7);
    const int tonic = ((fifths * 7) % 12 + 12) % 12;
    int bass = 127;
    for (const Press& p : all) {
      if (p.end == end) bass = std::min(bass, p.key.midi);
    }
    h.minor = bass % 12 == (tonic + 9) % 12;
    h.tonic = h.minor ? (tonic + 9) % 12 : tonic;
    h.key = fmt::format("{} {}", h.minor ? minors[fifths + 7] : majors[fifths + 7], h.minor ? "minor" : "major");
  }
}

}  // namespace calcant
