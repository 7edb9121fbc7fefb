// The screen the map is built with, on the demo organs themselves: chords of 1 to 10 keys with couplers, against the full
// model at 0.1 Cam (which is checked against ISO 532-2). registration_bench does the same on 10,000 states of each.
#include <gtest/gtest.h>

#include "engine/registration/screen_check.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

TEST(ScreenOnDemosSlow, WithinTwoPercentOfTheFullModel) {
  for (const char* folder : {"demo/chapel", "demo/village", "demo/town"}) {
    const auto read = read_organ_folder(folder);
    ASSERT_TRUE(read) << folder;
    const ScreenCheck check = check_screen(read->organ, 20, 25, 3);
    EXPECT_GT(check.states, 400) << folder;
    EXPECT_LE(check.worst, .02) << folder << ": " << check.at;
    EXPECT_LE(check.worst_phons, .3) << folder;
  }
}

}  // namespace
}  // namespace calcant
