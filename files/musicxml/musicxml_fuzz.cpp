// Any bytes, plain or packed, are read as a score or refused with a sentence; what is read can be unfolded, marked and
// cleaned again, and the marked copy is the same music.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "engine/score/lines.hpp"
#include "files/musicxml/marked.hpp"
#include "files/musicxml/musicxml.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  if (size > 1U << 20) return 0;
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  auto s = read_musicxml(bytes, "fuzz");
  if (!s) {
    if (s.error().message.empty() || s.error().where.empty()) std::abort();
    return 0;
  }
  for (std::size_t i = 0; i < s->notes.size(); ++i) {
    const WrittenNote& n = s->notes[i];
    if (n.id != i || n.note.midi < 0 || n.note.midi > highest_midi || n.at < Rational{} || n.length < Rational{})
      std::abort();
    if (n.bar < 0 || n.bar >= static_cast<int>(s->bars.size())) std::abort();
    if (n.stave < 0 || n.stave >= static_cast<int>(s->staves.size())) std::abort();
  }
  if (s->turns.size() * s->notes.size() < 100'000) {
    for (const Press& p : presses(*s)) {
      if (!(p.start < p.end)) std::abort();
    }
  }
  find_lines(*s, {8, 6, 8, 6});
  const Rational end = performed_length(*s);
  (void)words(*s, moment_at(*s, end / Rational{2}));
  (void)Tempo(*s, 60).at(end);

  // What looks like marks of ours is removed before new ones are made.
  const auto unmarked = musicxml::remove_marks(bytes);
  if (!unmarked) std::abort();
  s = read_musicxml(*unmarked, "unmarked");
  if (!s) return 0;
  std::vector<musicxml::Mark> marks(2);
  marks[0].text = "add <4 ft> & \"2\"";
  marks[0].bar = static_cast<int>(s->bars.size()) - 1;
  if (!s->notes.empty()) {
    marks[1].kind = musicxml::Mark::Kind::foot;
    marks[1].foot_part = WrittenNote::Part::toe;
  }
  const auto marked = musicxml::write_marked(*unmarked, marks);
  if (!marked) std::abort();
  const auto again = read_musicxml(*marked, "marked");
  if (!again || again->notes.size() != s->notes.size()) std::abort();
  const auto clean = musicxml::remove_marks(*marked);
  const auto once_more = clean ? read_musicxml(*clean, "clean") : tl::unexpected(clean.error());
  if (!once_more || once_more->notes.size() != s->notes.size()) std::abort();
  return 0;
}
