#include "files/playerfile/playerfile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "files/toml/checked.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest_text = 200;

const std::vector<std::string> top_keys{"version", "name", "helper", "turns_own_pages",
                                        "hands",   "feet", "touch",  "seconds"};
const std::vector<std::string> hand_keys{"comfortable",       "most",      "left_comfortable", "left_most",
                                         "right_comfortable", "right_most"};
const std::vector<std::string> feet_keys{"style", "heel_on_sharps", "span"};
const std::vector<std::string> touch_keys{"tune", "inner", "bass", "lift"};
const std::vector<std::string> second_keys{"one_knob", "further_knob", "foot_accessory", "page_turn", "leap"};
const std::vector<std::string> figure_keys{"value", "from", "date", "basis", "plus_minus", "conditions"};

class PlayerReader {
 public:
  explicit PlayerReader(std::string_view name) : in_(name) {}

  Result<Player> read(std::string_view text) {
    Player p = default_player();
    in_.parse(text, "[hands], [feet], [touch] and [seconds]", [&](const toml::table& top) { player(top, p); });
    if (const auto faults = in_.faults()) return tl::unexpected<Error>(*faults);
    return p;
  }

 private:
  void player(const toml::table& top, Player& p) {
    in_.known(top, top_keys);
    in_.version(top, player_file_version);
    if (const toml::node* n = top.get("name")) p.name = text(*n, "name");
    p.helper = in_.truth(top, "helper", p.helper);
    p.turns_own_pages = in_.truth(top, "turns_own_pages", p.turns_own_pages);
    if (const toml::table* t = in_.heading(top, "hands")) hands(*t, p);
    if (const toml::table* t = in_.heading(top, "feet")) feet(*t, p);
    if (const toml::table* t = in_.heading(top, "touch")) touch(*t, p);
    if (const toml::table* t = in_.heading(top, "seconds")) {
      in_.known(*t, second_keys);
      seconds(*t, "one_knob", p.one_knob);
      seconds(*t, "further_knob", p.further_knob);
      seconds(*t, "foot_accessory", p.foot_accessory);
      seconds(*t, "page_turn", p.page_turn);
      seconds(*t, "leap", p.leap);
    }
  }

  void hands(const toml::table& t, Player& p) {
    in_.known(t, hand_keys);
    constexpr int least = 5;  // a fourth
    constexpr int most = 24;
    whole(t, "comfortable", least, most, p.left.comfortable);
    whole(t, "comfortable", least, most, p.right.comfortable);
    whole(t, "most", least, most, p.left.most);
    whole(t, "most", least, most, p.right.most);
    whole(t, "left_comfortable", least, most, p.left.comfortable);
    whole(t, "right_comfortable", least, most, p.right.comfortable);
    whole(t, "left_most", least, most, p.left.most);
    whole(t, "right_most", least, most, p.right.most);
    if (p.left.comfortable.value > p.left.most.value || p.right.comfortable.value > p.right.most.value) {
      in_.fault(t.source().begin,
                "A hand is not comfortable with more than it spans at most: 'most' is the larger figure.");
    }
  }

  void feet(const toml::table& t, Player& p) {
    in_.known(t, feet_keys);
    p.heel_on_sharps = in_.truth(t, "heel_on_sharps", p.heel_on_sharps);
    whole(t, "span", 1, 9, p.foot_span);
    const toml::node* n = t.get("style");
    if (n == nullptr) return;
    const Result<FeetStyle> style = parse_feet_style(text(*n, "style"));
    if (style) {
      p.feet = *style;
    } else {
      in_.fault(n->source().begin, style.error().message);
    }
  }

