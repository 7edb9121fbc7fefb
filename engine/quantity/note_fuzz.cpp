// Any text is read as a note, a length in feet and a fraction, or refused with a sentence; what was read is
// written and read again as the same thing.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "engine/quantity/note.hpp"
#include "engine/quantity/rational.hpp"

namespace {

template <class Parse, class Write>
void check(std::string_view text, Parse parse, Write write) {
  const auto first = parse(text);
  if (!first) {
    if (first.error().message.empty()) std::abort();
    return;
  }
  const auto again = parse(write(*first));
  if (!again || *again != *first) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  check(text, parse_note, [](Note n) { return name(n); });
  check(text, parse_spoken_note, [](Note n) { return name(n); });
  for (const NoteStyle style : {NoteStyle::scientific, NoteStyle::english})  // what is written so is read again
    if (const auto n = parse_spoken_note(text); n && parse_spoken_note(name(*n, style)).value_or(Note{}) != *n)
      std::abort();
  check(text, parse_feet, [](Feet f) { return to_string(f); });
  check(text, parse_rational, [](Rational r) { return to_string(r); });
  return 0;
}
