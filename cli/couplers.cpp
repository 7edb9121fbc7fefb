#include "jobs/couplers.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"

namespace calcant::cli {

Command couplers_command() {
  Command c;
  c.name = "couplers";
  c.summary = "Print the console test for how couplers pass through one another.";
  c.about =
      "Whether an octave coupler also acts on what comes through Swell to Great, or Great to Pedal brings the Swell "
      "along, differs "
      "from organ to organ, and few players know it of their own. The test takes two minutes: one stop, two couplers, "
      "one key. "
      "Until it is done the organ file says \"not tried\", and this tells what is assumed.";
  c.arguments = {organ_argument()};
  c.examples = {
      {"calcant couplers demo/village", "The steps to take to the console, and where the answers are written."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto steps = coupler_steps(*context);
    std::string text = fmt::format("{}\n{}\n", context->organ.name, invented_line(context->organ));
    if (steps.empty()) {
      return shown(text + "No coupler of this organ could pass through another; there is nothing to try.\n",
                   json_text(steps));
    }
    text += wrapped(
        "At the console, wind on. For each step put everything in first, then draw only what is named, hold the key "
        "and "
        "listen.",
        0);
    int number = 0;
    for (const CouplerStep& s : steps) {
      text += fmt::format("\n{}. Draw  {}\n   Hold  {}\n   {}\n", ++number, s.draw, s.keys, s.question);
      text += wrapped(
          fmt::format("{}: {}. If you hear {} instead, {} \"{}\" {} the carries of coupler \"{}\" in organ.toml.",
                      s.tried ? "Tried" : "Not tried; assumed", s.assumed_carried ? s.if_carried : s.if_not,
                      s.assumed_carried ? s.if_not : s.if_carried, s.assumed_carried ? "take" : "put", s.carried,
                      s.assumed_carried ? "out of" : "into", s.through),
          3);
    }
    text += "\n" +
            wrapped(
                "Then write the date into each coupler tried: tried = \"2026-11-29\" in place of \"not tried\". At the "
                "desk the organ's page takes what you hear at a press, and keeps it in the book.",
                0);
    return shown(std::move(text), json_text(steps));
  };
  return c;
}

}  // namespace calcant::cli