  // In the words of --touch, each with its own place.
  void touch(const toml::table& t, Player& p) {
    in_.known(t, touch_keys);
    for (const std::string& key : touch_keys) {
      const toml::node* n = t.get(key);
      if (n == nullptr) continue;
      const auto number = n->value<double>();
      const std::string how = number && n->is_number() ? fmt::format("{}", *number) : text(*n, key.c_str());
      if (how.find(',') != std::string::npos) {
        in_.fault(n->source().begin, fmt::format("'{}' is one word.", key));
        continue;
      }
      if (const auto read = parse_touch(key + "=" + how, p.touch)) p.touch = *read;
      else in_.fault(n->source().begin, read.error().message + ".");
    }
  }

  void seconds(const toml::table& t, const char* key, Sourced<Seconds>& out) {
    const toml::node* n = t.get(key);
    if (n == nullptr) return;
    Sourced<double> figure;
    const toml::node* v = with_origin(*n, figure);
    constexpr double most = 60;
    const auto value = v == nullptr ? std::nullopt : v->value<double>();
    if (v == nullptr || !v->is_number() || !value || !(*value >= 0 && *value <= most)) {
      in_.fault(n->source().begin, fmt::format("'{}' is a number of seconds from 0 to {:g}.", key, most));
      return;
    }
    out = {Seconds{*value}, figure.source, figure.half_width_95, figure.date, figure.basis, figure.conditions};
  }

  void whole(const toml::table& t, const char* key, int low, int high, Sourced<int>& out) {
    const toml::node* n = t.get(key);
    if (n == nullptr) return;
    Sourced<double> figure;
    const toml::node* v = with_origin(*n, figure);
    if (v == nullptr || !v->is_integer() || v->as_integer()->get() < low || v->as_integer()->get() > high) {
      in_.fault(n->source().begin, fmt::format("'{}' is a whole number of semitones from {} to {}.", key, low, high));
      return;
    }
    out = {static_cast<int>(v->as_integer()->get()),
           figure.source,
           figure.half_width_95,
           figure.date,
           figure.basis,
           figure.conditions};
  }

  // The node that holds the figure, and where the figure comes from: a plain number is given by the player.
  const toml::node* with_origin(const toml::node& n, Sourced<double>& out) {
    out.source = Source::given;
    out.basis = "player.toml";
    const toml::table* t = n.as_table();
    if (t == nullptr) return &n;
    in_.known(*t, figure_keys);
    if (const toml::node* from = t->get("from")) {
      const std::string w = text(*from, "from");
      bool found = false;
      for (const Source s : {Source::assumed, Source::computed, Source::given, Source::measured}) {
        if (w != word(s)) continue;
        out.source = s;
        found = true;
      }
      if (!found) in_.fault(from->source().begin, "'from' is measured, given, computed or assumed.");
    }
    if (const toml::node* d = t->get("date")) {
      if (const auto* date = d->as_date()) {
        out.date = fmt::format("{:04}-{:02}-{:02}", date->get().year, date->get().month, date->get().day);
      } else {
        out.date = text(*d, "date");
      }
    }
    if (const toml::node* b = t->get("basis")) out.basis = text(*b, "basis");
    if (const toml::node* c = t->get("conditions")) out.conditions = text(*c, "conditions");
    if (const toml::node* pm = t->get("plus_minus")) {
      const auto v = pm->value<double>();
      if (!pm->is_number() || !v || !(*v >= 0 && *v <= 60)) {
        in_.fault(pm->source().begin, "'plus_minus' is a number from 0 to 60.");
      } else {
        out.half_width_95 = *v;
      }
    }
    return t->get("value");
  }

  std::string text(const toml::node& n, const char* key) {
    if (!n.is_string() || n.as_string()->get().size() > longest_text) {
      in_.fault(n.source().begin,
                fmt::format("'{}' is text between quotes, of at most {} letters.", key, longest_text));
      return {};
    }
    return n.as_string()->get();
  }

  toml_library::Checked in_;
};

}  // namespace

Result<Player> read_player(std::string_view text, std::string_view name) {
  if (text.size() > player_file_limit) return fail("A player file is at most 64 kB.", std::string{name});
  return PlayerReader(name).read(text);
}

}  // namespace calcant
