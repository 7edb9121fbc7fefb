// Where what was prepared stands in the organ folder: prepared/2026-11-29/, prepared/music/dundee.musicxml/.
#pragma once

#include <filesystem>
#include <string>

#include "desk/desk.hpp"
#include "desk/routes.hpp"
#include "jobs/prepare.hpp"

namespace calcant::desk {

[[nodiscard]] std::filesystem::path prepared_service(const Desk& desk, const std::string& service);
[[nodiscard]] std::filesystem::path prepared_piece(const Desk& desk, const std::string& piece);
[[nodiscard]] bool is_prepared(const std::filesystem::path& place);
// "no", "yes", or "old" when it was made from something else than `made_from` (a hash) by now, or a rank it draws has been
// measured since (`organ`; nullptr: there is none).
[[nodiscard]] std::string how_prepared(const std::filesystem::path& place, const std::string& made_from,
                                       const OpenOrgan* organ);

// Prepares into a new folder and, when all of it is there, puts that in the place of the one before in one step. The
// paths in the result are those in the organ folder.
[[nodiscard]] Result<std::string> prepare_in_place(const Desk& desk, const OrganContext& context,
                                                   PrepareRequest request, const std::filesystem::path& place,
                                                   const std::string& made_from, const Work& work);
// A file of it, or 404 that says what makes it.
[[nodiscard]] tl::expected<std::string, Why> prepared_file(const std::filesystem::path& place, const char* name);

}  // namespace calcant::desk
