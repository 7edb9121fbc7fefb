#include "engine/pipe/voice.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/pipe/mouth.hpp"
#include "engine/pipe/resonance.hpp"
#include "engine/pipe/scale.hpp"

namespace calcant {
namespace {

constexpr double middle_c_hz = 261.6256;
constexpr double highest_hz = 16000;
constexpr double weakest_db = -75;  // under the strongest partial
constexpr int most_partials = 128;

// The assumed figures of the model, by kind. docs/accuracy/pipe.md says for each what it leans on.
struct Kind {
  double tilt;           // dB an octave the first trend line falls at normal scale and the jet of reference
  double windway;        // depth against the usual one of its pitch
  double choke;          // area of the windway over the toe hole's: soft stops are held back at the foot
  double efficiency_db;  // sound power over wind power P Q
  double bass;           // dB an octave the voicer holds it back below middle C
  double rise_periods;
  double chiff_db;
  double transient_harmonic;
  double transient_db;
  double noise_db;  // steady hiss under the whole
};

Kind kind_of(Family family, Form form) {
  switch (form) {
    case Form::stopped: return {6.0, 1.0, 0.6, -35.0, 2.0, 15, -20, 3, 9, -42};
    case Form::chimney: return {6.0, 1.0, 0.6, -35.5, 2.0, 16, -20, 3, 9, -42};
    case Form::reed_full: return {1.0, 1.0, 0.5, -38.0, 8.5, 10, -38, 0, 0, -52};
    case Form::reed_half: return {2.0, 1.0, 0.5, -39.0, 6.0, 10, -38, 0, 0, -50};
    case Form::reed_short: return {2.0, 1.0, 0.5, -41.0, 6.0, 9, -36, 0, 0, -48};
    case Form::harmonic: return {6.5, 1.0, 0.5, -31.5, 2.5, 20, -30, 2, 3, -46};
    case Form::open:
    case Form::tapered: break;
  }
  const double tapered = form == Form::tapered ? -2.5 : 0;
  switch (family) {
    case Family::flute: return {7.0, 1.0, 0.5, -33.0 + tapered, 2.5, 17, -30, 2, 3, -46};
    case Family::string: return {4.5, 0.7, 1.25, -37.5 + tapered, 6.0, 40, -30, 2, 9, -42};
    case Family::reed: return kind_of(family, Form::reed_full);
    case Family::principal: break;
  }
  return {7.0, 1.0, 0.5, -30.0 + tapered, 4.8, 22, -26, 2, 6, -46};
}

bool is_reed(const PipeDesign& p) {
  return p.family == Family::reed || p.form == Form::reed_full || p.form == Form::reed_half ||
         p.form == Form::reed_short;
}

// Depth of the windway, m: 0.6 mm at middle C, shrinking by a third of the pitch's power (the assumed depths of
// pipes.md 3.1: 1.0, 0.8, 0.6, 0.5, 0.4 mm from 8 ft to 1/2 ft C, within 6 %).
double windway_depth(double f) { return 0.6e-3 * std::cbrt(middle_c_hz / f); }

// How the voicer regulates a rank along its compass, dB against a constant share of the wind's power: softer towards
// the bass and the treble, so that loudness peaks in the middle octave and falls to both ends by at least 10 phon (Harrison
// & Thompson-Allen 1996: the same for all unison stops; hence the brighter, the more the bass is held back). By sounding
// pitch, so that 4 ft and 2 ft ranks carry the unison's line on.
double regulation(double f, double bass) {
  const double octaves = std::log2(f / middle_c_hz);
  if (octaves < 0) return bass * std::max(octaves, -2.0);  // below 8 ft C no further: pedal pipes are voiced full
  return octaves < 1 ? 0.0 : -3.0 * (octaves - 1);
}

// Partials as levels in dB, the first element the fundamental; the strongest need not be 0.
using Shape = std::vector<double>;

int partials_within(double f) { return std::clamp(static_cast<int>(highest_hz / f), 1, most_partials); }

// Two straight lines over lg frequency, the second `steeper` dB an octave more than the first.
double two_lines(double harmonic, double tilt, double crossing, double steeper) {
  return -tilt * std::log2(harmonic) - steeper * std::max(0.0, std::log2(harmonic / crossing));
}

Shape flue_shape(const PipeDesign& p, double tilt, const Air& air) {
  const double f = p.frequency.value();
  const double radius = p.diameter.value() / 2 * (p.form == Form::tapered ? 0.8 : 1.0);  // mean of its taper
  // Where ka = 0.55: the pipe's upper resonances fall away there (read off the assumed spectra of pipes.md section 6).
  const double crossing = std::max(1.5, 0.55 * speed_of_sound(air).value() / (2 * std::numbers::pi * radius * f));
  const double off = half_tones(p.diameter, p.frequency);
  // A narrow pipe's fundamental is damped by its walls.
  const double damped = std::clamp(0.5 * (off + 5), -6.0, 0.0);
  Shape shape;
  for (int n = 1; n <= partials_within(f) + 1; ++n) {
    double level = two_lines(n, tilt, crossing, 11);
    if (n == 1) level += damped;
    if (p.form == Form::chimney && n == 5) level += 7;  // the chimney's own resonance
    if (p.form == Form::tapered && n >= 2) level += 1.5;
    shape.push_back(level);
  }
  if (p.form == Form::stopped || p.form == Form::chimney) {
    const double under = p.form == Form::stopped ? 20 : 17;  // 15 to 25 dB under the neighbours (pipes.md section 6)
    for (std::size_t i = 1; i + 1 < shape.size(); i += 2) shape[i] = (shape[i - 1] + shape[i + 1]) / 2 - under;
    if (shape.size() % 2 == 0) shape.back() -= under;
  }
  if (shape.size() > 1) shape.pop_back();  // was there for its neighbour alone
  return shape;
}

Shape reed_shape(const PipeDesign& p) {
  const double f = p.frequency.value();
  const double from_middle = std::log2(f / middle_c_hz);
  // The flat part reaches to about 1.2 kHz at middle C and rises slowly with the pitch: brilliant bass, round treble.
  const double crossing = std::max(1.0, 1200 * std::exp2(0.4 * from_middle) / f);
  Shape shape;
  for (int n = 1; n <= partials_within(f); ++n) {
    double level = two_lines(n, 1.0, crossing, 10);
    if (n == 1) level += std::clamp(-3 + 3 * from_middle, -12.0, 0.0);
    if (p.form == Form::reed_half && n % 2 == 0) level -= 12;  // a cylinder closed by its reed favours odd partials
    if (p.form == Form::reed_short) {                          // a fixed resonance near 900 Hz, whatever the note
      const double away = std::log2(n * f / 900.0);
      level += 6 * std::exp(-away * away) - 6;
    }
    shape.push_back(level);
  }
  return shape;
}

// The mouth and what stands at it.
struct Mouth {
  Pascals foot;
  MetresPerSecond jet;
  Metres depth;  // of the windway
  Metres width;
  Metres height;  // cut-up
};

Mouth mouth_of(const PipeDesign& p, const Kind& kind, const Air& air) {
  Mouth m;
  m.foot = p.wind * foot_share(kind.choke);
  m.jet = jet_speed(m.foot, density(air));
  m.depth = Metres{windway_depth(p.frequency.value()) * kind.windway};
  // A reed's wind passes the shallot; taken for what a principal of normal scale takes.
  m.width = is_reed(p) ? normal_scale(p.frequency) * (std::numbers::pi / 4) : p.diameter * (std::numbers::pi * p.mouth);
  m.height = m.width * p.cut_up;
  return m;
}

// A narrow column loses more to its walls and radiates less of what the jet gives it: dB against normal scale.
double column_gain(const PipeDesign& p, const Air& air) {
  const MetresPerSecond c = speed_of_sound(air);
  return power_to_decibels(radiated_share(p.diameter / 2, p.frequency, c) /
                           radiated_share(normal_scale(p.frequency) / 2, p.frequency, c))
      .value();
}

}  // namespace

LitresPerSecond wind_taken(const PipeDesign& p, const Air& air) {
  const Mouth m = mouth_of(p, kind_of(p.family, p.form), air);
  return windway_flow(m.width, m.depth, m.jet);
}

Voice voice(const PipeDesign& p, const Air& air) {
  const double f = p.frequency.value();
  const Kind kind = kind_of(p.family, p.form);
  const bool reed = is_reed(p);
  const Mouth m = mouth_of(p, kind, air);

  Voice v;
  v.frequency = p.frequency;
  v.level_source = p.level_source;
  v.spectrum_source = p.spectrum_source;
  v.wind = windway_flow(m.width, m.depth, m.jet);

  double tilt = kind.tilt;
  if (!reed) {
    const double ising = std::clamp(ising_number(p.frequency, m.foot, m.depth, m.height, density(air)), 0.5, 8.0);
    tilt += -3 * std::log2(ising / 2.6) + 0.15 * half_tones(p.diameter, p.frequency) - 2.5 * std::log2(p.mouth / 0.25);
    tilt = std::max(0.5, tilt);
  }
  Shape shape = reed ? reed_shape(p) : flue_shape(p, tilt, air);
  if (!p.reshape_db.empty())
    for (std::size_t i = 0; i < shape.size(); ++i) shape[i] += p.reshape_db[std::min(i, p.reshape_db.size() - 1)];
  const double strongest = *std::max_element(shape.begin(), shape.end());
  double sum = 0;
  for (double level : shape) sum += decibels_to_power(Decibels{level});

  const double wind_watts = p.wind.value() * v.wind.value() / 1000;
  const double total = power_to_decibels(wind_watts / 1e-12).value() + kind.efficiency_db + regulation(f, kind.bass) +
                       (reed ? 0.8 * half_tones(p.diameter, p.frequency) : column_gain(p, air)) + p.loudness.value();
  for (std::size_t i = 0; i < shape.size(); ++i)
    if (shape[i] >= strongest + weakest_db)
      v.partials.push_back({static_cast<double>(i + 1), Decibels{total + shape[i]} - power_to_decibels(sum)});

  v.wind_noise = Decibels{total + kind.noise_db};
  // Turbulence of the jet over the mouth, about half a jet's length a period; a reed hisses where its wind is loudest.
  v.noise_centre = Hertz{std::clamp(reed ? 3000.0 : 0.5 * m.jet.value() / m.height.value(), 400.0, 8000.0)};

  Speech& s = v.speech;
  s.rise_periods = kind.rise_periods;
  s.chiff = Decibels{kind.chiff_db};
  s.transient_harmonic = kind.transient_harmonic;
  s.transient = Decibels{kind.transient_db};
  for (const Partial& partial : v.partials) {
    // A flue's upper partials are there before its fundamental; a reed's tongue brings all at once, the highest last.
    const double n = partial.harmonic;
    const double share = reed ? std::min(1.5, 1 + 0.03 * (n - 1)) : std::max(0.35, 1 / (1 + 0.12 * (n - 1)));
    s.partial_rise_periods.push_back(kind.rise_periods * (n == kind.transient_harmonic ? 0.4 : share));
  }
  const Metres bore = reed ? normal_scale(p.frequency) : p.diameter;
  const double quality =
      passive_quality(bore / 2, p.frequency, speed_of_sound(air)) / 4;  // mouth and jet take the rest
  s.release = Seconds{quality / (std::numbers::pi * f)};
  return v;
}

Decibels power(const Voice& v) {
  double sum = 0;
  for (const Partial& p : v.partials) sum += decibels_to_power(p.power);
  return power_to_decibels(sum);
}

}  // namespace calcant
