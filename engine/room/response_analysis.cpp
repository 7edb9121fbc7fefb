#include "engine/room/response_analysis.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

namespace calcant {
namespace {

using Signal = std::vector<double>;

// Sixth-order Butterworth band-pass as three second-order sections, by the bilinear transform; unity at the centre.
class OctaveFilter {
 public:
  OctaveFilter(double centre, double rate) {
    const double low = 2 * std::tan(std::numbers::pi * centre / std::numbers::sqrt2 / rate);
    const double high = 2 * std::tan(std::numbers::pi * centre * std::numbers::sqrt2 / rate);
    const double width = high - low, middle2 = low * high;
    std::size_t k = 0;
    for (const double angle : {120.0, 180.0}) {
      const std::complex<double> p = std::polar(1.0, angle * std::numbers::pi / 180);
      const auto root = std::sqrt(p * p * width * width - 4 * middle2);
      for (const auto& s : {(p * width + root) / 2.0, (p * width - root) / 2.0}) {
        if (angle == 180.0 && s.imag() < 0) continue;  // the real pole's two roots are each other's conjugates
        const auto z = (2.0 + s) / (2.0 - s);
        sections_[k++] = {-2 * z.real(), std::norm(z)};
      }
    }
    const std::complex<double> at = std::polar(1.0, 2 * std::atan(std::sqrt(middle2) / 2));
    std::complex<double> response = 1;
    for (const auto& [a1, a2] : sections_) response *= (at * at - 1.0) / (at * at + a1 * at + a2);
    gain_ = 1 / std::abs(response);
  }

  [[nodiscard]] Signal operator()(const Signal& in) const {
    Signal out = in;
    for (const auto& [a1, a2] : sections_) {
      double x1 = 0, x2 = 0, y1 = 0, y2 = 0;
      for (double& sample : out) {
        const double x = sample;
        sample = x - x2 - a1 * y1 - a2 * y2;
        x2 = x1, x1 = x, y2 = y1, y1 = sample;
      }
    }
    for (double& sample : out) sample *= gain_;
    return out;
  }

  // Where the energy of the filter's own response has its middle, in samples.
  [[nodiscard]] std::size_t delay(double centre, double rate) const {
    Signal impulse(static_cast<std::size_t>(20 * rate / centre) + 1, 0.0);
    impulse[0] = 1;
    double energy = 0, moment = 0;
    const Signal response = (*this)(impulse);
    for (std::size_t i = 0; i < response.size(); ++i) {
      energy += response[i] * response[i];
      moment += static_cast<double>(i) * response[i] * response[i];
    }
    return static_cast<std::size_t>(moment / energy + 0.5);
  }

