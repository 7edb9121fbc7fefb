// What people are shown of a registration: percentages only where a level was measured or given.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "cli/commands.hpp"

namespace calcant::cli {
namespace {

using testing::HasSubstr;
using testing::Not;

class WeighShown : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("calcant-weigh-" + std::to_string(getpid()));
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
    std::filesystem::copy_file("demo/chapel/organ.toml", folder_ / "organ.toml");
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  Shown weigh(const std::string& draw, const std::string& keys, const std::string& people = "empty") const {
    Given given;
    given.put("ORGAN", {folder_.string()}, true);
    given.put("--draw", {draw}, true);
    given.put("--keys", {keys}, true);
    given.put("--draws", {"20"}, true);
    given.put("--people", {people}, true);
    std::istringstream in;
    std::ostringstream out;
    Console console{in, out, out};
    const auto shown = weigh_command().run(given, console);
    EXPECT_TRUE(shown) << (shown ? "" : sentence(shown.error()));
    return shown.value_or(Shown{});
  }

  std::filesystem::path folder_;
};

TEST_F(WeighShown, NothingMeasuredIsOrderAndKind) {
  const Shown s = weigh("Open Diapason 8, Dulciana 8", "Manual:C4,E4,G4");
  EXPECT_THAT(s.text, Not(HasSubstr("%")));
  EXPECT_THAT(s.text, HasSubstr("No level here was measured"));
  // By kind: principals before flutes before strings, whatever the figures say.
  const auto open = s.text.find("Open Diapason 8              principal");
  const auto dulciana = s.text.find("Dulciana 8                   string");
  ASSERT_NE(open, std::string::npos);
  ASSERT_NE(dulciana, std::string::npos);
  EXPECT_LT(open, dulciana);
  EXPECT_LT(s.text.find("Principal 4 "), s.text.find("Flute 4 "));
  const auto json = nlohmann::json::parse(s.json);
  EXPECT_EQ(json["all_assumed"], true);
  EXPECT_EQ(json["people"], "empty");
  EXPECT_THAT(json["notes"].dump(), HasSubstr("order and kind"));
}

TEST_F(WeighShown, AMeasuredLevelIsAPercentage) {
  std::ofstream{folder_ / "day.toml"} << "version = 1\ndate = \"2026-11-22\"\n[[figure]]\nrank = \"mn-open-diapason\"\n"
                                         "loudness_db = { value = 1, from = \"measured\", date = \"2026-11-01\" }\n";
  const Shown s = weigh("Open Diapason 8, Dulciana 8", "Manual:C4,E4,G4");
  EXPECT_THAT(s.text, HasSubstr(" %"));
  EXPECT_THAT(s.text, Not(HasSubstr("order and kind")));
  EXPECT_EQ(nlohmann::json::parse(s.json)["all_assumed"], false);
}

// Below 80 Hz, or the Schroeder frequency of this room, single resonances decide.
TEST_F(WeighShown, TheBassIsSaidToBeUncertain) {
  EXPECT_THAT(weigh("Open Diapason 8", "Manual:C2").text, HasSubstr("single resonances"));
  EXPECT_THAT(weigh("Open Diapason 8", "Manual:C4").text, Not(HasSubstr("single resonances")));
}

TEST_F(WeighShown, PeopleTakeSomeOfItAway) {
  const auto phon = [&](const char* people) {
    return nlohmann::json::parse(weigh("Open Diapason 8", "Manual:C4,E4,G4", people).json)["phon"].get<double>();
  };
  EXPECT_GT(phon("empty"), phon("half"));
  EXPECT_GT(phon("half"), phon("full"));
}

}  // namespace
}  // namespace calcant::cli
