#include "files/words/words.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "engine/quantity/random.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant {
namespace {

using ::testing::HasSubstr;

const Organ& village() {
  static const Organ organ = [] {
    auto read = read_organ_folder("demo/village");
    if (!read) throw std::runtime_error(to_string(read.error()));
    return read->organ;
  }();
  return organ;
}

std::string drawn(std::string_view text) {
  const auto r = parse_registration(village(), text);
  return r ? registration_text(village(), *r) : "error: " + r.error().message;
}

TEST(Words, StopsCouplersAndTheBox) {
  EXPECT_EQ(drawn("Open Diapason 8, Swell to Great, Swell: Oboe 8"),
            "Great: Open Diapason 8, Swell: Oboe 8, Swell to Great");
  EXPECT_EQ(drawn("oboe; PRINCIPAL 4 ;; "), "Great: Principal 4, Swell: Oboe 8");
  EXPECT_EQ(drawn("Twelfth 2⅔, twelfth 2 2/3', gt-open"), "Great: Open Diapason 8, Great: Twelfth 2 2/3");
  EXPECT_EQ(drawn("Voix Céleste 8 ft, Swell: tremulant"), "Swell: Voix Celeste 8, Swell: Tremulant");
  EXPECT_EQ(drawn("Swell: Mixture II, Swell box=0.4"), "Swell: Mixture II, Swell box=0.4");
  EXPECT_EQ(drawn("Swell: Mixture II, Swell box=0"), "Swell: Mixture II, Swell box=0");
  EXPECT_EQ(drawn("swell sub octave"), "Swell Sub-Octave");
  EXPECT_EQ(drawn(""), "");
}

// As cue sheets write them, and as people do.
TEST(Words, AbbreviationsWhereTheyArePlain) {
  EXPECT_EQ(drawn("Op. Diap. 8, Prin. 4, Sw to Gt, 15th"),
            "Great: Open Diapason 8, Great: Principal 4, Great: Fifteenth 2, Swell to Great");
  EXPECT_EQ(drawn("Open Diap 8, Sw: Vln Diap. 8, Ped: Bdn"),
            "Great: Open Diapason 8, Swell: Violin Diapason 8, Pedal: Bourdon 16");
  EXPECT_THAT(drawn("Diap. 8"), HasSubstr("no stop or coupler \"Diap. 8\""));
  EXPECT_THAT(drawn("Op. Diap. 4"), HasSubstr("no stop or coupler \"Op. Diap. 4\""));
  EXPECT_THAT(drawn("Bass 8"), HasSubstr("no stop or coupler"));
}

TEST(Words, ErrorsSayWhatWouldBeRight) {
  EXPECT_THAT(drawn("Obo 8"), HasSubstr("perhaps \"Swell: Oboe 8\""));
  // Part of a name: whatever has it.
  EXPECT_THAT(drawn("Diapason"), HasSubstr("there are Great: Open Diapason 8"));
  EXPECT_THAT(drawn("Diapason"), testing::Not(HasSubstr("Oboe")));
  EXPECT_THAT(drawn("Great: Oboe 8"), HasSubstr("the Great has no \"Oboe 8\", but there is \"Swell: Oboe 8\""));
  EXPECT_THAT(drawn("Choir: Flute"), HasSubstr("no division \"Choir\""));
  EXPECT_THAT(drawn("Swell box=2"), HasSubstr("from 0 (shut) to 1 (open)"));
  EXPECT_THAT(drawn("Choir box=1"), HasSubstr("it has Swell box"));
  EXPECT_THAT(drawn("Great composition pedal 1"), HasSubstr("not itself drawn"));
}

TEST(Words, AmbiguousNameIsAnErrorNamingBoth) {
  Organ o = village();
  const auto gemshorn = stop_by_id(o, "sw-gemshorn");
  o.stops[static_cast<std::size_t>(*gemshorn)].name = "Principal";
  const auto r = parse_registration(o, "Principal 4");
  ASSERT_FALSE(r);
  EXPECT_THAT(r.error().message, HasSubstr("\"Great: Principal 4\", \"Swell: Principal 4\""));
  EXPECT_TRUE(parse_registration(o, "Swell: Principal 4"));
  // Written out, each is still told apart.
  Registration both;
  both.stops.set(static_cast<std::size_t>(*gemshorn));
  both.box[0] = 1;
  EXPECT_EQ(parse_registration(o, registration_text(o, both)).value(), both);
}

TEST(Words, WrittenAndReadAgainIsTheSame) {
  const Organ& o = village();
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    Random random{seed};
    Registration r;
    for (std::size_t i = 0; i < o.stops.size(); ++i) r.stops[i] = random.below(2) == 0;
    for (std::size_t i = 0; i < o.couplers.size(); ++i) r.couplers[i] = random.below(2) == 0;
    r.accessories[0] = random.below(2) == 0;
    r.box[0] = 0.25F * static_cast<float>(random.below(5));
    const auto again = parse_registration(o, registration_text(o, r));
    ASSERT_TRUE(again) << again.error().message;
    ASSERT_EQ(*again, r);
    KeysDown down;
    for (std::size_t k = 0; k < 3; ++k) down.keys[k].insert(36 + random.below(30));
    ASSERT_EQ(parse_keys(o, keys_text(o, down)).value(), down);
  }
}

TEST(Words, Keys) {
  const auto keys = parse_keys(village(), "Great:C4,E4,G4 Pedal:C2");
  ASSERT_TRUE(keys);
  EXPECT_EQ(keys_text(village(), *keys), "Great:C4,E4,G4 Pedal:C2");
  EXPECT_EQ(keys_text(village(), parse_keys(village(), " pedal: c2 ; great: Bb3 C4-D4").value()),
            "Great:A#3,C4,C#4,D4 Pedal:C2");
  EXPECT_EQ(parse_keys(village(), "").value(), KeysDown{});
  const auto message = [](std::string_view text) { return parse_keys(village(), text).error().message; };
  EXPECT_THAT(message("C4"), HasSubstr("does not say on which keyboard"));
  EXPECT_THAT(message("Grate:C4"), HasSubstr("perhaps \"Great\""));
  EXPECT_THAT(message("Great:C9"), HasSubstr("its keys go from C2 to G6"));
  EXPECT_THAT(message("Great:C4 Pedle:C2"), HasSubstr("perhaps \"Pedal\""));
  EXPECT_THAT(message("Great:G4-C4"), HasSubstr("downward"));
}

}  // namespace
}  // namespace calcant
