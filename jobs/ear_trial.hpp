// The blind ear trial of this church: its sheet, its answers, and what they make of the assumed levels. Everything is in
// the book; answers may be given a few at a time, given again, and taken back.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "book/book.hpp"
#include "engine/organ/overlay.hpp"
#include "engine/quantity/work.hpp"
#include "jobs/context.hpp"

namespace calcant {

inline constexpr int ear_trial_pairs = 10;

struct EarTrialSheet {
  std::string date;
  std::vector<TrialAnswer> pairs;  // in the order of their numbers, from 1
};

// The sheet that waits for answers; where none does, a new one of this date, its pairs chosen for what they tell of this
// organ as it is known now. Refuses a second sheet of one day, and what choose_ear_pairs refuses.
[[nodiscard]] Result<EarTrialSheet> ear_trial(const OrganContext& context, const std::string& date, const Work& work);

// The newest sheet as it stands; no pairs where there is none. Makes nothing.
[[nodiscard]] Result<EarTrialSheet> newest_ear_trial(const OrganContext& context);

// "1 A, 2 B, 3 same" for the newest sheet, written whole or not at all; "4 -" takes an answer back. Errors say which word
// was wrong.
[[nodiscard]] Result<EarTrialSheet> answer_ear_trial(const OrganContext& context, std::string_view answers);

// Takes the newest sheet back, answered or not: everything computed is again as before it, to the byte.
[[nodiscard]] Result<EarTrialSheet> undo_ear_trial(const OrganContext& context);
// The sheet whose pairs were taken back so, with its answers, as it was. Refuses pairs that are not one sheet taken back,
// and while another sheet of that day or later counts.
[[nodiscard]] Result<EarTrialSheet> restore_ear_trial(const OrganContext& context, const std::vector<EntryId>& pairs);

// What all answers up to a date (empty: all) say: levels to lay over the organ, how often the newest sheet's predictions,
// made before it was heard, agreed, and pairs that name what this organ has no more. in_order: the organ as it is known
// without the trial, nothing dead or out of use.
struct TrialKnowledge {
  std::string heard = "not yet heard here";  // or "agreed with your ear in 8 of 10 (20 November 2026)"
  std::vector<Overlay::RankFigure> levels;
  std::vector<std::string> notes;
};
[[nodiscard]] Result<TrialKnowledge> known_by_trial(const std::filesystem::path& folder, const Organ& in_order,
                                                    const std::string& on);

// context: opened after the answers were written. Predictions are handed out only for pairs that were answered.
[[nodiscard]] std::string json_text(const OrganContext& context, const EarTrialSheet& sheet);
// Two sides to print: what the helper draws, and the listener's slip, which names nothing.
[[nodiscard]] std::string ear_trial_html(const OrganContext& context, const EarTrialSheet& sheet);

}  // namespace calcant
