// The only file that knows CLI11 (a heavy header). It cuts the words; what they may be is judged here from the
// command's own description, so that every sentence is ours.
#include "cli/parse.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>

#include "engine/quantity/nearest.hpp"

namespace calcant::cli {
namespace {

std::string hint_help(const Command& command) {
  return fmt::format("'calcant {} --help' shows what it takes.", command.name);
}

Error unknown_word(const Command& command, const std::string& word, const std::vector<Option>& options) {
  if (!word.starts_with('-')) {
    return {fmt::format("'{}' is one word too many; a name with blanks needs quotes. {}", word, hint_help(command)),
            command.name};
  }
  std::vector<std::string> known;
  for (const auto& o : options) known.push_back(o.name);
  const auto meant = nearest(word.substr(0, word.find('=')), known);
  return {fmt::format("There is no option '{}'. {}{}", word,
                      meant.empty() ? "" : fmt::format("Did you mean '{}'? ", meant), hint_help(command)),
          command.name};
}

}  // namespace

Result<Given> parse(const Command& command, const std::vector<std::string>& words) {
  std::vector<Option> options = command.options;
  options.push_back({"--help", "", "show this"});
  if (command.reports) options.push_back({"--json", "", "answer in JSON"});

  CLI::App app;
  app.set_help_flag();
  app.allow_extras();
  std::vector<std::vector<std::string>> values(options.size());
  std::vector<std::string> arguments(command.arguments.size());
  for (std::size_t i = 0; i < options.size(); ++i) {
    if (options[i].value.empty()) {
      app.add_flag(options[i].name);
    } else {
      app.add_option(options[i].name, values[i])
          ->expected(1)
          ->allow_extra_args(false)  // one value each; what follows is an argument
          ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
    }
  }
  for (std::size_t i = 0; i < arguments.size(); ++i) app.add_option(command.arguments[i].name, arguments[i]);

  std::vector<std::string> backwards(words.rbegin(), words.rend());
  try {
    app.parse(backwards);
  } catch (const CLI::ParseError&) {
    // The one thing CLI11 can still object to, everything else being allowed above: an option without its value.
    for (const auto& o : options) {
      if (!o.value.empty() && !words.empty() && words.back() == o.name) {
        return fail(fmt::format("needs a value: {} {}. {}", o.name, o.value, hint_help(command)), o.name);
      }
    }
    return fail(fmt::format("These words were not understood. {}", hint_help(command)), command.name);
  }

  Given given;
  if (app.count("--help") > 0) {
    given.put("--help", {}, true);
    return given;
  }
  if (const auto extras = app.remaining(); !extras.empty()) {
    return tl::unexpected<Error>(unknown_word(command, extras.front(), options));
  }
  for (std::size_t i = 0; i < command.arguments.size(); ++i) {
    const auto& a = command.arguments[i];
    if (app.count(a.name) > 0) {
      given.put(a.name, {arguments[i]}, true);
    } else if (!a.optional) {
      return fail(fmt::format("{} is missing: {}. {}", a.name, a.help, hint_help(command)), command.name);
    }
  }
  for (std::size_t i = 0; i < options.size(); ++i) {
    const auto& o = options[i];
    if (o.value.empty()) {
      if (app.count(o.name) > 0) given.put(o.name, {}, true);
      continue;
    }
    if (values[i].empty()) {
      if (o.required)
        return fail(fmt::format("{} is missing: {}. {}", o.name, o.help, hint_help(command)), command.name);
      if (!o.otherwise.empty()) given.put(o.name, {o.otherwise}, false);
      continue;
    }
    if (values[i].size() > 1 && !o.many) return fail("was given twice; once is enough.", o.name);
    for (const auto& v : values[i]) {
      if (o.choices.empty() || std::find(o.choices.begin(), o.choices.end(), v) != o.choices.end()) continue;
      const auto meant = nearest(v, o.choices);
      return fail(fmt::format("takes {}, not '{}'.{}", fmt::join(o.choices, ", "), v,
                              meant.empty() ? "" : fmt::format(" Did you mean '{}'?", meant)),
                  o.name);
    }
    given.put(o.name, values[i], true);
  }
  return given;
}

}  // namespace calcant::cli
