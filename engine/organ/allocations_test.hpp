// How many times this test program has asked for memory, so that "no allocation after the first call" can be
// asserted.
#pragma once

namespace calcant {
[[nodiscard]] long allocations();
}
