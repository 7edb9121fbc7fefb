// What reaches a listener: pipes through their swell box and the room, as lines at the bench or in the nave.
#pragma once

#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"
#include "engine/organ/sounding.hpp"
#include "engine/pipe/voice.hpp"
#include "engine/quantity/lines.hpp"
#include "engine/room/field.hpp"

namespace calcant {

struct Condition {
  PlaceKind place = PlaceKind::nave;
  People people = People::empty;
  Air air;  // temperature and humidity at the pipes
};
// The organ's own room figures for air, where nothing else is asked for; 15 °C and 60 % where it has none.
[[nodiscard]] Condition usual_condition(const Organ& organ);

// The organ's room as the field wants it, with as many people as asked for (`full`: its seats; half of them).
[[nodiscard]] RoomDescription describe(const Room& room, People people, const Air& air);

// From a division's pipes to the first place of this kind; where the organ names none, 3 m to the bench and 12 m to the
// nave (assumed).
[[nodiscard]] Metres distance_to(const Organ& organ, PlaceKind place, DivisionIndex division);

// dB a swell box takes away at this opening (0 shut, 1 open), per octave band. Shut it takes its `attenuation` (where
// the file says none: 3 dB at 63 Hz rising to 17 dB at 8 kHz, assumed); what leaks then and what passes the shutters add
// by power, and the shutters pass as much as their gap is wide, which for turning blades goes with the sine of their
// angle (assumed law): so the first third of the travel does most of the work, as players know it.
[[nodiscard]] Bands box_loss(const SwellBox& box, double opening);

// Every pipe's voice and its lines at one place, computed once and then only looked up: the base of all that weighs
// registrations. Immutable after construction, safe to share between threads. The organ must outlive it.
class Listening {
 public:
  Listening(const Organ& organ, const Condition& condition);

  [[nodiscard]] const Organ& organ() const { return *organ_; }
  [[nodiscard]] const Condition& condition() const { return condition_; }
  [[nodiscard]] const Field& field() const { return field_; }
  [[nodiscard]] const Voice& voice(PipeId pipe) const;
  // A pipe's lines at the place, its box (if it stands in one) open.
  [[nodiscard]] const Lines& lines_open(PipeId pipe) const;
  // The box a rank stands in.
  [[nodiscard]] std::optional<BoxIndex> box_of(RankIndex rank) const;
  // dB that a box at this opening (0 shut, 1 open) takes away at this frequency: 0 when open.
  [[nodiscard]] Decibels box_loss(BoxIndex box, double opening, Hertz f) const;
  // Lines at the place of everything in `pipes`, with the boxes of `drawn`.
  [[nodiscard]] Lines lines(const PipeSet& pipes, const Registration& drawn) const;
  [[nodiscard]] LitresPerSecond wind(const PipeSet& pipes) const;

 private:
  const Organ* organ_;
  Condition condition_;
  Field field_;
  std::vector<std::vector<Voice>> voices_;  // by rank, pipe number - 1
  std::vector<std::vector<Lines>> open_;
};

// The same sound in fewer lines, for the ear model's speed: neighbours within `width` of one another become one of their
// joint power at their mean place (by power). Rising in frequency. At 5 cents loudness moves by under 0.1 %.
[[nodiscard]] Lines condensed(Lines lines, Cents width);

}  // namespace calcant
