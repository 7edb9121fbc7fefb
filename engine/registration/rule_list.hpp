// The rules of practice by their numbers, as docs/reference/rules.md has them: what a code in an advice or a reason says.
#pragma once

#include <span>
#include <string_view>

namespace calcant {

struct PracticeRule {
  std::string_view code;      // "R4"
  std::string_view sentence;  // without its full stop
  std::string_view source;    // a published one, "common practice", or "ours"
};
// R1 to R43, in order.
[[nodiscard]] std::span<const PracticeRule> practice_rules();

}  // namespace calcant
