#include "engine/playing/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "engine/playing/fit_parts.hpp"

namespace calcant {

std::string_view word(FitKind k) {
  static constexpr std::array<std::string_view, 15> words{"outside the keyboard",
                                                          "outside the pedals",
                                                          "no pedals",
                                                          "manual missing",
                                                          "two manuals",
                                                          "same key",
                                                          "wide stretch",
                                                          "third hand",
                                                          "coupler runs out",
                                                          "stop too short",
                                                          "dead note",
                                                          "out of use",
                                                          "double pedal",
                                                          "swell pedal and feet",
                                                          "leap"};
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

const Keyboard& board(const Asked& a, KeyboardIndex k) { return a.organ.keyboards[static_cast<std::size_t>(k)]; }

std::string stave_name(const Asked& a, int stave) {
  const std::string& n = a.score.staves[static_cast<std::size_t>(stave)].name;
  return n.empty() ? fmt::format("stave {}", stave + 1) : n;
}

}  // namespace fitting

namespace {

bool played(const Stave& s) { return s.role != Role::not_played; }

// Where nothing in the copy says which manual and the hands cannot share one: the left hand's staves on another.
// Empty where one manual does, or there is but one.
std::vector<std::optional<KeyboardIndex>> a_manual_each(const Score& score, const Organ& organ, const Player& player,
                                                        const Tempo& tempo) {
  const std::vector<KeyboardIndex> all = manuals(organ);
  if (all.size() < 2 || !manual_words(score, organ).empty()) return {};
  const OnKeyboards together(score, organ);
  const FitWishes nothing;
  const fitting::Asked asked{score, organ, player, tempo, nothing, together, presses(score)};
  if (!fitting::wants_two_manuals(fitting::in_the_way(asked))) return {};
  std::vector<std::optional<KeyboardIndex>> out(score.staves.size());
  for (std::size_t s = 0; s < score.staves.size(); ++s) {
    if (score.staves[s].role != Role::left_hand) continue;
    const auto here = together.at(static_cast<int>(s), Role::left_hand, Rational{});
    out[s] = *std::find_if(all.begin(), all.end(), [&](KeyboardIndex k) { return k != here; });
  }
  return out;
}

std::vector<StaveKeyboard> where_staves_are(const Score& score, const OnKeyboards& on,
                                            const std::vector<std::optional<KeyboardIndex>>& ours) {
  std::vector<StaveKeyboard> out;
  for (std::size_t s = 0; s < score.staves.size(); ++s) {
    StaveKeyboard where;
    const int stave = static_cast<int>(s);
    if (played(score.staves[s])) {
      where.keyboard = on.at(stave, score.staves[s].role, Rational{});
      where.reason = s < ours.size() && ours[s]           ? "the hands want the same keys too often for one manual"
                     : score.staves[s].role == Role::feet ? "the feet's"
                                                          : on.reason(stave);
    }
    out.push_back(std::move(where));
  }
  return out;
}

}  // namespace

Fit fit(const Score& score, const Organ& organ, const Player& player, const Tempo& tempo, const FitWishes& wishes) {
  Fit out;
  if (score.bars.empty()) return out;
  const bool chosen =
      std::any_of(wishes.keyboards.begin(), wishes.keyboards.end(), [](const auto& k) { return k.has_value(); });
  std::vector<std::optional<KeyboardIndex>> ours;
  if (!chosen) ours = a_manual_each(score, organ, player, tempo);
  const OnKeyboards keyboards(score, organ, ours.empty() ? wishes.keyboards : ours);
  const fitting::Asked asked{score, organ, player, tempo, wishes, keyboards, presses(score)};
  fitting::keys(asked, out.findings);
  fitting::manuals_wanted(asked, out.findings);
  fitting::pipes(asked, out.findings);
  fitting::stretches(asked, out.findings);
  fitting::leaps(asked, out.findings);
  fitting::feet(asked, out.findings);
  std::stable_sort(out.findings.begin(), out.findings.end(), [](const FitFinding& a, const FitFinding& b) {
    return a.moment.bar_index != b.moment.bar_index ? a.moment.bar_index < b.moment.bar_index
                                                    : a.moment.at < b.moment.at;
  });
  fitting::gather(score, out.findings);
  out.fits = std::none_of(out.findings.begin(), out.findings.end(), [](const FitFinding& f) { return f.hinders; });
  out.staves = where_staves_are(score, keyboards, ours);
  for (const ManualWord& w : manual_words(score, organ)) {
    if (std::find(out.manuals.begin(), out.manuals.end(), w.wanted) == out.manuals.end()) {
      out.manuals.push_back(w.wanted);
    }
  }
  if (!wishes.drawn) {
    out.remarks.emplace_back("What is drawn was not said: dead notes and couplers are told for whatever may be drawn.");
  }
  return out;
}

}  // namespace calcant
