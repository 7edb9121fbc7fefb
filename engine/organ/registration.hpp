// What is drawn, and which keys are down: the two halves of the question "what sounds?".
#pragma once

#include <array>
#include <bitset>
#include <compare>
#include <cstddef>

#include "engine/organ/organ.hpp"

namespace calcant {

inline constexpr int max_accessories = 32;

// Drawn knobs and the swell boxes of one organ. Cheap to copy, compare and hash; means nothing without its
// organ.
struct Registration {
  std::bitset<max_stops> stops;
  std::bitset<max_couplers> couplers;        // unison off among them
  std::bitset<max_accessories> accessories;  // tremulants; composition pedals and reversers are moments, not states
  std::array<float, max_boxes> box{};        // opening, 0 shut to 1 open

  friend bool operator==(const Registration&, const Registration&) = default;
};

// Knobs that differ between two registrations (boxes not counted): what the hands must move.
[[nodiscard]] int knobs_moved(const Registration& from, const Registration& to);

// Keys held down, by keyboard: a set for each, so that short octaves and two hands on one manual are no
// special case.
struct KeysDown {
  std::array<NoteSet, max_keyboards> keys;

  friend bool operator==(const KeysDown&, const KeysDown&) = default;
};

}  // namespace calcant

template <>
struct std::hash<calcant::Registration> {
  std::size_t operator()(const calcant::Registration& r) const noexcept;
};
