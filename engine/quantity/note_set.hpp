// A set of notes out of 0..127, small enough to pass by value: keys down, pipes of a rank, the compass of a keyboard.
#pragma once

#include <bit>
#include <cstdint>

#include "engine/quantity/note.hpp"

namespace calcant {

class NoteSet {
 public:
  constexpr NoteSet() = default;
  // Every number from `low` to `high`, both included; empty when low > high. Ends are clipped to 0..127.
  [[nodiscard]] static constexpr NoteSet range(int low, int high) {
    NoteSet s;
    for (int i = low < 0 ? 0 : low; i <= high && i < 128; ++i) s.insert(i);
    return s;
  }
  constexpr void insert(int i) { (i < 64 ? low_ : high_) |= std::uint64_t{1} << (i & 63); }
  constexpr void erase(int i) { (i < 64 ? low_ : high_) &= ~(std::uint64_t{1} << (i & 63)); }
  [[nodiscard]] constexpr bool contains(int i) const {
    return i >= 0 && i < 128 && ((i < 64 ? low_ : high_) >> (i & 63) & 1) != 0;
  }
  [[nodiscard]] constexpr bool contains(Note n) const { return contains(n.midi); }
  [[nodiscard]] constexpr bool empty() const { return (low_ | high_) == 0; }
  [[nodiscard]] constexpr int size() const { return std::popcount(low_) + std::popcount(high_); }
  // The least and the greatest member; -1 when empty.
  [[nodiscard]] constexpr int lowest() const {
    return low_ != 0 ? std::countr_zero(low_) : high_ != 0 ? 64 + std::countr_zero(high_) : -1;
  }
  [[nodiscard]] constexpr int highest() const {
    return high_ != 0 ? 127 - std::countl_zero(high_) : low_ != 0 ? 63 - std::countl_zero(low_) : -1;
  }
  // Every member moved up by `by` (down when negative); what leaves 0..127 is lost.
  [[nodiscard]] constexpr NoteSet shifted(int by) const {
    if (by >= 128 || by <= -128) return {};
    if (by == 0) return *this;
    if (by >= 64) return {0, low_ << (by - 64)};
    if (by > 0) return {low_ << by, (high_ << by) | (low_ >> (64 - by))};
    if (by <= -64) return {high_ >> (-by - 64), 0};
    return {(low_ >> -by) | (high_ << (64 + by)), high_ >> -by};
  }
  friend constexpr NoteSet operator|(NoteSet a, NoteSet b) { return {a.low_ | b.low_, a.high_ | b.high_}; }
  friend constexpr NoteSet operator&(NoteSet a, NoteSet b) { return {a.low_ & b.low_, a.high_ & b.high_}; }
  friend constexpr NoteSet operator-(NoteSet a, NoteSet b) { return {a.low_ & ~b.low_, a.high_ & ~b.high_}; }
  constexpr NoteSet& operator|=(NoteSet b) { return *this = *this | b; }
  constexpr NoteSet& operator&=(NoteSet b) { return *this = *this & b; }
  friend constexpr bool operator==(NoteSet, NoteSet) = default;

  // Members in rising order: for (int midi : set) ...
  class Iterator {
   public:
    constexpr Iterator(std::uint64_t low, std::uint64_t high) : low_(low), high_(high) {}
    constexpr int operator*() const { return low_ != 0 ? std::countr_zero(low_) : 64 + std::countr_zero(high_); }
    constexpr Iterator& operator++() {
      if (low_ != 0) low_ &= low_ - 1;
      else high_ &= high_ - 1;
      return *this;
    }
    friend constexpr bool operator==(const Iterator&, const Iterator&) = default;

   private:
    std::uint64_t low_;
    std::uint64_t high_;
  };
  [[nodiscard]] constexpr Iterator begin() const { return {low_, high_}; }
  [[nodiscard]] constexpr Iterator end() const { return {0, 0}; }

  // The two halves, for hashing.
  [[nodiscard]] constexpr std::uint64_t low_bits() const { return low_; }
  [[nodiscard]] constexpr std::uint64_t high_bits() const { return high_; }

 private:
  constexpr NoteSet(std::uint64_t low, std::uint64_t high) : low_(low), high_(high) {}
  std::uint64_t low_ = 0;
  std::uint64_t high_ = 0;
};

}  // namespace calcant
