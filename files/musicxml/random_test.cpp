// Random scores written as MusicXML in as many ways as the format has, and read back to the very notes they were made of.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <string>
#include <tuple>
#include <vector>

#include "files/musicxml/marked.hpp"
#include "files/musicxml/musicxml.hpp"

namespace calcant {
namespace {

using Played = std::tuple<int, Rational, Rational, int, int>;  // bar, at, length, stave, key

class Composer {
 public:
  explicit Composer(unsigned seed) : random_(seed) {}

  std::string compose(bool timewise) {
    const int parts = pick(1, 3);
    const int bars = pick(1, 5);
    std::vector<std::vector<std::string>> content(static_cast<std::size_t>(parts));
    int first_stave = 0;
    for (int part = 0; part < parts; ++part) {
      const int staves = pick(1, 3);
      for (int bar = 0; bar < bars; ++bar) {
        content[static_cast<std::size_t>(part)].push_back(measure(bar, first_stave, staves));
      }
      first_stave += staves;
    }
    std::string out = timewise ? "<score-timewise>" : "<score-partwise>";
    out += "<part-list/>";
    const auto number = [&](int bar) { return fmt::format("<measure number=\"{}\">", bar + 1); };
    const auto part_tag = [](int part) { return fmt::format("<part id=\"P{}\">", part + 1); };
    for (int a = 0; a < (timewise ? bars : parts); ++a) {
      out += timewise ? number(a) : part_tag(a);
      for (int b = 0; b < (timewise ? parts : bars); ++b) {
        const int part = timewise ? b : a;
        const int bar = timewise ? a : b;
        out += timewise ? part_tag(b) : number(b);
        out += content[static_cast<std::size_t>(part)][static_cast<std::size_t>(bar)];
        out += timewise ? "</part>" : "</measure>";
      }
      out += timewise ? "</measure>" : "</part>";
    }
    out += timewise ? "</score-timewise>" : "</score-partwise>";
    std::sort(played_.begin(), played_.end());
    return out;
  }
  [[nodiscard]] const std::vector<Played>& played() const { return played_; }

 private:
  int pick(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }

  // One to three voices, each from somewhere in the bar on, with rests, chords and its own divisions now and then.
  std::string measure(int bar, int first_stave, int staves) {
    Rational now;
    std::string out = fmt::format("{}<attributes><staves>{}</staves></attributes>", divisions(now), staves);
    const int voices = pick(1, 3);
    for (int voice = 0; voice < voices; ++voice) {
      const Rational to{pick(0, 3)};
      if (to < now) out += fmt::format("<backup><duration>{}</duration></backup>", ticks(now - to));
      if (to > now) out += fmt::format("<forward><duration>{}</duration></forward>", ticks(to - now));
      now = to;
      const int notes = pick(0, 6);
      for (int n = 0; n < notes; ++n) {
        if (pick(0, 9) == 0) out += divisions(now);
        const Rational length = Rational{pick(1, 2 * per_quarter_), per_quarter_};
        const int stave = pick(1, staves);
        if (pick(0, 5) == 0) {
          out += fmt::format("<note><rest/><duration>{}</duration></note>", ticks(length));
        } else {
          const int heads = pick(1, 3);
          for (int head = 0; head < heads; ++head) out += note(bar, now, length, first_stave, stave, voice, head > 0);
        }
        now += length;
      }
    }
    return out;
  }

  // New divisions, of those on which the place they begin at lies.
  std::string divisions(Rational now) {
    static constexpr int usual[]{1, 3, 10, 12, 60, 480};
    do {
      per_quarter_ = usual[pick(0, 5)];
    } while ((now * Rational{per_quarter_}).den() != 1);
    return fmt::format("<attributes><divisions>{}</divisions></attributes>", per_quarter_);
  }

  // Every place of a bar lies on its divisions.
  [[nodiscard]] std::string ticks(Rational quarters) const {
    return fmt::format("{}", (quarters * Rational{per_quarter_}).num());
  }

  std::string note(int bar, Rational at, Rational length, int first_stave, int stave, int voice, bool chord) {
    const int octave = pick(2, 6);
    static constexpr int semitones[]{0, 2, 4, 5, 7, 9, 11};
    const int step = pick(0, 6);
    const int alter = pick(-1, 1);
    played_.emplace_back(bar, at, length, first_stave + stave - 1, 12 * (octave + 1) + semitones[step] + alter);
    return fmt::format(
        "<note>{}<pitch><step>{}</step><alter>{}</alter><octave>{}</octave></pitch><duration>{}</duration>"
        "<voice>{}</voice><staff>{}</staff></note>",
        chord ? "<chord/>" : "", "CDEFGAB"[step], alter, octave, ticks(length), voice + 1, stave);
  }

  std::mt19937 random_;
  int per_quarter_ = 12;
  std::vector<Played> played_;
};

TEST(Random, WhatIsWrittenIsReadAndMarkedCopiesAreTheSame) {
  for (unsigned seed = 1; seed <= 120; ++seed) {
    Composer composer(seed);
    const std::string text = composer.compose(seed % 3 == 0);
    const auto s = read_musicxml(text, "random.musicxml");
    ASSERT_TRUE(s) << sentence(s.error()) << " seed " << seed;
    std::vector<Played> read;
    for (const WrittenNote& n : s->notes) read.emplace_back(n.bar, n.at, n.length, n.stave, n.note.midi);
    std::sort(read.begin(), read.end());
    ASSERT_EQ(read, composer.played()) << "seed " << seed;

    std::vector<musicxml::Mark> marks;
    for (const WrittenNote& n : s->notes) {
      musicxml::Mark m;
      m.kind = musicxml::Mark::Kind::registration;
      m.text = "x";
      m.bar = n.bar;
      m.at = n.at + n.length / Rational{2};
      m.stave = n.stave;
      marks.push_back(m);
    }
    const auto marked = musicxml::write_marked(text, marks);
    ASSERT_TRUE(marked) << seed;
    ASSERT_EQ(musicxml::remove_marks(*marked), text) << seed;
    const auto again = read_musicxml(*marked, "marked");
    ASSERT_TRUE(again) << seed;
    ASSERT_EQ(again->directions.size(), marks.size()) << seed;
    // Each word stands where it was wanted, to a millionth of a division.
    std::vector<std::tuple<int, double, int>> wanted;
    std::vector<std::tuple<int, double, int>> found;
    for (const auto& m : marks) wanted.emplace_back(m.bar, m.at.to_double(), m.stave);
    for (const Direction& d : again->directions) found.emplace_back(d.bar, d.at.to_double(), d.stave);
    std::sort(wanted.begin(), wanted.end());
    std::sort(found.begin(), found.end());
    for (std::size_t i = 0; i < wanted.size(); ++i) {
      ASSERT_EQ(std::get<0>(found[i]), std::get<0>(wanted[i])) << seed;
      ASSERT_NEAR(std::get<1>(found[i]), std::get<1>(wanted[i]), 1e-6) << seed;
    }
  }
}

}  // namespace
}  // namespace calcant
