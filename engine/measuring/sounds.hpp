// First hearing of a recording: which steady sounds there are, from when to when, of which lines. Inside the part only.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant::measuring {

// One line heard without a break.
struct Strand {
  double from = 0.0;  // s
  double to = 0.0;
  double hertz = 0.0;
  double db = 0.0;  // full-scale sine = 0
};

// Whether a steady line may be hum of the mains (multiples of 50 or 60 Hz).
[[nodiscard]] bool mains(double hertz);

// Lines that begin and end together.
struct Sound {
  double from = 0.0;
  double to = 0.0;
  std::vector<Strand> lines;  // strongest first
  [[nodiscard]] double seconds() const { return to - from; }
};

struct Hearing {
  double seconds = 0.0;
  std::vector<Sound> sounds;                       // by their beginning
  std::vector<Strand> standing;                    // hum and whatever else sounds nearly all along
  std::vector<std::pair<double, double>> clipped;  // stretches at full scale
  double step = 0.005;                             // s, nearly: a whole number of samples
  std::vector<float> loudness;                     // mean square of the high-passed sound, every step
  double quiet = 0.0;                              // mean square of the quietest tenth
};

// Takes a recording block by block.
class Listener {
 public:
  explicit Listener(int rate);
  Listener(Listener&&) noexcept;
  Listener& operator=(Listener&&) noexcept;
  ~Listener();
  void take(std::span<const float> x);
  [[nodiscard]] Hearing finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace calcant::measuring
