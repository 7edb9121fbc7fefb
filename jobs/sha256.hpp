// Which bytes a plan was made from: SHA-256 (FIPS 180-4) as hexadecimal digits.
#pragma once

#include <string>
#include <string_view>

namespace calcant {

[[nodiscard]] std::string sha256(std::string_view bytes);

}  // namespace calcant
