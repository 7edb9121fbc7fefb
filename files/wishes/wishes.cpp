#include "files/wishes/wishes.hpp"

#include <cctype>

#include "engine/organ/longest_draw.hpp"
#include "files/toml/checked.hpp"

namespace calcant {
namespace {

const std::vector<std::string> top_keys{"version", "forbid", "word", "verse", "fixed", "change", "foot"};
constexpr std::size_t most_entries = 400;

class WishesReader {
 public:
  explicit WishesReader(std::string_view name) : in_(name) {}

  Result<WishesFile> read(std::string_view text) {
    WishesFile w;
    in_.parse(text, "[[forbid]], [[word]], [[verse]], [[fixed]], [[change]] and [[foot]]", [&](const toml::table& top) {
      in_.known(top, top_keys);
      in_.version(top, wishes_file_version);
      in_.tables(top, "forbid", most_entries, [&](const toml::table& t) { forbid(t, w); });
      in_.tables(top, "word", most_entries, [&](const toml::table& t) { word(t, w); });
      in_.tables(top, "verse", most_entries, [&](const toml::table& t) { verse(t, w); });
      in_.tables(top, "fixed", most_entries, [&](const toml::table& t) { fixed(t, w); });
      in_.tables(top, "change", most_entries, [&](const toml::table& t) { change(t, w); });
      in_.tables(top, "foot", most_entries, [&](const toml::table& t) { foot(t, w); });
    });
    if (const auto faults = in_.faults()) return tl::unexpected<Error>(*faults);
    return w;
  }

 private:
  static int line(const toml::table& t) { return static_cast<int>(t.source().begin.line); }
  std::string needed(const toml::table& t, const char* key, const char* example, std::size_t longest = longest_wish) {
    std::string s = in_.string(t, key, longest);
    if (s.empty() && !t.contains(key)) in_.fault(t.source().begin, fmt::format("'{}' is missing: {}.", key, example));
    return s;
  }

  WishPlace place(const toml::table& t) {
    WishPlace p;
    p.line = line(t);
    p.item = needed(t, "item", "item = \"St Anne\", or its number");
    p.standing = in_.whole(t, "standing", 1, most_standing).value_or(0);
    const toml::node* v = t.get("verse");
    if (v != nullptr && v->is_string()) {
      p.section = v->as_string()->get();
      std::string low;
      for (const char c : p.section) low += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
      if (low == "play-over") {
        p.verse = 0;
        p.section.clear();
      } else if (low != "gloria") {
        in_.fault(v->source().begin, "'verse' is a number, \"play-over\" or \"Gloria\".");
      }
    } else if (v != nullptr) {
      p.verse = in_.whole(t, "verse", 1, 60);
    }
    p.page = in_.whole(t, "page", 1, 9999).value_or(0);
    p.system = in_.whole(t, "system", 1, 99).value_or(0);
    p.bar = in_.string(t, "bar");
    p.beat = in_.number(t, "beat", 1, 99).value_or(1);
    p.time = in_.whole(t, "time", 1, 99).value_or(1);
    const bool copy = p.page > 0 || p.system > 0 || !p.bar.empty();
    if (copy && (p.verse || !p.section.empty()))
      in_.fault(t.source().begin, "A place is a verse of a hymn or a bar of a piece, not both.");
    return p;
  }

  void forbid(const toml::table& t, WishesFile& w) {
    in_.known(t, {"stop", "item", "why"});
    (void)in_.string(t, "why");
    w.forbidden.push_back(
        {needed(t, "stop", "stop = \"Swell: Mixture\", or a coupler"), in_.string(t, "item"), line(t)});
  }

