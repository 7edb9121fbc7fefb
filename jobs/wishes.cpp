#include "jobs/wishes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <set>

#include "files/words/words.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_files = 200;

std::string lower(std::string_view s) {
  std::string out;
  for (const char c : s) out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

Result<std::optional<KeyboardIndex>> keyboard(const Organ& organ, const std::string& name, const std::string& where) {
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (lower(organ.keyboards[k].name) == lower(name) || organ.keyboards[k].id == name)
      return std::optional<KeyboardIndex>{static_cast<KeyboardIndex>(k)};
  }
  return fail(fmt::format("This organ has no keyboard '{}'.", name.substr(0, 60)), where);
}

// The verse a place means, counted from 0; the play-over is -1.
Result<int> verse_of(const WishPlace& p, const Hymn& hymn, const std::string& where) {
  if (!p.section.empty()) {
    for (std::size_t v = 0; v < hymn.verses.size(); ++v) {
      if (lower(hymn.verses[v].label) == lower(p.section)) return static_cast<int>(v);
    }
    return fail(fmt::format("{} has no {}.", hymn.tune, p.section), where);
  }
  if (!p.verse)
    return fail(fmt::format("Which verse of {}? Write verse = 3, or verse = \"play-over\".", hymn.tune), where);
  if (*p.verse > static_cast<int>(hymn.verses.size()))
    return fail(fmt::format("{} has no verse {}; {} are sung.", hymn.tune, *p.verse, hymn.verses.size()), where);
  return *p.verse - 1;
}

Result<std::pair<int, Rational>> bar_of(const WishPlace& p, const Score& score, const std::string& where) {
  if (p.bar.empty()) return std::pair{0, Rational{0}};
  for (std::size_t b = 0; b < score.bars.size(); ++b) {
    if (score.bars[b].label != p.bar) continue;
    const Rational beat{static_cast<std::int64_t>(std::round((p.beat - 1) * 48)), 48};
    return std::pair{static_cast<int>(b), beat * Rational{4, score.bars[b].beat_type}};
  }
  return fail(fmt::format("The score has no bar {}.", p.bar.substr(0, 20)), where);
}

}  // namespace

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
    if (auto added = w.add(context.organ, *file, name); !added) return tl::unexpected<Error>(added.error());
  }
  return w;
}

Result<void> Wishes::add(const Organ& organ, const WishesFile& file, const std::string& name) {
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
    never_.push_back({f.item, knobs(organ, *r)});
  }
  for (const VerseWord& v : file.verses) said_.push_back({v.place, v.word, where(v.place.line)});
  for (const FixedRegistration& f : file.fixed) {
    const auto r = drawn(f.draw, f.place.line);
    if (!r) return tl::unexpected<Error>(r.error());
    FixedState state{*r, std::nullopt};
    if (!f.right.empty()) {
      const auto right = keyboard(organ, f.right, where(f.place.line));
      if (!right) return tl::unexpected<Error>(right.error());
      const auto left = keyboard(organ, f.left, where(f.place.line));
      if (!left) return tl::unexpected<Error>(left.error());
      state.on = HandsAndFeet{*right, *left, f.pedal ? pedalboard(organ) : std::nullopt};
    } else if (!f.pedal) {
      state.on = HandsAndFeet{leading_manual(organ), leading_manual(organ), std::nullopt};
    }
    fixed_.push_back({f.place, state, where(f.place.line)});
  }
  for (const FixedChange& c : file.changes) {
    LineCue cue;
    cue.after_line = c.after_line;
    cue.why = c.why;
    const auto draw = drawn(c.draw, c.place.line);
    if (!draw) return tl::unexpected<Error>(draw.error());
    const auto put_in = drawn(c.put_in, c.place.line);
    if (!put_in) return tl::unexpected<Error>(put_in.error());
    cue.draw = knobs(organ, *draw);
    cue.put_in = knobs(organ, *put_in);
    if (c.box && organ.boxes.empty()) return fail("This organ has no swell box.", where(c.place.line));
    if (c.box) cue.boxes = {{0, static_cast<float>(*c.box)}};
    changes_.push_back({c.place, cue, where(c.place.line)});
  }
  return {};
}

std::vector<Knob> Wishes::never(std::string_view number, std::string_view title) const {
  std::vector<Knob> out;
  for (const Never& n : never_) {
    if (n.item.empty() || is_meant(n.item, number, title)) out.insert(out.end(), n.knobs.begin(), n.knobs.end());
  }
  return out;
}

Result<void> Wishes::lay_on(Hymn& hymn) const {
  hymn.words = words_;
  const auto over = [&]() -> Verse& {
    if (!hymn.over) hymn.over = Verse{};
    return *hymn.over;
  };
  for (const Said& s : said_) {
    if (!is_meant(s.place.item, hymn.number, hymn.tune)) continue;
    const auto v = verse_of(s.place, hymn, s.where);
    if (!v) return tl::unexpected<Error>(v.error());
    const Verse said = parse_verse(s.word, words_);
    Verse& verse = *v < 0 ? over() : hymn.verses[static_cast<std::size_t>(*v)];
    verse.kind = said.kind;
    verse.wish = said.wish;
    verse.second = said.second;
  }
  for (const Fixed& f : fixed_) {
    if (!is_meant(f.place.item, hymn.number, hymn.tune)) continue;
    const auto v = verse_of(f.place, hymn, f.where);
    if (!v) return tl::unexpected<Error>(v.error());
    (*v < 0 ? over() : hymn.verses[static_cast<std::size_t>(*v)]).fixed = f.state;
  }
  for (const Change& c : changes_) {
    if (!is_meant(c.place.item, hymn.number, hymn.tune)) continue;
    const auto v = verse_of(c.place, hymn, c.where);
    if (!v) return tl::unexpected<Error>(v.error());
    if (c.cue.after_line >= hymn.lines)
      return fail(fmt::format("{} has {} lines: a change within a verse comes after line {} at the latest.", hymn.tune,
                              hymn.lines, hymn.lines - 1),
                  c.where);
    auto& cues = hymn.verses[static_cast<std::size_t>(*v)].cues;
    cues.push_back(c.cue);
    std::stable_sort(cues.begin(), cues.end(),
                     [](const LineCue& a, const LineCue& b) { return a.after_line < b.after_line; });
  }
  return {};
}

Result<void> Wishes::lay_on(Piece& piece, const Score& score) const {
  piece.words = words_;
  const auto place = [&](const WishPlace& p, const std::string& where) -> Result<PlaceWish> {
    if (p.verse || !p.section.empty())
      return fail(fmt::format("{} is a piece: its places are bars.", piece.title), where);
    const auto bar = bar_of(p, score, where);
    if (!bar) return tl::unexpected<Error>(bar.error());
    return PlaceWish{bar->first, bar->second, {}, {}};
  };
  for (const Said& s : said_) {
    if (!is_meant(s.place.item, piece.number, piece.title)) continue;
    auto wish = place(s.place, s.where);
    if (!wish) return tl::unexpected<Error>(wish.error());
    wish->wish = s.word;
    piece.wishes.push_back(std::move(*wish));
  }
  for (const Fixed& f : fixed_) {
    if (!is_meant(f.place.item, piece.number, piece.title)) continue;
    auto wish = place(f.place, f.where);
    if (!wish) return tl::unexpected<Error>(wish.error());
    wish->fixed = f.state;
    piece.wishes.push_back(std::move(*wish));
  }
  return {};
}

}  // namespace calcant
