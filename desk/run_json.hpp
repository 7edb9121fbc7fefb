// A run of the book as pages see it.
#pragma once

#include <string_view>

#include "book/book.hpp"
#include "engine/organ/organ.hpp"
#include "jobs/json.hpp"

namespace calcant::desk {

// The folder of the organ's that holds what was handed over.
inline constexpr std::string_view recordings = "recordings";

[[nodiscard]] Json run_json(const Organ& organ, const Run& r);

}  // namespace calcant::desk
