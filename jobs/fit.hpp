// Whether a score fits this organ and this player, and how its pedal part lies under two feet.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/playing/feet.hpp"
#include "engine/playing/fit.hpp"
#include "jobs/context.hpp"
#include "jobs/read_score.hpp"

namespace calcant {

struct ScoreRequest {
  std::filesystem::path score;
  std::optional<double> tempo;      // crotchets a minute
  std::optional<Bass> bass;         // who plays a hymn's bass; else the feet, where there is a pedalboard
  std::vector<std::string> staves;  // "3=feet", "2=swell": who or which keyboard plays a stave, whatever it looks like
};

struct FitResult {
  ReadScore read;
  std::optional<Registration> drawn;
  Fit fit;
};
// draw: what is drawn, for couplers that run out and dead notes; empty: all stops are looked at.
[[nodiscard]] Result<FitResult> fit_score(const OrganContext& context, const ScoreRequest& request,
                                          const std::string& draw);
[[nodiscard]] std::string json_text(const OrganContext& context, const FitResult& f);

// The note as it is written, flats as flats: "Eb3".
[[nodiscard]] std::string spelling(const Score& score, NoteId note);

struct FeetResult {
  ReadScore read;
  Pedalling pedalling;
};
// fixed: marks the player wants, as fixed_foot.hpp reads them ("bar 12, beat 2: left toe", "n57: R^"), besides those that
// were changed by hand (by_hand.hpp); all the rest is solved round them.
[[nodiscard]] Result<FeetResult> feet_of_score(const OrganContext& context, const ScoreRequest& request,
                                               std::optional<FeetStyle> style,
                                               const std::vector<std::string>& fixed = {});
[[nodiscard]] std::string json_text(const OrganContext& context, const FeetResult& f);

// The marks of a feet.toml as texts for `fixed`; an error has its place in the file.
[[nodiscard]] Result<std::vector<std::string>> marks_of_file(const std::filesystem::path& path);

// The score with the feet written in, as MusicXML: what is not obvious, or every mark.
[[nodiscard]] Result<std::string> marked_feet(const FeetResult& f, bool all);
[[nodiscard]] Result<void> write_feet(const FeetResult& f, bool all, const std::filesystem::path& out);

}  // namespace calcant
