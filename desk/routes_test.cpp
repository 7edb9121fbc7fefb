#include "desk/routes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <fstream>
#include <set>

namespace calcant::desk {
namespace {

// The operations of the contract, by the layout of the file: a path at two blanks, a method at four.
std::set<std::string> contract() {
  std::set<std::string> out;
  std::ifstream in{"desk/openapi.yaml"};
  std::string line;
  std::string path;
  while (std::getline(in, line)) {
    if (line.starts_with("  /api/") && line.ends_with(':')) path = line.substr(2, line.size() - 3);
    for (const char* method : {"get", "post", "put", "delete"}) {
      if (line == std::string{"    "} + method + ":") out.insert(method + (" " + path));
    }
  }
  return out;
}

TEST(Routes, AreThoseOfTheContract) {
  std::set<std::string> ours;
  const Routes routes;
  for (const Route& r : routes.all()) {
    std::string method{r.method};
    for (char& c : method) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    EXPECT_TRUE(ours.insert(method + " " + std::string{r.path}).second) << r.path << " stands twice";
  }
  EXPECT_GT(ours.size(), 50U);
  EXPECT_EQ(ours, contract());
}

TEST(Routes, AreFoundByMethodAndPath) {
  const Routes routes;
  const auto found = routes.find("POST", {"api", "faults", "12", "close"});
  ASSERT_NE(found.route, nullptr);
  EXPECT_EQ(found.parts, std::vector<std::string>{"12"});
  // A word of the address comes before what stands for a name.
  EXPECT_EQ(routes.find("GET", {"api", "organ", "file"}).route->path, "/api/organ/file");
  EXPECT_EQ(routes.find("HEAD", {"api", "organ"}).route->method, "GET");
  EXPECT_EQ(routes.find("DELETE", {"api", "organ"}).route, nullptr);
  EXPECT_TRUE(routes.find("DELETE", {"api", "organ"}).other_method);
  EXPECT_FALSE(routes.find("GET", {"api", "nothing"}).other_method);
  EXPECT_EQ(routes.find("GET", {"api"}).route, nullptr);
}

// RFC 9110, section 14: what a player of sound asks for.
class SoundAnswer : public testing::Test {
 protected:
  SoundAnswer() { std::ofstream{path_} << std::string(1000, 'x'); }
  ~SoundAnswer() override { std::filesystem::remove(path_); }
  [[nodiscard]] Response ask(const std::string& range) const {
    Head head{"GET", "/", {}};
    if (!range.empty()) head.headers["range"] = range;
    return sound_answer(path_, head).value();
  }
  std::filesystem::path path_ =
      std::filesystem::temp_directory_path() / ("calcant-sound-" + std::to_string(getpid()) + ".flac");
};

TEST_F(SoundAnswer, OnePartOrTheWhole) {
  struct Case {
    const char* range;
    int status;
    std::uint64_t from;
    std::uint64_t length;
  };
  const std::vector<Case> cases{Case{"", 200, 0, 1000}, Case{"bytes=0-", 206, 0, 1000}, Case{"bytes=0-0", 206, 0, 1},
                                Case{"bytes=100-199", 206, 100, 100}, Case{"bytes=900-5000", 206, 900, 100},
                                Case{"bytes=-10", 206, 990, 10}, Case{"bytes=-5000", 206, 0, 1000},
                                // What is not understood is passed over (section 14.2).
                                Case{"bytes=5-2", 200, 0, 1000}, Case{"bytes=a-b", 200, 0, 1000},
                                Case{"bytes=", 200, 0, 1000}, Case{"bytes=-", 200, 0, 1000},
                                Case{"bytes=0-1,5-6", 200, 0, 1000}, Case{"lines=0-1", 200, 0, 1000},
                                Case{"bytes=99999999999999999999-", 200, 0, 1000}};
  for (const Case& c : cases) {
    const Response r = ask(c.range);
    EXPECT_EQ(r.status, c.status) << c.range;
    ASSERT_TRUE(r.file) << c.range;
    EXPECT_EQ(r.file->from, c.from) << c.range;
    EXPECT_EQ(r.file->length, c.length) << c.range;
  }
  for (const char* beyond : {"bytes=1000-", "bytes=1000-2000", "bytes=-0"})
    EXPECT_EQ(ask(beyond).status, 416) << beyond;
}

TEST_F(SoundAnswer, WhatIsGoneIsSaidToBe) {
  EXPECT_EQ(sound_answer("/nowhere/x.flac", Head{"GET", "/", {}}).error().status, 404);
}

TEST(Answers, SayWhatTheyAre) {
  Why why_not;
  why_not.status = 409;
  why_not.error = {"No.", "here"};
  why_not.faults.push_back({"organ.toml", 3, 4, "text", 3, "Wrong."});
  const Response no = refusal_answer(why_not);
  EXPECT_EQ(no.status, 409);
  EXPECT_THAT(no.body, testing::HasSubstr("\"line\": 3"));
  const auto unexpected = why(422, Error{"x", "--draw"});
  EXPECT_EQ(unexpected.value().error.where, "draw");
  EXPECT_EQ(started("t-1").status, 202);
}

}  // namespace
}  // namespace calcant::desk
