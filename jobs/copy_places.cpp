#include "jobs/copy_places.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <optional>

#include "engine/quantity/typed.hpp"
#include "files/service/service.hpp"

namespace calcant {
namespace {

Result<int> verse_of(const Hymn& hymn, const WishPlace& p, const std::string& where) {
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

std::optional<int> bar_number(const std::string& bar) {
  int n = 0;
  const auto [end, fault] = std::from_chars(bar.data(), bar.data() + bar.size(), n);
  if (fault != std::errc{} || end == bar.data()) return std::nullopt;
  return n;
}

// -1, 0, 1: a before, at, after b; nothing where the copy cannot tell.
std::optional<int> order(const CopyPlace& a, const CopyPlace& b) {
  const auto sign = [](int x, int y) { return x < y ? -1 : x > y ? 1 : 0; };
  if ((a.page > 0) != (b.page > 0)) {
    // Bars numbered through the piece tell it all the same.
    const auto x = bar_number(a.bar);
    const auto y = bar_number(b.bar);
    return x && y && a.system == 0 && b.system == 0 ? std::optional{sign(*x, *y)} : std::nullopt;
  }
  if (a.page != b.page) return sign(a.page, b.page);
  if (a.system != b.system) {
    if (a.system > 0 && b.system > 0) return sign(a.system, b.system);
    // One of them is said by its page alone: that is where the page begins.
    if (a.system == 0 && a.bar.empty()) return -1;
    if (b.system == 0 && b.bar.empty()) return 1;
    return std::nullopt;
  }
  if (a.bar == b.bar) return 0;
  if (a.bar.empty()) return -1;
  if (b.bar.empty()) return 1;
  const auto x = bar_number(a.bar);
  const auto y = bar_number(b.bar);
  if (!x || !y) return std::nullopt;
  return *x == *y ? sign(a.bar.compare(b.bar), 0) : sign(*x, *y);
}

}  // namespace

Result<int> place_in(Hymn& hymn, const WishPlace& p, const std::string& where) {
  if (p.page == 0 && p.system == 0 && p.bar.empty()) return verse_of(hymn, p, where);
  if (hymn.kind != ItemKind::piece)
    return fail(fmt::format("{} is sung: its places are verses, verse = 3.", hymn.tune), where);
  const CopyPlace place{p.page, p.system, p.bar};
  std::size_t before = 1;  // what is not said of the first stretch is that it is the beginning
  for (std::size_t v = 0; v < hymn.verses.size(); ++v) {
    const auto& there = hymn.verses[v].place;
    if (!there) continue;
    const auto o = order(place, *there);
    if (!o && v == 0) continue;  // the first is where the piece begins: everything else is after it
    if (!o) {
      return fail(fmt::format("Is this before or after {}? Say page, system and bar as they are said there.",
                              hymn.verses[v].label),
                  where);
    }
    if (*o == 0) return static_cast<int>(v);
    if (*o < 0 && v == 0)
      return fail(fmt::format("{} begins at {}; there is nothing before it.", hymn.tune, hymn.verses[v].label), where);
    if (*o < 0) break;
    before = v + 1;
  }
  Verse verse;
  verse.kind = hymn.verses[before - 1].kind;
  verse.wish = hymn.verses[before - 1].wish;
  verse.place = place;
  verse.label = words(PaperPlace{p.page, p.system, p.bar, {}, {}});
  hymn.verses.insert(hymn.verses.begin() + static_cast<long>(before), std::move(verse));
  return static_cast<int>(before);
}

}  // namespace calcant
