// What many commands take: ORGAN, the place and the people, the day and its temperature, and how JSON is handed over.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "cli/command.hpp"
#include "jobs/context.hpp"

namespace calcant::cli {

[[nodiscard]] Argument organ_argument();
// What the date is called where --on names a keyboard.
inline constexpr const char* day_beside_keyboard = "--day";
// --on DATE (or as `day` has it), --temperature CELSIUS
[[nodiscard]] std::vector<Option> day_options(const char* day = "--on");
// --at nave|bench, --people empty|half|full
[[nodiscard]] std::vector<Option> place_options();
[[nodiscard]] std::vector<Option> joined(std::vector<std::vector<Option>> lists);

// The organ named by ORGAN, with whichever of the options above the command takes. `day` is the option with the date.
[[nodiscard]] Result<OrganContext> open_organ(const Given& given, const char* day = "--on");

[[nodiscard]] inline Shown shown(std::string text, std::string json) { return {std::move(text), std::move(json)}; }

// The day it is, as entries of the book are dated: 2026-11-29.
[[nodiscard]] std::string today();

// With a capital in front.
[[nodiscard]] std::string capitalised(std::string text);

// "Invented organ" as a line of its own under a heading, or nothing.
[[nodiscard]] std::string invented_line(const Organ& organ);

}  // namespace calcant::cli
