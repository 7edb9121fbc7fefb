#include "engine/measuring/testing/invented.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstring>
#include <fstream>
#include <kissfft/kissfft.hh>
#include <numbers>

namespace calcant::invented {

namespace {

constexpr double tau = 2.0 * std::numbers::pi;

// xoshiro-like small generator with cheap normals (sum of three uniforms would do for hiss; polar for wander).
struct Dice {
  std::uint64_t s;
  explicit Dice(std::uint64_t seed) : s(seed * 0x9E3779B97F4A7C15ULL + 0x1234567ULL) {
    next();
    next();
  }
  std::uint64_t next() {
    s ^= s >> 12;
    s ^= s << 25;
    s ^= s >> 27;
    return s * 0x2545F4914F6CDD1DULL;
  }
  double uniform() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }
  // Sum of four uniform parts of one draw: near enough to normal for noise, variance 1.
  float hiss() {
    const std::uint64_t v = next();
    const auto part = [&](int i) { return static_cast<float>(v >> (16 * i) & 0xFFFF); };
    return (part(0) + part(1) + part(2) + part(3) - 131070.0F) * (1.7320508F / 65536.0F);
  }
  double normal() { return std::sqrt(-2.0 * std::log(1.0 - uniform())) * std::cos(tau * uniform()); }
};

double amplitude(double db) { return std::pow(10.0, db / 20.0); }

}  // namespace

std::vector<float> add(std::vector<float>& sound, int rate, const Pipe& p, std::uint64_t seed) {
  Dice dice(seed);
  const double seconds = static_cast<double>(sound.size()) / rate;
  const double until = std::min(seconds, p.off + 12.0 * p.fall);
  // Wander: a sum of sines spread evenly over the band, random phases: flat, band-limited, of known rms.
  const auto points = static_cast<std::size_t>(std::max(0.0, (until - p.on)) * 1000.0) + 2;
  std::vector<float> course(points, 0.0F);
  if (p.wander_cents > 0.0) {
    constexpr int lines = 48;
    for (int i = 0; i < lines; ++i) {
      const double f = p.wander_hertz * (i + dice.uniform()) / lines;
      const double phase = tau * dice.uniform();
      const double a = p.wander_cents * std::sqrt(2.0 / lines);
      std::complex<double> turn = std::polar(a, phase);
      const std::complex<double> by = std::polar(1.0, tau * f / 1000.0);
      for (auto& c : course) {
        c += static_cast<float>(turn.real());
        turn *= by;
      }
    }
  }
  for (std::size_t i = 0; i < points; ++i) course[i] += static_cast<float>(p.drift * static_cast<double>(i) / 1000.0);

  std::vector<double> a;
  std::vector<std::complex<double>> start;
  for (std::size_t k = 0; k < p.harmonics_db.size(); ++k) {
    if (p.hertz * static_cast<double>(k + 1) > 0.47 * rate) break;
    a.push_back(amplitude(p.level_db + p.harmonics_db[k]));
    start.push_back(std::polar(1.0, tau * dice.uniform()));
  }
  const auto from = static_cast<std::size_t>(std::max(0.0, p.on) * rate);
  const auto to = std::min(sound.size(), static_cast<std::size_t>(until * rate));
  const auto released = static_cast<std::size_t>(p.off * rate);
  std::vector<double> envelope(a.size(), 0.0);
  std::vector<double> up(a.size());
  const double down = std::exp(-1.0 / (p.fall * rate));
  for (std::size_t k = 0; k < a.size(); ++k)
    up[k] = 1.0 - std::exp(-1.0 / (p.rise * (1.0 + static_cast<double>(k) / 8.0) * rate));
  double phase = 0.0;
  std::complex<double> one = 1.0;
  std::complex<double> turn = 1.0;
  constexpr std::size_t stride = 16;  // samples for which the pitch is taken as steady
  for (std::size_t i = from; i < to; ++i) {
    const double t = static_cast<double>(i - from) / rate * 1000.0;
    if ((i - from) % stride == 0) {
      const double mid = t + 500.0 * (stride - 1) / rate;
      const auto j = std::min(static_cast<std::size_t>(mid), points - 2);
      const double cents = static_cast<double>(course[j]) +
                           (mid - static_cast<double>(j)) * static_cast<double>(course[j + 1] - course[j]);
      const double step = tau * p.hertz * (1.0 + cents * (std::numbers::ln2 / 1200.0)) / rate;
      one = std::polar(1.0, phase);
      turn = std::polar(1.0, step);
      phase = std::fmod(phase + stride * step, tau);
    }
    one *= turn;
    std::complex<double> e = one;
    double sum = 0.0;
    for (std::size_t k = 0; k < a.size(); ++k) {
      if (i < released) {
        const bool waits = t < 1000.0 * p.first_for && static_cast<int>(k + 1) != p.first_harmonic;
        envelope[k] += up[k] * ((waits ? 0.05 : 1.0) - envelope[k]);
      } else {
        envelope[k] *= down;
      }
      sum += a[k] * envelope[k] * (e.real() * start[k].real() - e.imag() * start[k].imag());
      e *= one;
    }
    sound[i] += static_cast<float>(sum);
  }
  if (p.wind_noise_db > -150.0) {
    const auto g = static_cast<float>(amplitude(p.wind_noise_db));
    for (std::size_t i = from; i < std::min(to, released); ++i) sound[i] += g * dice.hiss();
  }
  if (p.chiff_db > -150.0) {
    const auto g = static_cast<float>(amplitude(p.chiff_db));
    for (std::size_t i = from; i < std::min(to, from + static_cast<std::size_t>(0.04 * rate)); ++i)
      sound[i] += g * dice.hiss();
  }
  return course;
}

