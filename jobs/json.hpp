// JSON as jobs give it to the desk and the command line. The heavy header stays in .cpp files: include this one in
// headers, <nlohmann/json.hpp> where values are built.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "engine/organ/organ.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

using Json = nlohmann::ordered_json;  // fields stand in the order they were put

// Two blanks a level, no line break at the end; bytes that are no UTF-8 are replaced.
[[nodiscard]] std::string dump(const Json& j);
// {"error":{"message":…,"where":…}}
[[nodiscard]] std::string error_json(const Error& e);
// A figure rounded to what is worth printing: `places` decimals.
[[nodiscard]] double rounded(double value, int places);

}  // namespace calcant
