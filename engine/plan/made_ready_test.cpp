#include "engine/plan/made_ready.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {
namespace {

TEST(MadeReady, WhatIsDrawnBeforeItIsHeardIsTold) {
  const Organ organ = read_organ_folder("demo/village").value().organ;
  const auto section = [&](const char* label, const char* drawn, const char* on) {
    Section s;
    s.label = label;
    s.drawn = parse_registration(organ, drawn).value();
    const KeyboardIndex k = parse_keyboard(organ, on).value();
    s.keyboards = {k, k, {}};
    return s;
  };
  Item item;
  item.sections = {section("Verse 1", "Open Diapason 8, Swell: Oboe 8, Gemshorn 4", "Great"),
                   section("Verse 2", "Open Diapason 8, Swell: Oboe 8, Gemshorn 4", "Swell"),
                   section("Verse 3", "Open Diapason 8, Swell: Oboe 8, Mixture II, Swell to Great", "Great")};
  EXPECT_THAT(
      made_ready(organ, item),
      testing::ElementsAre("Swell Gemshorn 4 and Oboe 8 are drawn from the beginning and are first heard at Verse 2."));
  // Coupled from the first they are heard; never heard, nothing is said; the Open Diapason was, before the hands left it.
  item.sections[0].drawn = parse_registration(organ, "Open Diapason 8, Oboe 8, Gemshorn 4, Swell to Great").value();
  EXPECT_THAT(made_ready(organ, item), testing::IsEmpty());
  item.sections = {section("Verse 1", "Open Diapason 8, Oboe 8", "Great")};
  EXPECT_THAT(made_ready(organ, item), testing::IsEmpty());
}

}  // namespace
}  // namespace calcant
