// What is understood of the words for a verse, and what is told of the rest. That a piano is soft and a forte loud is common
// use; the shares are ours.
#include "engine/plan/verse.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

namespace calcant {
namespace {

using testing::HasSubstr;

double share(std::string_view words) {
  const auto m = meaning(words, {});
  EXPECT_TRUE(m && m->share) << words;
  return m && m->share ? *m->share : -1;
}

TEST(PlainWords, AreEachThereOnce) {
  std::set<std::string> seen;
  for (const WishWord& w : usual_words()) {
    EXPECT_TRUE(seen.insert(w.word).second) << w.word;
    EXPECT_TRUE(w.share || w.colour != 0 || w.step) << w.word;
    // As it stands it is read, whole.
    const WordsRead read = read_words(w.word, {});
    EXPECT_EQ(read.known, w.word);
    EXPECT_EQ(read.meaning.share, w.share) << w.word;
    EXPECT_TRUE(read.unknown.empty() && read.denied.empty() && read.graded.empty()) << w.word;
  }
  for (const PlainLevel& l : plain_levels) EXPECT_DOUBLE_EQ(share(l.word), l.share);
}

TEST(PlainWords, StandInTheOrderTheyAreMeant) {
  for (const auto& rising : {std::vector<const char*>{"very soft", "soft", "rather soft", "moderate", "rather loud",
                                                      "loud", "very loud", "full"},
                             {"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff"},
                             {"gentle", "warm", "firm", "bold", "strong", "triumph"}}) {
    for (std::size_t i = 1; i < rising.size(); ++i) EXPECT_LT(share(rising[i - 1]), share(rising[i])) << rising[i];
  }
  EXPECT_DOUBLE_EQ(share("p"), share("soft"));
  EXPECT_DOUBLE_EQ(share("f"), share("loud"));
  // Two words are one phrase, not two words.
  EXPECT_NE(share("rather soft"), share("soft"));
  EXPECT_DOUBLE_EQ(share("soft, full"), 0.6);
  EXPECT_GT(*meaning("a shade louder", {})->step, 0);
  EXPECT_LT(*meaning("softer", {})->step, *meaning("a shade softer", {})->step);
}

TEST(Verse, IsReadFromWords) {
  EXPECT_EQ(parse_verse("Unison, praise").kind, VerseKind::unison);
  EXPECT_EQ(parse_verse("Unison, praise").wish, "praise");
  EXPECT_EQ(parse_verse("gentle | full").second, "full");
  EXPECT_EQ(parse_verse("\u201cvery soft\u201d").wish, "very soft");
  EXPECT_EQ(parse_verse("\"soft\"").wish, "soft");
  EXPECT_EQ(parse_verse("harvest soft", {{"harvest", 0.9, 1}}).wish, "harvest soft");
  EXPECT_DOUBLE_EQ(*meaning("harvest soft", {{"harvest", 0.9, 1}})->share, 0.55);  // the mean of 0.9 and 0.2
  EXPECT_EQ(meaning("darker", {})->colour, -1);
  for (const char* all : {"soft", "descant", "no pedal, gentle", "rather loud and dark", "", "with descant"})
    EXPECT_EQ(parse_verse(all).note, "") << all;
}

TEST(Verse, WithoutPedalIsAKindHoweverItIsSaid) {
  for (const char* said :
       {"no pedal", "without pedal", "no pedals", "Without the pedals", "manuals only", "soft, without pedal"})
    EXPECT_EQ(parse_verse(said).kind, VerseKind::no_pedal) << said;
  EXPECT_EQ(parse_verse("without pedal, soft").wish, "soft");
  EXPECT_EQ(parse_verse("without pedal, soft").note, "");
}

TEST(Verse, WhatIsNotKnownIsTold) {
  const Verse thunder = parse_verse("like thunder");
  EXPECT_EQ(thunder.wish, "");
  EXPECT_THAT(thunder.note, HasSubstr("\u201clike thunder\u201d is not known"));
  const Verse slip = parse_verse("unison, gentel");
  EXPECT_EQ(slip.kind, VerseKind::unison);
  EXPECT_EQ(slip.wish, "");
  EXPECT_THAT(slip.note, HasSubstr("perhaps \u201cgentle\u201d"));
  const Verse both = parse_verse("soft, like rain");
  EXPECT_EQ(both.wish, "soft");
  EXPECT_THAT(both.note, HasSubstr("like rain"));
  EXPECT_THAT(parse_verse("very bright").note, HasSubstr("is taken as \u201cbright\u201d"));
  EXPECT_THAT(parse_verse("soft | like rain").second_note, HasSubstr("like rain"));
  EXPECT_EQ(parse_verse("soft | like rain").note, "");
  EXPECT_THAT(parse_verse("soft | no pedal").second_note, HasSubstr("for a whole verse"));
  const Verse two = parse_verse("unison, no pedal");
  EXPECT_EQ(two.kind, VerseKind::no_pedal);
  EXPECT_THAT(two.note, HasSubstr("unison"));
}

TEST(Verse, WhatIsDeniedIsNeverDone) {
  for (const char* said : {"not soft", "not bright", "no trumpet", "no strings or flutes", "not very loud",
                           "no descant", "not gentle and calm", "never full"}) {
    const Verse v = parse_verse(said);
    EXPECT_EQ(v.wish, "") << said;
    EXPECT_EQ(v.kind, VerseKind::harmony) << said;
    EXPECT_THAT(v.note, HasSubstr("is not followed")) << said;
  }
  const Verse but = parse_verse("not soft but full");
  EXPECT_EQ(but.wish, "full");
  EXPECT_THAT(but.note, HasSubstr("\u201cnot soft\u201d is not followed"));
  const Verse after = parse_verse("no trumpet, loud");
  EXPECT_EQ(after.wish, "loud");
  // What the table has as a phrase is understood.
  EXPECT_DOUBLE_EQ(share("not too loud"), share("moderate"));
  EXPECT_DOUBLE_EQ(share("not too soft"), share("moderate"));
  EXPECT_EQ(parse_verse("not too loud").note, "");
}

// What an organist or a verger writes on a service sheet: what is planned of it, and what the sheet says is not.
struct Typed {
  const char* said;
  VerseKind kind;
  const char* wish;
  const char* told;  // part of the note; "": nothing is told
};

TEST(Verse, IsReadAsItIsWrittenOnServiceSheets) {
  using enum VerseKind;
  for (const Typed& t : {
           Typed{"no pedals please", no_pedal, "", ""},
           {"quietly", harmony, "quietly", ""},
           {"very quietly", harmony, "very quietly", ""},
           {"gently, no pedal", no_pedal, "gently", ""},
           {"softly and prayerfully", harmony, "softly prayerfully", ""},
           {"joyfully", harmony, "joyfully", ""},
           {"tutti", harmony, "tutti", ""},
           {"as loud as possible", harmony, "as loud as possible", ""},
           {"a bit softer", harmony, "a bit softer", ""},
           {"slightly louder", harmony, "slightly louder", ""},
           {"quiet but firm", harmony, "quiet firm", ""},
           {"really loud", harmony, "loud", "is taken as"},
           {"full, unison", unison, "full", ""},
           {"full unison", unison, "full", ""},
           {"full and bright", harmony, "full bright", ""},
           {"descant by trebles", descant, "", "by trebles"},
           {"unaccompanied choir", unaccompanied, "", "choir"},
           {"soft flutes", harmony, "soft", "flutes"},
           {"quiet, flutes only", harmony, "quiet", "flutes only"},
           {"ladies only", harmony, "", "ladies only"},
           {"full swell", harmony, "", "full swell"},  // a registration, not full organ
           {"full swell, soft", harmony, "soft", "full swell"},
           {"build up", harmony, "", "build up"},
           {"start soft, end loud", harmony, "", "end loud"},
           {"soft, then loud", harmony, "soft", "then loud"},
           {"soft then loud", harmony, "soft", "then loud"},
           {"no organ last line", harmony, "", "no organ last line"},
           {"unaccompanied first line, soft", harmony, "soft", "unaccompanied first line"},
           {"loud, last line unison", harmony, "loud", "last line unison"},
           {"gradually louder", harmony, "", "gradually louder"},
           {"as verse 1", harmony, "", "is not known"},
       }) {
    const Verse v = parse_verse(t.said);
    EXPECT_EQ(v.kind, t.kind) << t.said;
    EXPECT_EQ(v.wish, t.wish) << t.said;
    if (*t.told == 0) EXPECT_EQ(v.note, "") << t.said;
    else EXPECT_THAT(v.note, HasSubstr(t.told)) << t.said;
  }
  EXPECT_DOUBLE_EQ(share("quietly"), share("quiet"));
  EXPECT_DOUBLE_EQ(share("gently"), share("gentle"));
  // The nearest of all words says nothing of a short one.
  EXPECT_THAT(parse_verse("add").note, testing::Not(HasSubstr("perhaps")));
}

TEST(Verse, MixturesAndReedsAreAskedForOrLeftOut) {
  const Verse v = parse_verse("quiet, no mixtures");
  EXPECT_EQ(v.wish, "quiet");
  EXPECT_EQ(v.note, "");
  EXPECT_EQ(words(v.stops), "no mixture");
  EXPECT_EQ(words(parse_verse("big reed").stops), "with reed");
  EXPECT_EQ(words(parse_verse("full, with mixtures").stops), "with mixture");
  EXPECT_EQ(words(parse_verse("no reeds or mixtures").stops), "no mixture, no reed");
  EXPECT_FALSE(parse_verse("no reeds or strings").note.empty());
  // Denied is never wanted, and of two contraries one is told.
  EXPECT_EQ(words(parse_verse("no big reed").stops), "");
  EXPECT_THAT(parse_verse("no mixture, with mixtures").note, HasSubstr("contrary"));
  // What is said of a verse anew takes the place of it.
  Verse laid = v;
  lay_words(laid, parse_verse("loud"));
  EXPECT_FALSE(laid.stops.any());
}

TEST(Verse, HalvesOfAPsalmsAreSaidApart) {
  Verse v = parse_verse("full");
  lay_words(v, parse_verse("soft"), Half::first);
  EXPECT_EQ(v.wish, "soft");
  EXPECT_EQ(v.second, "full");  // what was said of the whole
  lay_words(v, parse_verse("dark, no trumpet, no reed"), Half::second);
  EXPECT_EQ(v.second, "dark");
  EXPECT_THAT(v.second_note,
              testing::AllOf(HasSubstr("no trumpet"), HasSubstr("\u201cno reed\u201d is for a whole verse")));
  lay_words(v, parse_verse("plain"));
  EXPECT_EQ(v.second, "");
  EXPECT_EQ(v.second_note, "");
}

}  // namespace
}  // namespace calcant