 private:
  struct Section {
    double a1 = 0, a2 = 0;
  };
  std::array<Section, 3> sections_;
  double gain_ = 1;
};

struct Fit {
  double slope = 0, at_zero = 0;
};  // of y over x

template <class X, class Y>
Fit line(std::size_t from, std::size_t to, X x, Y y) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (std::size_t i = from; i < to; ++i) {
    const double a = x(i), b = y(i);
    n += 1, sx += a, sy += b, sxx += a * a, sxy += a * b;
  }
  const double below = n * sxx - sx * sx;
  if (below <= 0) return {};
  const double slope = (n * sxy - sx * sy) / below;
  return {slope, (sy - slope * sx) / n};
}

double decibels(double energy) { return 10 * std::log10(std::max(energy, 1e-300)); }

// Where the decay drowns in the recording's noise, and what follows it.
struct Floor {
  std::size_t cut;  // samples kept
  double tail;      // energy of the decay's continuation beyond the cut
  double range;     // dB of the loudest block over the noise
  double noise;     // energy of one sample of it
};

Floor find_floor(const Signal& energy, double rate, double lowest_hz) {
  const auto block = static_cast<std::size_t>(std::max(0.010, 2 / lowest_hz) * rate);
  const std::size_t blocks = std::max<std::size_t>(energy.size() / block, 1);
  Signal mean(blocks, 0.0);
  for (std::size_t b = 0; b < blocks; ++b) {
    const std::size_t end = std::min(energy.size(), (b + 1) * block);
    for (std::size_t i = b * block; i < end; ++i) mean[b] += energy[i] / static_cast<double>(block);
  }
  const auto loudest = static_cast<std::size_t>(std::max_element(mean.begin(), mean.end()) - mean.begin());
  const std::size_t last_tenth = blocks - std::max<std::size_t>(blocks / 10, 1);
  const auto average = [&](std::size_t from) {
    double sum = 0;
    for (std::size_t b = from; b < blocks; ++b) sum += mean[b];
    return sum / static_cast<double>(blocks - from);
  };
  double noise = average(last_tenth);
  double crossing = static_cast<double>(blocks);
  Fit decay;
  for (int round = 0; round < 5; ++round) {
    std::size_t end = loudest + 1;
    while (end < blocks && decibels(mean[end]) > decibels(noise) + 8) ++end;
    // The late half of what stands clear of the noise: early sound may fall otherwise.
    const std::size_t begin = loudest + (end - loudest) / 3;
    if (end - begin < 3) break;
    decay = line(
        begin, end, [](std::size_t b) { return static_cast<double>(b) + 0.5; },
        [&](std::size_t b) { return decibels(mean[b]); });
    if (!(decay.slope < 0)) break;
    crossing = std::min(static_cast<double>(blocks), (decibels(noise) - decay.at_zero) / decay.slope);
    const auto quiet = static_cast<std::size_t>(std::max(0.0, crossing - 10 / decay.slope));
    noise = average(std::min(quiet, last_tenth));
  }
  Floor f{};
  f.cut =
      std::clamp<std::size_t>(static_cast<std::size_t>(crossing * static_cast<double>(block)), block, energy.size());
  f.noise = noise;
  f.range = decibels(mean[loudest]) - decibels(noise);
  if (decay.slope < 0) {
    const double here = std::pow(10, (decay.at_zero + decay.slope * crossing) / 10);
    f.tail = here * static_cast<double>(block) / (-decay.slope / 10 * std::log(10));
  }
  return f;
}

// `start`: the direct sound; `delay`: of the filter that made `h`. Only the clarity figures need it.
Decay measure(const Signal& h, std::size_t start, std::size_t delay, double rate, double lowest_hz) {
  Signal energy(h.begin() + static_cast<std::ptrdiff_t>(start), h.end());
  for (double& e : energy) e *= e;
  const Floor floor = find_floor(energy, rate, lowest_hz);
  energy.resize(floor.cut);
  // What the noise adds before the cut is taken away again (W. T. Chu, J. Acoust. Soc. Am. 63 (1978) 1444).
  for (double& e : energy) e -= floor.noise;

  double early50 = 0, early80 = 0, total = floor.tail, moment = 0;
  for (std::size_t i = 0; i < energy.size(); ++i) {
    const double t = (static_cast<double>(i) - static_cast<double>(delay)) / rate;
    if (t < 0.050) early50 += energy[i];
    if (t < 0.080) early80 += energy[i];
    total += energy[i];
    moment += std::max(0.0, t) * energy[i];
  }
  moment += floor.tail * static_cast<double>(energy.size()) / rate;
  Decay d;
  d.range = Decibels{floor.range};
  d.definition = early50 / total;
  d.clarity = Decibels{decibels(early80) - decibels(std::max(total - early80, 1e-300))};
  d.centre_time = Seconds{moment / total};

  // Backward integration, then straight lines over stretches of its fall.
  double sum = floor.tail;
  for (std::size_t i = energy.size(); i-- > 0;) energy[i] = sum += energy[i];
  const double top = energy.front();
  const auto fall = [&](double from_db, double to_db) -> std::optional<Seconds> {
    if (floor.range < -to_db + 10) return std::nullopt;
    const auto below = [&](double db) {
      const double limit = top * std::pow(10, db / 10);
      return static_cast<std::size_t>(std::find_if(energy.begin(), energy.end(), [&](double e) { return e <= limit; }) -
                                      energy.begin());
    };
    const std::size_t a = from_db == 0 ? 0 : below(from_db), b = below(to_db);
    if (b >= energy.size() || b < a + 3) return std::nullopt;
    const Fit f = line(
        a, b + 1, [&](std::size_t i) { return static_cast<double>(i) / rate; },
        [&](std::size_t i) { return decibels(energy[i]); });
    if (!(f.slope < 0)) return std::nullopt;
    return Seconds{-60 / f.slope};
  };
  d.early = fall(0, -10);
  d.t20 = fall(-5, -25);
  d.t30 = fall(-5, -35);
  return d;
}

}  // namespace

Result<ResponseAnalysis> analyse_response(std::span<const float> samples, Hertz rate) {
  const double fs = rate.value();
  if (!(fs >= 8000 && fs <= 400e3)) return fail("An impulse response needs a sample rate of 8 kHz to 400 kHz.");
  const double seconds = static_cast<double>(samples.size()) / fs;
  if (!(seconds >= 0.1 && seconds <= 60)) return fail("An impulse response is between 0.1 s and 60 s long.");
  Signal h(samples.begin(), samples.end());
  double peak = 0;
  for (double v : h) {
    if (!std::isfinite(v)) return fail("The impulse response has samples that are not numbers.");
    peak = std::max(peak, std::abs(v));
  }
  if (peak <= 0) return fail("The impulse response is silent.");
  for (double& v : h) v /= peak;
  const auto direct = static_cast<std::size_t>(
      std::find_if(h.begin(), h.end(), [](double v) { return std::abs(v) >= 0.1; }) - h.begin());
  if (static_cast<double>(h.size() - direct) < 0.1 * fs)
    return fail("The impulse response ends within 0.1 s of its direct sound; record until it has died away.");

  ResponseAnalysis a;
  a.direct = Seconds{static_cast<double>(direct) / fs};
  a.whole = measure(h, direct, 0, fs, 100);
  for (std::size_t b = 0; b < octave_band_count; ++b) {
    const double centre = octave_bands_hz[b];
    if (centre * std::numbers::sqrt2 > 0.45 * fs) continue;
    const OctaveFilter filter(centre, fs);
    a.bands[b] = measure(filter(h), direct, filter.delay(centre, fs), fs, centre);
  }
  return a;
}

}  // namespace calcant
