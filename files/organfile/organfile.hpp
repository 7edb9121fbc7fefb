// The organ folder's own files: organ.toml (the description, written by hand and never by a program), an
// optional table of figures pipe by pipe (CSV), and day.toml (what is dead or out of use today).
// docs/reference/organ-file.md shows every key.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <tl/expected.hpp>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/overlay.hpp"
#include "files/organfile/fault.hpp"

namespace calcant {

// The version of organ.toml this program writes and reads; a newer one is refused with a sentence.
inline constexpr int organ_file_version = 1;
// Larger files are refused.
inline constexpr std::size_t organ_file_limit = std::size_t{1} << 20;

struct OrganFile {
  Organ organ;
  std::vector<std::string> notes;  // what was not said and is assumed, in whole sentences: told, no fault
  std::string pipe_figures;        // file name of the table of pipes that organ.toml names; empty when none
};

// A file in memory: `name` is what faults call it.
struct NamedText {
  std::string name;
  std::string text;
};

// Reads the description. Every fault is reported at once, in the order of the lines. `pipes` is the text of
// the table of pipes, where the caller has it.
[[nodiscard]] tl::expected<OrganFile, std::vector<Fault>> read_organ(std::string_view text, std::string_view name,
                                                                     const NamedText* pipes = nullptr);

// Reads day.toml: dead pipes, stops out of use, figures of the day. Names the organ does not have are no
// fault here; apply() tells them as orphans.
[[nodiscard]] tl::expected<Overlay, std::vector<Fault>> read_day(std::string_view text, std::string_view name);

// The note of an organ whose couplers were not all tried, so that who knows better can take it out.
inline constexpr std::string_view couplers_untried =
    "what the couplers carry is assumed until it has been tried at the console";

struct OrganFolder {
  Organ organ;  // as described, nothing laid over it
  Overlay day;  // from day.toml; empty where there is none. apply(organ, day) is the organ today
  std::vector<std::string> notes;
  std::filesystem::path folder;
};
// `path`: an organ folder, or its organ.toml.
[[nodiscard]] tl::expected<OrganFolder, std::vector<Fault>> read_organ_folder(const std::filesystem::path& path);

}  // namespace calcant
