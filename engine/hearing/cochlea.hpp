// From spectral lines to excitation and specific loudness: the model's inside, shared by loudness, audibility
// and the screen. Bare numbers: powers re the excitation of 1 kHz at 0 dB SPL in front of the listener. Used
// inside the part only.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "engine/hearing/loudness.hpp"
#include "engine/hearing/number_sets.hpp"

namespace calcant::hearing {

// The auditory filters from 1.8 Cam (49 Hz) to 38.9 (14.9 kHz), one entry each, low to high.
struct Filters {
  std::vector<double> centre;          // Hz
  std::vector<double> inverse_centre;  // 1/Hz
  std::vector<double> p;               // slope of the upper side, of the lower at 51 dB
  std::vector<double> slope;           // p / centre
  std::vector<double> threshold;       // excitation at absolute threshold
  std::vector<double> gain;            // G, A, alpha of the compression (G E + A)^alpha
  std::vector<double> a;
  std::vector<double> alpha;
  std::vector<double> rest;    // A^alpha
  std::vector<double> masked;  // K: power of a tone just heard over that of noise in the same filter
  std::vector<double> bright;  // brightness of specific loudness in this filter, acum
  [[nodiscard]] std::size_t size() const { return centre.size(); }
};

// A line as it reaches the inner ear.
struct Arrival {
  std::uint32_t line;  // which of those given
  double frequency;
  double power;
};

// Arrivals within 0.02 of an auditory filter's width are one component at their mean frequency (by power): an organ's
// many nearly equal partials become few, and loudness moves by 3 millionths; on the coarse grid none has lines on both sides
// of a filter. skirt: the lower side of a filter a component
// passes, over p. Component j is the arrivals from first[j] up to first[j + 1].
struct Components {
  std::vector<double> frequency;
  std::vector<double> power;
  std::vector<double> skirt;
  std::vector<std::size_t> first;
  [[nodiscard]] std::size_t size() const { return frequency.size(); }
};

// What of a sound does not depend on what else sounds, in single precision and to be added up: what it excites in the
// filters below its lines, and its power in the filter about each of many places, from which the level about any line is
// read.
struct Alone {
  std::vector<float> upper;
  std::vector<float> level;
};

class Cochlea {
 public:
  explicit Cochlea(const EarSettings& how);

  [[nodiscard]] const Filters& filters() const { return filters_; }
  [[nodiscard]] double step() const { return step_; }  // Cam
  // What the core of specific loudness is multiplied by: C, and both ears where both hear.
  [[nodiscard]] double scale() const { return scale_; }

  // Sorted by frequency. Lines must have passed check_lines; those outside 20 Hz to 20 kHz are left out.
  [[nodiscard]] std::vector<Arrival> arrivals(const Lines& lines) const;
  [[nodiscard]] Components components(std::span<const Arrival> sorted) const;
  // `c` with its filters as wide as they are when all of `others` sounds too.
  [[nodiscard]] Components among(Components c, const Components& others) const;
  // Adds what component j excites to each filter; those from `first` up to `last` are the ones it reaches.
  struct Reach {
    std::size_t first;
    std::size_t last;
  };
  Reach excite(const Components& c, std::size_t j, double* excitation) const;
  // Of all components; on the coarse grid in single precision, to 1e-5.
  [[nodiscard]] std::vector<double> excitation(const Components& c) const;

  // On the coarse grid only.
  [[nodiscard]] Alone alone(std::span<const Arrival> sorted) const;
  // Where a line stands among those places.
  [[nodiscard]] static float level_place(double frequency);
  // The excitation of all, as excitation(components(sorted)) has it, to 1e-3 in any filter; places: of the lines; both
  // sums over the sounds.
  [[nodiscard]] std::vector<double> excitation_together(std::span<const Arrival> sorted, std::span<const float> places,
                                                        Alone sums) const;
  // Sone per Cam in filter i, quiet around it.
  [[nodiscard]] double specific(std::size_t i, double excitation) const;
  // Sone: the sum of that over all filters.
  [[nodiscard]] double loudness(const std::vector<double>& excitation) const;
  // `specific` of a part heard among the rest of a sound, both through the whole sound's filters: partial loudness after
  // Moore, Glasberg & Baer (1997), equations 17 to 20. Nothing around it: as `specific`.
  [[nodiscard]] double partial(std::size_t i, double part, double rest) const;

 private:
  // Components but for their skirts.
  [[nodiscard]] Components merged(std::span<const Arrival> sorted) const;
  void set_skirts(Components& c, const Components& sound) const;
  [[nodiscard]] std::vector<double> coarse_excitation(const Components& c) const;

  const NumberTables* tables_;
  Curve outer_ear_;
  Curve middle_ear_;
  double step_;
  double scale_;
  Filters filters_;
  // The coarse grid's filters again, in single precision; empty on the fine one.
  struct Single {
    std::vector<float> p;
    std::vector<float> slope;
    std::vector<float> inverse_centre;
  };
  Single single_;
};

}  // namespace calcant::hearing
