#include "files/pages/cue_sheet.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "files/organfile/organfile.hpp"
#include "files/pages/abbreviations.hpp"
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
  EXPECT_THAT(html, HasSubstr("2026-11-29"));
  EXPECT_THAT(html, HasSubstr("Allowed for: Bourdon, F#2: does not speak"));
  EXPECT_THAT(html, HasSubstr("Not yet heard here"));
  EXPECT_THAT(html, HasSubstr("+ " + full_name(organ_.stops[1])));
  EXPECT_THAT(html, HasSubstr("<b>" + full_name(organ_.stops[1]) + "</b>"));                // the change in bold
  EXPECT_LT(html.find("+ " + full_name(organ_.stops[1])), html.find("Reason of verse 1"));  // reasons on the back
  EXPECT_THAT(html, Not(HasSubstr("http")));                                                // self-contained
}

TEST_F(CueSheetPage, SixVersesFitOnOneSide) {
  EXPECT_EQ(density(organ_, plan(4)), Density::full);
  EXPECT_LE(density(organ_, plan(6)), Density::abbreviated);
  Plan many = plan(6);
  for (int i = 0; i < 40; ++i) many.items.push_back(many.items.front());
  EXPECT_EQ(density(organ_, many), Density::overflowing);
  many.items.resize(14);
  EXPECT_EQ(density(organ_, many), Density::both_sides);
  // The reasons then have a page of their own.
  EXPECT_EQ(cue_sheet_html(organ_, many, {}).find("Reason of verse 1"), std::string::npos);
  EXPECT_NE(reasons_html(organ_, many, {}).find("Reason of verse 1"), std::string::npos);
}

// Usual English abbreviations, common practice, no source.
TEST(Abbreviations, AreAsTheyArePencilled) {
  EXPECT_EQ(abbreviated("Swell to Great"), "Sw to Gt");
  EXPECT_EQ(abbreviated("Open Diapason"), "Op. Diap.");
  EXPECT_EQ(short_division("Pedal"), "Ped");
  EXPECT_EQ(abbreviated("Oboe"), "Oboe");
  EXPECT_EQ(abbreviated(""), "");
}

}  // namespace
}  // namespace calcant
