#include "cli/program.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <exception>

#include "cli/parse.hpp"
#include "engine/quantity/nearest.hpp"
#include "jobs/json.hpp"

namespace calcant::cli {
namespace {

int tell(const Error& error, ExitCode code, bool json, Console& console) {
  if (json) console.out << error_json(error) << '\n' << std::flush;
  console.err << "calcant: " << sentence(error) << '\n' << std::flush;
  return code;
}

// The command whose name is the longest run of words at the beginning; `used` is how many words that is.
const Command* find(const std::vector<Group>& groups, const std::vector<std::string>& words, std::size_t& used) {
  for (used = std::min<std::size_t>(2, words.size()); used > 0; --used) {
    const std::string name = used == 2 ? words[0] + " " + words[1] : words[0];
    for (const auto& g : groups) {
      for (const auto& c : g.commands) {
        if (c.name == name) return &c;
      }
    }
  }
  return nullptr;
}

Error unknown_command(const std::vector<Group>& groups, const std::vector<std::string>& words) {
  std::vector<std::string> known;
  std::vector<std::string> below;
  for (const auto& g : groups) {
    for (const auto& c : g.commands) {
      known.push_back(c.name);
      if (c.name.starts_with(words.front() + " ")) below.push_back("'" + c.name + "'");
    }
  }
  if (!below.empty()) {
    return {fmt::format("'{}' needs a second word: {}.", words.front(), fmt::join(below, ", ")), ""};
  }
  const auto meant = nearest(words.front(), known);
  return {fmt::format("There is no command '{}'. {}'calcant --help' lists them.", words.front(),
                      meant.empty() ? "" : fmt::format("Did you mean '{}'? ", meant)),
          ""};
}

}  // namespace

int run_program(const std::vector<Group>& groups, const std::vector<std::string>& all_words, Console& console) {
  const bool json = std::find(all_words.begin(), all_words.end(), "--json") != all_words.end();
  try {
    std::vector<std::string> words = all_words;
    bool help_wanted = false;
    if (!words.empty() && words.front() == "help") {
      words.erase(words.begin());
      help_wanted = true;
    }
    if (words.empty() || words.front() == "--help" || words.front() == "-h") {
      (words.empty() && !help_wanted ? console.err : console.out) << help(groups) << std::flush;
      return words.empty() && !help_wanted ? not_understood : done;
    }
    if (words.front() == "--version") {
      console.out << "calcant " << CALCANT_VERSION << '\n' << std::flush;
      return done;
    }
    std::size_t used = 0;
    const Command* command = find(groups, words, used);
    if (command == nullptr) return tell(unknown_command(groups, words), not_understood, json, console);
    words.erase(words.begin(), words.begin() + static_cast<std::ptrdiff_t>(used));
    if (help_wanted) words = {"--help"};

    const auto given = parse(*command, words);
    if (!given) return tell(given.error(), not_understood, json, console);
    if (given->has("--help")) {
      console.out << help(*command) << std::flush;
      return done;
    }
    const auto shown = command->run(*given, console);
    if (!shown) {
      return tell(shown.error(), console.work.stop.stop_requested() ? stopped : cannot, json, console);
    }
    const std::string& answer = given->has("--json") ? shown->json : shown->text;
    console.out << answer;
    if (!answer.empty() && answer.back() != '\n') console.out << '\n';
    console.out << std::flush;
    if (!console.out) return tell({"The answer could not be written to standard output.", ""}, cannot, false, console);
    return done;
  } catch (const std::exception& fault) {
    return tell({fmt::format("A fault in Calcant itself, not in your files: {}. Please report it with the command "
                             "you gave.",
                             fault.what()),
                 ""},
                own_fault, json, console);
  }
}

}  // namespace calcant::cli
