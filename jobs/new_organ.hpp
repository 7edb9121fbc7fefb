// A usable organ in ten minutes: from a pasted specification to an organ folder.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/quantity/result.hpp"
#include "files/specification/specification.hpp"

namespace calcant {

// Reads the specification as it was pasted; nothing is written yet, so that what was read can be shown and asked about.
[[nodiscard]] Result<Draft> read_specification_file(const std::filesystem::path& path);

struct NewOrgan {
  std::filesystem::path file;      // organ.toml
  Organ organ;                     // as it reads back
  std::vector<UnreadLine> unread;  // of the specification
  std::vector<std::string> notes;  // what was not said and is assumed
};
// Writes FOLDER/organ.toml; a folder that has one already is refused and nothing is changed.
[[nodiscard]] Result<NewOrgan> new_organ(const std::filesystem::path& folder, const Draft& draft,
                                         const SixAnswers& answers, bool invented);
[[nodiscard]] std::string json_text(const NewOrgan& made);

}  // namespace calcant
