#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "jobs/new_organ.hpp"

namespace calcant::cli {
namespace {

Result<std::optional<bool>> yes_or_no(const Given& given, const std::string& name) {
  const auto text = given.text(name);
  if (!text) return std::optional<bool>{};
  return std::optional<bool>{*text == "yes"};
}

std::vector<std::string> listed(const std::string& text) {
  std::vector<std::string> names;
  std::size_t at = 0;
  while (at <= text.size()) {
    const std::size_t end = std::min(text.find_first_of(",;", at), text.size());
    std::string name = text.substr(at, end - at);
    while (!name.empty() && name.front() == ' ') name.erase(0, 1);
    while (!name.empty() && name.back() == ' ') name.pop_back();
    if (!name.empty() && name != "none") names.push_back(std::move(name));
    at = end + 1;
  }
  return names;
}

// What was not given as an option is asked, where there is somebody to ask; an empty answer leaves it assumed. Each
// answer becomes an option as if it had been typed, so that both ways are read alike.
void ask(Given& given, const Draft& draft, Console& console) {
  struct Question {
    const char* option;
    const char* text;
  };
  constexpr Question questions[] = {
      {"--manual-notes", "How many notes have the manuals (54, 56, 58, 61)?"},
      {"--pedal-notes", "And the pedals (30, 32)?"},
      {"--tenor-c", "Which stops begin at tenor C? Their names, or 'none'"},
      {"--couplers-carry", "Do octave couplers act through Swell to Great (yes, no)?"},
      {"--octaves-extended", "Has the chest an octave of pipes above the keys, for octave couplers (yes, no)?"},
      {"--swell-pedal", "The swell pedal: lever or balanced?"},
      {"--pitch", "Frequency of A4 in Hz?"},
      {"--room", "Volume of the church in cubic metres?"},
  };
  console.err << "Read " << draft.divisions.size()
              << " divisions. Six things a printed list leaves open; return leaves one assumed.\n";
  for (const Question& q : questions) {
    if (given.has(q.option)) continue;
    console.err << q.text << " " << std::flush;
    std::string answer;
    if (!std::getline(console.in, answer)) return;
    while (!answer.empty() && std::isspace(static_cast<unsigned char>(answer.back())) != 0) answer.pop_back();
    if (!answer.empty()) given.put(q.option, {answer}, true);
  }
}

Result<SixAnswers> answers_of(const Given& given) {
  SixAnswers a;
  const auto manual = given.whole("--manual-notes", 12, 88);
  if (!manual) return tl::unexpected<Error>(manual.error());
  a.manual_notes = *manual;
  const auto pedal = given.whole("--pedal-notes", 12, 37);
  if (!pedal) return tl::unexpected<Error>(pedal.error());
  a.pedal_notes = *pedal;
  if (given.has("--tenor-c")) a.from_tenor_c = listed(*given.text("--tenor-c"));
  for (const char* name : {"--couplers-carry", "--octaves-extended"}) {
    const auto text = given.text(name);
    if (text && *text != "yes" && *text != "no") return fail(fmt::format("takes yes or no, not '{}'.", *text), name);
  }
  a.couplers_carry = *yes_or_no(given, "--couplers-carry");
  a.octaves_extended = *yes_or_no(given, "--octaves-extended");
  if (const auto pedal_kind = given.text("--swell-pedal")) {
    if (*pedal_kind != "lever" && *pedal_kind != "balanced") return fail("takes lever or balanced.", "--swell-pedal");
    a.swell_pedal = *pedal_kind == "lever" ? SwellPedal::lever : SwellPedal::balanced;
  }
  const auto pitch = given.number("--pitch", 380, 500, "Hz");
  if (!pitch) return tl::unexpected<Error>(pitch.error());
  if (*pitch) a.pitch = Hertz{**pitch};
  const auto at = given.number("--pitch-at", 0, 40, "C");
  if (!at) return tl::unexpected<Error>(at.error());
  if (*at) a.pitch_at = Celsius{**at};
  const auto room = given.number("--room", 20, 500000);
  if (!room) return tl::unexpected<Error>(room.error());
  if (*room) a.room = CubicMetres{**room};
  return a;
}

}  // namespace

Command new_command() {
  Command c;
  c.name = "new";
  c.summary = "Make an organ folder from a pasted specification.";
  c.about =
      "Reads a specification as it is printed in a leaflet or on a concert programme (divisions as headings, one stop "
      "a line with its "
      "length), shows the lines it could not read, and writes FOLDER/organ.toml: complete and commented, with "
      "everything that was not "
      "said marked as assumed. Six things a printed list leaves open are taken as options, or asked at a terminal.";
  c.arguments = {{"FOLDER", "the new organ folder"}};
  c.options = {{"--from", "SPEC.txt", "the specification as text", "", {}, true},
               {"--manual-notes", "N", "keys of the manuals: 54, 56, 58, 61", ""},
               {"--pedal-notes", "N", "keys of the pedals: 30, 32", ""},
               {"--tenor-c", "STOPS", "stops that begin at tenor C: \"Dulciana; Swell: Salicional\", or none", ""},
               {"--couplers-carry", "YES", "do octave couplers act through Swell to Great", "", {"yes", "no"}},
               {"--octaves-extended", "YES", "has the chest an octave of pipes above the keys", "", {"yes", "no"}},
               {"--swell-pedal", "KIND", "how the box is moved", "", {"lever", "balanced"}},
               {"--pitch", "HERTZ", "frequency of A4", ""},
               {"--pitch-at", "CELSIUS", "the temperature at which it has that pitch", ""},
               {"--room", "CUBIC METRES", "volume of the church", ""},
               {"--invented", "", "no such organ exists: say so on every page"}};
  c.examples = {
      {"calcant new mychurch --from leaflet.txt", "Asks what the leaflet leaves open, and writes mychurch/organ.toml."},
      {"calcant new mychurch --from leaflet.txt --manual-notes 56 --pedal-notes 30 --tenor-c none --swell-pedal lever",
       "The same without questions."}};
  c.run = [](const Given& typed, Console& console) -> Result<Shown> {
    const auto draft = read_specification_file(*typed.text("--from"));
    if (!draft) return tl::unexpected<Error>(draft.error());
    Given given = typed;
    if (console.can_ask && !given.has("--json")) ask(given, *draft, console);
    const auto answers = answers_of(given);
    if (!answers) return tl::unexpected<Error>(answers.error());
    const auto made = new_organ(*given.text("FOLDER"), *draft, *answers, given.has("--invented"));
    if (!made) return tl::unexpected<Error>(made.error());
    std::string text = print_specification(made->organ);
    if (!made->unread.empty()) {
      text += "\nLines that could not be read, and were passed over:\n";
      for (const UnreadLine& u : made->unread) text += fmt::format("  {:>4}  {}\n", u.line, u.text);
    }
    if (!made->notes.empty()) text += "\nNot said, and assumed:\n";
    for (const std::string& n : made->notes) text += wrapped("- " + n, 0);
    text += fmt::format(
        "\nWritten: {}\nLook it through and mend what is assumed; it is yours, and no program rewrites it.\n",
        made->file.string());
    return shown(std::move(text), json_text(*made));
  };
  return c;
}

}  // namespace calcant::cli
