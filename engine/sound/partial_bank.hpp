// The innermost loop of the renderer: the partials of one pipe, each a sinusoid whose amplitude moves in straight
// lines.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

namespace calcant {

class PartialBank {
 public:
  static constexpr int piece = 64;        // samples made at a time
  static constexpr int short_piece = 16;  // or so many

  // Another partial. phase: cycles; cycles: per sample, 0 to below 1/2.
  void add(double phase, double cycles);
  [[nodiscard]] std::size_t size() const { return partials_.size(); }
  // Every frequency times this from the next piece on; phases go on from where they are.
  void bend(double ratio);
  // All partials together over the next `piece` samples, the amplitude of each going in a straight line from from[i] to
  // just before to[i]. Overwrites `out`.
  void sum(const float* from, const float* to, float* out);
  void sum_short(const float* from, const float* to, float* out);  // the same over `short_piece`

 private:
  // A piece is a square of eight by eight samples: eight neighbours stand in eight lanes, and each row is the first one
  // turned on by so many samples. Nothing is handed from sample to sample, so single precision does; the place between
  // pieces is kept in double precision.
  using Eight [[gnu::vector_size(32)]] = float;
  struct Partial {
    Eight lane_sine;  // the turns of 0 .. 7 samples
    Eight lane_cosine;
    std::array<float, 8> row_sine;  // the turns of 0, 8 .. 56 samples
    std::array<float, 8> row_cosine;
    double sine;  // at the next sample
    double cosine;
    double piece_sine;  // the turn of one piece
    double piece_cosine;
    double short_sine;  // the turn of a short piece
    double short_cosine;
    double cycles;
  };
  static void tune(Partial& p, double cycles);
  static void turn(Partial& p, double sine, double cosine);
  void sum_steady(const float* amounts, float* out);
  void sum_moving(const float* from, const float* to, float* out);

  std::vector<Partial> partials_;
  double bent_ = 1.0;
};

}  // namespace calcant
