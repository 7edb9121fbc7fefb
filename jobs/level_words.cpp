#include "jobs/level_words.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <limits>
#include <string_view>
#include <vector>

#include "engine/quantity/nearest.hpp"
#include "engine/registration/rules.hpp"
#include "jobs/saved.hpp"

namespace calcant {
namespace {

constexpr double shade_phons = 2.0;
constexpr double claimed_phons = 1.0;  // either way: the band of choosing.md
constexpr std::array<std::pair<std::string_view, double>, 7> words_of_level{{{"very soft", 0.0},
                                                                             {"soft", 0.2},
                                                                             {"rather soft", 0.35},
                                                                             {"moderate", 0.5},
                                                                             {"rather loud", 0.65},
                                                                             {"loud", 0.8},
                                                                             {"full", 1.0}}};
constexpr int most_singers = 5000;
constexpr double words_phons = 3.0;  // how far the nearest may be from a plain word of level (assumed: a step or two)

// What is nearer to this word of level than to those beside it.
LevelClaim claim_of_word(std::size_t word, const Chooser::Range& range, const std::vector<KeysDown>& chords) {
  constexpr double far = std::numeric_limits<double>::infinity();
  const auto midway = [](std::size_t a, std::size_t b) {
    return (words_of_level[a].second + words_of_level[b].second) / 2;
  };
  LevelClaim out;
  out.over = HeardThere{range.softest, chords};
  out.towards = HeardThere{range.loudest, chords};
  out.least = word == 0 ? -far : midway(word - 1, word);
  out.most = word + 1 == words_of_level.size() ? far : midway(word, word + 1);
  out.words = fmt::format("nearer to {} than to any other word", words_of_level[word].first);
  return out;
}

std::optional<std::string> after(const std::string& text, std::string_view start) {
  if (text.size() <= start.size() || text.compare(0, start.size(), start) != 0) return std::nullopt;
  return text.substr(start.size());
}

}  // namespace

std::string plain_level_words() {
  std::string out;
  for (const auto& [word, share] : words_of_level) out += (out.empty() ? "" : ", ") + std::string{word};
  return out;
}

Result<LevelAsked> level_asked(const OrganContext& context, Chooser& chooser, const std::string& level,
                               const Singers& one, Manner manner, const KnobsAsked& knobs, const Work& work) {
  LevelAsked out;
  out.manner = manner;
  for (const auto& [start, more] : {std::pair{"a shade more than ", shade_phons},
                                    std::pair{"a shade less than ", -shade_phons}, std::pair{"as loud as ", 0.0}}) {
    const auto name = after(level, start);
    if (!name) continue;
    const auto drawn = drawn_registration(context, *name);
    if (!drawn) return tl::unexpected(drawn.error());
    const HeardOn& heard = chooser.ear().hear(*drawn);
    if (!(heard.pipes > 0)) {
      return fail(fmt::format("\"{}\" does not sound on this keyboard", *name), "--level");
    }
    out.level = Phons{heard.phons + more};
    out.claim.over = HeardThere{*drawn, chooser.ear().chords()};
    out.claim.least = more - claimed_phons;
    out.claim.most = more + claimed_phons;
    out.claim.words = level;
    out.purpose = fmt::format("{} ({:.0f} phon): {:.0f} phon", level, heard.phons, out.level.value());
    return out;
  }
  if (const auto count = after(level, "enough for ")) {
    Singers singers = one;
    int n = 0;
    const auto [end, fault] = std::from_chars(count->data(), count->data() + count->size(), n);
    if (fault != std::errc{} || n < 1 || n > most_singers) {
      return fail(fmt::format("\"{}\" is no number of singers from 1 to {}; say \"enough for 40\"",
                              count->substr(0, 60), most_singers),
                  "--level");
    }
    singers.count = n;
    // Their tune is the treble of the chords that the registration is weighed on.
    std::vector<Chord> chords;
    for (const KeysDown& down : chooser.ear().chords()) {
      Chord c;
      c.right = down.keys[static_cast<std::size_t>(chooser.on())];
      chords.push_back(c);
    }
    const Scales scales{chooser.ear().listening(), chords};
    out.singers = loudness(singers, scales);
    out.level = out.singers->middle;
    out.manner = Manner::hymn;
    out.claim.least = out.singers->low.value();
    out.claim.most = out.singers->high.value();
    out.claim.words = "between these singers at their softest and at their loudest";
    out.purpose = fmt::format(
        "a hymn's verse for {} singers, taken to be as loud as {:.0f} phon ({:.0f} to {:.0f}: an assumed "
        "{:.0f} dB each, {:.0f} either way)",
        n, out.level.value(), out.singers->low.value(), out.singers->high.value(), singers.each.value(), singers.band);
    return out;
  }
  for (std::size_t w = 0; w < words_of_level.size(); ++w) {
    const auto& [word, share] = words_of_level[w];
    if (level != word) continue;
    const auto range = chooser.range(manner, work, knobs.must, knobs.must_not);
    if (!range) return tl::unexpected(range.error());
    out.level = Phons{range->low.value() + share * (range->high - range->low).value()};
    out.leeway = words_phons;
    out.full = share == 1.0;
    out.soft = share < SoftPractice::below;
    out.claim = claim_of_word(w, *range, chooser.ear().chords());
    out.purpose = fmt::format("{}: {:.0f} phon, where the softest here is {:.0f} and the loudest {:.0f}", level,
                              out.level.value(), range->low.value(), range->high.value());
    return out;
  }
  std::vector<std::string> known;
  for (const auto& [word, share] : words_of_level) known.emplace_back(word);
  return fail(
      fmt::format("\"{}\" is no level{}; say {}, \"softer\" or \"louder\" (with --from), \"a shade more than NAME\", "
                  "\"enough for 40\", or give --phon",
                  level.substr(0, 60), perhaps(level, known), plain_level_words()),
      "--level");
}

}  // namespace calcant
