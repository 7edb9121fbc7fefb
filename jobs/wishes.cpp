#include "jobs/wishes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/quantity/typed.hpp"
#include "files/words/words.hpp"
#include "jobs/copy_places.hpp"
#include "jobs/fixed_foot.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_files = 200;
constexpr std::string_view fixed_twice = "What is drawn at this place is fixed twice";

Result<std::optional<KeyboardIndex>> keyboard(const Organ& organ, const std::string& name, const std::string& where) {
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (lower(organ.keyboards[k].name) == lower(name) || organ.keyboards[k].id == name)
      return std::optional<KeyboardIndex>{static_cast<KeyboardIndex>(k)};
  }
  return fail(fmt::format("This organ has no keyboard '{}'.", name.substr(0, 60)), where);
}

bool names_the_pedal(const Organ& organ, const Registration& r) {
  const auto pedals = pedalboard(organ);
  if (!pedals) return false;
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(*pedals)].division;
  bool names = false;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) names = names || (r.stops[s] && organ.stops[s].division == home);
  for (std::size_t c = 0; c < organ.couplers.size(); ++c)
    names = names || (r.couplers[c] && organ.couplers[c].from == *pedals);
  return names;
}

}  // namespace

Result<PlaceWish> bar_of(const WishPlace& p, const Score& score, const std::string& where) {
  PlaceWish out;
  if (p.page > 0 || p.system > 0)
    return fail("A piece with a score is addressed by its bars alone: bar = 17, beat = 3.", where);
  if (p.bar.empty()) return out;
  const auto bar = std::find_if(score.bars.begin(), score.bars.end(), [&](const Bar& b) { return b.label == p.bar; });
  if (bar == score.bars.end()) {
    return fail(fmt::format("The score has no bar {}; its bars are {} to {}.", p.bar.substr(0, 20),
                            score.bars.front().label, score.bars.back().label),
                where);
  }
  out.bar_index = static_cast<int>(bar - score.bars.begin());
  out.at = Rational{static_cast<std::int64_t>(std::round((p.beat - 1) * 48)), 48} * Rational{4, bar->beat_type};
  if (out.at >= bar->length) {
    const double beats = (bar->length * Rational{bar->beat_type, 4}).to_double();
    return fail(fmt::format("Bar {} has {:g} beats, and beat {:g} is not in it.", bar->label, beats, p.beat), where);
  }
  out.pass = p.time;
  const auto times =
      std::count_if(score.turns.begin(), score.turns.end(), [&](const Turn& t) { return t.bar == out.bar_index; });
  if (p.time > times)
    return fail(fmt::format("Bar {} is played {} time{}.", bar->label, times, times == 1 ? "" : "s"), where);
  return out;
}

bool is_beginning(const PlaceWish& place, const Score& score) {
  return place.bar_index == score.turns.front().bar && place.at == Rational{0} && place.pass == 1;
}

bool is_meant(std::string_view name, std::string_view number, std::string_view title) {
  const std::string n = lower(name);
  return !n.empty() && ((!number.empty() && n == lower(number)) || (!title.empty() && n == lower(title)) ||
                        n == lower(fmt::format("{} {}", number, title)));
}

Result<Wishes> Wishes::of(const OrganContext& context) {
  Wishes w;
  std::error_code ec;
  std::set<std::filesystem::path> files;
  for (std::filesystem::directory_iterator it(context.folder / "wishes", ec), end; !ec && it != end; it.increment(ec)) {
    if (it->path().extension() == ".toml" && files.size() < most_files) files.insert(it->path());
  }
  for (const auto& path : files) {
    const auto text = read_text_file(path, wishes_file_limit);
    if (!text) return tl::unexpected<Error>(text.error());
    const std::string name = "wishes/" + path.filename().string();
    const auto file = read_wishes(*text, name);
    if (!file) return tl::unexpected<Error>(file.error());
    if (auto added = w.add(context.organ, *file, name, false); !added) return tl::unexpected<Error>(added.error());
  }
  return w;
}

Result<void> Wishes::add(const OrganContext& context, const ByHand& own, const std::string& item) {
  auto file = own.wishes();
  if (!file) return tl::unexpected<Error>(file.error());
  if (!item.empty()) {
    for (auto& f : file->forbidden) f.item = item;
    for (auto& v : file->verses) v.place.item = item;
    for (auto& f : file->fixed) f.place.item = item;
    for (auto& c : file->changes) c.place.item = item;
    for (auto& f : file->feet) f.item = item;
  }
  ++layer_;
  const auto shown = own.wishes_file().lexically_relative(context.folder);
  return add(context.organ, *file, shown.generic_string(), true);
}

