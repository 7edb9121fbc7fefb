#include "engine/room/response_synthesis.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <kissfft/kissfft.hh>
#include <numbers>
#include <span>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

constexpr double rate = 48000.0;
constexpr double pi = std::numbers::pi;
constexpr double sound = 340.0;             // m/s; only delays of early images hang on it
constexpr double ear_half_distance = 0.09;  // m
constexpr double ear_height = 1.2;          // m, seated
constexpr double early_end = 0.080;         // s after the direct sound
constexpr double fade_begin = 0.040;        // s: early images fade out and the noise fades in between the two
constexpr double longest = 12.0;            // s

using Complex = std::complex<double>;

struct Image {
  double left_metres;
  double right_metres;
  int bounces;
};

// The mean absorption that gives the field's reverberation in the box the images are drawn in (Eyring, air
// included).
double mean_absorption(double volume, double surface, double seconds) {
  return 1.0 - std::exp(-55.26 * volume / (sound * surface * std::max(seconds, 0.05)));
}

// Share of band b at frequency f: each band has its octave to itself but for a sixth of an octave round the edges, where
// neighbours cross over as cosines and add up to 1 (wider, and the longer decay of one would rule the other's octave).
double band_weight(int b, double hz) {
  const double place = std::clamp(std::log2(std::max(hz, 1.0) / octave_bands_hz[0]), 0.0, octave_band_count - 1.0);
  const double past_edge = (std::abs(place - b) - 0.5) * 6.0;  // -1/2 .. 1/2 within the crossing
  return 0.5 - 0.5 * std::sin(pi * std::clamp(past_edge, -0.5, 0.5));
}

// How much of band j's noise an octave filter round band b lets through: a third-order Butterworth band-pass, edges at the
// root of two, on noise as wide as the band's share.
std::array<Bands, octave_band_count> leakage() {
  std::array<Bands, octave_band_count> out{};
  for (std::size_t b = 0; b < octave_band_count; ++b) {
    for (double place = -1; place < octave_band_count; place += 0.01) {
      const double hz = octave_bands_hz[0] * std::exp2(place);
      const double x = (hz / octave_bands_hz[b] - octave_bands_hz[b] / hz) / std::numbers::sqrt2 * 2;
      const double through = hz / (1 + std::pow(x * x, 3));
      for (int j = 0; j < octave_band_count; ++j) {
        const double w = band_weight(j, hz);
        out[b][static_cast<std::size_t>(j)] += through * w * w;
      }
    }
  }
  return out;
}

// The decay times to give the bands' noise so that what an octave filter then measures is `want` (T30, s): a neighbour
// that rings longer leaks into the filter and would rule its late decay. `energy`: of
// each band's noise a time constant at the start; `early`: of the direct sound and the images, which come within early_end.
Bands decays_that_measure(const Bands& want, const Bands& energy, const Bands& early) {
  static const std::array<Bands, octave_band_count> leak = leakage();
  Bands decay = want;
  for (int round = 0; round < 12; ++round) {
    Bands measured{};
    for (std::size_t b = 0; b < octave_band_count; ++b) {
      const auto integrated = [&](double t) {  // Schroeder's backward integral of the summed decays
        double sum = 0;
        for (std::size_t j = 0; j < octave_band_count; ++j) {
          sum += leak[b][j] * (energy[j] * decay[j] * std::exp(-13.8155 * t / decay[j]) +
                               early[j] * std::max(0.0, 1 - t / early_end));
        }
        return sum;
      };
      const double all = integrated(0);
      // The line through the curve between 5 and 35 dB down, as ISO 3382 fits it to the samples there.
      double n = 0, t_sum = 0, y_sum = 0, tt = 0, ty = 0;
      for (double t = 0;; t += 0.01) {
        const double y = 10 * std::log10(integrated(t) / all);
        if (y < -35) break;
        if (y > -5) continue;
        n += 1;
        t_sum += t;
        y_sum += y;
        tt += t * t;
        ty += t * y;
      }
      const double slope = (n * ty - t_sum * y_sum) / (n * tt - t_sum * t_sum);
      measured[b] = -60 / slope;
    }
    for (std::size_t b = 0; b < octave_band_count; ++b) {
      decay[b] = std::clamp(decay[b] * want[b] / measured[b], 0.5 * want[b], 1.5 * want[b]);
    }
  }
  return decay;
}

