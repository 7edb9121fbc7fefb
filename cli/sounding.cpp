#include "jobs/sounding.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "files/words/words.hpp"

namespace calcant::cli {
namespace {

std::string text_of(const OrganContext& context, const Sounded& s) {
  const Organ& organ = context.organ;
  std::string text = fmt::format("{}\n{}Drawn: {}\nKeys: {}\n\n", organ.name, invented_line(organ),
                                 registration_text(organ, s.drawn), keys_text(organ, s.down));
  text += s.pipes.size() == 1 ? "1 pipe sounds" : fmt::format("{} pipes sound", s.pipes.size());
  text += fmt::format(" (pitch at {:.4g} °C; octaves are numbered so that C4 is middle C)\n", s.temperature.value());
  int rank = -1;
  for (const auto& p : s.pipes) {
    if (p.reasons.pipe.rank != rank) {
      rank = p.reasons.pipe.rank;
      const auto& r = organ.ranks[static_cast<std::size_t>(rank)];
      text += fmt::format("  {} ({})\n", r.name, r.id);
    }
    std::string ways;
    for (const auto& f : p.reasons.from) {
      if (!ways.empty()) ways += "; ";
      ways += fmt::format("{} {}", organ.keyboards[static_cast<std::size_t>(f.keyboard)].name, name(f.key));
      for (const auto c : f.through) ways += fmt::format(" by {}", organ.couplers[static_cast<std::size_t>(c)].name);
      ways += fmt::format(", {}", full_name(organ.stops[static_cast<std::size_t>(f.stop)]));
    }
    text += fmt::format("    pipe {:>3}  {:<4} {:>9.2f} Hz  {}\n", p.reasons.pipe.number, name(p.note),
                        p.frequency.value(), ways);
  }
  if (!s.missing.empty()) text += "\nMissing\n";
  for (const auto& m : s.missing) {
    text += fmt::format("  {} {}, asked for by {} {}: {}\n", organ.ranks[static_cast<std::size_t>(m.reasons.rank)].name,
                        name(m.note), organ.keyboards[static_cast<std::size_t>(m.reasons.keyboard)].name,
                        name(m.reasons.key), m.reasons.why);
  }
  return text;
}

}  // namespace

Command sounding_command() {
  Command c;
  c.name = "sounding";
  c.summary = "Say which pipes sound for what is drawn and held.";
  c.about =
      "Gives the exact set of pipes, each once however often it is reached, with its own note, its true pitch and the "
      "keys and couplers by which it is reached; and the notes that are missing, with the reason.\n"
      "Between the names in --draw stands a comma or a semicolon: 'Open Diapason 8', or 'Swell: Oboe 8' where two "
      "divisions bear the name; couplers by their names; 'Swell box=0.5' sets the box from 0 (shut) to 1 (open).";
  c.arguments = {organ_argument()};
  c.options = joined({{{"--draw", "REGISTRATION", "stops and couplers drawn", "", {}, true},
                       {"--keys", "KEYS", "keys held: \"Great:C4,E4,G4 Pedal:C2\"", "", {}, true}},
                      day_options()});
  c.examples = {
      {"calcant sounding demo/village --draw \"Great: Open Diapason 8, Swell to Great\" --keys Great:C4,E4,G4",
       "The pipes of a C major chord, and through which coupler each is reached."},
      {"calcant sounding demo/village --draw \"Oboe 8\" --keys Swell:C4 --temperature 8 --json",
       "One reed pipe on a cold morning, for a program."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto sounded = what_sounds(*context, *given.text("--draw"), *given.text("--keys"));
    if (!sounded) return tl::unexpected<Error>(sounded.error());
    return shown(text_of(*context, *sounded), json_text(*context, *sounded));
  };
  return c;
}

}  // namespace calcant::cli
