#include "engine/playing/fit.hpp"

#include <algorithm>
#include <array>

#include "engine/playing/fit_parts.hpp"

namespace calcant {

std::string_view word(FitKind k) {
  static constexpr std::array<std::string_view, 12> words{
      "outside the keyboard", "outside the pedals",  "no pedals",      "manual missing", "wide stretch",
      "third hand",           "coupler runs out",    "stop too short", "dead note",      "out of use",
      "double pedal",         "swell pedal and feet"};
  return words[static_cast<std::size_t>(k)];
}

namespace fitting {

Moment first_moment(const Score& s, NoteId n) {
  const WrittenNote& w = s.notes[n];
  Moment m;
  m.bar = s.bars[static_cast<std::size_t>(w.bar)].label;
  m.bar_index = w.bar;
  m.at = w.at;
  return m;
}

Rational onset_of(const Score& s, NoteId n) { return written(s, s.notes[n].bar, s.notes[n].at); }

}  // namespace fitting

Fit fit(const Score& score, const Organ& organ, const Player& player, const Tempo& tempo, const FitWishes& wishes) {
  Fit out;
  if (score.bars.empty()) return out;
  const OnKeyboards keyboards(score, organ, wishes.keyboards);
  const fitting::Asked asked{score, organ, player, tempo, wishes, keyboards, presses(score)};
  fitting::keys(asked, out.findings);
  fitting::pipes(asked, out.findings);
  fitting::stretches(asked, out.findings);
  fitting::feet(asked, out.findings);
  std::stable_sort(out.findings.begin(), out.findings.end(), [](const FitFinding& a, const FitFinding& b) {
    return a.moment.bar_index != b.moment.bar_index ? a.moment.bar_index < b.moment.bar_index
                                                    : a.moment.at < b.moment.at;
  });
  out.fits = std::none_of(out.findings.begin(), out.findings.end(), [](const FitFinding& f) { return f.hinders; });
  if (!wishes.drawn) {
    out.remarks.emplace_back(
        "No registration was given: couplers were not judged, and dead notes are told for every "
        "stop of the keyboards played.");
  }
  return out;
}

}  // namespace calcant