Result<void> Wishes::add(const Organ& organ, const WishesFile& file, const std::string& name, bool drawn_in_full) {
  const auto where = [&](int line) { return fmt::format("{}:{}", name, line); };
  const auto drawn = [&](const std::string& text, int line) -> Result<Registration> {
    auto r = parse_registration(organ, text);
    if (!r) return fail(r.error().message, where(line));
    return r;
  };
  for (const NamedWord& n : file.words) words_.push_back({n.word, n.level, n.colour});
  for (const ForbiddenKnob& f : file.forbidden) {
    const auto r = drawn(f.knob, f.line);
    if (!r) return tl::unexpected<Error>(r.error());
    never_.push_back({f.item, knobs(organ, *r), where(f.line)});
  }
  for (const VerseWord& v : file.verses) said_.push_back({v.place, v.word, where(v.place.line), layer_});
  // Where both hands go; nothing where it is not said.
  const auto hands = [&](const std::string& on_right, const std::string& on_left, bool pedal,
                         int line) -> Result<std::optional<HandsAndFeet>> {
    if (on_right.empty()) return std::optional<HandsAndFeet>{};
    const auto right = keyboard(organ, on_right, where(line));
    if (!right) return tl::unexpected<Error>(right.error());
    const auto left = keyboard(organ, on_left, where(line));
    if (!left) return tl::unexpected<Error>(left.error());
    return std::optional<HandsAndFeet>{{*right, *left, pedal ? pedalboard(organ) : std::nullopt}};
  };
  for (const FixedRegistration& f : file.fixed) {
    const auto r = drawn(f.draw, f.place.line);
    if (!r) return tl::unexpected<Error>(r.error());
    FixedState state{*r, std::nullopt};
    state.pedal_open = f.pedal && !drawn_in_full && !names_the_pedal(organ, *r);
    auto on = hands(f.right, f.left, f.pedal, f.place.line);
    if (!on) return tl::unexpected<Error>(on.error());
    if (*on) {
      state.on = *on;
    } else if (!f.pedal) {
      state.on = HandsAndFeet{leading_manual(organ), leading_manual(organ), std::nullopt};
    }
    fixed_.push_back({f.place, state, where(f.place.line), layer_});
  }
  for (const FixedChange& c : file.changes) {
    GivenChange change;
    change.why = c.why;
    const auto draw = drawn(c.draw, c.place.line);
    if (!draw) return tl::unexpected<Error>(draw.error());
    const auto put_in = drawn(c.put_in, c.place.line);
    if (!put_in) return tl::unexpected<Error>(put_in.error());
    change.draw = knobs(organ, *draw);
    change.put_in = knobs(organ, *put_in);
    if (c.box && organ.boxes.empty()) return fail("This organ has no swell box.", where(c.place.line));
    if (c.box) change.boxes = {{0, static_cast<float>(*c.box)}};
    auto on = hands(c.right, c.left, true, c.place.line);
    if (!on) return tl::unexpected<Error>(on.error());
    change.on = *on;
    changes_.push_back({c.place, c.after_line, std::move(change), where(c.place.line)});
  }
  for (const FixedFootMark& f : file.feet) feet_.push_back({f.item, f.mark, where(f.line)});
  return {};
}

std::vector<Knob> Wishes::never(std::string_view number, std::string_view title) const {
  std::vector<Knob> out;
  for (const Never& n : never_) {
    if (n.item.empty() || is_meant(n.item, number, title)) out.insert(out.end(), n.knobs.begin(), n.knobs.end());
  }
  return out;
}

std::string Wishes::forbidden_in(Knob knob, std::string_view number, std::string_view title) const {
  for (const Never& n : never_) {
    if ((n.item.empty() || is_meant(n.item, number, title)) &&
        std::find(n.knobs.begin(), n.knobs.end(), knob) != n.knobs.end())
      return n.where;
  }
  return {};
}

std::vector<Wishes::PassedOver> Wishes::words_on(Hymn& hymn) const {
  std::vector<PassedOver> out;
  for (const Said& s : said_) {
    if (!meant(s.place, hymn.number, hymn.tune)) continue;
    if (const auto v = place_in(hymn, s.place, s.where)) out.push_back({*v, s.word, s.where});
  }
  return out;
}

bool Wishes::meant(const WishPlace& place, std::string_view number, std::string_view title) const {
  return is_meant(place.item, number, title) && (place.standing == 0 || place.standing == standing_);
}

// In one place the same file or folder says one thing; what is laid on top later goes before it. `one` is of `all`.
template <typename Wish, typename Place>
Result<void> Wishes::only_once(const std::vector<Wish>& all, const Wish& one, const Place& is_there,
                               std::string_view what) const {
  for (const Wish* w = all.data(); w != &one; ++w) {
    const bool same = w->layer == one.layer && w->place.standing == one.place.standing &&
                      lower(w->place.item) == lower(one.place.item) && is_there(w->place);
    if (same) return fail(fmt::format("{}: here, and in {}. Leave one of them.", what, w->where), one.where);
  }
  return {};
}

