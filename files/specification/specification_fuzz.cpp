// Any text is read as a printed specification or refused with a sentence; what was read becomes an organ file that loads,
// and whose printed specification can be read again.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <iostream>

#include "files/organfile/organfile.hpp"
#include "files/specification/specification.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto draft = read_specification(text);
  if (!draft) {
    if (draft.error().message.empty()) std::abort();
    return 0;
  }
  SixAnswers answers;
  if (size % 2 == 0) answers.octaves_extended = true;
  const auto organ = read_organ(write_organ_toml(*draft, answers), "organ.toml");
  if (!organ) {
    std::cerr << to_string(organ.error());
    std::abort();
  }
  (void)read_specification(print_specification(organ->organ));
  return 0;
}
