// The program without its process: what is parsed, hinted, helped and told.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "cli/commands.hpp"
#include "cli/parse.hpp"
#include "cli/program.hpp"

namespace calcant::cli {
namespace {

using testing::HasSubstr;

Command sample() {
  Command c;
  c.name = "weigh";
  c.summary = "Weigh something.";
  c.about = "Weighs it.";
  c.arguments = {{"ORGAN", "an organ"}, {"MORE", "another", true}};
  c.options = {{"--draw", "REGISTRATION", "what is drawn", "", {}, true},
               {"--at", "PLACE", "where", "nave", {"nave", "bench"}},
               {"--celsius", "DEGREES", "how warm", ""},
               {"--verses", "N", "how many", ""},
               {"--take", "FILE", "a recording", "", {}, false, true},
               {"--loud", "", "loudly", ""}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    if (given.has("--loud")) return fail("Not so loud.", "--loud");
    return Shown{"weighed " + *given.text("ORGAN"), "{\"weighed\":true}"};
  };
  return c;
}

struct Ran {
  int code;
  std::string out;
  std::string err;
};
Ran ran(const std::vector<std::string>& words) {
  std::istringstream in;
  std::ostringstream out;
  std::ostringstream err;
  Console console{in, out, err, false, {}};
  Command two_words = sample();
  two_words.name = "measure compare";
  const int code = run_program({{"Group", {sample(), two_words}}}, words, console);
  return {code, out.str(), err.str()};
}

TEST(Parse, TakesArgumentsAndOptionsInAnyOrder) {
  const auto g = parse(sample(), {"--draw", "Oboe 8, Swell to Great", "church", "--at=bench", "--celsius", "-3.5 C"});
  ASSERT_TRUE(g) << g.error().message;
  EXPECT_EQ(g->text("ORGAN"), "church");
  EXPECT_EQ(g->text("--draw"), "Oboe 8, Swell to Great");
  EXPECT_EQ(g->text("--at"), "bench");
  EXPECT_TRUE(g->typed("--at"));
  EXPECT_EQ(g->number("--celsius", -20, 50, "C").value(), -3.5);
  EXPECT_FALSE(g->has("MORE"));
}

TEST(Parse, FillsInWhatHoldsOtherwise) {
  const auto g = parse(sample(), {"church", "--draw", ""});
  ASSERT_TRUE(g) << g.error().message;
  EXPECT_EQ(g->text("--at"), "nave");
  EXPECT_FALSE(g->typed("--at"));
  EXPECT_EQ(g->text("--draw"), "");
}

TEST(Parse, SeveralWhereSeveralAreAllowed) {
  const auto g = parse(sample(), {"church", "--draw", "x", "--take", "a.wav", "--take", "b.wav"});
  ASSERT_TRUE(g) << g.error().message;
  EXPECT_EQ(g->all("--take"), (std::vector<std::string>{"a.wav", "b.wav"}));
  const auto twice = parse(sample(), {"church", "--draw", "x", "--draw", "y"});
  ASSERT_FALSE(twice);
  EXPECT_EQ(twice.error().where, "--draw");
}

TEST(Parse, SaysWhatIsWrongAndWhatWasMeant) {
  EXPECT_THAT(parse(sample(), {"church", "--drew", "x"}).error().message, HasSubstr("Did you mean '--draw'?"));
  EXPECT_THAT(parse(sample(), {"church", "--draw", "x", "--at", "beach"}).error().message,
              HasSubstr("Did you mean 'bench'?"));
  EXPECT_THAT(parse(sample(), {"church"}).error().message, HasSubstr("--draw is missing"));
  EXPECT_THAT(parse(sample(), {"--draw", "x"}).error().message, HasSubstr("ORGAN is missing"));
  EXPECT_THAT(parse(sample(), {"church", "--draw"}).error().message, HasSubstr("needs a value"));
  EXPECT_THAT(parse(sample(), {"a", "b", "c", "--draw", "x"}).error().message, HasSubstr("'c' is one word too many"));
}

TEST(Given, NumbersKeepTheirBounds) {
  const auto g = parse(sample(), {"church", "--draw", "x", "--verses", "four", "--celsius", "99C"});
  ASSERT_TRUE(g);
  EXPECT_EQ(g->whole("--verses", 1, 20).error().where, "--verses");
  EXPECT_THAT(g->number("--celsius", -20, 50, "C").error().message, HasSubstr("from -20 to 50"));
  EXPECT_EQ(g->number("--absent", 0, 1).value(), std::nullopt);
}

TEST(Program, ExitCodesAndStreams) {
  const auto fine = ran({"weigh", "church", "--draw", "x"});
  EXPECT_EQ(fine.code, done);
  EXPECT_EQ(fine.out, "weighed church\n");
  EXPECT_EQ(fine.err, "");
  EXPECT_EQ(ran({"weigh", "church", "--draw", "x", "--json"}).out, "{\"weighed\":true}\n");

  const auto refused = ran({"weigh", "church", "--draw", "x", "--loud"});
  EXPECT_EQ(refused.code, cannot);
  EXPECT_EQ(refused.out, "");
  EXPECT_EQ(refused.err, "calcant: --loud: Not so loud.\n");
  EXPECT_EQ(ran({"weigh"}).code, not_understood);
}

TEST(Program, ErrorsAreJsonWhereJsonIsAsked) {
  const auto refused = ran({"weigh", "church", "--draw", "x", "--loud", "--json"});
  EXPECT_EQ(refused.code, cannot);
  EXPECT_THAT(refused.out, HasSubstr("\"message\": \"Not so loud.\""));
  EXPECT_THAT(refused.out, HasSubstr("\"where\": \"--loud\""));
  EXPECT_THAT(ran({"wiegh", "--json"}).out, HasSubstr("Did you mean 'weigh'?"));
}

TEST(Program, HelpInEveryPlace) {
  EXPECT_THAT(ran({"--help"}).out, HasSubstr("Weigh something."));
  EXPECT_THAT(ran({"help"}).out, HasSubstr("Weigh something."));
  EXPECT_THAT(ran({"help", "weigh"}).out, HasSubstr("--draw REGISTRATION"));
  EXPECT_THAT(ran({"weigh", "--help"}).out, HasSubstr("--draw REGISTRATION"));
  EXPECT_THAT(ran({"measure", "compare", "--help"}).out, HasSubstr("calcant measure compare"));
  EXPECT_THAT(ran({"measure"}).err, HasSubstr("'measure compare'"));
  EXPECT_EQ(ran({}).code, not_understood);
}

// Whatever command is added: a summary of one line, something to read, an example that begins as it is typed.
TEST(Commands, AreAllDescribed) {
  for (const auto& group : all_commands()) {
    for (const auto& c : group.commands) {
      EXPECT_THAT(c.summary, testing::EndsWith(".")) << c.name;
      EXPECT_GT(c.about.size(), 40U) << c.name;
      EXPECT_FALSE(c.examples.empty()) << c.name;
      for (const auto& e : c.examples) EXPECT_THAT(e.line, HasSubstr("calcant " + c.name)) << c.name;
      for (const auto& o : c.options) EXPECT_THAT(o.name, testing::StartsWith("--")) << c.name;
      EXPECT_TRUE(c.run) << c.name;
    }
  }
}

}  // namespace
}  // namespace calcant::cli