double mean_cents(std::span<const float> course, double from, double to) {
  double sum = 0.0;
  const auto a = static_cast<std::size_t>(from * 1000.0);
  const auto b = std::min(course.size(), static_cast<std::size_t>(to * 1000.0));
  for (std::size_t i = a; i < b; ++i) sum += static_cast<double>(course[i]);
  return b > a ? sum / static_cast<double>(b - a) : 0.0;
}

void add_white(std::vector<float>& sound, double rms_db, std::uint64_t seed) {
  Dice dice(seed ^ 0xABCDEF);
  const auto g = static_cast<float>(amplitude(rms_db));
  for (auto& x : sound) x += g * dice.hiss();
}

void add_brown(std::vector<float>& sound, int rate, double rms_db, std::uint64_t seed) {
  Dice dice(seed ^ 0x5EED);
  const double keep = std::exp(-tau * 5.0 / rate);
  const double gain = amplitude(rms_db) * std::sqrt(1.0 - keep * keep);
  double y = 0.0;
  for (auto& x : sound) {
    y = keep * y + gain * static_cast<double>(dice.hiss());
    x += static_cast<float>(y);
  }
}

void add_hum(std::vector<float>& sound, int rate, double mains, double level_db) {
  for (int k = 1; k <= 3; ++k) {
    std::complex<double> turn = std::polar(amplitude(level_db - 6.0 * (k - 1)), 0.3 * k);
    const std::complex<double> by = std::polar(1.0, tau * mains * k / rate);
    for (auto& x : sound) {
      x += static_cast<float>(turn.real());
      turn *= by;
    }
  }
}

void add_talk(std::vector<float>& sound, int rate, double from, double to, double level_db, std::uint64_t seed) {
  Dice dice(seed ^ 0x7A1C);
  double pitch = 120.0;
  double aim = 120.0;
  double phase = 0.0;
  double voice = 0.0;
  double wanted = 1.0;
  const double g = amplitude(level_db);
  const auto end = std::min(sound.size(), static_cast<std::size_t>(to * rate));
  for (auto i = static_cast<std::size_t>(from * rate); i < end; ++i) {
    // A new syllable five times a second: another pitch to glide to, sometimes a pause.
    if (dice.uniform() < 5.0 / rate) {
      aim = 90.0 + 80.0 * dice.uniform();
      wanted = dice.uniform() < 0.25 ? 0.0 : 1.0;
    }
    pitch += (aim - pitch) * 6.0 / rate;
    voice += (wanted - voice) * 40.0 / rate;
    phase += tau * pitch / rate;
    double y = 0.0;
    for (int k = 1; k <= 12; ++k) y += std::sin(phase * k) / k;
    sound[i] += static_cast<float>(g * voice * (y + 0.15 * static_cast<double>(dice.hiss())));
  }
}

void add_knock(std::vector<float>& sound, int rate, double at, double level_db, std::uint64_t seed) {
  Dice dice(seed ^ 0x0C0C);
  const double g = amplitude(level_db);
  const auto from = static_cast<std::size_t>(at * rate);
  for (std::size_t i = from; i < std::min(sound.size(), from + static_cast<std::size_t>(rate) / 10); ++i)
    sound[i] += static_cast<float>(g * std::exp(-static_cast<double>(i - from) / (0.012 * rate)) *
                                   static_cast<double>(dice.hiss()));
}

