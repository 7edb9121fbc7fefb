// The demo's own hymn board is read without a fault, and its scores are there.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "files/service/service.hpp"

namespace calcant {
namespace {

TEST(Service, TheDemoSundayIsRead) {
  std::ifstream in("demo/village/sunday.toml");
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  const auto s = read_service(text, "sunday.toml");
  ASSERT_TRUE(s) << sentence(s.error());
  int hymns = 0;
  for (const ServiceItem& i : s->items) {
    hymns += i.kind == ServiceItem::Kind::hymn;
    EXPECT_TRUE(i.words.empty() || static_cast<int>(i.words.size()) == i.verses) << i.title;
    if (i.score.empty()) continue;
    EXPECT_TRUE(std::filesystem::exists("demo/village/" + i.score)) << i.score;
  }
  EXPECT_EQ(hymns, 4);
  EXPECT_EQ(s->items.size(), 7U);  // a voluntary on either side, four hymns and a psalm
}

}  // namespace
}  // namespace calcant
