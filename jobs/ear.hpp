// How loud a table of spectral lines is to the ear.
#pragma once

#include <filesystem>

#include "engine/hearing/loudness.hpp"

namespace calcant {

struct TableHeard {
  Heard heard;
  EarSettings settings;
  std::size_t lines = 0;
};

// Reads the table (files/lines) and weighs it by the standard's own grid of filters.
[[nodiscard]] Result<TableHeard> ear(const std::filesystem::path& table, const EarSettings& settings);
[[nodiscard]] std::string json_text(const TableHeard& answer);
// "ISO 532-2:2017, diffuse field, both ears".
[[nodiscard]] std::string words(const EarSettings& settings);

}  // namespace calcant