Result<void> Wishes::lay_on(Hymn& hymn) const {
  hymn.words = words_;
  const auto over = [&]() -> Verse& {
    if (!hymn.over) hymn.over = Verse{};
    return *hymn.over;
  };
  for (const Said& s : said_) {
    if (!meant(s.place, hymn.number, hymn.tune)) continue;
    const auto v = place_in(hymn, s.place, s.where);
    if (!v) return tl::unexpected<Error>(v.error());
    if (auto once = only_once(
            said_, s, [&](const WishPlace& p) { return place_in(hymn, p, s.where) == v; },
            "A word is given to this place twice");
        !once)
      return once;
    const Verse said = parse_verse(s.word, words_);
    lay_words(*v < 0 ? over() : hymn.verses[static_cast<std::size_t>(*v)], said);
  }
  for (const Fixed& f : fixed_) {
    if (!meant(f.place, hymn.number, hymn.tune)) continue;
    const auto v = place_in(hymn, f.place, f.where);
    if (!v) return tl::unexpected<Error>(v.error());
    if (auto once = only_once(
            fixed_, f, [&](const WishPlace& p) { return place_in(hymn, p, f.where) == v; }, fixed_twice);
        !once)
      return once;
    (*v < 0 ? over() : hymn.verses[static_cast<std::size_t>(*v)]).fixed = f.state;
  }
  for (const Change& c : changes_) {
    if (!meant(c.place, hymn.number, hymn.tune)) continue;
    if (auto laid = change(hymn, c); !laid) return laid;
  }
  return {};
}

Result<void> Wishes::change(Hymn& hymn, const Change& c) {
  const auto v = place_in(hymn, c.place, c.where);
  if (!v) return tl::unexpected<Error>(v.error());
  if (*v < 0 || (*v == 0 && (hymn.play_over == PlayOver::none || hymn.kind == ItemKind::piece)))
    return fail("Nothing is drawn before its beginning that could be changed: write [[fixed]] for it.", c.where);
  Verse& verse = hymn.verses[static_cast<std::size_t>(*v)];
  if (c.after_line == 0) {
    if (verse.change || verse.fixed) return fail(fmt::format("{}.", fixed_twice), c.where);
    verse.change = c.change;
    return {};
  }
  if (c.after_line >= hymn.lines)
    return fail(fmt::format("{} has {} lines: a change within a verse comes after line {} at the latest.", hymn.tune,
                            hymn.lines, hymn.lines - 1),
                c.where);
  verse.cues.push_back({c.after_line, c.change});
  std::stable_sort(verse.cues.begin(), verse.cues.end(),
                   [](const LineCue& a, const LineCue& b) { return a.after_line < b.after_line; });
  return {};
}

Result<void> Wishes::lay_on(Piece& piece, const Score& score) const {
  piece.words = words_;
  const auto place = [&](const WishPlace& p, const std::string& where) -> Result<PlaceWish> {
    if (p.verse || !p.section.empty())
      return fail(fmt::format("{} is a piece: its places are bars.", piece.title), where);
    return bar_of(p, score, where);
  };
  for (const Said& s : said_) {
    if (!meant(s.place, piece.number, piece.title)) continue;
    auto wish = place(s.place, s.where);
    if (!wish) return tl::unexpected<Error>(wish.error());
    wish->wish = s.word;
    piece.wishes.push_back(std::move(*wish));
  }
  for (const Fixed& f : fixed_) {
    if (!meant(f.place, piece.number, piece.title)) continue;
    auto wish = place(f.place, f.where);
    if (!wish) return tl::unexpected<Error>(wish.error());
    const auto there = [&](const WishPlace& p) {
      const auto other = place(p, f.where);
      return other && other->bar_index == wish->bar_index && other->at == wish->at && other->pass == wish->pass;
    };
    if (auto once = only_once(fixed_, f, there, fixed_twice); !once) return once;
    wish->fixed = f.state;
    piece.wishes.push_back(std::move(*wish));
  }
  for (const Change& c : changes_) {
    if (!meant(c.place, piece.number, piece.title)) continue;
    auto wish = place(c.place, c.where);
    if (!wish) return tl::unexpected<Error>(wish.error());
    if (is_beginning(*wish, score))
      return fail("Nothing is drawn before its beginning that could be changed: write [[fixed]] for it.", c.where);
    const bool twice = std::any_of(piece.wishes.begin(), piece.wishes.end(), [&](const PlaceWish& w) {
      return (w.fixed || w.change) && w.bar_index == wish->bar_index && w.at == wish->at && w.pass == wish->pass;
    });
    if (twice) return fail(fmt::format("{}.", fixed_twice), c.where);
    wish->change = c.change;
    piece.wishes.push_back(std::move(*wish));
  }
  return {};
}

Result<std::vector<FixedFoot>> Wishes::feet(std::string_view number, std::string_view title, const Score& score) const {
  std::vector<FixedFoot> out;
  for (const FootMark& f : feet_) {
    if (!is_meant(f.item, number, title)) continue;
    const auto mark = parse_fixed_foot(score, f.mark);
    if (!mark) return fail(mark.error().message, f.where);
    out.push_back(*mark);
  }
  return out;
}

}  // namespace calcant
