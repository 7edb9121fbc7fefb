// Any text is read as an organ file, a table of pipes or a day, or refused with faults that have a place in it. An organ
// that was read keeps to the rules, and sounds.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "engine/organ/coupler_trial.hpp"
#include "engine/organ/sounding.hpp"
#include "files/organfile/organfile.hpp"

namespace {

void check(const std::vector<calcant::Fault>& faults) {
  if (faults.empty()) std::abort();
  for (const calcant::Fault& f : faults) {
    if (f.message.empty() || f.caret < 0 || f.caret > static_cast<int>(f.text.size()) || to_string(f).empty())
      std::abort();
  }
}

// A small sound organ for the table of pipes.
constexpr const char* organ_toml =
    "version = 1\n[organ]\nid = \"x\"\nname = \"X\"\n[[keyboard]]\nid = \"great\"\nkeys = \"C2-G6\"\n[[division]]\nid "
    "= "
    "\"great\"\n[[chest]]\nid = \"great\"\ndivision = \"great\"\n[[rank]]\nid = \"open\"\nchest = \"great\"\nfamily = "
    "\"principal\"\nnotes = \"C2-G6\"\nfeet = 8\n[[stop]]\nid = \"open\"\nname = \"Open\"\ndivision = \"great\"\nfeet "
    "= "
    "8\nrank = \"open\"\n";

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  if (const auto day = read_day(text, "day.toml"); !day) check(day.error());
  const NamedText pipes{"pipes.csv", std::string{text}};
  if (const auto with_pipes = read_organ(organ_toml, "organ.toml", &pipes); !with_pipes) check(with_pipes.error());
  const auto read = read_organ(text, "organ.toml");
  if (!read) {
    check(read.error());
    return 0;
  }
  const Organ& o = read->organ;
  if (!breaches(o).empty()) std::abort();
  Registration all;
  for (std::size_t s = 0; s < o.stops.size(); ++s) all.stops.set(s);
  for (std::size_t c = 0; c < o.couplers.size(); ++c) all.couplers.set(c);
  KeysDown down;
  for (std::size_t k = 0; k < o.keyboards.size(); ++k) down.keys[k].insert(o.keyboards[k].keys.highest());
  PipeSet out;
  Sounding{o}.pipes(all, down, out);
  if (static_cast<std::size_t>(out.size()) != explain(o, all, down).pipes.size()) std::abort();
  (void)coupler_trials(o);
  return 0;
}
