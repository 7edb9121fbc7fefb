#include "jobs/saved.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"

namespace calcant::cli {
namespace {

std::string line_of(const SavedRegistration& s) {
  std::string out = wrapped(fmt::format("{}: {}", s.name, s.draw), 2);
  if (!s.remark.empty()) out += wrapped(s.remark, 6);
  return out;
}

}  // namespace

Command save_command() {
  Command c;
  c.name = "save";
  c.summary = "Save a registration by name in the organ's book.";
  c.about =
      "From then on the name may stand wherever stops are asked for: weigh, advise, hear, compare. The box and the "
      "couplers are saved with the stops.";
  c.arguments = {organ_argument(), {"NAME", "of your own, not a stop's: \"quiet verse\""}};
  c.options = {{"--draw", "REGISTRATION", "stops, couplers and box", "", {}, true},
               {"--remark", "WORDS", "what it is good for", ""},
               {"--replace", "", "where the name is taken, save this in its place"},
               {"--on", "DATE", "the day; otherwise today", ""}};
  c.examples = {
      {"calcant save demo/village \"quiet verse\" --draw \"Clarabella 8, Swell to Great, Swell: Lieblich "
       "Gedackt 8, Swell box=0\"",
       "Weigh it later by --draw \"quiet verse\"."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto done = save_registration(
        *context,
        {*given.text("NAME"), *given.text("--draw"), given.text_or("--on", today()), given.text_or("--remark", "")},
        given.has("--replace"));
    if (!done) return tl::unexpected<Error>(done.error());
    std::string text = "Saved:\n" + line_of(done->now);
    if (!done->before.empty()) text += wrapped("Before, it was: " + done->before, 2);
    return shown(std::move(text), json_text({done->now}));
  };
  return c;
}

Command saved_command() {
  Command c;
  c.name = "saved";
  c.summary = "List the registrations saved in the organ's book.";
  c.about = "By name, with stops, couplers and box in words.";
  c.arguments = {organ_argument()};
  c.examples = {{"calcant saved demo/village", "What 'save' has kept."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto saved = saved_registrations(*context);
    if (!saved) return tl::unexpected<Error>(saved.error());
    std::string text = context->organ.name + "\n" + invented_line(context->organ);
    if (saved->empty()) text += "No registration is saved yet.\n";
    for (const SavedRegistration& s : *saved) text += line_of(s);
    return shown(std::move(text), json_text(*saved));
  };
  return c;
}

Command forget_command() {
  Command c;
  c.name = "forget";
  c.summary = "Forget a saved registration.";
  c.about = "What it was is printed, so that it can be saved again.";
  c.arguments = {organ_argument(), {"NAME", "as 'saved' lists it"}};
  c.examples = {{"calcant forget demo/village \"quiet verse\"", "Takes it out of the book."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto gone = forget_registration(*context, *given.text("NAME"));
    if (!gone) return tl::unexpected<Error>(gone.error());
    return shown("Forgotten:\n" + line_of(*gone), json_text({*gone}));
  };
  return c;
}

}  // namespace calcant::cli
