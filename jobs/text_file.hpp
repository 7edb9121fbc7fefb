// Text files read and written whole: bounded when read, whole or not at all when written.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "engine/quantity/result.hpp"

namespace calcant {

[[nodiscard]] Result<std::string> read_text_file(const std::filesystem::path& path, std::size_t limit);

// Writes beside the place and moves it there, so that nobody ever finds half a file; an older file of that name is
// replaced. The folder must exist.
[[nodiscard]] Result<void> write_text_file(const std::filesystem::path& path, std::string_view text);
// Makes the folder (and those above it), or says why not.
[[nodiscard]] Result<void> make_folder(const std::filesystem::path& path);

}  // namespace calcant
