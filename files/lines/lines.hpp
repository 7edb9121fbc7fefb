// Spectral lines as a table: CSV of frequency and level, one line of sound a row.
#pragma once

#include <string_view>

#include "engine/quantity/lines.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

inline constexpr std::size_t lines_file_limit = std::size_t{4} << 20;
inline constexpr std::size_t lines_limit = 20000;

// Each row: hertz, dB; a comma, semicolon or tab between (a decimal comma is not read). A first row of words ("hz,db")
// is a header; empty rows and rows that begin with # are passed over. 0 < hertz < 100000, -200 <= dB <= 200. An error
// names the row: `name:3`.
[[nodiscard]] Result<Lines> read_lines(std::string_view text, std::string_view name);

}  // namespace calcant
