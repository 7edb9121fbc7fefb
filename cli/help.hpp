// Help as text, made from the commands' descriptions; never wider than 100 characters.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cli/command.hpp"

namespace calcant::cli {

// Commands under one heading in the list.
struct Group {
  std::string title;
  std::vector<Command> commands;
};

[[nodiscard]] std::string help(const Command& command);
[[nodiscard]] std::string help(const std::vector<Group>& groups);

// `text` in lines of at most `width`, each after `indent` blanks; line breaks in the text are kept.
[[nodiscard]] std::string wrapped(std::string_view text, int indent, int width = 96);
// Two columns: names on the left, what they mean on the right, wrapped.
[[nodiscard]] std::string columns(const std::vector<std::pair<std::string, std::string>>& rows, int indent = 2);

}  // namespace calcant::cli
