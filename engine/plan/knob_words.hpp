// Knobs of very many states, packed so that what is moved between any two is counted quickly; and the states grouped into
// kinds: those with the same knobs drawn and the same keyboards under hands and feet, which differ by their boxes only.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <tuple>

#include "engine/plan/changes.hpp"
#include "engine/plan/moves.hpp"

namespace calcant {

class KnobWords {
 public:
  using Word = std::array<std::uint64_t, 4>;  // a bit for each knob of the organ, stops first

  explicit KnobWords(const Organ& organ);
  [[nodiscard]] Word drawn(const Registration& r) const;
  // Knobs that are heard when moved; every accessory is.
  [[nodiscard]] Word heard(const Heeded& h) const;

  [[nodiscard]] int moved(const Word& from, const Word& to) const;
  [[nodiscard]] KnobCount by_side(const Word& from, const Word& to) const;
  // Stops put in.
  [[nodiscard]] int stops_lost(const Word& from, const Word& to) const;
  [[nodiscard]] Sorted sorted(const Word& from, const Word& then, const Word& to, const Word& next) const;

 private:
  [[nodiscard]] KnobCount among(const Word& knobs) const;
  std::size_t words_;  // that hold any knob
  std::size_t couplers_at_;
  std::size_t accessories_at_;
  Word stops_{};
  Word left_{};
  Word right_{};
  Word accessories_{};
};

// Kinds of states, numbered from 0 in the order in which they first come.
class StateKinds {
 public:
  std::size_t of(const KnobWords::Word& drawn, const HandsAndFeet& on);

 private:
  std::map<std::tuple<KnobWords::Word, int, int, int>, std::size_t> known_;
};

}  // namespace calcant
