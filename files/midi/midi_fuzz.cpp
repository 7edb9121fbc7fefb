// Any bytes are read as a Standard MIDI file or refused with a sentence, on a grid and without one.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "files/midi/midi.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  if (size > 1U << 18) return 0;
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  for (const Rational grid : {Rational{1, 48}, Rational{}}) {
    const auto s = read_midi(bytes, "fuzz", {}, {grid});
    if (!s) {
      if (s.error().message.empty() || s.error().where.empty()) std::abort();
      continue;
    }
    for (const WrittenNote& n : s->notes) {
      if (n.at < Rational{} || !(n.length > Rational{})) std::abort();
      if (n.at + n.length > s->bars[static_cast<std::size_t>(n.bar)].length) std::abort();
    }
    for (const Press& p : presses(*s)) {
      if (!(p.start < p.end)) std::abort();
    }
    (void)Tempo(*s, 60).at(performed_length(*s));
  }
  return 0;
}
