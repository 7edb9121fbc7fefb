#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "jobs/fault_line.hpp"
#include "jobs/faults.hpp"
#include "jobs/text_file.hpp"
#include "jobs/tuners_page.hpp"

namespace calcant::cli {
namespace {

std::string line_of(const Organ& organ, const BookFault& f) {
  std::string out = fmt::format("{:>4}  {}  {}", f.id, f.reported, fault_text(organ, f));
  if (!f.when.empty()) out += " (" + f.when + ")";
  if (f.temperature) out += fmt::format(", {:.0f} °C", f.temperature->value());
  if (!f.closed.empty()) out += fmt::format("; closed {}{}", f.closed, f.remedy.empty() ? "" : ": " + f.remedy);
  return out + "\n";
}

std::string faults_text(const Organ& organ, const std::vector<BookFault>& faults) {
  std::string out = organ.name + "\n" + invented_line(organ);
  if (faults.empty()) return out + "Nothing is open in the book.\n";
  for (const BookFault& f : faults) out += line_of(organ, f);
  return out;
}

}  // namespace

Command fault_command() {
  Command c;
  c.name = "fault";
  c.summary = "Write a fault in the organ's book, in one line.";
  c.about =
      "The line says division and stop, the note (or none, for the whole stop), and what was heard: dead, ciphers, "
      "late, "
      "slow, flat, off speech, weak, unsteady, running, out of use. Plans and previews allow for it from then on; "
      "'fault close' ends it when the tuner has been.";
  c.arguments = {organ_argument(), {"LINE", "\"Pedal Bourdon F#2 dead\""}};
  c.options = {{"--when", "WORDS", "when it happens: cold, now and then, after ten minutes", ""},
               {"--on", "DATE", "the day it was heard; otherwise today", ""},
               {"--temperature", "CELSIUS", "at the pipes when it was heard", ""}};
  c.examples = {{"calcant fault demo/village \"Pedal Bourdon F#2 dead\" --when cold", "A dead note, on cold days."},
                {"calcant fault demo/village \"Oboe out of use\"", "Leaves the stop out of every plan."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    auto fault = parse_fault(context->described, *given.text("LINE"));
    if (!fault) return tl::unexpected<Error>(fault.error());
    fault->when = given.text_or("--when", fault->when);
    fault->reported = given.text_or("--on", today());
    const auto celsius = given.number("--temperature", -20, 50, "C");
    if (!celsius) return tl::unexpected<Error>(celsius.error());
    if (*celsius) fault->temperature = Celsius{**celsius};
    auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    const auto id = book->add(*fault);
    if (!id) return tl::unexpected<Error>(id.error());
    fault->id = *id;
    return shown("Written in the book:\n" + line_of(context->described, *fault), faults_json(*context, {*fault}));
  };
  return c;
}

Command fault_list_command() {
  Command c;
  c.name = "fault list";
  c.summary = "List the open faults, or all there ever were.";
  c.about = "Without --all, what is open today, or was on the day of --on.";
  c.arguments = {organ_argument()};
  c.options = {{"--all", "", "closed ones too, with what was done", ""},
               {"--on", "DATE", "as the book stood on that day", ""}};
  c.examples = {{"calcant fault list demo/village --json", "The open faults, for a program."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    const auto faults = given.has("--all") ? book->faults() : book->faults_open(given.text_or("--on", ""));
    if (!faults) return tl::unexpected<Error>(faults.error());
    return shown(faults_text(context->described, *faults), faults_json(*context, *faults));
  };
  return c;
}

Command fault_close_command() {
  Command c;
  c.name = "fault close";
  c.summary = "Close a fault: what was found and done.";
  c.about = "The fault stays in the book with its history; plans no longer allow for it from that day on.";
  c.arguments = {organ_argument(), {"NUMBER", "of the fault, as 'fault list' shows it"}};
  c.options = {{"--done", "WORDS", "what was found and done", ""}, {"--on", "DATE", "the day; otherwise today", ""}};
  c.examples = {{"calcant fault close demo/village 3 --done \"motor re-leathered\"", "Closes fault 3."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto number = given.whole("NUMBER", 1, 1'000'000'000);
    if (!number) return tl::unexpected<Error>(number.error());
    auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    const auto closed = book->close_fault(**number, given.text_or("--on", today()), given.text_or("--done", ""));
    if (!closed) return tl::unexpected<Error>(closed.error());
    const auto faults = book->faults_open("");
    if (!faults) return tl::unexpected<Error>(faults.error());
    return shown(fmt::format("Closed fault {}.\n", **number) + faults_text(context->described, *faults),
                 faults_json(*context, *faults));
  };
  return c;
}

Command tuner_list_command() {
  Command c;
  c.name = "tuner-list";
  c.summary = "Make the page the tuner is sent: what was heard, stop by stop.";
  c.about =
      "One printable page in the tuner's order, with room for found, done and leave: the open faults, and what the "
      "newest measuring of each stop found since it was last seen to. Symptoms, not verdicts; nothing is sent by "
      "itself. Out-of-tune notes heard in the cold are left out and counted.";
  c.arguments = {organ_argument()};
  c.options = {{"--out", "FILE", "the page, as HTML to print", "", {}, true},
               {"--on", "DATE", "as the book stood on that day; otherwise today", ""}};
  c.examples = {{"calcant tuner-list demo/village --out tuner.html", "The page for the next visit."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    auto book = open_book(*context);
    if (!book) return tl::unexpected<Error>(book.error());
    const std::string date = given.text_or("--on", today());
    const auto page = tuners_page(*context, *book, date);
    if (!page) return tl::unexpected<Error>(page.error());
    const std::string out = *given.text("--out");
    const auto written = write_text_file(out, page->html);
    if (!written) return tl::unexpected<Error>(written.error());
    const std::size_t faults = page->faults.size();
    return shown(
        fmt::format("{} {} of the book and {} {} that measurings found, on the page {}\n", faults,
                    faults == 1 ? "fault" : "faults", page->measured, page->measured == 1 ? "note" : "notes", out),
        json_text(*context, *page));
  };
  return c;
}

}  // namespace calcant::cli
