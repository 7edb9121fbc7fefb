// Any text is read as a player file, or refused with a sentence and its place; a player that was read is one that the rest
// of the program can work with.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/playerfile/playerfile.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const auto p = read_player({reinterpret_cast<const char*>(data), size}, "player.toml");
  if (!p) {
    if (p.error().message.empty() || p.error().where.empty()) std::abort();
    return 0;
  }
  for (const HandSpan* h : {&p->left, &p->right}) {
    if (h->comfortable.value < 1 || h->most.value < h->comfortable.value) std::abort();
  }
  if (p->foot_span.value < 1) std::abort();
  for (const Seconds s : {p->one_knob.value, p->further_knob.value, p->foot_accessory.value, p->page_turn.value}) {
    if (!(s >= Seconds{0} && s <= Seconds{60})) std::abort();
  }
  return 0;
}