std::vector<float> church(int rate) {
  std::ifstream in("../shared/rooms/st-margarets-york.wav", std::ios::binary);
  std::string bytes(std::istreambuf_iterator<char>(in), {});
  const auto data = bytes.find("data");
  if (data == std::string::npos) return {};
  // 4 channels of 32-bit samples (whole numbers or float, as the format word says); the first is the omnidirectional.
  const auto fmt = bytes.find("fmt ");
  std::uint16_t coding = 0;
  std::memcpy(&coding, bytes.data() + fmt + 8, 2);
  if (coding == 0xFFFE) std::memcpy(&coding, bytes.data() + fmt + 8 + 24, 2);
  std::vector<double> h;
  for (std::size_t i = data + 8; i + 16 <= bytes.size(); i += 16) {
    if (coding == 3) {
      float v = 0.0F;
      std::memcpy(&v, bytes.data() + i, 4);
      h.push_back(static_cast<double>(v));
    } else {
      std::int32_t v = 0;
      std::memcpy(&v, bytes.data() + i, 4);
      h.push_back(static_cast<double>(v) / 2147483648.0);
    }
  }
  // To the wanted rate by windowed sinc.
  const double ratio = rate / 44100.0;
  const double cut = std::min(1.0, ratio) * 0.98;
  std::vector<float> out(static_cast<std::size_t>(static_cast<double>(h.size()) * ratio));
  for (std::size_t n = 0; n < out.size(); ++n) {
    const double at = static_cast<double>(n) / ratio;
    double sum = 0.0;
    for (auto j = static_cast<std::ptrdiff_t>(at) - 31; j <= static_cast<std::ptrdiff_t>(at) + 32; ++j) {
      if (j < 0 || j >= static_cast<std::ptrdiff_t>(h.size())) continue;
      const double d = at - static_cast<double>(j);
      const double s = std::fabs(d) < 1e-9 ? cut : std::sin(std::numbers::pi * cut * d) / (std::numbers::pi * d);
      sum += h[static_cast<std::size_t>(j)] * s * (0.5 + 0.5 * std::cos(std::numbers::pi * d / 33.0));
    }
    out[n] = static_cast<float>(sum);
  }
  const auto peak =
      std::max_element(out.begin(), out.end(), [](float a, float b) { return std::fabs(a) < std::fabs(b); });
  double direct = 0.0;
  for (auto i = peak - std::min<std::ptrdiff_t>(peak - out.begin(), rate / 500);
       i < std::min(out.end(), peak + rate / 250); ++i)
    direct += static_cast<double>(*i) * static_cast<double>(*i);
  for (auto& v : out) v = static_cast<float>(static_cast<double>(v) / std::sqrt(direct));
  return out;
}

std::vector<float> in_room(std::span<const float> dry, std::span<const float> response) {
  std::size_t size = 1;
  while (size < 4 * response.size()) size *= 2;
  const std::size_t block = size - response.size();
  kissfft<float> forward(size, false);
  kissfft<float> back(size, true);
  using Complex = std::complex<float>;
  std::vector<Complex> h(size);
  std::vector<Complex> spectrum(size);
  for (std::size_t i = 0; i < response.size(); ++i) h[i] = response[i];
  forward.transform(h.data(), spectrum.data());
  std::vector<float> wet(dry.size() + response.size(), 0.0F);
  std::vector<Complex> x(size);
  std::vector<Complex> y(size);
  // Two blocks at a time, one in the real and one in the imaginary part.
  for (std::size_t at = 0; at < dry.size(); at += 2 * block) {
    for (std::size_t i = 0; i < size; ++i) {
      const float re = i < block && at + i < dry.size() ? dry[at + i] : 0.0F;
      const float im = i < block && at + block + i < dry.size() ? dry[at + block + i] : 0.0F;
      x[i] = {re, im};
    }
    forward.transform(x.data(), y.data());
    for (std::size_t i = 0; i < size; ++i) y[i] *= spectrum[i] / static_cast<float>(size);
    back.transform(y.data(), x.data());
    for (std::size_t i = 0; i < size; ++i) {
      if (at + i < wet.size()) wet[at + i] += x[i].real();
      if (at + block + i < wet.size()) wet[at + block + i] += x[i].imag();
    }
  }
  wet.resize(dry.size());
  return wet;
}

}  // namespace calcant::invented
