#include "engine/measuring/pitch.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "engine/measuring/statistics.hpp"

namespace calcant {

std::string_view word(Ruling r) {
  switch (r) {
    case Ruling::noise: return "noise";
    case Ruling::wind: return "wind";
    case Ruling::room: return "room";
    case Ruling::temperature: return "temperature";
    case Ruling::drift: return "drift";
    case Ruling::recorder: break;
  }
  return "recorder";
}

namespace measuring {

namespace {

constexpr double tau = 2.0 * std::numbers::pi;
constexpr double cents_of_e = 1200.0 / std::numbers::ln2;  // cents per relative change

double cents_of(double df, double f) { return cents_of_e * df / f; }

// The fundamental's phase beyond `course.frequency`, frame by frame, from the harmonics worth listening to; each weighs
// k A^2 / N0, which is what least squares give.
struct Phase {
  std::vector<double> radians;  // [frame], starts at 0
  double density = 0.0;         // of the phase noise, rad^2 s: its variance over r seconds is density / r
};

Phase common_phase(const Course& course, std::span<const double> amplitude, std::span<const double> noise,
                   const std::vector<bool>& used) {
  // Below this no harmonic's phase is trusted however clean it looks (rad^2 s).
  constexpr double trust = 1e-10;
  Phase phase;
  std::vector<double> weight(amplitude.size(), 0.0);
  double total = 0.0;
  for (std::size_t k = 0; k < amplitude.size(); ++k) {
    if (!used[k]) continue;
    const double own = noise[k] / (amplitude[k] * amplitude[k]) + trust;
    weight[k] = static_cast<double>(k + 1) / own;
    total += static_cast<double>(k + 1) * weight[k];
  }
  phase.density = 1.0 / total;
  phase.radians.assign(course.frames(), 0.0);
  for (std::size_t n = 1; n < course.frames(); ++n) {
    double sum = 0.0;
    for (std::size_t k = 0; k < amplitude.size(); ++k) {
      if (!used[k]) continue;
      const std::complex<float> step = course.z[k][n] * std::conj(course.z[k][n - 1]);
      sum += weight[k] * static_cast<double>(std::arg(step));
    }
    phase.radians[n] = phase.radians[n - 1] + sum / total;
  }
  return phase;
}

double mean(std::span<const double> v) {
  return std::accumulate(v.begin(), v.end(), 0.0) / static_cast<double>(v.size());
}

// How far the first `early` frames lie from the straight line that the rest sets, beyond what the rest does itself: mean
// square, rad^2. After-sound of the room and late settling of the pipe show as such a part that does not belong.
double unsettled(std::span<const double> p, std::size_t early) {
  const auto rest = p.subspan(early);
  const double n = static_cast<double>(rest.size());
  const double middle = (n - 1.0) / 2.0;
  const double level = mean(rest);
  double top = 0.0;
  for (std::size_t i = 0; i < rest.size(); ++i) top += (static_cast<double>(i) - middle) * rest[i];
  const double slope = top * 12.0 / (n * (n * n - 1.0));
  const auto off = [&](std::size_t i) {
    const double e = p[i] - level - slope * (static_cast<double>(i) - static_cast<double>(early) - middle);
    return e * e;
  };
  double first = 0.0;
  double later = 0.0;
  for (std::size_t i = 0; i < early; ++i) first += off(i);
  for (std::size_t i = early; i < p.size(); ++i) later += off(i);
  return std::max(0.0, first / static_cast<double>(early) - 2.0 * later / n);
}

// How the mean frequency is taken from the phase, and what wander, noise and room leave in it. Hertz, hertz squared.
struct Mean {
  double frequency = 0.0;  // beyond the course's
  double wander = 0.0;     // variance
  double noise = 0.0;      // variance
  double room = 0.0;       // variance
  double degrees = 0.0;    // of freedom, of the wander's variance
  std::size_t from = 0;    // first frame used
  [[nodiscard]] double variance() const { return wander + noise + room; }
};

std::size_t early_frames(double hop) { return static_cast<std::size_t>(std::max(2.0, std::round(0.25 / hop))); }

Mean mean_from(const Phase& whole, double hop, std::size_t from) {
  const auto phase = std::span<const double>(whole.radians).subspan(from);
  const std::size_t steps = phase.size() - 1;
  const double n = static_cast<double>(steps);
  const double length = n * hop;

  // Slow parts of the frequency's course (rad a hop): whole sine waves, and differences of neighbouring cosine waves.
  // They are blind to the mean and vanish at both ends, so that the phase noise of single frames does not enter.
  // None above about 1 Hz: slow wander must not be judged by the quiet above it.
  const int waves = std::clamp(static_cast<int>(0.95 * length), 2, 8);
  std::vector<double> square;
  std::vector<double> by_noise;
  const double per_frame = whole.density / hop;
  const auto part = [&](auto&& shape, double scale, double slope_square) {
    double c = 0.0;
    for (std::size_t i = 0; i < steps; ++i)
      c += (phase[i + 1] - phase[i]) * shape(tau * (static_cast<double>(i) + 0.5) / n);
    square.push_back(c * c * scale / n);
    by_noise.push_back(slope_square * tau * tau / (n * n) * per_frame);
  };
  for (int j = 1; j <= waves; ++j) {
    part([&](double u) { return std::sin(j * u); }, 2.0, j * j);
    if (j % 2 == 1 && (j < waves || j == 1))
      part([&](double u) { return std::cos(j * u) - std::cos((j + 1) * u); }, 1.0, (j * j + (j + 1) * (j + 1)) / 2.0);
  }
  // Likeliest wander: each square is (wander + noise_j) times chi-squared with one degree of freedom.
  const auto misfit = [&](double s) {
    double sum = 0.0;
    for (std::size_t j = 0; j < square.size(); ++j) {
      const double v = s + by_noise[j] + 1e-300;
      sum += std::log(v) + square[j] / v;
    }
    return sum;
  };
  const double most = *std::max_element(square.begin(), square.end()) * 2.0 + 1e-300;
  double best = 0.0;
  double least = misfit(0.0) - 0.5;  // wander must be worth its parameter
  for (int i = 0; i <= 120; ++i) {
    const double s = most * std::pow(10.0, -i / 10.0);
    if (const double m = misfit(s); m < least) {
      least = m;
      best = s;
    }
  }

  // The phase is averaged over `ends` frames at both ends: as few as keep noise small beside the wander, and at most a
  // third of all, which is within 6 % of the best there is against noise alone.
  const double to_hertz = 1.0 / (tau * hop);
  Mean out;
  out.from = from;
  const double wander = best / n * to_hertz * to_hertz;
  std::size_t ends = 1;
  double span = length;
  for (;; ++ends) {
    const double r = (static_cast<double>(ends) + 0.5) * hop;
    span = length - (static_cast<double>(ends) - 1.0) * hop;
    out.noise = 2.0 * whole.density / r / (span * span) / (tau * tau);
    if (out.noise <= 0.01 * wander || ends >= phase.size() / 3) break;
  }
  const double share = static_cast<double>(ends) / static_cast<double>(phase.size());
  out.frequency =
      (mean(phase.last(ends)) - mean(phase.first(ends))) / (static_cast<double>(phase.size() - ends) * hop) / tau;
  out.wander = wander * (1.0 - share - share / 3.0) / ((1.0 - share) * (1.0 - share));
  // What remains of the after-sound dies away within the frames averaged.
  const auto early = early_frames(hop);
  const double dilution = std::min(1.0, static_cast<double>(early) / static_cast<double>(ends));
  out.room = 2.0 * (phase.size() > 3 * early ? unsettled(phase, early) : 0.0) * dilution * dilution / (span * span) /
             (tau * tau);
  // Only parts that rise above their noise speak of the wander.
  for (const double b : by_noise) out.degrees += best / (best + b + 1e-300);
  out.degrees = std::max(out.degrees, 1.0);
  return out;
}

// The start is left out, a quarter second at a time and half of all at the most, where that makes the answer surer by
// far: in a church it does, in wandering wind it does not.
Mean mean_frequency(const Phase& phase, double hop) {
  Mean best = mean_from(phase, hop, 0);
  const std::size_t early = early_frames(hop);
  for (std::size_t from = early; 2 * from <= phase.radians.size(); from += early)
    if (const Mean m = mean_from(phase, hop, from); m.variance() < best.variance() / 10.0) best = m;
  // What was chosen for its small variance has a larger one.
  if (best.from > 0) best.noise *= 1.6;
  return best;
}

}  // namespace

Result<PitchFit> fit_pitch(std::span<const float> steady, double rate, const PitchAim& aim, Bench& bench) {
  const double seconds = static_cast<double>(steady.size()) / rate;
  if (seconds < 0.3 || seconds * aim.expected < 8.0)
    return fail(fmt::format("sounds steadily for only {:.2f} s; 0.3 s and eight periods are the least", seconds));

  int harmonics = static_cast<int>(std::min<double>(aim.most_harmonics, std::floor(0.42 * rate / aim.expected)));
  if (harmonics < 1) return fail("stands too high for this recording's rate");
  // As slow a rate as still holds the harmonics.
  const int factor =
      std::max(1, static_cast<int>(std::floor(rate / std::max(2.6 * (harmonics + 0.6) * aim.expected, 1000.0))));
  std::vector<float> thin;
  std::span<const float> x = steady;
  if (factor > 1) {
    thin = thinned(steady, factor);
    // The filter's ends reach half its length into the sound.
    const std::size_t edge = std::min<std::size_t>(13, thin.size() / 8);
    x = std::span<const float>(thin).subspan(edge, thin.size() - 2 * edge);
    rate /= factor;
  }

  // Coarse: one spectrum of up to 1.5 s (or 30 periods) in the middle.
  const auto wanted = static_cast<std::size_t>(std::max(1.5, 30.0 / aim.expected) * rate);
  const std::size_t listened = std::min(x.size(), wanted);
  const Surroundings around = surroundings(x.subspan((x.size() - listened) / 2, listened), rate, bench);
  double frequency = coarse_comb(around, aim.expected, aim.range, harmonics).frequency;

  PitchFit fit;
  Phase phase;
  Mean found;
  for (int pass = 0;; ++pass) {
    const double window = std::max(6.0 / frequency, 0.030);
    fit.course = demodulated(x, rate, frequency, harmonics, window);
    if (fit.course.frames() < 8) return fail("sounds too short for its pitch");
    fit.noise = noise_beside(around, frequency, harmonics);
    fit.amplitude.assign(static_cast<std::size_t>(harmonics), 0.0);
    fit.used.assign(static_cast<std::size_t>(harmonics), false);
    bool any = false;
    for (std::size_t k = 0; k < fit.amplitude.size(); ++k) {
      std::vector<double> a;
      a.reserve(fit.course.frames());
      for (const auto z : fit.course.z[k]) a.push_back(static_cast<double>(std::abs(z)));
      fit.amplitude[k] = median(std::move(a));
      // Phase is read where the harmonic stands 13 dB over the noise its window lets through.
      const double through = 2.0 * fit.noise[k] * 1.5 / (2.0 * fit.course.hop);
      const double at = frequency * static_cast<double>(k + 1);
      const bool disturbed =
          std::ranges::any_of(aim.disturbing, [&](double f) { return std::fabs(f - at) < 2.5 / fit.course.hop; });
      fit.used[k] = !disturbed && fit.amplitude[k] > 0.0 && fit.amplitude[k] * fit.amplitude[k] > 20.0 * 2.0 * through;
      any = any || fit.used[k];
    }
    if (!any) return fail("is lost in the noise");
    phase = common_phase(fit.course, fit.amplitude, fit.noise, fit.used);
    found = mean_frequency(phase, fit.course.hop);
    if (pass == 2 || std::fabs(found.frequency) * harmonics * window < 0.2) break;
    frequency += found.frequency;
  }
  frequency += found.frequency;

  Pitch& p = fit.pitch;
  p.hertz = Hertz{frequency};
  const double edge = factor > 1 ? static_cast<double>(std::min<std::size_t>(13, thin.size() / 8)) / rate : 0.0;
  fit.course.first += edge;
  p.from = Seconds{fit.course.first + static_cast<double>(found.from) * fit.course.hop};
  p.stretch = Seconds{static_cast<double>(phase.radians.size() - 1 - found.from) * fit.course.hop};
  const double noise = cents_of(std::sqrt(found.noise), frequency);
  const double wander = cents_of(std::sqrt(found.wander), frequency);
  const double room = cents_of(std::sqrt(found.room), frequency);
  const double variance = noise * noise + wander * wander + room * room;
  // Welch and Satterthwaite: the share with few degrees of freedom decides.
  const double degrees =
      variance * variance /
      (std::pow(wander, 4) / found.degrees + std::pow(noise, 4) / 30.0 + std::pow(room, 4) / 4.0 + 1e-300);
  p.half_width_95 = Cents{student_95(std::min(degrees, 200.0)) * std::sqrt(variance)};
  p.ruled_by = wander >= noise && wander >= room ? Ruling::wind : noise >= room ? Ruling::noise : Ruling::room;

  // Course of the pitch in pieces of at least 60 ms: its slope and scatter.
  const auto piece = static_cast<std::size_t>(std::max(1.0, std::ceil(0.06 / fit.course.hop)));
  std::vector<double> course;
  for (std::size_t i = 0; i + piece < phase.radians.size(); i += piece)
    course.push_back(
        cents_of((phase.radians[i + piece] - phase.radians[i]) / (tau * static_cast<double>(piece) * fit.course.hop),
                 frequency));
  if (course.size() >= 3) {
    const double middle = (static_cast<double>(course.size()) - 1.0) / 2.0;
    const double level = mean(course);
    double top = 0.0;
    double bottom = 0.0;
    for (std::size_t i = 0; i < course.size(); ++i) {
      const double t = static_cast<double>(i) - middle;
      top += t * course[i];
      bottom += t * t;
    }
    const double slope = top / bottom;
    double rest = 0.0;
    for (std::size_t i = 0; i < course.size(); ++i) {
      const double e = course[i] - level - slope * (static_cast<double>(i) - middle);
      rest += e * e;
    }
    rest /= static_cast<double>(course.size() - 2);
    const double span = static_cast<double>(piece) * fit.course.hop;
    const double by_noise = cents_of(std::sqrt(2.0 * phase.density / fit.course.hop) / (tau * span), frequency);
    p.drift_per_second = Cents{slope / span};
    p.unsteadiness = Cents{std::sqrt(std::max(0.0, rest - by_noise * by_noise))};
  }

  double comb = 0.0;
  double noise_power = 0.0;
  for (std::size_t k = 0; k < fit.amplitude.size(); ++k) {
    const double power = fit.amplitude[k] * fit.amplitude[k];
    const double through = 2.0 * fit.noise[k] * 1.5 / (2.0 * fit.course.hop);
    comb += power / 2.0;
    noise_power += fit.noise[k] * frequency;
    p.harmonics.push_back(power > 4.0 * through ? power_to_decibels(power) : Decibels{-200.0});
  }
  p.over_noise = power_to_decibels(comb / std::max(noise_power, 1e-30));
  return fit;
}

}  // namespace measuring
}  // namespace calcant