// Adds `amplitude` at a fractional sample, spread by a windowed sinc of 32 samples.
void add_impulse(std::span<double> to, double at, double amplitude) {
  const auto first = static_cast<long>(std::floor(at)) - 15;
  for (long i = first; i < first + 32; ++i) {
    if (i < 0 || i >= static_cast<long>(to.size())) continue;
    const double x = static_cast<double>(i) - at;
    const double sinc = std::abs(x) < 1e-9 ? 1.0 : std::sin(pi * x) / (pi * x);
    to[static_cast<std::size_t>(i)] += amplitude * sinc * (0.5 + 0.5 * std::cos(pi * x / 17.0));
  }
}

std::vector<Image> image_sources(const std::array<double, 3>& size, double distance, double sideways, Random& random) {
  const double reach = distance + sound * early_end;
  const std::array<double, 3> source{1.5, size[1] / 2 + sideways, std::min(0.45 * size[2], 4.0)};
  const double drop = source[2] - ear_height;
  const double along = std::sqrt(std::max(distance * distance - drop * drop - sideways * sideways, 0.01));
  const std::array<double, 3> ear{source[0] + along, size[1] / 2, ear_height};
  std::array<int, 3> most{};
  for (std::size_t i = 0; i < 3; ++i) most[i] = static_cast<int>(reach / (2 * size[i])) + 1;
  std::vector<Image> out;
  for (int a = -most[0]; a <= most[0]; ++a) {
    for (int b = -most[1]; b <= most[1]; ++b) {
      for (int c = -most[2]; c <= most[2]; ++c) {
        for (int mirror = 0; mirror < 8; ++mirror) {
          const std::array<int, 3> n{a, b, c};
          std::array<double, 3> at{};
          int bounces = 0;
          for (std::size_t i = 0; i < 3; ++i) {
            const int m = mirror >> i & 1;
            at[i] = (m != 0 ? -source[i] : source[i]) + 2 * n[i] * size[i];
            bounces += std::abs(2 * n[i] - m);
          }
          if (bounces > 0) {
            for (double& v : at) v += random.uniform(-0.06, 0.06);  // walls are not flat: no sweeping echo
          }
          const auto to = [&](double side) {
            return std::hypot(at[0] - ear[0], at[1] - (ear[1] + side), at[2] - ear[2]);
          };
          const Image image{to(-ear_half_distance), to(ear_half_distance), bounces};
          if (std::min(image.left_metres, image.right_metres) <= reach) out.push_back(image);
        }
      }
    }
  }
  return out;
}

double early_share(double seconds_after_direct) {
  const double x = std::clamp((seconds_after_direct - fade_begin) / (early_end - fade_begin), 0.0, 1.0);
  return std::cos(x * pi / 2);
}

}  // namespace