  void word(const toml::table& t, WishesFile& w) {
    in_.known(t, {"word", "level", "colour"});
    NamedWord n;
    n.word = needed(t, "word", "word = \"harvest\"");
    for (char& c : n.word) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (n.word.find(' ') != std::string::npos)
      in_.fault(t.source().begin, "A word of your own is one word, without spaces.");
    n.level = in_.number(t, "level", 0, 1);
    n.line = line(t);
    const std::string colour = in_.string(t, "colour");
    if (colour == "darker") n.colour = -1;
    else if (colour == "brighter") n.colour = 1;
    else if (!colour.empty()) in_.fault(t.get("colour")->source().begin, "'colour' is \"darker\" or \"brighter\".");
    if (!n.level && n.colour == 0 && !t.contains("level"))
      in_.fault(t.source().begin, "A word says a level (0 softest to 1 fullest), a colour, or both.");
    w.words.push_back(std::move(n));
  }

  void verse(const toml::table& t, WishesFile& w) {
    in_.known(t, with_place({"word"}));
    w.verses.push_back({place(t), needed(t, "word", "word = \"soft, no pedal\"")});
  }

  void fixed(const toml::table& t, WishesFile& w) {
    in_.known(t, with_place({"draw", "right", "left", "hands", "pedal"}));
    FixedRegistration f;
    f.place = place(t);
    f.draw = needed(t, "draw", "draw = \"Open Diapason 8, Principal 4, Swell to Great\"", longest_draw);
    hands(t, f.right, f.left);
    f.pedal = in_.truth(t, "pedal", true);
    w.fixed.push_back(std::move(f));
  }

  void change(const toml::table& t, WishesFile& w) {
    in_.known(t, with_place({"after_line", "as_before", "draw", "put_in", "box", "right", "left", "hands", "why"}));
    FixedChange c;
    c.place = place(t);
    c.after_line = in_.whole(t, "after_line", 1, 23).value_or(0);
    c.as_before = in_.truth(t, "as_before", false);
    c.draw = in_.string(t, "draw", longest_draw);
    c.put_in = in_.string(t, "put_in", longest_draw);
    c.box = in_.number(t, "box", 0, 1);
    hands(t, c.right, c.left);
    c.why = in_.string(t, "why");
    const bool moves = !c.draw.empty() || !c.put_in.empty() || c.box || !c.right.empty();
    if (!moves && !c.as_before)
      in_.fault(t.source().begin,
                "A change draws something, puts something in, moves the box or the hands; or it says as_before = true, "
                "and nothing is moved there.");
    if (moves && c.as_before) in_.fault(t.source().begin, "as_before = true means that nothing is moved there.");
    const WishPlace& p = c.place;
    const bool verse = (p.verse && *p.verse > 0) || !p.section.empty();
    if (!verse && p.page == 0 && p.system == 0 && p.bar.empty())
      in_.fault(
          t.source().begin,
          "A change says where: verse = 3 of a hymn, bar = 17 of a piece, page, system and bar of a copy on paper.");
    if (!verse && c.after_line > 0) in_.fault(t.source().begin, "'after_line' belongs to a verse: verse = 3.");
    w.changes.push_back(std::move(c));
  }

  void foot(const toml::table& t, WishesFile& w) {
    in_.known(t, {"item", "mark"});
    w.feet.push_back({needed(t, "item", "item = \"Voluntary in D\", or its number"),
                      needed(t, "mark", "mark = \"bar 12, beat 2: left toe\""), line(t)});
  }

  static std::vector<std::string> with_place(std::vector<std::string> keys) {
    for (const char* key : {"item", "standing", "verse", "page", "system", "bar", "beat", "time"})
      keys.emplace_back(key);
    return keys;
  }

  void hands(const toml::table& t, std::string& right, std::string& left) {
    right = left = in_.string(t, "hands");
    if (const std::string r = in_.string(t, "right"); !r.empty()) right = r;
    if (const std::string l = in_.string(t, "left"); !l.empty()) left = l;
    if (right.empty() != left.empty())
      in_.fault(t.source().begin, "Say where both hands are: 'hands', or 'right' and 'left'.");
  }

  toml_library::Checked in_;
};

}  // namespace

Result<WishesFile> read_wishes(std::string_view text, std::string_view name) {
  if (text.size() > wishes_file_limit) return fail("A file of wishes is at most 256 kB.", std::string{name});
  return WishesReader(name).read(text);
}

}  // namespace calcant
