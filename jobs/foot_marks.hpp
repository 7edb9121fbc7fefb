// A pedalling as marks for a copy of the score.
#pragma once

#include <vector>

#include "engine/playing/feet.hpp"
#include "files/musicxml/marked.hpp"

namespace calcant {

// What is not obvious, or every mark. Crossings say "behind" or "in front"; a change on a held key is a dash and the sign
// changed to, on the tied note where it happens.
[[nodiscard]] std::vector<musicxml::Mark> foot_marks(const Pedalling& pedalling, bool all);

}  // namespace calcant
