// Hearing the organ before going to the church: a score, or a chord held, or two registrations one after the other, as an
// audio file on one scale of levels.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/quantity/work.hpp"
#include "engine/score/score.hpp"
#include "engine/sound/performance.hpp"
#include "engine/sound/render.hpp"
#include "jobs/context.hpp"

namespace calcant {

struct HearSettings {
  std::filesystem::path out;                  // .flac or .wav
  std::optional<std::filesystem::path> room;  // a recorded response in place of the one made from the description
  bool dry = false;
  bool untidy = false;
  bool by_hand = false;                 // the wind comes from the hand pump
  double gain_db = 0;                   // listening gain, added to the one scale
  double full_scale_db = 120;           // peak SPL of full scale
  std::optional<std::string> division;  // only this division's pipes, by name or id
  bool apart = false;                   // besides, each division that sounds in a file of its own (out-great.flac)
};

// A bar as it is heard: its place among the score's bars, from 0, and when it begins in the file.
struct HeardBar {
  int bar_index = 0;
  Seconds at;
};

struct HeardFile {
  std::filesystem::path path;
  Seconds length;
  Decibels peak;      // re full scale
  std::string scale;  // the sentence written into the file: full scale, gain, place, people, temperature
  std::vector<std::filesystem::path> apart;
  // In the order they are heard, repeats and jumps taken; none for chords and for hymns of several verses.
  std::vector<HeardBar> bars;
  std::vector<std::string> remarks;
};

struct HearScore {
  std::filesystem::path score;
  std::optional<std::filesystem::path> plan;  // plan.json; else one is made as `prepare` would
  std::optional<int> item;                    // which of a plan's several items this score is, from 1
  std::optional<std::string> draw;            // this registration throughout, in place of a plan
  std::string on;                             // with draw: the hands' keyboard; empty: the first manual that sounds
  std::optional<std::string> from_bar;        // printed labels; both ends included
  std::optional<std::string> to_bar;
  std::optional<double> tempo;
  std::optional<int> verses;
  std::optional<Bass> bass;
  std::optional<std::string> touch;  // parse_touch(), laid over the player's own
};
[[nodiscard]] Result<HeardFile> hear_score(const OrganContext& context, const HearScore& what, const HearSettings& how,
                                           const Work& work);

// Keys held for some seconds (0.2 to 600).
[[nodiscard]] Result<HeardFile> hear_chord(const OrganContext& context, const std::string& draw,
                                           const std::string& keys, Seconds held, const HearSettings& how,
                                           const Work& work);

// The same keys with the first registration, a second's pause, then the second, at their true relative level.
[[nodiscard]] Result<HeardFile> hear_two(const OrganContext& context, const std::string& first,
                                         const std::string& second, const std::string& keys, Seconds held,
                                         const HearSettings& how, const Work& work);

[[nodiscard]] std::string json_text(const OrganContext& context, const HeardFile& heard);

}  // namespace calcant