StereoResponse synthesise_response(const Field& field, const ResponseRequest& request) {
  Random random{request.seed, 0};
  std::array<double, 3> size{request.size[0].value(), request.size[1].value(), request.size[2].value()};
  if (std::min({size[0], size[1], size[2]}) <= 0) {
    const double unit = std::cbrt(field.volume().value() / 1.8);
    size = {2.0 * unit, unit, 0.9 * unit};
  }
  const double distance = std::max(request.distance.value(), 0.5);
  size[0] = std::max(size[0], distance + 3.0);
  const double volume = size[0] * size[1] * size[2];
  const double surface = 2 * (size[0] * size[1] + size[1] * size[2] + size[0] * size[2]);
  const std::vector<Image> images = image_sources(size, distance, request.sideways.value(), random);

  const double longest_decay = *std::max_element(field.reverberation().begin(), field.reverberation().end());
  const auto length = static_cast<std::size_t>(std::min(1.1 * longest_decay + 0.2, longest) * rate);
  std::size_t n = 1;
  while (n < length + 16384) n *= 2;

  std::vector<double> noise_left(n);
  std::vector<double> noise_right(n);
  for (std::size_t i = 0; i < length; ++i) {
    noise_left[i] = random.normal();
    noise_right[i] = random.normal();
  }

  kissfft<double> forward{n, false};
  std::vector<Complex> in(n);
  std::vector<Complex> out(n);
  std::vector<Complex> sum_left(n / 2 + 1);
  std::vector<Complex> sum_right(n / 2 + 1);
  constexpr std::size_t lead = 64;  // samples kept before the direct sound

  // Energies at the listener, against 1 at a metre: what the field gives, less the direct sound, is the reverberant part;
  // the early images take theirs of it, the noise the rest.
  Bands absorption{};
  Bands early_scale{};
  Bands late{};
  Bands start_energy{};
  Bands early_energy{};
  for (std::size_t b = 0; b < octave_band_count; ++b) {
    absorption[b] = mean_absorption(volume, surface, field.reverberation()[b]);
    const double all = 4 * pi * decibels_to_power(field.transfer(Hertz{octave_bands_hz[b]}, Metres{distance}));
    const double reverberant = std::max(all - 1.0 / (distance * distance), 0.0);
    double early = 0;
    for (const Image& i : images) {
      if (i.bounces == 0) continue;
      const double share = early_share((i.left_metres - distance) / sound);
      early += std::pow(1 - absorption[b], i.bounces) * share * share / (i.left_metres * i.left_metres);
    }
    early_scale[b] = early > 0.9 * reverberant ? std::sqrt(0.9 * reverberant / early) : 1.0;
    late[b] = std::max(reverberant - early * early_scale[b] * early_scale[b], 0.0);
    start_energy[b] = std::max(late[b], 1e-12) / field.reverberation()[b];
    early_energy[b] = 1.0 / (distance * distance) + early * early_scale[b] * early_scale[b];
  }
  const Bands decays = decays_that_measure(field.reverberation(), start_energy, early_energy);

  for (int band = 0; band < octave_band_count; ++band) {
    const auto b = static_cast<std::size_t>(band);
    double noise_energy = 0;
    std::vector<double> shape(length);
    for (std::size_t i = 0; i < length; ++i) {
      const double t = static_cast<double>(i) / rate;
      shape[i] = std::exp(-6.9078 * t / decays[b]) * std::sqrt(1.0 - early_share(t) * early_share(t));
      noise_energy += shape[i] * shape[i];
    }
    const double late_scale = std::sqrt(late[b] / noise_energy);

    std::vector<double> left(n);
    std::vector<double> right(n);
    std::vector<double> late_left(n);
    std::vector<double> late_right(n);
    for (const Image& i : images) {
      const double share = i.bounces == 0 ? 1.0 : early_scale[b] * early_share((i.left_metres - distance) / sound);
      const double reflected = share * std::pow(1 - absorption[b], i.bounces / 2.0);
      add_impulse(left, lead + (i.left_metres - distance) / sound * rate, reflected / i.left_metres);
      add_impulse(right, lead + (i.right_metres - distance) / sound * rate, reflected / i.right_metres);
    }
    for (std::size_t i = 0; i + lead < n && i < length; ++i) {
      late_left[lead + i] = noise_left[i] * shape[i] * late_scale;
      late_right[lead + i] = noise_right[i] * shape[i] * late_scale;
    }
    // Two real sequences a transform: a + ib.
    const auto add_band = [&](const std::vector<double>& a, const std::vector<double>& c, bool is_late) {
      for (std::size_t i = 0; i < n; ++i) in[i] = {a[i], c[i]};
      forward.transform(in.data(), out.data());
      for (std::size_t k = 0; k <= n / 2; ++k) {
        const double weight = band_weight(band, static_cast<double>(k) * rate / static_cast<double>(n));
        if (weight == 0) continue;
        const Complex x = out[k];
        const Complex y = std::conj(out[(n - k) % n]);
        const Complex first = 0.5 * (x + y);
        Complex second = Complex{0, -0.5} * (x - y);
        if (is_late) {
          // In a diffuse field two ears agree at low frequencies: coherence sin(kd)/(kd).
          const double kd =
              2 * pi * (static_cast<double>(k) * rate / static_cast<double>(n)) * 2 * ear_half_distance / sound;
          const double agree = kd < 1e-6 ? 1.0 : std::sin(kd) / kd;
          second = agree * first + std::sqrt(1 - agree * agree) * second;
        }
        sum_left[k] += weight * first;
        sum_right[k] += weight * second;
      }
    };
    add_band(left, right, false);
    add_band(late_left, late_right, true);
  }

  kissfft<double> backward{n, true};
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t mirror = k <= n / 2 ? k : n - k;
    const Complex l = k <= n / 2 ? sum_left[mirror] : std::conj(sum_left[mirror]);
    const Complex r = k <= n / 2 ? sum_right[mirror] : std::conj(sum_right[mirror]);
    in[k] = l + Complex{0, 1} * r;
  }
  backward.transform(in.data(), out.data());
  StereoResponse response;
  response.left.resize(length);
  response.right.resize(length);
  for (std::size_t i = 0; i < length; ++i) {
    response.left[i] = static_cast<float>(out[i].real() / static_cast<double>(n));
    response.right[i] = static_cast<float>(out[i].imag() / static_cast<double>(n));
  }
  return response;
}

}  // namespace calcant
