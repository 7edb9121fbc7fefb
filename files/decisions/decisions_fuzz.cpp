// Any text is read as a file of decisions or refused with a place; what was read is written and read again the same.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/decisions/decisions.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  static const std::vector<Note> order{Note{48}, Note{49}, Note{50}, Note{48}};
  const auto file = read_decisions({reinterpret_cast<const char*>(data), size}, "run.txt", order);
  if (!file) {
    if (file.error().message.empty() || file.error().where.empty()) std::abort();
    return 0;
  }
  for (const Decision& d : file->decisions)
    if (d.from && d.to && !(d.from->value() < d.to->value())) std::abort();
  const std::string text = write_decisions(*file);
  const auto again = read_decisions(text, "again.txt", order);
  // Times closer together than a thousandth of a second become one and are then refused: nothing else is.
  if (again && write_decisions(*again) != text) std::abort();
  return 0;
}
