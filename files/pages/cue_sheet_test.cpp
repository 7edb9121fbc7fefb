#include "files/pages/cue_sheet.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"
#include "files/pages/abbreviations.hpp"
#include "files/pages/cue_words.hpp"
#include "files/pages/html.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;
using testing::Not;

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}

class CueSheetPage : public testing::Test {
 protected:
  Organ organ_ = [] {
    auto folder = read_organ_folder("demo/village");
    EXPECT_TRUE(folder.has_value());
    return folder->organ;
  }();

  // Each verse draws one stop more.
  Plan plan(int verses) {
    Plan p;
    p.initial.box.fill(1);
    p.initial.stops.set(0);
    p.initial_keyboards = {0, 0, 2};
    Item item;
    item.number = "1";
    item.title = "Tune & <Tune>";
    Registration now = p.initial;
    for (int v = 1; v <= verses; ++v) {
      Section s;
      s.label = "Verse " + std::to_string(v);
      s.from.verse = v;
      s.keyboards = p.initial_keyboards;
      if (v > 1) {
        Cue c;
        c.section = v - 1;
        c.draw = {{Knob::Kind::stop, v - 1}};
        c.moment.verse = v - 1;
        c.mover = Mover::right_hand;
        c.window = ChangeWindow{c.moment, s.from, Seconds{1.5}, Seconds{3}};
        now = after(now, c);
        p.cues.push_back(c);
      }
      s.drawn = now;
      s.why = {"Reason of verse " + std::to_string(v) + "."};
      item.sections.push_back(s);
    }
    p.items = {item};
    return p;
  }
};

TEST_F(CueSheetPage, SaysWhatIsCarriedToTheConsole) {
  CueSheet sheet;
  sheet.date = "2026-11-29";
  sheet.faults = {"Bourdon, F#2: does not speak"};
  const std::string html = cue_sheet_html(organ_, plan(4), sheet);
  EXPECT_THAT(html, HasSubstr("Tune &amp; &lt;Tune&gt;"));
  EXPECT_THAT(html, Not(HasSubstr("<Tune>")));
  EXPECT_EQ(count(html, "<span class=\"invented\">Invented organ"), 2U);  // on both sides
  EXPECT_THAT(html, HasSubstr("Sunday 29 November 2026"));
  EXPECT_THAT(html, HasSubstr("Allowed for: Bourdon, F\u266f2: does not speak"));
  EXPECT_THAT(html, HasSubstr("Not yet heard here"));
  // A stop's name is in one piece, what is drawn anew in bold, the reasons are on the back.
  std::string name = full_name(organ_.stops[1]);
  for (auto at = name.find(' '); at != std::string::npos; at = name.find(' ', at)) name.replace(at, 1, "\u00a0");
  EXPECT_THAT(html, HasSubstr("<span class=\"change ends\">+\u00a0" + name));
  EXPECT_THAT(html, testing::ContainsRegex("class=\"fresh[a-z ]*\">" + name));
  EXPECT_LT(html.find("+\u00a0" + name), html.find("Reason of verse 1"));
  EXPECT_THAT(html, Not(HasSubstr("http")));  // self-contained
}

TEST_F(CueSheetPage, IsSetAsLargeAsItFits) {
  EXPECT_EQ(sheet_size(organ_, plan(4)).points, 17);
  const SheetSize six = sheet_size(organ_, plan(6));
  EXPECT_EQ(six.sides, 1);
  EXPECT_GE(six.points, 14);
  Plan many = plan(6);
  for (int i = 0; i < 40; ++i) many.items.push_back(many.items.front());
  EXPECT_GT(sheet_size(organ_, many).sides, 2);
  many.items.resize(20);
  EXPECT_EQ(sheet_size(organ_, many).sides, 2);
  // The reasons then have a page of their own.
  EXPECT_EQ(cue_sheet_html(organ_, many, {}).find("Reason of verse 1"), std::string::npos);
  EXPECT_NE(reasons_html(organ_, many, {}).find("Reason of verse 1"), std::string::npos);
}

// Nothing that stands in the margin runs into what is beside it, and nothing is said that the label has said.
TEST_F(CueSheetPage, LabelsKeepToTheirMargin) {
  Plan p = plan(3);
  p.items[0].kind = ItemKind::psalm;
  p.items[0].sections[2].label = "Gloria";
  const auto psalm = sheet_items(organ_, p, SheetDetail::brief).front();
  EXPECT_EQ(psalm.steps[2].label, "Gloria");
  ASSERT_EQ(psalm.steps[2].change.size(), 1U);  // and no moment beside it
  p.items[0].kind = ItemKind::piece;
  p.items[0].sections[0].label = "p. 1";
  p.items[0].sections[1].label = "p. 2, system 1, bar 17";
  p.items[0].sections[2].label = "p. 3";
  p.items[0].sections[2].wish = "mf";
  p.cues[1].window.reset();
  const auto paper = sheet_items(organ_, p, SheetDetail::brief).front();
  for (const SheetStep& s : paper.steps) EXPECT_EQ(s.label, "");  // one too long: all head their lines
  EXPECT_EQ(paper.steps[1].change.front().text, "p. 2, system 1, bar 17:");
  EXPECT_EQ(paper.steps[1].change.back().text, "in the rest before");  // the user gave one
  EXPECT_EQ(paper.steps[2].change.back().text, "mf");
  EXPECT_EQ(paper.steps[2].change.back().look, SheetPhrase::Look::dynamic);
  const std::string html = cue_sheet_html(organ_, p, {});
  // Where there is least room, a piece says what is drawn at its beginning only.
  const auto least = sheet_items(organ_, p, SheetDetail::least).front();
  EXPECT_FALSE(least.steps[0].state.empty());
  EXPECT_TRUE(least.steps[1].state.empty());
  EXPECT_FALSE(paper.steps[1].state.empty());
  // Nor what moves the box alone, which its copy says too.
  p.cues[1].draw.clear();
  p.cues[1].boxes = {{0, 0.5F}};
  p.cues[1].mover = Mover::foot;
  const auto boxed = sheet_items(organ_, p, SheetDetail::least).front();
  EXPECT_EQ(boxed.steps.size(), 2U);
  EXPECT_THAT(boxed.notes, testing::Contains("The box as in the copy."));
  EXPECT_EQ(sheet_items(organ_, p, SheetDetail::brief).front().steps.size(), 3U);
  EXPECT_THAT(html, Not(HasSubstr("after line")));
  EXPECT_THAT(html, HasSubstr("<span class=\"dynamic ends\">mf</span>"));
}

