#include "engine/room/response_synthesis.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <kissfft/kissfft.hh>
#include <numbers>
#include <span>
#include <utility>

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
// Of amplitude for the images, which all bands have in common; of power for the noise, of which each band has its own.
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
        out[b][static_cast<std::size_t>(j)] += through * band_weight(j, hz);
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
  const double sine = std::sin(pi * (static_cast<double>(first) - at));  // of every sample, with changing sign
  for (long i = first; i < first + 32; ++i) {
    if (i < 0 || i >= static_cast<long>(to.size())) continue;
    const double x = static_cast<double>(i) - at;
    const double sinc = std::abs(x) < 1e-9 ? 1.0 : ((i - first) % 2 == 0 ? sine : -sine) / (pi * x);
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

// Of the two real signals whose spectrum together is `z` (one in the real part, one in the imaginary): their own at bin k.
std::pair<Complex, Complex> apart(const std::vector<Complex>& z, std::size_t k) {
  const Complex a = z[k];
  const Complex b = std::conj(z[(z.size() - k) % z.size()]);
  return {0.5 * (a + b), Complex{0, -0.5} * (a - b)};
}

// Two half spectra as one whole: left + i right.
struct Ears {
  std::vector<Complex> left;
  std::vector<Complex> right;
  explicit Ears(std::size_t n) : left(n / 2 + 1), right(n / 2 + 1) {}
  // Adds the first samples of both to a response, and takes what lies before the direct sound away.
  void add_to(StereoResponse& r, std::size_t count) const {
    const std::size_t n = 2 * (left.size() - 1);
    std::vector<Complex> in(n);
    std::vector<Complex> out(n);
    for (std::size_t k = 0; k <= n / 2; ++k) {
      in[k] = left[k] + Complex{0, 1} * right[k];
      if (k > 0 && k < n / 2) in[n - k] = std::conj(left[k]) + Complex{0, 1} * std::conj(right[k]);
    }
    kissfft<double>{n, true}.transform(in.data(), out.data());
    for (std::size_t i = 0; i < std::min(count, r.left.size()); ++i) {
      r.left[i] += static_cast<float>(out[i].real() / static_cast<double>(n));
      r.right[i] += static_cast<float>(out[i].imag() / static_cast<double>(n));
    }
  }
};

constexpr std::size_t lead = 64;  // samples kept before the direct sound
constexpr std::size_t early_size =
    32768;  // of the transform; half of it is kept, the ringing before 0 falls in the rest

// Energies at the listener by band, against 1 at a metre.
struct Energies {
  Bands reflected{};    // share of the energy that a wall throws back
  Bands early_scale{};  // what the images' amplitudes are multiplied by
  Bands early{};        // direct sound and images
  Bands late{};
};

// What the field gives, less the direct sound, is the reverberant part; the early images take theirs of it, the noise the
// rest.
Energies energies(const Field& field, const std::vector<Image>& images, double distance, double volume,
                  double surface) {
  Energies e;
  for (std::size_t b = 0; b < octave_band_count; ++b) {
    e.reflected[b] = 1 - mean_absorption(volume, surface, field.reverberation()[b]);
    const double all = 4 * pi * decibels_to_power(field.transfer(Hertz{octave_bands_hz[b]}, Metres{distance}));
    const double reverberant = std::max(all - 1.0 / (distance * distance), 0.0);
    double early = 0;
    for (const Image& i : images) {
      if (i.bounces == 0) continue;
      const double share = early_share((i.left_metres - distance) / sound);
      early += std::pow(e.reflected[b], i.bounces) * share * share / (i.left_metres * i.left_metres);
    }
    e.early_scale[b] = early > 0.9 * reverberant ? std::sqrt(0.9 * reverberant / early) : 1.0;
    early *= e.early_scale[b] * e.early_scale[b];
    e.late[b] = std::max(reverberant - early, 0.0);
    e.early[b] = 1.0 / (distance * distance) + early;
  }
  return e;
}

// Direct sound and images. Those that were thrown back equally often are coloured alike, so they are drawn together.
void add_early(const std::vector<Image>& images, double distance, const Energies& energy, StereoResponse& response) {
  std::size_t most = 0;
  for (const Image& i : images) most = std::max(most, static_cast<std::size_t>(i.bounces));
  constexpr std::size_t drawn = early_size / 4;
  std::vector<std::array<std::vector<double>, 2>> by_bounces(most + 1);
  for (const Image& i : images) {
    auto& ears = by_bounces[static_cast<std::size_t>(i.bounces)];
    const double share = i.bounces == 0 ? 1.0 : early_share((i.left_metres - distance) / sound);
    const auto draw = [&](std::vector<double>& ear, double metres) {
      if (ear.empty()) ear.resize(drawn);
      add_impulse(ear, lead + (metres - distance) / sound * rate, share / metres);
    };
    draw(ears[0], i.left_metres);
    draw(ears[1], i.right_metres);
  }
  Ears sum(early_size);
  std::vector<Complex> in(early_size);
  std::vector<Complex> out(early_size);
  const kissfft<double> forward{early_size, false};
  for (int band = 0; band < octave_band_count; ++band) {
    const auto b = static_cast<std::size_t>(band);
    std::fill(in.begin(), in.end(), 0.0);
    for (std::size_t bounces = 0; bounces <= most; ++bounces) {
      if (by_bounces[bounces][0].empty()) continue;
      const double scale =
          bounces == 0 ? 1.0
                       : energy.early_scale[b] * std::pow(energy.reflected[b], static_cast<double>(bounces) / 2.0);
      for (std::size_t i = 0; i < drawn; ++i) {
        in[i] += Complex{scale * by_bounces[bounces][0][i], scale * by_bounces[bounces][1][i]};
      }
    }
    forward.transform(in.data(), out.data());
    for (std::size_t k = 0; k <= early_size / 2; ++k) {
      const double weight = band_weight(band, static_cast<double>(k) * rate / early_size);
      if (weight == 0) continue;
      const auto [left, right] = apart(out, k);
      sum.left[k] += weight * left;
      sum.right[k] += weight * right;
    }
  }
  sum.add_to(response, early_size / 2);
}

// A band's noise at so many times fewer samples than the response's, dying away: both ears, one real, one imaginary.
std::vector<Complex> late_noise(std::size_t size, std::size_t fewer, std::size_t length, double decay, double energy,
                                Random& random) {
  std::vector<Complex> out(size);
  const double span = std::sqrt(3.0);  // of even chances with variance 1; the band's filter makes them normal
  double sum = 0;
  const double step = static_cast<double>(fewer) / rate;
  const double first = std::ceil((fade_begin + lead / rate) / step);  // before it there are only images
  double fall = std::exp(-6.9078 * (first * step - lead / rate) / decay);
  const double turn = std::exp(-6.9078 * step / decay);
  for (auto i = static_cast<std::size_t>(first); i < std::min(size, length / fewer); ++i, fall *= turn) {
    const double t = static_cast<double>(i) * step - lead / rate;
    const double shape = t < early_end ? fall * std::sqrt(1.0 - early_share(t) * early_share(t)) : fall;
    sum += shape * shape;
    const double left = random.uniform(-span, span);
    out[i] = {shape * left, shape * random.uniform(-span, span)};
  }
  const double scale = sum > 0 ? std::sqrt(energy / sum) : 0;
  for (Complex& v : out) v *= scale;
  return out;
}

// A length that the transform takes quickly and that can be divided by the greatest `fewer`.
std::size_t transform_size(std::size_t least) {
  std::size_t best = 2048;
  while (best < least) best *= 2;
  for (const std::size_t odd : {3U, 5U, 9U, 15U}) {
    std::size_t n = 128 * odd;
    while (n < least) n *= 2;
    best = std::min(best, n);
  }
  return best;
}

// Noise that dies away in every band in its own time. A band's noise is made with as few samples as carry it, and its
// spectrum takes its place in the whole one.
void add_late(const Bands& decays, const Bands& energy, std::uint64_t seed, StereoResponse& response) {
  const std::size_t length = response.left.size();
  const std::size_t n = transform_size(length + 16384);
  Ears sum(n);
  for (int band = 0; band < octave_band_count; ++band) {
    const auto b = static_cast<std::size_t>(band);
    const std::size_t fewer = std::size_t{1} << (octave_band_count - 1 - band);
    Random random{seed, static_cast<std::uint64_t>(band) + 1};
    const std::vector<Complex> noise = late_noise(n / fewer, fewer, length, decays[b], energy[b], random);
    std::vector<Complex> out(noise.size());
    kissfft<double>{noise.size(), false}.transform(noise.data(), out.data());
    const double bin = rate / static_cast<double>(n);
    const double half_width = std::exp2(0.5 + 1.0 / 12);  // of the band, with its crossings
    const auto from = band == 0 ? std::size_t{0} : static_cast<std::size_t>(octave_bands_hz[b] / half_width / bin);
    const auto to = band == octave_band_count - 1
                        ? n / 2
                        : std::min(out.size() / 2, static_cast<std::size_t>(octave_bands_hz[b] * half_width / bin) + 1);
    for (std::size_t k = from; k <= to; ++k) {
      const double hz = static_cast<double>(k) * bin;
      const double weight = std::sqrt(band_weight(band, hz));
      const auto [left, own] = apart(out, k);
      // In a diffuse field two ears agree at low frequencies: coherence sin(kd)/(kd).
      const double kd = 2 * pi * hz * 2 * ear_half_distance / sound;
      const double agree = kd < 1e-6 ? 1.0 : std::sin(kd) / kd;
      sum.left[k] += weight * left;
      sum.right[k] += weight * (agree * left + std::sqrt(1 - agree * agree) * own);
    }
  }
  sum.add_to(response, length);
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
  const Energies energy = energies(field, images, distance, volume, surface);
  Bands start{};
  for (std::size_t b = 0; b < octave_band_count; ++b) {
    start[b] = std::max(energy.late[b], 1e-12) / field.reverberation()[b];
  }
  const Bands decays = decays_that_measure(field.reverberation(), start, energy.early);

  const double longest_decay = *std::max_element(field.reverberation().begin(), field.reverberation().end());
  StereoResponse response;
  response.left.resize(static_cast<std::size_t>(std::min(1.1 * longest_decay + 0.2, longest) * rate));
  response.right.resize(response.left.size());
  add_early(images, distance, energy, response);
  add_late(decays, energy.late, request.seed, response);
  return response;
}

}  // namespace calcant
