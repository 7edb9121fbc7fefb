#include "jobs/after.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "jobs/faults.hpp"

namespace calcant::cli {
namespace {

std::string text_of(const std::vector<AfterService>& lines) {
  std::string out;
  for (const AfterService& a : lines) {
    out += fmt::format("{}  {}: {}{}{}\n", a.date, a.item, a.verdict, a.words.empty() ? "" : "; ", a.words);
  }
  return out;
}

}  // namespace

Command after_command() {
  Command c;
  c.name = "after";
  c.summary = "After a service: say in one line how an item was.";
  c.about =
      "The line says the item as it stands on the cue sheet (number or title, and a verse if only one is meant), a "
      "colon, "
      "and one of: too thin, right, too strong, a fault; anything more may follow. It is kept in the organ's book, and "
      "the next plan of that item is 1.5 phon louder for each 'too thin' and softer for each 'too strong', and says "
      "so. Said again of the same item and day, it takes the place of what was said before.";
  c.arguments = {organ_argument(), {"LINE", "\"St Anne v3: too thin\""}};
  c.options = {{"--on", "DATE", "the day of the service; otherwise today", ""}};
  c.examples = {
      {"calcant after demo/village \"St Anne v3: too thin\"", "Verse 3 is planned a shade louder next time."},
      {"calcant after demo/village \"316: right\" --on 2026-11-22", "The registration is marked as heard here."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    auto line = parse_after(*given.text("LINE"));
    if (!line) return tl::unexpected<Error>(line.error());
    line->date = given.text_or("--on", today());
    const auto found = looked_up(context->folder, *line);
    if (!found) return tl::unexpected<Error>(found.error());
    auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    if (const auto said = book->say_after(*line); !said) return tl::unexpected<Error>(said.error());
    const auto all = book->after_services();
    if (!all) return tl::unexpected<Error>(all.error());
    for (const AfterService& a : *all) {
      if (a.date == line->date && a.item == line->item) line->id = a.id;
    }
    std::string text = "Written in the book:\n" + text_of({*line});
    if (!found->empty()) text += *found + "\n";
    if (line->verdict == word(Verdict::fault))
      text += "A fault is allowed for once the book says which stop and note: calcant fault ORGAN \"Oboe C4 late\".\n";
    return shown(text, after_json(*context, {*line}));
  };
  return c;
}

Command after_list_command() {
  Command c;
  c.name = "after list";
  c.summary = "List what was said after services.";
  c.about = "Everything that 'after' has written in the organ's book, oldest first.";
  c.arguments = {organ_argument()};
  c.examples = {{"calcant after list demo/village", "Everything said so far."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto lines = after_services(*context);
    if (!lines) return tl::unexpected<Error>(lines.error());
    return shown(lines->empty() ? "Nothing was said yet.\n" : text_of(*lines), after_json(*context, *lines));
  };
  return c;
}

}  // namespace calcant::cli