// What was said and is not followed stands beside the verse, never as its word; a kind is named with it.
TEST_F(CueSheetPage, NamesTheKindAndWhatIsNotFollowed) {
  Plan p = plan(3);
  p.items[0].sections[1].kind = "unison";
  p.items[0].sections[1].wish = "soft";
  p.items[0].sections[1].note = "\u201cno reed\u201d is not followed";
  p.items[0].sections[2].kind = "unaccompanied";
  p.cues.pop_back();
  const std::string text = cue_sheet_text(organ_, p);
  EXPECT_THAT(text, HasSubstr("(unison, soft; \u201cno reed\u201d is not followed)"));
  EXPECT_EQ(count(text, "unaccompanied"), 1U);
  for (const SheetDetail detail : {SheetDetail::full, SheetDetail::brief, SheetDetail::least}) {
    const auto steps = sheet_items(organ_, p, detail).front().steps;
    ASSERT_EQ(steps.size(), 3U);
    std::string said;
    for (const SheetPhrase& phrase : steps[1].change) said += phrase.text + "|";
    EXPECT_THAT(said, HasSubstr("unison|\u201csoft\u201d|(\u201cno reed\u201d is not followed)|"));
  }
  EXPECT_THAT(cue_sheet_html(organ_, p, {}), HasSubstr("\u201cno reed\u201d is not followed"));
}

TEST_F(CueSheetPage, OneHandsKnobsAreOnePhrase) {
  Plan p = plan(2);
  Cue& c = p.cues.front();
  c.draw.clear();
  for (int k = 0; k < 6; ++k) c.draw.push_back({Knob::Kind::stop, k});
  const auto words = change_words(organ_, c, p.initial_keyboards, true);
  ASSERT_LE(words.size(), 2U);
  std::size_t named = 0;
  for (const std::string& w : words) {
    EXPECT_TRUE(w.starts_with("+ ")) << w;
    EXPECT_EQ(count(w, "("), 1U) << w;  // its hand once
    named += count(w, ", ") + 1;
  }
  EXPECT_EQ(named, 6U);
}

// Usual English abbreviations, common practice, no source.
TEST_F(CueSheetPage, OverAHairpinTheBoxMovesGradually) {
  Cue c;
  c.boxes = {{0, 1.0F}};
  EXPECT_THAT(change_words(organ_, c, {}, false), testing::ElementsAre("box open"));
  c.gradual = true;
  EXPECT_THAT(change_words(organ_, c, {}, false), testing::ElementsAre("open box gradually"));
  c.boxes = {{0, 0.0F}};
  EXPECT_THAT(change_words(organ_, c, {}, false), testing::ElementsAre("shut box gradually"));
  c.boxes = {{0, 0.5F}};
  EXPECT_THAT(change_words(organ_, c, {}, false), testing::ElementsAre("box gradually to half open"));
}

TEST(Html, NotesHaveTheirSigns) {
  EXPECT_EQ(escaped("F#2, Bb3 and Eb4: A440, bb 3, Abb4, F#min, stop #2, A b4 <C#5>"),
            "F\u266f2, B\u266d3 and E\u266d4: A440, bb 3, Abb4, F#min, stop #2, A b4 &lt;C\u266f5&gt;");
}

TEST(Abbreviations, AreAsTheyArePencilled) {
  // What is called after its interval says its pitch; what is not keeps it.
  const Organ organ = read_organ_folder("demo/village")->organ;
  const auto brief = [&](const char* id) {
    return short_name(organ, {Knob::Kind::stop, static_cast<int>(*stop_by_id(organ, id))});
  };
  EXPECT_EQ(brief("gt-fifteenth"), "15th");
  EXPECT_EQ(brief("gt-twelfth"), "12th");
  EXPECT_EQ(brief("gt-principal"), "Prin. 4");

  EXPECT_EQ(abbreviated("Swell to Great"), "Sw to Gt");
  EXPECT_EQ(abbreviated("Open Diapason"), "Op. Diap.");
  EXPECT_EQ(short_division("Pedal"), "Ped");
  EXPECT_EQ(abbreviated("Oboe"), "Oboe");
  EXPECT_EQ(abbreviated(""), "");
}

}  // namespace
}  // namespace calcant
