// The organ of a day: what the book knows of faults and measurements, turned into an overlay for one date.
//
// A pipe's character (its level when in order) lasts until it is measured anew; its state (dead, out of tune) lasts until
// a visit closes it. Plans and previews use the organ in order: dead notes and stops out of use are laid over, character
// is laid over, but out-of-tune notes only "as found".
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/overlay.hpp"

namespace calcant {

// What the book says of a fault that is open on the day.
struct OpenFault {
  std::string stop;         // id; empty: the whole division
  std::string division;     // id
  std::optional<Note> key;  // empty: the whole stop
  std::string rank;         // id, and pipe number, where a single note is meant; else empty and 0
  int pipe = 0;
  bool dead = false;        // it does not speak
  bool out_of_use = false;  // the organist leaves the stop in
  std::string words;        // as it was said
  std::string when;         // "cold": only then
  std::string reported;     // date
};

// What a measuring said of one pipe.
struct PipeRecord {
  std::string rank;
  int pipe = 0;
  std::string date;
  std::string stop{};          // id of the stop that was played
  bool dead = false;           // its key had its turn, and it gave no sound
  bool close = false;          // microphone near the mouths: the level is the pipe's own and not the room's
  std::optional<Cents> cents;  // against the organ's pitch at that day's temperature
  std::optional<Cents> cents_95;
  std::optional<Decibels> level;  // against its run's median
  std::optional<Decibels> level_95;
  std::optional<Celsius> temperature;
};

// A tuner's visit: what was measured before it says nothing any more of a pipe's state.
struct StateClosed {
  std::string date;
  std::string stop;  // id: seen to alone; empty: the whole organ
};

// Whether a visit to the stop or to the whole organ came after `found`, and by `on` (empty: ever): what was found then may
// have been mended.
[[nodiscard]] bool seen_to(const std::vector<StateClosed>& visits, std::string_view stop, std::string_view found,
                           std::string_view on);

struct DayRequest {
  std::string date;                    // ISO 8601
  std::optional<Celsius> temperature;  // at the pipes, where known
  bool as_found = false;               // lay out-of-tune notes over, too
};

struct Day {
  Overlay overlay;
  // In sentences, for the foot of the cue sheet and for plans: what was allowed for.
  std::vector<std::string> allowed_for;
  // Reeds that stand so far from the flues at the day's temperature that they are better left out of the chorus.
  struct ReedApart {
    std::string rank;
    Cents above_flues;
  };
  std::vector<ReedApart> reeds_apart;
};

// Reeds further than this from the flues are told: 6 cents is "clearly audible" with flues (trade practice, about 2 K of
// a flue's movement; assumed as a threshold, no standard).
inline constexpr double reed_apart_cents = 6.0;

// `records`: all that is in the book, any order; the newest of a pipe up to the date counts. A level of one microphone
// without a calibrator only reshapes its rank about the modelled mean: the mean of a run's levels is taken out, and room
// levels are laid over with the standing wave's own spread (5 dB, measuring practice from memory) as their 95 % interval.
// `visits`, any order: a pipe found dead or out of tune counts as that until it is found otherwise, or until a visit to its
// stop or to the whole organ on a later day; its level goes on counting.
[[nodiscard]] Day organ_of_day(const Organ& organ, const std::vector<OpenFault>& faults,
                               const std::vector<PipeRecord>& records, const DayRequest& request,
                               const std::vector<StateClosed>& visits = {});

}  // namespace calcant
