#include <fmt/format.h>

#include "engine/organ/longest_draw.hpp"
#include "files/toml/quoted.hpp"
#include "files/wishes/wishes.hpp"

namespace calcant {
namespace {

class WishesWriter {
 public:
  std::string text = fmt::format("version = {}\n", wishes_file_version);

  void begin(const char* what) { text += fmt::format("\n[[{}]]\n", what); }
  void line(const char* key, const std::string& value) {
    if (!value.empty()) text += fmt::format("{} = {}\n", key, toml_library::quoted(value, longest_wish));
  }
  void drawn(const char* key, const std::string& value) {
    text += fmt::format("{} = {}\n", key, toml_library::quoted(value, longest_draw));
  }
  void number(const char* key, double value) { text += fmt::format("{} = {:.10g}\n", key, value); }
  void place(const WishPlace& p) {
    line("item", p.item);
    if (p.standing > 0) number("standing", p.standing);
    if (!p.section.empty()) line("verse", p.section);
    else if (p.verse && *p.verse == 0) line("verse", "play-over");
    else if (p.verse) number("verse", *p.verse);
    if (p.page > 0) number("page", p.page);
    if (p.system > 0) number("system", p.system);
    line("bar", p.bar);
    if (p.beat != 1) number("beat", p.beat);
    if (p.time != 1) number("time", p.time);
  }
  void hands(const std::string& right, const std::string& left) {
    line("right", right);
    line("left", left);
  }
};

}  // namespace

std::string write_wishes(const WishesFile& wishes) {
  WishesWriter out;
  for (const ForbiddenKnob& f : wishes.forbidden) {
    out.begin("forbid");
    out.line("stop", f.knob);
    out.line("item", f.item);
  }
  for (const NamedWord& w : wishes.words) {
    out.begin("word");
    out.line("word", w.word);
    if (w.level) out.number("level", *w.level);
    if (w.colour != 0) out.line("colour", w.colour < 0 ? "darker" : "brighter");
  }
  for (const VerseWord& v : wishes.verses) {
    out.begin("verse");
    out.place(v.place);
    out.line("word", v.word);
  }
  for (const FixedRegistration& f : wishes.fixed) {
    out.begin("fixed");
    out.place(f.place);
    out.drawn("draw", f.draw);
    out.hands(f.right, f.left);
    if (!f.pedal) out.text += "pedal = false\n";
  }
  for (const FixedChange& c : wishes.changes) {
    out.begin("change");
    out.place(c.place);
    if (c.after_line > 0) out.number("after_line", c.after_line);
    if (c.as_before) out.text += "as_before = true\n";
    if (!c.draw.empty()) out.drawn("draw", c.draw);
    if (!c.put_in.empty()) out.drawn("put_in", c.put_in);
    if (c.box) out.number("box", *c.box);
    out.hands(c.right, c.left);
    out.line("why", c.why);
  }
  for (const FixedFootMark& f : wishes.feet) {
    out.begin("foot");
    out.line("item", f.item);
    out.line("mark", f.mark);
  }
  return out.text;
}

}  // namespace calcant
