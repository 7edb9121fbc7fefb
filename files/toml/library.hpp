// The TOML library, set up one way for every reader: two ways in one program would be one too many for the linker.
//
// Only for .cpp files. Parse within try, and catch toml_library::TakenForGranted: the library takes some things for granted
// that a file may break ("[[#" as a header); it says so by an assertion, which must neither end the program nor, in a
// release, be believed.
#pragma once

namespace calcant::toml_library {
struct TakenForGranted {};
[[noreturn]] inline void taken_for_granted() { throw TakenForGranted{}; }
}  // namespace calcant::toml_library

#undef NDEBUG
#define TOML_ASSERT(what)                                      \
  do {                                                         \
    if (!(what)) ::calcant::toml_library::taken_for_granted(); \
  } while (false)
#define TOML_HEADER_ONLY 1
#define TOML_EXCEPTIONS 0
#define TOML_MAX_NESTED_VALUES 16
#define TOML_ENABLE_FORMATTERS 0
#include <toml++/toml.h>
