#include "jobs/board.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "jobs/hymn_words.hpp"

namespace calcant {
namespace {

void as_psalm(Hymn& h, const ServiceItem& i) {
  h.tune = i.title.empty() ? fmt::format("Psalm{}", i.number.empty() ? "" : " " + i.number) : i.title;
  if (i.title.empty()) h.number.clear();
  h.metre = i.double_chant ? "double chant" : "single chant";
  h.lines = i.double_chant ? 4 : 2;
  h.play_over = PlayOver::whole;
  h.bass = Bass::hands;  // a chant is mostly taken without pedal
  h.gap_quarters = 2;
}

}  // namespace

Result<Hymn> sung_item(const ServiceItem& i, const Service& service, const Wordbook& words) {
  const bool psalm = i.kind == ServiceItem::Kind::psalm;
  Hymn h;
  h.kind = psalm ? ItemKind::psalm : ItemKind::hymn;
  h.number = i.number;
  h.tune = i.title;
  h.notes = console_notes(i);
  if (psalm) as_psalm(h, i);
  if (!i.key.empty()) {
    if (auto set = set_key(h, i.key); !set) return tl::unexpected<Error>(set.error());
  }
  if (!i.metre.empty()) {
    if (auto set = set_metre(h, i.metre); !set) return tl::unexpected<Error>(set.error());
  }
  if (!i.bass.empty()) {
    const auto bass = parse_bass(i.bass);
    if (!bass) return tl::unexpected<Error>(bass.error());
    h.bass = *bass;
  }
  if (!i.play_over.empty()) {
    const auto over = parse_play_over(i.play_over);
    if (!over) return tl::unexpected<Error>(over.error());
    h.play_over = *over;
  }
  if (!i.play_over_word.empty()) h.over = parse_verse(i.play_over_word, words);
  if (service.singers) h.singers.count = *service.singers;
  if (i.tempo) {
    h.quarters_per_minute = *i.tempo;
    h.tempo_assumed = false;
  }
  const std::size_t said = i.words.size();
  const std::size_t verses = i.verses > 0 ? static_cast<std::size_t>(i.verses) : said;
  if (verses == 0) return fail("The number of verses is missing: verses = 4.");
  if (said > verses) return fail(fmt::format("There are {} words for {} verses.", said, verses));
  h.verses.resize(verses);
  for (std::size_t v = 0; v < said; ++v) h.verses[v] = parse_verse(i.words[v], words);
  if (psalm && i.gloria) {
    Verse gloria;
    gloria.label = "Gloria";
    h.verses.push_back(gloria);
  }
  return h;
}

Hymn unscored_item(const ServiceItem& i, const Wordbook& words) {
  Hymn h;
  h.kind = ItemKind::piece;
  h.number = i.number;
  h.tune = !i.title.empty() ? i.title : i.kind == ServiceItem::Kind::note ? "Give the note" : "Music to fill";
  if (!i.key.empty() && !set_key(h, i.key)) h.key = i.key;
  h.metre = i.minutes ? fmt::format("{:g} minutes", *i.minutes) : "";
  h.play_over = PlayOver::none;
  h.notes = console_notes(i);
  if (i.bass == "hands") h.bass = Bass::hands;
  for (const PaperPlace& p : i.places) {
    Verse v = parse_verse(p.word, words);
    v.label = calcant::words(p);
    v.place = CopyPlace{p.page, p.system, p.bar};
    if (p.rest) v.before = Seconds{*p.rest};
    // A place that says nothing goes on as before.
    if (v.wish.empty() && !h.verses.empty()) v.wish = h.verses.back().wish;
    h.verses.push_back(std::move(v));
  }
  if (h.verses.empty()) {
    Verse v = parse_verse(i.words.empty() ? "quiet" : i.words.front(), words);
    v.label = "Throughout";
    h.verses.push_back(std::move(v));
  }
  return h;
}

std::vector<std::string> console_notes(const ServiceItem& i) {
  std::vector<std::string> out;
  if (!i.note.empty()) out.push_back("Give the note: " + i.note);
  for (const std::string& c : i.cuts) out.push_back("To cut: " + c);
  if (i.kind == ServiceItem::Kind::fill && i.minutes)
    out.push_back(fmt::format("About {:g} minutes; end when all is ready", *i.minutes));
  return out;
}

}  // namespace calcant
