#include "engine/measuring/note.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/measuring/beats.hpp"
#include "engine/measuring/mixture.hpp"
#include "engine/measuring/statistics.hpp"

namespace calcant::measuring {

namespace {

double decibels(double power) { return 10.0 * std::log10(std::max(power, 1e-30)); }

// IEC 61672-1:2013, A weighting, dB (formula widely published; from memory).
double a_weight(double f) {
  const double f2 = f * f;
  const double r =
      12194.0 * 12194.0 * f2 * f2 /
      ((f2 + 20.6 * 20.6) * std::sqrt((f2 + 107.7 * 107.7) * (f2 + 737.9 * 737.9)) * (f2 + 12194.0 * 12194.0));
  return 20.0 * std::log10(r) + 2.0;
}

// Amplitude of one harmonic in time; frame n stands at (first + n * hop) of the sound given.
struct Envelope {
  std::vector<double> a;
  double hop = 0.0;
  double first = 0.0;
  [[nodiscard]] double at(std::size_t n) const { return first + static_cast<double>(n) * hop; }
};

// Mean power of what lies 1 to 8 kHz off the comb.
double off_comb(std::span<const float> x, double rate, double f0, Bench& bench) {
  if (x.size() < 64) return 0.0;
  const std::size_t size = power_of_two_from(x.size());
  const auto power = bench.fft(size).power(x);
  const double bin = rate / static_cast<double>(size);
  // The tone's own window spreads a few bins round each harmonic; the higher the pipe, the more room to keep off it.
  const double width = rate / static_cast<double>(x.size());
  const double lobe = std::clamp(0.3 * f0, 2.2 * width, 10.0 * width);
  const double high = std::min(8000.0, 0.45 * rate);
  double sum = 0.0;
  int counted = 0;
  int all = 0;
  for (auto i = static_cast<std::size_t>(1000.0 / bin); static_cast<double>(i) * bin < high; ++i) {
    const double f = static_cast<double>(i) * bin;
    ++all;
    const double off = f0 > 0.0 ? std::fabs(f - f0 * std::round(f / f0)) : 1e9;
    if (off < lobe && 2.5 * lobe < f0) continue;
    sum += static_cast<double>(power[i]);
    ++counted;
  }
  if (counted == 0) return 0.0;
  // Power of a sine is half its |.|^2; noise passes the window 1.5 bins of the given length wide.
  return sum / counted * all / 2.0 / (1.5 * static_cast<double>(size) / static_cast<double>(x.size()));
}

}  // namespace

void measure_note(NoteTask& task, MeasuredNote& note, Bench& bench) {
  const double rate = task.rate;
  if (!task.foreign.empty()) {
    const auto left = take_away(task.x, rate, task.origin, task.foreign, {task.aim, task.from});
    task.disturbing.insert(task.disturbing.end(), left.begin(), left.end());
  }
  const auto cut = [&](double from, double to) {  // in the recording's time
    const double n = static_cast<double>(task.x.size());
    const auto a = static_cast<std::size_t>(std::clamp((from - task.origin) * rate, 0.0, n));
    const auto b = static_cast<std::size_t>(std::clamp((to - task.origin) * rate, static_cast<double>(a), n));
    return std::span<const float>(task.x).subspan(a, b - a);
  };

  // Envelopes of the lowest harmonics through three periods.
  const int factor = std::max(1, static_cast<int>(std::floor(rate / std::max(10.0 * task.aim, 2000.0))));
  std::vector<float> thin;
  std::span<const float> x = task.x;
  if (factor > 1) {
    thin = thinned(task.x, factor);
    x = thin;
  }
  const double thin_rate = rate / factor;
  const int lowest = std::clamp(static_cast<int>(0.45 * thin_rate / task.aim), 1, 4);
  const Course c = demodulated(x, thin_rate, task.aim, lowest, std::max(3.0 / task.aim, 0.005));
  if (c.frames() < 10) {
    note.remark = "too short to measure";
    return;
  }
  std::vector<Envelope> harmonic;
  for (const auto& z : c.z) {
    Envelope e{{}, c.hop, task.origin + c.first};
    for (const auto v : z) e.a.push_back(static_cast<double>(std::abs(v)));
    harmonic.push_back(std::move(e));
  }
  const auto level_between = [&](const Envelope& e, double from, double to) {
    std::vector<double> part;
    for (std::size_t n = 0; n < e.a.size(); ++n)
      if (e.at(n) >= from && e.at(n) <= to) part.push_back(e.a[n]);
    return median(std::move(part));
  };
  const double length = task.to - task.from;
  const double inner_from = task.from + std::min(1.0, 0.4 * length);
  const double inner_to = task.to - std::min(0.3, 0.2 * length);
  std::vector<double> steady;
  std::vector<double> quiet;
  std::size_t lead = 0;
  for (std::size_t k = 0; k < harmonic.size(); ++k) {
    steady.push_back(level_between(harmonic[k], inner_from, inner_to));
    // A note or cipher that ended shortly before does not count as what is always there.
    quiet.push_back(std::min(level_between(harmonic[k], task.origin, task.from - 0.35),
                             level_between(harmonic[k], task.from - 0.6, task.from - 0.25)));
    if (steady[k] > 2.5 * steady[lead]) lead = k;
  }
  // The fundamental rules rise and speech unless the microphone hardly hears it.
  const Envelope& e = harmonic[lead];

  // First sign: any of the harmonics 10 dB over what was there before (or 26 dB below steady; 16 where a cipher was taken
  // out, for what is left of it).
  const double sign = task.foreign.empty() ? 0.05 : 0.15;
  double first_sign = 1e9;
  for (std::size_t k = 0; k < harmonic.size(); ++k) {
    if (steady[k] < steady[lead] * 0.03) continue;
    const double threshold = std::max(3.2 * quiet[k], sign * steady[k]);
    const Envelope& h = harmonic[k];
    // Back from where it surely sounds, so that what came before (the last note, talk) is not taken for its beginning.
    const double sure = task.from + std::min(0.4, 0.3 * length);
    std::size_t below = 0;
    for (std::size_t n = h.a.size(); n-- > 0;) {
      if (h.at(n) > sure) continue;
      if (h.at(n) < task.from - 2.0) break;
      below = h.a[n] > threshold ? 0 : below + 1;
      if (below == 3) {
        first_sign = std::min(first_sign, h.at(n + 3));
        break;
      }
    }
  }
  if (first_sign > 1e8) first_sign = task.from;
  // A window of two hops sees a sound before it begins: with a threshold well below steady by 0.3 of the window.
  const double start = first_sign + 0.6 * c.hop;
  double release = task.to;
  std::size_t under = 0;
  for (std::size_t n = 0; n < e.a.size(); ++n) {
    if (e.at(n) < inner_to) continue;
    under = e.a[n] > 0.7 * steady[lead] ? 0 : under + 1;
    release = e.at(n);
    if (under == 3) {
      release = e.at(n - 3);
      break;
    }
    if (release > task.to + 1.0) break;
  }
  note.start = Seconds{start};
  note.end = Seconds{release};

  // Rise and speech.
  const double period = 1.0 / task.aim;
  HeardSpeech speech;
  double at10 = -1.0;
  double at90 = -1.0;
  double at3 = -1.0;
  double at1 = start;
  const auto crossing = [&](std::size_t n, double level) {
    const double a = n > 0 ? e.a[n - 1] : 0.0;
    const double b = e.a[n];
    return e.at(n) - (b > a ? (b - level) / (b - a) : 0.0) * c.hop;
  };
  for (std::size_t n = 1; n < e.a.size() && e.at(n) < release; ++n) {
    if (e.at(n) < start - 2.0 * c.hop) continue;
    if (at10 < 0.0 && e.a[n] >= 0.1 * steady[lead]) at10 = crossing(n, 0.1 * steady[lead]);
    if (at3 < 0.0 && e.a[n] >= 0.708 * steady[lead]) at3 = crossing(n, 0.708 * steady[lead]);
    if (at90 < 0.0 && e.a[n] >= 0.9 * steady[lead]) {
      at90 = crossing(n, 0.9 * steady[lead]);
      at1 = at90;
      break;
    }
  }
  // Where another sound stood in the way of its beginning, nothing can be said of it.
  if (at10 >= 0.0 && at90 >= 0.0 && at3 > start) {
    speech.rise = Seconds{std::max(0.0, at90 - at10)};
    speech.speech = Seconds{std::max(0.0, at3 - start)};
    speech.rise_periods = speech.rise.value() / period;
    speech.speech_periods = speech.speech.value() / period;
    speech.resolution = Seconds{2.0 * c.hop};
    // When the key is let go, a microphone near the pipe hears 10 dB less at once; one in the room hears the room.
    double gone = release + 5.0;
    for (std::size_t n = 0; n < e.a.size(); ++n)
      if (e.at(n) > release && e.a[n] < 0.316 * steady[lead]) {
        gone = e.at(n);
        break;
      }
    speech.room_limited = gone - release > 0.06 + 8.0 * period;
    // Another harmonic first?
    for (std::size_t k = 1; k < std::min<std::size_t>(3, harmonic.size()); ++k) {
      int over = 0;
      int counted = 0;
      for (std::size_t n = 0; n < e.a.size(); ++n) {
        if (e.at(n) < start || e.at(n) > start + 0.3) continue;
        ++counted;
        over += harmonic[k].a[n] > 2.0 * harmonic[0].a[n] && harmonic[k].a[n] > 0.1 * steady[lead];
      }
      if (lead == 0 && steady[k] < steady[0] && counted > 0 && over * 3 > counted) {
        speech.speaks_first = static_cast<int>(k + 1);
        break;
      }
    }
    note.speech = speech;
  }

  // Pitch, from where the sound has settled.
  const double settle = std::max({0.3, std::min(30.0 * period, 0.3 * length), at1 - start + 0.15});
  const double from = start + settle;
  const double to = release - 0.08;
  if (!task.mixture.empty()) {
    if (to - from < 0.3) {
      note.remark = "sounds too short to tell its pipes";
      return;
    }
    const HeardMixture heard = hear_mixture(cut(from, to), rate, task.mixture, bench);
    note.mixture = heard.pipes;
    note.pipes_heard =
        static_cast<int>(std::ranges::count_if(heard.pipes, [](const HeardPipe& p) { return p.hertz.has_value(); }));
    note.level = Decibels{decibels(heard.power)};
    note.remark = "several pipes by design: no single pitch";
    return;
  }
  const PitchAim aim{task.aim, 45.0, 16, task.disturbing};
  const auto fit = fit_pitch(cut(from, to), rate, aim, bench);
  if (!fit) {
    note.remark = fit.error().message;
    return;
  }
  note.pitch = fit->pitch;
  note.pitch->from = Seconds{from + note.pitch->from.value()};
  note.pipes_heard = 1;
  const double f0 = fit->pitch.hertz.value();
  double power = 0.0;
  double power_a = 0.0;
  for (std::size_t k = 0; k < fit->amplitude.size(); ++k) {
    if (fit->pitch.harmonics[k] <= Decibels{-199.0}) continue;
    const double p = fit->amplitude[k] * fit->amplitude[k];
    const double f = f0 * static_cast<double>(k + 1);
    if (std::ranges::any_of(task.disturbing, [&](double d) { return std::fabs(d - f) < 3.0; })) continue;
    power += p;
    power_a += p * std::pow(10.0, a_weight(f) / 10.0);
  }
  note.level = Decibels{decibels(power)};
  note.level_a = Decibels{decibels(power_a)};

  // Evenness, in pieces of 0.1 s.
  std::vector<double> levels;
  const auto piece = static_cast<std::size_t>(std::max(1.0, std::round(0.1 / fit->course.hop)));
  for (std::size_t n = 0; n + piece <= fit->course.frames(); n += piece) {
    double sum = 0.0;
    for (std::size_t i = n; i < n + piece; ++i)
      for (std::size_t k = 0; k < fit->course.z.size(); ++k)
        if (fit->used[k]) sum += static_cast<double>(std::norm(fit->course.z[k][i]));
    levels.push_back(decibels(sum / static_cast<double>(piece)));
  }
  if (levels.size() >= 3) {
    double mean = 0.0;
    for (const double l : levels) mean += l / static_cast<double>(levels.size());
    double square = 0.0;
    for (const double l : levels) square += (l - mean) * (l - mean);
    note.evenness = Decibels{std::sqrt(square / static_cast<double>(levels.size() - 1))};
  }

  // Noise beside the tone: before, while it speaks, while it sounds.
  const double span = std::max(0.1, 5.0 * period);
  const double before = off_comb(cut(start - 0.05 - span, start - 0.05), rate, 0.0, bench);
  const double middle = (from + to) / 2.0;
  double during = 0.0;
  for (const double shift : {-0.4, 0.0, 0.4})
    during += off_comb(cut(middle + shift, middle + shift + 2.0 * span), rate, f0, bench) / 3.0;
  const double onset = off_comb(cut(start - 0.01, start - 0.01 + span), rate, f0, bench);
  if (during > 1.3 * before) note.wind_noise = Decibels{decibels((during - before) / (power / 2.0))};
  if (note.speech && onset > 2.0 * std::max(during, before))
    note.speech->chiff = Decibels{decibels((onset - std::max(during, before)) / (power / 2.0))};

  if (const auto second = second_comb(*fit, false, bench)) {
    note.pipes_heard = 2;
    note.beat = HeardBeat{Hertz{second->hertz}, interval(Hertz{f0}, Hertz{f0 + second->hertz}), Decibels{second->db},
                          second_comb(*fit, true, bench).has_value()};
  }
}

}  // namespace calcant::measuring
