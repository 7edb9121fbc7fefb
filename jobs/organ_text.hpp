// organ.toml as text in an editor: read while it is typed, faults with their places, saved when it reads.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "files/organfile/fault.hpp"
#include "jobs/context.hpp"
#include "jobs/json.hpp"

namespace calcant {

struct OrganTextChecked {
  std::vector<Fault> faults;  // in the order of the lines; none: it can be saved
  std::vector<std::string> notes;
};
// The table of pipes that the text names is read from the folder.
[[nodiscard]] OrganTextChecked check_organ_text(const std::filesystem::path& folder, std::string_view text);
[[nodiscard]] std::string json_text(const OrganTextChecked& checked);
[[nodiscard]] Json fault_json(const Fault& f);

// A figure about the organ, where it comes from, and how to better it.
struct OrganFigure {
  std::string of;     // "Great: Open Diapason", "The room"
  std::string what;   // "width of the pipes"
  std::string value;  // with its unit
  Source source = Source::assumed;
  std::string date;
  std::string basis;
  std::string better;  // empty where it needs none
};
// Those that what is heard and planned rests on most: pitch, room, temperature, wind, action, box, and for each rank its
// scale and loudness.
[[nodiscard]] std::vector<OrganFigure> organ_figures(const Organ& organ);
[[nodiscard]] std::string json_text(const std::vector<OrganFigure>& figures);

}  // namespace calcant
