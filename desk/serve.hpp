// The desk at work: guard, routes and pages behind the server, until it is stopped.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>

#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant::desk {

// The port asked for first, so that bookmarks and what a browser has kept for this address hold from one start to the next.
inline constexpr std::uint16_t usual_port = 8417;

struct ServeSettings {
  std::filesystem::path folder;       // of the organ; must exist
  std::optional<std::uint16_t> port;  // 0: any; nothing: the usual one, or any where that is taken
  std::string version;
  std::function<std::string()> today;
};

// Serves until work.stop. `opened` is told the start address, with its token, once it can be asked.
[[nodiscard]] Result<void> serve(const ServeSettings& settings, const std::function<void(const std::string&)>& opened,
                                 const Work& work);

}  // namespace calcant::desk
