#include "jobs/spec.hpp"

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "files/specification/specification.hpp"

namespace calcant::cli {

Command spec_command() {
  Command c;
  c.name = "spec";
  c.summary = "Print the specification of an organ.";
  c.about =
      "Prints the organ as organists print it: divisions, stops with their lengths, compass, couplers and accessories, "
      "pitch. Below it stands what the organ file leaves open and Calcant assumed.";
  c.arguments = {organ_argument()};
  c.options = day_options();
  c.examples = {{"calcant spec demo/village", "The specification of the invented village organ."},
                {"calcant spec demo/village --json", "The same for programs: ids, ranges, families."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    std::string text = print_specification(context->organ);
    if (!context->notes.empty()) {
      text += "\nNot said, and assumed:\n";
      for (const auto& note : context->notes) text += wrapped("- " + note, 0);
    }
    return shown(std::move(text), specification_json(context->organ, context->notes));
  };
  return c;
}

}  // namespace calcant::cli
