// Any text is read as stops drawn or keys held on a small organ, or refused with a sentence; what was read is written
// and read again as the same thing.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/words/words.hpp"

namespace {

calcant::Organ organ() {
  using namespace calcant;
  Organ o;
  o.keyboards = {{"great", "Great", false, NoteSet::range(36, 91), 0},
                 {"pedal", "Pedal Organ", true, NoteSet::range(36, 65), 1}};
  o.divisions = {{"great", "Great", 0, Note{36}, Note{91}, 0}, {"pedal", "Pedal Organ", 1, Note{36}, Note{65}, {}}};
  for (const char* id : {"open", "open-2", "flute"}) {
    Stop s;
    s.id = id;
    s.name = id[0] == 'o' ? "Open" : "Flûte";
    s.feet = {Feet{}};
    s.parts = {{0, Note{36}, Note{91}, 0, false}};
    o.stops.push_back(s);
  }
  Coupler c;
  c.id = "gt-pd";
  c.name = "Great to Pedal";
  c.from = 1;
  o.couplers = {c};
  SwellBox b;
  b.id = b.name = "box";
  o.boxes = {b};
  return o;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  static const Organ o = organ();
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  if (const auto r = parse_registration(o, text)) {
    const auto again = parse_registration(o, registration_text(o, *r));
    if (!again || again->stops != r->stops || again->couplers != r->couplers) std::abort();
  } else if (r.error().message.empty()) {
    std::abort();
  }
  if (const auto k = parse_keys(o, text)) {
    if (parse_keys(o, keys_text(o, *k)) != *k) std::abort();
  } else if (k.error().message.empty()) {
    std::abort();
  }
  return 0;
}
