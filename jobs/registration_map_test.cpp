#include "jobs/registration_map.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "jobs/json.hpp"
#include "jobs/registrant.hpp"

namespace calcant {
namespace {

std::shared_ptr<const OrganContext> opened(const std::string& folder) {
  auto context = open_organ(folder);
  EXPECT_TRUE(context) << context.error().message;
  return std::make_shared<const OrganContext>(std::move(*context));
}

// Every state is somewhere, and what stands for a cell, heard in full, lies where the cell is: the screen is right to 2 %
// in loudness (engine/registration/map.hpp), a third of a phon, and to 0.04 acum here (a warning band of our own).
TEST(RegistrationMap, HoldsEveryStateOnceAndItsExamplesAreWhereTheySay) {
  const auto context = opened("demo/chapel");
  Registrant registrant{context};
  EXPECT_FALSE(registrant.map_at_once(""));
  const auto map = registrant.map("", {});
  ASSERT_TRUE(map) << map.error().message;
  EXPECT_TRUE(registrant.map_at_once(""));
  const Listening listening{context->organ, context->condition};
  auto chooser = Chooser::prepare(listening, map->on, {}, {}, {});
  ASSERT_TRUE(chooser);
  double counted = 0;
  double allowed = 0;
  for (const MapCell& c : map->cells) {
    counted += c.states;
    allowed += c.allowed;
    EXPECT_LE(c.allowed, c.states);
    EXPECT_LE(std::abs(c.drawn_phons - c.phons), map->phon_step / 2 + 1e-3);
    EXPECT_LE(std::abs(c.drawn_acums - c.acums), map->acum_step / 2 + 1e-3);
    const HeardOn& heard = chooser->ear().hear(c.drawn);
    EXPECT_NEAR(heard.phons, c.drawn_phons, 0.35);
    EXPECT_NEAR(heard.acums, c.drawn_acums, 0.04);
  }
  EXPECT_EQ(counted, map->states);
  EXPECT_EQ(counted, static_cast<double>(chooser->map()->size()));
  EXPECT_GT(allowed, 0);
  EXPECT_LE(map->cells.size(), static_cast<std::size_t>(map_columns * map_rows));
  const Json j = Json::parse(json_text(*context, *map));
  EXPECT_EQ(j["cells"].size(), map->cells.size());
  EXPECT_FALSE(j["cells"][0]["draw"].empty());
}

TEST(RegistrationMap, RefusesAManualThatIsNotThereAndStops) {
  Registrant registrant{opened("demo/chapel")};
  const auto none = registrant.map("Solo", {});
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().message.find("no manual is called"), std::string::npos);
  EXPECT_TRUE(registrant.map_at_once("Solo"));
  ASSERT_TRUE(registrant.map("", {}));
  std::stop_source stop;
  stop.request_stop();
  EXPECT_FALSE(registrant.map("", Work{1, stop.get_token()}));
}

}  // namespace
}  // namespace calcant
