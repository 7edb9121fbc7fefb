// Loudness and brightness of very many combinations of the same groups of pipes, quickly and nearly.
//
// The model's filters widen with the level of the whole sound, so strictly nothing can be worked out group by
// group. The screen computes each group's excitation twice beforehand on a quarter-Cam grid: with the filters
// as they are when it sounds alone, and as they are among everything that could sound. A combination is the
// sum of its groups' excitations, between the two by how much of everything it is, passed through the exact
// loudness formulas in single precision. A group alone and everything together are right; in between it is
// within 1 % (0.15 phon) of the full model (Ear, fine grid) on organ sounds, and 2 % is promised
// (docs/accuracy.md). What people are shown is computed again in full.
#pragma once

#include <span>
#include <vector>

#include "engine/hearing/kernels.hpp"
#include "engine/hearing/loudness.hpp"

namespace calcant {

// What groups of pipes excite in the ear, 1.3 kB. Patterns of one Screen add as powers do; the groups must
// not share a pipe. The default is silence.
class Pattern {
 public:
  Pattern& operator+=(const Pattern& other);
  friend Pattern operator+(const Pattern& a, const Pattern& b) {
    Pattern sum = a;
    sum += b;
    return sum;
  }

 private:
  friend class Screen;
  kernels::Excited excited_{};
};

// Small, because there are millions. 0 sone: brightness 0.
struct Screened {
  float sones = 0;
  float phons = 0;
  float acums = 0;
};

// Immutable and safe to share between threads, like the ear it is made from.
class Screen {
 public:
  // Listens as `ear` does (its number set, field and ears); the grid is always coarse. `everything`: all that
  // could sound together in the combinations to come (these keys, every stop and coupler, box open); a
  // combination louder than that is weighed as if its filters were no wider.
  [[nodiscard]] static Result<Screen> make(const Ear& ear, const Lines& everything);

  [[nodiscard]] Result<Pattern> pattern(const Lines& group) const;

  [[nodiscard]] Screened screen(const Pattern& whole) const;
  // Of two that share no pipe.
  [[nodiscard]] Screened screen(const Pattern& a, const Pattern& b) const;
  // The union of groups that share no pipe.
  [[nodiscard]] Screened screen(std::span<const Pattern* const> groups) const;
  // Every a with every b: out[i * b.size() + j] is a[i] + b[j]. out must hold a.size() * b.size(). The
  // quickest way through a large space: put half the groups' combinations into a and the other half's into b
  // (see every_sum).
  void screen_pairs(std::span<const Pattern> a, std::span<const Pattern> b, std::span<Screened> out) const;

 private:
  struct Tables;
  explicit Screen(std::shared_ptr<const Tables> tables) : tables_(std::move(tables)) {}
  std::shared_ptr<const Tables> tables_;
};

// The sums of all 2^n subsets of n groups (n at most 16): bit k of an index says whether groups[k] is in it.
[[nodiscard]] std::vector<Pattern> every_sum(std::span<const Pattern> groups);

}  // namespace calcant
