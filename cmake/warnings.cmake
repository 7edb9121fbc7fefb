# The warnings every target of ours is built with; -Werror because a warning nobody must mend is one nobody reads.
add_library(calcant_warnings INTERFACE)
target_compile_options(calcant_warnings INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion -Wold-style-cast -Wnon-virtual-dtor
  -Woverloaded-virtual -Wnull-dereference -Wimplicit-fallthrough -Werror
  # g++ 12 gives false -Wrestrict and -Wnull-dereference alarms on std::string and inlined library code
  # (GCC PR 105329, 105651)
  $<$<CXX_COMPILER_ID:GNU>:-Wno-restrict -Wno-null-dereference -Wno-maybe-uninitialized>
  # clang 19 calls libstdc++ 12's own std::stable_sort deprecated (its get_temporary_buffer, in stl_tempbuf.h)
  $<$<CXX_COMPILER_ID:Clang>:-Wno-deprecated-declarations>)
