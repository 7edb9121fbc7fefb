#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"
#include "jobs/text_file.hpp"

namespace calcant::cli {

Command book_export_command() {
  Command c;
  c.name = "book export";
  c.summary = "Write all that is in the organ's book as JSON, or as tables (CSV).";
  c.about =
      "For other programs and for ever: every measuring, fault, visit and line after a service, as it stands. It holds "
      "people's names: keep it off public sheets.";
  c.arguments = {organ_argument()};
  c.options = {{"--out", "FILE", "one JSON file", ""},
               {"--csv", "FOLDER", "a table a file in this folder, made if need be", ""}};
  c.examples = {{"calcant book export my-church --out book.json", "Everything in one file."},
                {"calcant book export my-church --csv book", "A table each, for a spreadsheet."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    if (!given.has("--out") && !given.has("--csv")) return fail("say where to: --out FILE, --csv FOLDER, or both");
    const auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    std::string text;
    Json j;
    if (given.has("--out")) {
      const std::string path = *given.text("--out");
      const auto all = book->export_json();
      if (!all) return tl::unexpected<Error>(all.error());
      if (const auto written = write_text_file(path, *all); !written) return tl::unexpected<Error>(written.error());
      text += "The book is in " + path + "\n";
      j["json"] = path;
    }
    if (given.has("--csv")) {
      const std::string folder = *given.text("--csv");
      if (const auto written = book->export_csv(folder); !written) return tl::unexpected<Error>(written.error());
      text += "The book's tables are in " + folder + "\n";
      j["csv"] = folder;
    }
    return shown(text, dump(j));
  };
  return c;
}

Command book_copy_command() {
  Command c;
  c.name = "book copy";
  c.summary = "Copy the organ's book safely, even while it is in use.";
  c.about =
      "The copy is whole or not there at all. Copying the file by other means while something is being written may not "
      "be.";
  c.arguments = {organ_argument()};
  c.options = {{"--out", "FILE", "the copy; one of that name is replaced", "", {}, true}};
  c.examples = {{"calcant book copy my-church --out /media/stick/organ.book", "A copy to take away."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    const std::string path = *given.text("--out");
    if (const auto copied = book->copy_to(path); !copied) return tl::unexpected<Error>(copied.error());
    return shown("The book was copied to " + path + "\n", dump(Json{{"copy", path}}));
  };
  return c;
}

Command visit_command() {
  Command c;
  c.name = "visit";
  c.summary = "Write a tuner's visit in the book, and close what was mended.";
  c.about =
      "From that day on, what was measured before says nothing any more of tuning, dead notes or speech (a pipe's "
      "state); its "
      "level and spectrum (its character) stay until it is measured again. --stop limits the visit to one stop; "
      "otherwise it "
      "was to the whole organ. Faults are closed only by their numbers.";
  c.arguments = {organ_argument(), {"WORK", "what was done: \"tuned; new motor to Pedal F#2\""}};
  c.options = {{"--stop", "STOP", "only this stop was seen to", ""},
               {"--close", "NUMBER", "a fault that is mended; may be given several times", "", {}, false, true},
               {"--who", "WORDS", "stays in the book", ""},
               {"--temperature", "CELSIUS", "at the pipes", ""},
               {"--on", "DATE", "the day; otherwise today", ""}};
  c.examples = {{"calcant visit my-church \"tuned throughout\" --close 3 --close 4 --temperature 15C --on 2026-05-11",
                 "The spring tuning; faults 3 and 4 are mended."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    VisitRequest request;
    request.visit.work = *given.text("WORK");
    request.visit.who = given.text_or("--who", "");
    request.visit.date = given.text_or("--on", today());
    if (const auto date = parse_date(request.visit.date); !date) return fail(date.error().message, "--on");
    const auto celsius = given.number("--temperature", -20, 50, "C");
    if (!celsius) return tl::unexpected<Error>(celsius.error());
    if (*celsius) request.visit.temperature = Celsius{**celsius};
    request.stop = given.text_or("--stop", "");
    for (const std::string& word : given.all("--close")) {
      Given one;
      one.put("--close", {word}, true);
      const auto number = one.whole("--close", 1, 1'000'000'000);
      if (!number) return tl::unexpected<Error>(number.error());
      request.closes.push_back(**number);
    }
    const auto id = write_visit(*context, request);
    if (!id) return tl::unexpected<Error>(id.error());
    return shown(fmt::format("Written in the book: the visit of {}; {} {} closed.\n", request.visit.date,
                             request.closes.size(), request.closes.size() == 1 ? "fault" : "faults"),
                 dump(Json{{"visit", *id}, {"closed", request.closes}}));
  };
  return c;
}

}  // namespace calcant::cli
