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
  Air air;                       // temperature and humidity at the pipes
};
// The organ's own room figures for air, where nothing else is asked for.
[[nodiscard]] Condition usual_condition(const Organ& organ);

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

}  // namespace calcant
