#include "engine/registration/rule_list.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <string>

namespace calcant {
namespace {

// A row of the table as it is written down, without its stars: of italics, and of what a registration alone tells.
std::string plain(std::string line) {
  std::erase(line, '*');
  return line;
}

TEST(RuleList, SaysWhatTheReferenceSays) {
  std::ifstream in("docs/reference/rules.md");
  std::vector<std::string> rows;
  for (std::string line; std::getline(in, line);)
    if (line.starts_with("| R")) rows.push_back(plain(line));
  const auto rules = practice_rules();
  ASSERT_EQ(rules.size(), 43U);
  ASSERT_EQ(rows.size(), rules.size());
  for (std::size_t i = 0; i < rules.size(); ++i) {
    EXPECT_EQ(rules[i].code, fmt::format("R{}", i + 1));
    EXPECT_EQ(rows[i], fmt::format("| {} | {} | {} |", rules[i].code, rules[i].sentence, rules[i].source));
  }
}

}  // namespace
}  // namespace calcant
