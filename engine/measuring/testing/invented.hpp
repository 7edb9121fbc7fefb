// Invented recordings for tests and benchmarks: pipes, wind, rooms and faults made by addition of sines, with the truth
// beside them. Shares no code with the analysis it tries. Nothing here was ever measured.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace calcant::invented {

struct Pipe {
  double hertz = 261.6;
  double level_db = -20.0;  // of the fundamental's amplitude, full scale = 0
  std::vector<double> harmonics_db{0, -6, -9.5, -12, -14, -15.6, -16.9, -18};
  double on = 0.5;  // s, when the wind reaches it
  double off = 4.5;
  double rise = 0.030;            // s, time constant of the fundamental's build-up; harmonic k takes rise * (1 + k/8)
  double fall = 0.020;            // s, time constant after the key is let go
  double wander_cents = 0.0;      // rms of slow random pitch
  double wander_hertz = 4.0;      // its band, from 0
  double drift = 0.0;             // cents a second
  double wind_noise_db = -200.0;  // broadband noise while it sounds, rms
  double chiff_db = -200.0;       // noise burst of 40 ms at the onset, rms
  int first_harmonic = 1;         // speaks this harmonic first, for...
  double first_for = 0.0;         // ...so long
};

inline const std::vector<double> flute_db{0, -12, -19, -24, -28, -31, -34, -36};
inline const std::vector<double> principal_db{0, -6, -9.5, -12, -14, -15.6, -16.9, -18, -19, -20, -20.8, -21.6};
inline const std::vector<double> stopped_db{0, -25, -19, -35, -28, -40, -34, -45};

// Adds the pipe to `sound`; returns the course of its pitch in cents from p.hertz, 1000 values a second from p.on on.
std::vector<float> add(std::vector<float>& sound, int rate, const Pipe& p, std::uint64_t seed);
// The mean of such a course from `from` to `to` seconds after p.on.
double mean_cents(std::span<const float> course, double from, double to);

void add_white(std::vector<float>& sound, double rms_db, std::uint64_t seed);
void add_brown(std::vector<float>& sound, int rate, double rms_db,
               std::uint64_t seed);                                                // falls 6 dB an octave from 5 Hz
void add_hum(std::vector<float>& sound, int rate, double mains, double level_db);  // with 2nd and 3rd harmonic
// Talk: buzzing vowels of gliding pitch and hiss from `from` to `to` seconds.
void add_talk(std::vector<float>& sound, int rate, double from, double to, double level_db, std::uint64_t seed);
void add_knock(std::vector<float>& sound, int rate, double at, double level_db, std::uint64_t seed);

// The room's response at 44.1 kHz resampled to `rate`, its direct sound scaled to energy 1; empty when the file is not
// there.
std::vector<float> church(int rate);
std::vector<float> in_room(std::span<const float> dry, std::span<const float> response);

}  // namespace calcant::invented
