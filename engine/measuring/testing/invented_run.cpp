#include "engine/measuring/testing/invented_run.hpp"

#include <algorithm>
#include <cmath>
#include <random>

namespace calcant::invented {

Run run(const RunRecipe& r, std::uint64_t seed) {
  std::mt19937_64 dice(seed);
  const auto uniform = [&](double a, double b) { return a + (b - a) * static_cast<double>(dice() >> 11) * 0x1.0p-53; };
  const auto normal = [&] {
    return std::sqrt(-2.0 * std::log(1.0 - uniform(0, 1))) * std::cos(6.283185307 * uniform(0, 1));
  };
  Run out;
  out.rate = r.rate;
  std::vector<int> order;
  for (const int side : {0, 1})
    for (int i = 0; i < r.keys; ++i)
      if (!r.sides || (r.lowest + i) % 2 == side) {
        if (!r.sides && side == 1) continue;
        order.push_back(r.lowest + i);
      }
  std::vector<Fault> fault(order.size(), Fault::none);
  for (int n = 0; n < r.faults;) {
    const auto i = static_cast<std::size_t>(uniform(2, static_cast<double>(order.size()) - 2));
    if (fault[i] != Fault::none) continue;
    fault[i] = r.kinds[static_cast<std::size_t>(uniform(0, static_cast<double>(r.kinds.size())))];
    ++n;
  }
  const double bend = uniform(-1.5, 1.5);  // smooth course of tuning and level along the rank
  const double slope = uniform(-6.0, 6.0);
  double at = r.before;
  std::vector<Pipe> pipes;
  for (std::size_t i = 0; i < order.size(); ++i) {
    Key k;
    k.midi = order[i];
    k.expected = 440.0 * std::exp2((k.midi - 69) / 12.0) * r.harmonic;
    k.fault = fault[i];
    const double along = static_cast<double>(k.midi - r.lowest) / r.keys;
    k.cents = r.whole_cents + bend * std::sin(3.0 * along) + r.cents_spread * normal();
    k.level_db = -24.0 + slope * along + r.level_spread * normal();
    k.on = at + (r.played_beat ? 0.0 : uniform(-0.15, 0.15));
    k.off = k.on + r.seconds_on + (r.played_beat ? 0.0 : uniform(-0.1, 0.1));
    at += r.seconds_on + r.seconds_off;
    const double sign = uniform(0, 1) < 0.5 ? -1.0 : 1.0;
    Pipe p;
    double hertz = k.expected;
    p.rise = std::max(0.012, 6.0 / hertz) * std::exp(0.1 * normal());
    if (k.fault == Fault::tuning) {
      k.size = uniform(5.0, 25.0);
      k.cents = r.whole_cents + bend * std::sin(3.0 * along) + sign * (k.size + std::fabs(r.cents_spread * normal()));
    } else if (k.fault == Fault::level) {
      k.size = uniform(4.0, 10.0);
      k.level_db = -24.0 + slope * along + sign * (k.size + std::fabs(r.level_spread * normal()));
    } else if (k.fault == Fault::slow) {
      k.size = uniform(2.0, 4.0);
      p.rise *= k.size * 1.1;
    } else if (k.fault == Fault::cipher) {
      k.size = uniform(5.0, 14.0);
    } else if (k.fault == Fault::wrong) {
      k.size = sign * (uniform(0, 1) < 0.5 ? 1.0 : 2.0);
      hertz *= std::exp2(k.size / 12.0);
    } else if (k.fault == Fault::octave) {
      hertz *= 2.0;
    }
    p.hertz = hertz * std::exp2(k.cents / 1200.0);
    p.level_db = k.level_db;
    p.harmonics_db = seed % 3 == 0 ? principal_db : seed % 3 == 1 ? flute_db : stopped_db;
    p.on = k.on;
    p.off = k.off + (k.fault == Fault::cipher ? k.size : 0.0);
    p.wander_cents = r.wander;
    p.wind_noise_db = k.level_db - 40.0;
    p.chiff_db = k.level_db - 25.0;
    if (k.fault != Fault::dead) pipes.push_back(p);
    if (k.fault == Fault::beating) {
      k.size = uniform(2.0, 10.0);
      p.hertz *= std::exp2(k.size / 1200.0);
      p.level_db -= uniform(2.0, 10.0);
      pipes.push_back(p);
    }
    out.keys.push_back(k);
  }
  out.sound.assign(static_cast<std::size_t>((at + 3.0) * r.rate), 0.0F);
  std::uint64_t n = seed * 1000;
  for (const Pipe& p : pipes) add(out.sound, r.rate, p, ++n);
  if (r.talk) {
    add_talk(out.sound, r.rate, 0.3, r.before - 0.8, -22.0, seed);
    const auto& k = out.keys[out.keys.size() / 2];
    add_knock(out.sound, r.rate, k.off + 0.5, -20.0, seed);
  }
  if (r.room) {
    static const std::vector<float> response = church(r.rate);
    if (!response.empty()) out.sound = in_room(out.sound, response);
  }
  add_white(out.sound, r.white_db, seed + 1);
  add_brown(out.sound, r.rate, r.brown_db, seed + 2);
  if (r.hum_db > -150.0) add_hum(out.sound, r.rate, 50.0, r.hum_db);
  return out;
}

}  // namespace calcant::invented
