#include "jobs/level_words.hpp"

#include <fmt/format.h>

#include <charconv>
#include <limits>
#include <string_view>
#include <vector>

#include "engine/plan/plain_words.hpp"
#include "engine/registration/rules.hpp"
#include "jobs/saved.hpp"
#include "jobs/wishes.hpp"

namespace calcant {
namespace {

constexpr double shade_phons = 2.0;
constexpr double claimed_phons = 1.0;  // either way: the band of choosing.md
constexpr int most_singers = 5000;
constexpr double words_phons = 3.0;  // how far the nearest may be from a plain word of level (assumed: a step or two)

// What is nearer to the plain level of this share than to those beside it.
LevelClaim claim_of_share(double share, const Chooser::Range& range, const std::vector<KeysDown>& chords) {
  constexpr double far = std::numeric_limits<double>::infinity();
  const auto midway = [](std::size_t a, std::size_t b) { return (plain_levels[a].share + plain_levels[b].share) / 2; };
  std::size_t level = 0;
  while (level + 1 < plain_levels.size() && share >= midway(level, level + 1)) ++level;
  LevelClaim out;
  out.over = HeardThere{range.softest, chords};
  out.towards = HeardThere{range.loudest, chords};
  out.least = level == 0 ? -far : midway(level - 1, level);
  out.most = level + 1 == plain_levels.size() ? far : midway(level, level + 1);
  out.words = fmt::format("nearer to {} than to any other plain level", plain_levels[level].word);
  return out;
}

std::optional<std::string> after(const std::string& text, std::string_view start) {
  if (text.size() <= start.size() || text.compare(0, start.size(), start) != 0) return std::nullopt;
  return text.substr(start.size());
}

}  // namespace

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
        "a hymn's verse for {} singer{}, taken to be as loud as {:.0f} phon ({:.0f} to {:.0f}: an assumed "
        "{:.0f} dB each, {:.0f} either way)",
        n, n == 1 ? "" : "s", out.level.value(), out.singers->low.value(), out.singers->high.value(),
        singers.each.value(), singers.band);
    return out;
  }
  const auto wishes = Wishes::of(context);
  const Wordbook own = wishes ? wishes->words() : Wordbook{};
  const WordsRead read = read_words(level, own);
  const bool understood = read.unknown.empty() && read.denied.empty() && read.graded.empty();
  if (const auto share = read.meaning.share; share && understood) {
    const auto range = chooser.range(manner, work, knobs.must, knobs.must_not);
    if (!range) return tl::unexpected(range.error());
    out.level = Phons{range->low.value() + *share * (range->high - range->low).value()};
    out.leeway = words_phons;
    out.full = *share == 1.0;
    out.soft = *share < SoftPractice::below;
    if (read.meaning.colour != 0) out.colour = read.meaning.colour < 0 ? Colour::darker : Colour::brighter;
    out.claim = claim_of_share(*share, *range, chooser.ear().chords());
    out.purpose = fmt::format("{}: {:.0f} phon, where the softest here is {:.0f} and the loudest {:.0f}", level,
                              out.level.value(), range->low.value(), range->high.value());
    return out;
  }
  const std::string near = nearest_word(level, own);
  return fail(
      fmt::format("\"{}\" is no level{}; say {}, \"softer\" or \"louder\" (with --from), \"a shade more than NAME\", "
                  "\"enough for 40\", or give --phon",
                  level.substr(0, 60), near.empty() ? "" : "; perhaps \"" + near + "\"", plain_level_words()),
      "--level");
}

bool is_step(const std::string& level) {
  const WordsRead read = read_words(level, {});
  return read.meaning.step && !read.meaning.share && read.unknown.empty() && read.denied.empty() && read.graded.empty();
}
bool is_louder(const std::string& level) { return meaning(level, {}).value_or(Meaning{}).step.value_or(0) > 0; }

}  // namespace calcant
