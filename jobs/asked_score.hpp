// A score read as a ScoreRequest asks: who plays which stave, and where. Shared by the jobs on scores.
#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "jobs/fit.hpp"
#include "jobs/json.hpp"

namespace calcant {

struct AskedScore {
  ReadScore read;
  std::vector<std::optional<KeyboardIndex>> keyboards;  // by stave, where the user says so
};
// Who plays a stave: "3=feet", "2=swell", or by its name, "Pedal=feet"; nothing else of the score is decided.
[[nodiscard]] Result<AskedScore> read_with_staves(const OrganContext& context, const std::filesystem::path& score,
                                                  const std::vector<std::string>& staves);
// The same, and who plays the bass of a hymn.
[[nodiscard]] Result<AskedScore> read_asked(const OrganContext& context, const ScoreRequest& request);

[[nodiscard]] Json moment_json(const Moment& m);
// The score's own remarks, those of the job, and who plays each stave and why.
[[nodiscard]] Json remarks_json(const Score& score, const std::vector<std::string>& more);

}  // namespace calcant
