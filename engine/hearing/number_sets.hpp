// The tables of the two published number sets of the excitation-pattern loudness model. Used inside the part
// only.
//
// ISO 532-2:2017 Tables 1 to 4 and ANSI S3.4-2007 Tables 2 and 3, as open sources quote them
// (docs/accuracy.md says which figures they were checked with); the standards' own print was not in hand.
#pragma once

#include <span>
#include <vector>

namespace calcant::hearing {

struct Row {
  double x;
  double y;
};

// A table read between its rows; beyond them the end rows' values. x rises.
class Curve {
 public:
  // smooth: along a natural cubic spline; else along straight lines. A single row is that value everywhere.
  explicit Curve(std::span<const Row> rows, bool smooth = false);
  [[nodiscard]] double at(double x) const;

 private:
  std::span<const Row> rows_;
  std::vector<double> bend_;  // second derivative at each row
};

struct NumberTables {
  std::span<const Row> middle_ear;  // Hz, dB
  std::span<const Row> threshold;   // Hz, excitation at absolute threshold, dB
  std::span<const Row> a;           // 10 lg G, A
  double c;                         // sone per Cam
  double two_ears;                  // loudness of the same sound at both ears over that at one
  // ISO 532-2 reads its tables along straight lines. ANSI does not say; along a spline its own worked
  // examples come out (100 Hz at 50 dB: 0.345 sone; along straight lines 0.341).
  bool smooth;
  double level_reach;  // lines this share of a line's frequency above it do not shape its filter
};
extern const NumberTables iso_tables;
extern const NumberTables ansi_tables;

// Both sets: sound field to eardrum in dB, and the exponent against 10 lg G.
[[nodiscard]] std::span<const Row> free_field();
[[nodiscard]] std::span<const Row> diffuse_field();
[[nodiscard]] std::span<const Row> alpha();
// Hz, dB: level of a tone just heard in noise over the noise's, both at one filter's output. -3 dB from 1 kHz up after
// Moore, Glasberg & Baer (1997); below, their Fig. 9 as an open library reads it, +-0.5 dB.
[[nodiscard]] std::span<const Row> masked_threshold();

}  // namespace calcant::hearing
