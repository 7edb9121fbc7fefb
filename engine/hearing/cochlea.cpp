#include "engine/hearing/cochlea.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "engine/hearing/kernels.hpp"

namespace calcant::hearing {
namespace {

constexpr double lowest_audible = 20.0;
constexpr double highest_audible = 20000.0;
constexpr double level_end = 25.0;           // u where a line no longer shapes another's filter: 94 dB down
constexpr double one_component = 0.02;       // of an auditory filter's width
constexpr double loudest_compressed = 1e10;  // excitation above which growth is a plain power

constexpr double erb(double f) { return 24.673 * (0.004368 * f + 1.0); }
constexpr double slope_at(double f) { return 4.0 * f / erb(f); }
double to_cam(double f) { return 21.366 * std::log10(0.004368 * f + 1.0); }
double from_cam(double cam) { return (std::pow(10.0, cam / 21.366) - 1.0) / 0.004368; }
// Where known sounds keep the level about a line: from below 20 Hz to above 20 kHz, a sixteenth of a Cam apart, a quarter
// of what a filter's slope changes over. Read by cubics of the logarithm a line's level comes out within 0.01 dB.
constexpr double first_level_cam = 0.5;
constexpr double level_places_a_cam = 16;
constexpr std::size_t level_places = 664;
// How much wider the lower side of a filter is where the power in it is this; 51 dB is where it is as wide as the upper.
double skirt_of(double level) { return 1.0 - 0.35 / slope_at(1000.0) * (level - 51.0); }
constexpr double decibels_an_octave = 3.0102999566398120;  // of power: 10 log10 2
double from_db(double db) { return std::pow(10.0, 0.1 * db); }

// Traunmueller's critical-band rate as given by Hartmann, Signals, Sound, and Sensation (1997).
double bark(double f) {
  double z = 26.81 * f / (1960.0 + f) - 0.53;
  if (z < 2.0) z += 0.15 * (2.0 - z);
  if (z > 20.1) z += 0.22 * (z - 20.1);
  return std::max(z, 0.0);
}
// DIN 45692:2009 weighting g(z) z, with the factor that makes a critical band of noise at 1 kHz, 60 dB, 1
// acum here.
double brightness_weight(double f) {
  const double z = bark(f);
  const double g = z <= 15.8 ? 1.0 : 0.15 * std::exp(0.42 * (z - 15.8)) + 0.85;
  return 0.11375 * g * z;
}

std::span<const Row> outer_ear(SoundField field) {
  static constexpr Row flat[] = {{0, 0}};
  switch (field) {
    case SoundField::free: return free_field();
    case SoundField::diffuse: return diffuse_field();
    case SoundField::eardrum: break;
  }
  return flat;
}

}  // namespace

Cochlea::Cochlea(const EarSettings& how)
    : tables_(how.set == NumberSet::iso ? &iso_tables : &ansi_tables),
      outer_ear_(outer_ear(how.field), tables_->smooth),
      middle_ear_(tables_->middle_ear, tables_->smooth),
      step_(how.grid == Grid::fine ? 0.1 : 0.25),
      scale_(tables_->c * (how.ears == Ears::both ? tables_->two_ears : 1.0)) {
  // The standards' filters stand at 1.8, 1.9 ... 38.9 Cam, each for the 0.1 Cam about it: from 1.75 Cam up.
  // Coarse ones cover the same range; begun at 1.8 they would count the lowest notes up to 0.5 % too loud.
  const double first = 1.75 + step_ / 2;
  const std::size_t n = how.grid == Grid::fine ? 372 : 149;
  const Curve thresholds(tables_->threshold, tables_->smooth);
  const Curve a_of_gain(tables_->a);
  const Curve alpha_of_gain(alpha());
  const Curve masking(masked_threshold(), true);
  const double threshold_500 = thresholds.at(500.0);
  for (std::size_t i = 0; i < n; ++i) {
    const double fc = from_cam(first + step_ * static_cast<double>(i));
    const double threshold = thresholds.at(fc);
    const double gain_db = threshold_500 - threshold;
    const double a = a_of_gain.at(gain_db);
    const double exponent = alpha_of_gain.at(gain_db);
    filters_.centre.push_back(fc);
    filters_.inverse_centre.push_back(1.0 / fc);
    filters_.p.push_back(slope_at(fc));
    filters_.slope.push_back(slope_at(fc) / fc);
    filters_.threshold.push_back(from_db(threshold));
    filters_.gain.push_back(from_db(gain_db));
    filters_.a.push_back(a);
    filters_.alpha.push_back(exponent);
    filters_.rest.push_back(std::pow(a, exponent));
    filters_.masked.push_back(from_db(masking.at(fc)));
    filters_.bright.push_back(brightness_weight(fc));
  }
  if (how.grid == Grid::fine) return;
  single_.p.assign(filters_.p.begin(), filters_.p.end());
  single_.slope.assign(filters_.slope.begin(), filters_.slope.end());
  single_.inverse_centre.assign(filters_.inverse_centre.begin(), filters_.inverse_centre.end());
}

std::vector<Arrival> Cochlea::arrivals(const Lines& lines) const {
  std::vector<Arrival> all;
  all.reserve(lines.size());
  for (std::uint32_t k = 0; k < lines.size(); ++k) {
    const double f = lines[k].frequency.value();
    if (f < lowest_audible || f > highest_audible) continue;
    all.push_back({k, f, from_db(lines[k].level.value() + outer_ear_.at(f) + middle_ear_.at(f))});
  }
  // By power too, so that the order lines come in does not change the last digit.
  std::sort(all.begin(), all.end(), [](const Arrival& a, const Arrival& b) {
    if (a.frequency != b.frequency) return a.frequency < b.frequency;
    return a.power != b.power ? a.power < b.power : a.line < b.line;
  });
  return all;
}

Components Cochlea::merged(std::span<const Arrival> sorted) const {
  Components c;
  double end = 0;
  std::size_t filter = 0;
  for (std::size_t k = 0; k < sorted.size(); ++k) {
    const Arrival& a = sorted[k];
    if (a.frequency > end) {
      end = a.frequency + one_component * erb(a.frequency);
      if (!single_.p.empty()) {
        while (filter < filters_.size() && filters_.centre[filter] < a.frequency) ++filter;
        if (filter < filters_.size()) end = std::min(end, filters_.centre[filter]);
      }
      c.frequency.push_back(a.frequency);
      c.power.push_back(a.power);
      c.first.push_back(k);
    } else {
      c.power.back() += a.power;
      c.frequency.back() += (a.frequency - c.frequency.back()) * (a.power / c.power.back());
    }
  }
  c.first.push_back(sorted.size());
  return c;
}

Components Cochlea::components(std::span<const Arrival> sorted) const {
  Components c = merged(sorted);
  c.skirt.resize(c.size());
  set_skirts(c, c);
  return c;
}

Components Cochlea::among(Components c, const Components& others) const {
  const std::vector<double> alone = c.skirt;
  set_skirts(c, others);
  for (std::size_t j = 0; j < c.size(); ++j) c.skirt[j] = std::min(c.skirt[j], alone[j]);
  return c;
}

// How far the lower sides have widened follows from the level in the filter around each line.
void Cochlea::set_skirts(Components& c, const Components& sound) const {
  const auto single = [](const std::vector<double>& all) {
    std::vector<float> out(all.begin(), all.end());
    out.resize(all.size() + kernels::level_sum_reads_on);
    return out;
  };
  const std::vector<float> frequency = single(sound.frequency);
  const std::vector<float> powers = single(sound.power);
  std::size_t from = 0;
  std::size_t to = 0;
  for (std::size_t j = 0; j < c.size(); ++j) {
    const double f = c.frequency[j];
    const double p = slope_at(f);
    const double lowest = f - f * level_end / p;
    const double highest = f + f * std::min(level_end / p, tables_->level_reach);
    while (from < sound.size() && sound.frequency[from] < lowest) ++from;
    while (to < sound.size() && sound.frequency[to] <= highest) ++to;
    const double power = kernels::level_sum(frequency.data() + from, powers.data() + from, to - from,
                                            static_cast<float>(f), static_cast<float>(p));
    c.skirt[j] = skirt_of(10.0 * std::log10(std::max(power, 1e-30)));
  }
}

Cochlea::Reach Cochlea::excite(const Components& c, std::size_t j, double* excitation) const {
  const Filters& x = filters_;
  const double f = c.frequency[j];
  const double skirt = c.skirt[j];
  const auto at = [&](const std::vector<double>& v, auto i) { return v.data() + i; };
  // Both arguments below fall and rise steadily over the filters, so the far ends can be cut off.
  std::size_t low = 0;
  const std::size_t middle =
      static_cast<std::size_t>(std::lower_bound(x.centre.begin(), x.centre.end(), f) - x.centre.begin());
  for (std::size_t high = middle; low < high;) {
    const std::size_t mid = (low + high) / 2;
    if (x.slope[mid] * f - x.p[mid] > kernels::u_end) low = mid + 1;
    else high = mid;
  }
  std::size_t end = middle;
  for (std::size_t high = x.size(); end < high;) {
    const std::size_t mid = (end + high) / 2;
    if (x.p[mid] * skirt * (1.0 - f * x.inverse_centre[mid]) < kernels::u_end) end = mid + 1;
    else high = mid;
  }
  kernels::add_upper_side(at(x.slope, low), at(x.p, low), middle - low, f, c.power[j], excitation + low);
  kernels::add_lower_side(at(x.p, middle), at(x.inverse_centre, middle), end - middle, f, skirt, c.power[j],
                          excitation + middle);
  return {low, end};
}

std::vector<double> Cochlea::coarse_excitation(const Components& c) const {
  const Filters& x = filters_;
  std::vector<float> e(x.size(), 0.0F);
  // Components rise in frequency, and so do the filters below them and the lowest that they still reach.
  std::size_t low = 0;
  std::size_t middle = 0;
  for (std::size_t j = 0; j < c.size(); ++j) {
    const double f = c.frequency[j];
    while (middle < x.size() && x.centre[middle] < f) ++middle;
    while (low < middle && x.slope[low] * f - x.p[low] > kernels::u_end) ++low;
    const auto single = [](double v) { return static_cast<float>(v); };
    kernels::add_upper_side(single_.slope.data() + low, single_.p.data() + low, middle - low, single(f),
                            single(c.power[j]), e.data() + low);
    kernels::add_lower_side(single_.p.data() + middle, single_.inverse_centre.data() + middle, x.size() - middle,
                            single(f), single(c.skirt[j]), single(c.power[j]), e.data() + middle);
  }
  return {e.begin(), e.end()};
}

Alone Cochlea::alone(std::span<const Arrival> sorted) const {
  const Filters& x = filters_;
  Alone out;
  out.upper.assign(x.size(), 0.0F);
  std::vector<float> frequency;
  std::vector<float> power;
  std::size_t low = 0;
  std::size_t middle = 0;
  for (const Arrival& a : sorted) {
    const double f = a.frequency;
    frequency.push_back(static_cast<float>(f));
    power.push_back(static_cast<float>(a.power));
    while (middle < x.size() && x.centre[middle] < f) ++middle;
    while (low < middle && x.slope[low] * f - x.p[low] > kernels::u_end) ++low;
    kernels::add_upper_side(single_.slope.data() + low, single_.p.data() + low, middle - low, frequency.back(),
                            power.back(), out.upper.data() + low);
  }
  frequency.resize(sorted.size() + kernels::level_sum_reads_on);
  power.resize(sorted.size() + kernels::level_sum_reads_on);
  out.level.reserve(level_places);
  std::size_t from = 0;
  std::size_t to = 0;
  for (std::size_t i = 0; i < level_places; ++i) {
    const double f = from_cam(first_level_cam + static_cast<double>(i) / level_places_a_cam);
    const double p = slope_at(f);
    while (from < sorted.size() && sorted[from].frequency < f - f * level_end / p) ++from;
    while (to < sorted.size() && sorted[to].frequency <= f + f * std::min(level_end / p, tables_->level_reach)) ++to;
    out.level.push_back(kernels::level_sum(frequency.data() + from, power.data() + from, to - from,
                                           static_cast<float>(f), static_cast<float>(p)));
  }
  return out;
}

float Cochlea::level_place(double frequency) {
  return static_cast<float>((to_cam(frequency) - first_level_cam) * level_places_a_cam);
}

std::vector<double> Cochlea::excitation_together(std::span<const Arrival> sorted, std::span<const float> places,
                                                 Alone sums) const {
  const Filters& x = filters_;
  const Components c = merged(sorted);
  std::vector<float>& e = sums.upper;
  std::vector<float>& level = sums.level;
  kernels::to_logs(level.data(), level.size());
  std::size_t middle = 0;
  for (std::size_t j = 0; j < c.size(); ++j) {
    const double f = c.frequency[j];
    while (middle < x.size() && x.centre[middle] < f) ++middle;
    const std::size_t first = c.first[j];
    const double place = places[first] + level_places_a_cam * (f - sorted[first].frequency) / erb(f);
    const auto i = static_cast<std::size_t>(place);
    const double t = place - static_cast<double>(i);
    const float* const at = level.data() + i;
    const double log2 = at[-1] * (-t * (t - 1) * (t - 2) / 6) + at[0] * ((t + 1) * (t - 1) * (t - 2) / 2) +
                        at[1] * (-(t + 1) * t * (t - 2) / 2) + at[2] * ((t + 1) * t * (t - 1) / 6);
    const double skirt = skirt_of(decibels_an_octave * log2);
    kernels::add_lower_side(single_.p.data() + middle, single_.inverse_centre.data() + middle, x.size() - middle,
                            static_cast<float>(f), static_cast<float>(skirt), static_cast<float>(c.power[j]),
                            e.data() + middle);
  }
  return {e.begin(), e.end()};
}

std::vector<double> Cochlea::excitation(const Components& c) const {
  if (!single_.p.empty()) return coarse_excitation(c);
  std::vector<double> e(filters_.size(), 0.0);
  for (std::size_t j = 0; j < c.size(); ++j) excite(c, j, e.data());
  return e;
}

double Cochlea::specific(std::size_t i, double e) const {
  const Filters& x = filters_;
  if (e > loudest_compressed) return scale_ * std::pow(e / 1.0707, 0.2);
  const double core = std::pow(x.gain[i] * e + x.a[i], x.alpha[i]) - x.rest[i];
  if (e >= x.threshold[i]) return scale_ * core;
  const double under = 2.0 * e / (e + x.threshold[i]);
  return scale_ * core * under * std::sqrt(under);
}

double Cochlea::loudness(const std::vector<double>& excitation) const {
  double sum = 0;
  for (std::size_t i = 0; i < excitation.size(); ++i) sum += specific(i, excitation[i]);
  return step_ * sum;
}

double Cochlea::partial(std::size_t i, double part, double rest) const {
  if (!(part > 0)) return 0;
  const Filters& x = filters_;
  const double quiet = x.rest[i];
  const double threshold = x.threshold[i];
  const double k = x.masked[i];
  // What the ear makes of a power, with the growth law's change at high levels as in `specific`.
  const auto h = [&](double e) {
    return e > loudest_compressed ? std::pow(e / 1.0707, 0.2) + quiet : std::pow(x.gain[i] * e + x.a[i], x.alpha[i]);
  };
  const double just_heard = k * rest + threshold;
  const double both = h(part + rest);
  const double at_threshold = h(threshold);
  const double at_just_heard = h(rest * (1 + k) + threshold);
  double core = 0;
  if (part >= just_heard) {
    core = (both - quiet) - (at_just_heard - at_threshold) * std::pow(just_heard / part, 0.3);
  } else {
    const double alone = h(rest);
    const double under = 2.0 * part / (part + just_heard);
    core = under * std::sqrt(under) * (at_threshold - quiet) * (both - alone) / (at_just_heard - alone);
  }
  return scale_ * std::max(core, 0.0);
}

}  // namespace calcant::hearing
