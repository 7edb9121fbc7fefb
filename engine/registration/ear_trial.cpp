#include "engine/registration/ear_trial.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "engine/hearing/loudness.hpp"
#include "engine/organ/sounding.hpp"
#include "engine/quantity/random.hpp"
#include "engine/registration/weigh.hpp"

namespace calcant {
namespace {

constexpr double normal_95 = 1.96;
constexpr double condense_cents = 5.0;  // under 0.1 % of loudness
constexpr double difference_step_db = 1.0;
constexpr int outer_rounds = 4;  // the hearing model is near to straight within the bands
constexpr std::array chord{60, 64, 67};
constexpr std::size_t brighter_every = 5;  // of the pairs asks for brightness; loudness is heard more surely
// A prediction must be one that can be wrong: differences from twice the threshold of "the same" upward.
constexpr double committed = 2.0;

// The two sounds of a pair by rank, so that their levels can be moved.
class Sounds {
 public:
  Sounds(const Listening& listening, const Registration& drawn, const KeysDown& keys) {
    PipeSet pipes;
    Sounding{listening.organ()}.pipes(drawn, keys, pipes);
    for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
      if (pipes.ranks[r].empty()) continue;
      PipeSet one;
      one.ranks.resize(pipes.ranks.size());
      one.ranks[r] = pipes.ranks[r];
      ranks_.push_back(r);
      lines_.push_back(condensed(listening.lines(one, drawn), Cents{condense_cents}));
    }
  }
  [[nodiscard]] bool silent() const { return ranks_.empty(); }
  [[nodiscard]] const std::vector<std::size_t>& ranks() const { return ranks_; }

  // Phon, or the logarithm of brightness in per cent.
  [[nodiscard]] Result<double> figure(const Ear& ear, EarQuestion q, std::span<const double> by_rank) const {
    Lines all;
    for (std::size_t i = 0; i < ranks_.size(); ++i) {
      const double moved = ranks_[i] < by_rank.size() ? by_rank[ranks_[i]] : 0;
      for (const Line& l : lines_[i]) all.push_back({l.frequency, l.level + Decibels{moved}});
    }
    const auto heard = ear.hear(all);
    if (!heard) return tl::unexpected(heard.error());
    if (q == EarQuestion::louder) return heard->loudness.phons.value();
    return 100 * std::log(std::max(heard->brightness.value(), 1e-3));
  }

 private:
  std::vector<std::size_t> ranks_;
  std::vector<Lines> lines_;
};

const Ear& quick_ear() {
  static const Ear ear{EarSettings{NumberSet::iso, SoundField::diffuse, Ears::both, Grid::coarse}};
  return ear;
}

// By rank, those that are 0 left out.
using Gradient = std::vector<std::pair<std::size_t, double>>;
Gradient minus(Gradient a, const Gradient& b) {
  for (const auto& [rank, value] : b) {
    const auto same = std::find_if(a.begin(), a.end(), [r = rank](const auto& x) { return x.first == r; });
    if (same != a.end()) same->second -= value;
    else a.emplace_back(rank, -value);
  }
  return a;
}

// How uncertain the levels of all ranks are, together: dB squared.
class Covariance {
 public:
  explicit Covariance(const Organ& organ) : ranks_(organ.ranks.size()), values_(ranks_ * ranks_) {
    for (std::size_t r = 0; r < ranks_; ++r)
      values_[r * ranks_ + r] = std::pow(level_band(organ.ranks[r]) / normal_95, 2);
  }
  [[nodiscard]] double of_rank(std::size_t r) const { return values_[r * ranks_ + r]; }
  // Variance of a difference with this gradient.
  [[nodiscard]] double of(const Gradient& g) const {
    double sum = 0;
    for (const auto& [a, x] : g)
      for (const auto& [b, y] : g) sum += x * y * values_[a * ranks_ + b];
    return sum;
  }
  // That difference has been seen with Fisher's information f (Sherman & Morrison's update of an inverse).
  void learn(const Gradient& g, double f) {
    std::vector<double> c(ranks_);
    for (std::size_t r = 0; r < ranks_; ++r)
      for (const auto& [a, x] : g) c[r] += values_[r * ranks_ + a] * x;
    const double share = f / (1 + f * of(g));
    for (std::size_t r = 0; r < ranks_; ++r)
      for (std::size_t k = 0; k < ranks_; ++k) values_[r * ranks_ + k] -= share * c[r] * c[k];
  }

 private:
  std::size_t ranks_;
  std::vector<double> values_;
};

// A figure at some levels, and how it goes with each rank's.
struct Slope {
  double at = 0;
  Gradient by_rank;
};
Result<Slope> slope(const Sounds& sounds, EarQuestion q, const std::vector<double>& levels) {
  Slope out;
  const auto at = sounds.figure(quick_ear(), q, levels);
  if (!at) return tl::unexpected(at.error());
  out.at = *at;
  std::vector<double> moved = levels;
  for (const std::size_t r : sounds.ranks()) {
    moved[r] = levels[r] + difference_step_db;
    const auto up = sounds.figure(quick_ear(), q, moved);
    moved[r] = levels[r] - difference_step_db;
    const auto down = sounds.figure(quick_ear(), q, moved);
    moved[r] = levels[r];
    if (!up || !down) return tl::unexpected(up ? down.error() : up.error());
    out.by_rank.emplace_back(r, (*up - *down) / (2 * difference_step_db));
  }
  return out;
}

double density(double z) { return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi); }
double upper_tail(double z) { return std::erfc(z / std::numbers::sqrt2) / 2; }

// Probability of an answer where the first is over the second by d, and the first two derivatives of its logarithm.
struct Likelihood {
  double probability;
  double first;
  double second;
};
Likelihood likelihood(EarQuestion q, EarAnswer a, double d) {
  const auto [spread, same] = listener(q);
  d = std::clamp(d, -30 * spread, 30 * spread);  // beyond it the tails are no numbers any more
  if (a == EarAnswer::second) {
    Likelihood l = likelihood(q, EarAnswer::first, -d);
    l.first = -l.first;
    return l;
  }
  if (a == EarAnswer::first) {
    const double z = (same - d) / spread;
    const double p = upper_tail(z);
    const double hazard = density(z) / p;
    return {p, hazard / spread, -hazard * (hazard - z) / (spread * spread)};
  }
  const double from = (std::abs(d) - same) / spread;
  const double to = (std::abs(d) + same) / spread;
  const double p = upper_tail(from) - upper_tail(to);
  const double first = (density(to) - density(from)) / p;
  const double second = (from * density(from) - to * density(to)) / p - first * first;
  return {p, (d < 0 ? -1 : 1) * first / spread, second / (spread * spread)};
}

double information(const std::array<double, 3>& p) {
  double sum = 0;
  for (const double x : p) sum -= x > 0 ? x * std::log(x) : 0;
  return sum;
}

// What an answer is expected to tell of a difference that is normal with this mean and variance, nats.
double expected_information(EarQuestion q, double mean, double variance) {
  constexpr int nodes = 15;
  std::array<double, 3> whole{};
  double given = 0;
  double weights = 0;
  for (int i = 0; i < nodes; ++i) {
    const double z = -3 + 6.0 * i / (nodes - 1);
    const double weight = density(z);
    std::array<double, 3> p{};
    for (const EarAnswer a : {EarAnswer::first, EarAnswer::second, EarAnswer::same})
      p[static_cast<std::size_t>(a)] = likelihood(q, a, mean + z * std::sqrt(variance)).probability;
    for (std::size_t k = 0; k < p.size(); ++k) whole[k] += weight * p[k];
    given += weight * information(p);
    weights += weight;
  }
  for (double& p : whole) p /= weights;
  return information(whole) - given / weights;
}

// Fisher's information of an answer about a difference of this size.
double fisher(EarQuestion q, double d) {
  double sum = 0;
  for (const EarAnswer a : {EarAnswer::first, EarAnswer::second, EarAnswer::same}) {
    const Likelihood l = likelihood(q, a, d);
    sum += l.probability * l.first * l.first;
  }
  return sum;
}

// The couplers that bring a division to a keyboard at its own pitch; nothing where it is the keyboard's own.
std::optional<Registration> way_to(const Organ& organ, KeyboardIndex keyboard, DivisionIndex division) {
  Registration r;
  r.box.fill(1);
  if (organ.keyboards[static_cast<std::size_t>(keyboard)].division == division) return r;
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    const Coupler& coupler = organ.couplers[c];
    if (coupler.from != keyboard || coupler.to != division || coupler.semitones != 0 || coupler.unison_off) continue;
    r.couplers.set(c);
    return r;
  }
  return std::nullopt;
}

struct Candidate {
  Registration drawn;
  KeysDown keys;
  KeyboardIndex keyboard;
  std::array<Slope, 2> slopes;  // by question
};

// Registrations of one stop, and of an 8 ft principal (where a division has one) with another stop of its division.
std::vector<Candidate> candidates(const Organ& organ) {
  std::vector<Candidate> out;
  std::vector<bool> reached(organ.stops.size());
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    const Keyboard& board = organ.keyboards[k];
    KeysDown keys;
    for (const int key : chord)
      if (board.keys.contains(key)) keys.keys[k].insert(key);
    if (board.pedal || keys.keys[k].size() != static_cast<int>(chord.size())) continue;
    // A keyboard that gives nothing an earlier one did not give asks nothing new.
    bool new_here = false;
    std::vector<std::size_t> here;
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      const Stop& stop = organ.stops[s];
      if (stop.celeste || stop.out_of_use || stop.low() > Note{chord.front()} ||
          !way_to(organ, static_cast<KeyboardIndex>(k), stop.division))
        continue;
      here.push_back(s);
      new_here = new_here || !reached[s];
      reached[s] = true;
    }
    if (!new_here) continue;
    const auto add = [&](std::size_t s, std::optional<std::size_t> with) {
      Registration drawn = *way_to(organ, static_cast<KeyboardIndex>(k), organ.stops[s].division);
      drawn.stops.set(s);
      if (with) drawn.stops.set(*with);
      out.push_back({drawn, keys, static_cast<KeyboardIndex>(k), {}});
    };
    for (const std::size_t s : here) {
      add(s, std::nullopt);
      const Stop& stop = organ.stops[s];
      if (stop.family != Family::principal || stop.feet != std::vector{Feet{Rational{8}}}) continue;
      for (const std::size_t other : here)
        if (other != s && organ.stops[other].division == stop.division) add(s, other);
    }
  }
  return out;
}

}  // namespace

std::string_view word(EarQuestion q) { return q == EarQuestion::louder ? "louder" : "brighter"; }
std::string_view word(EarAnswer a) {
  return a == EarAnswer::first ? "first" : a == EarAnswer::second ? "second" : "same";
}

// Assumed: a step of 1 dB is what is just heard side by side (audibility.hpp); with seconds and a change of stops between
// two sounds the error is taken for twice that. Brightness: a just noticeable step near 0.05 of 1 acum (from memory).
ListenerFigures listener(EarQuestion q) {
  return q == EarQuestion::louder ? ListenerFigures{2.0, 1.0} : ListenerFigures{10.0, 5.0};
}

EarAnswer answer_to(EarQuestion q, double difference) {
  const double same = listener(q).same_within;
  return difference > same ? EarAnswer::first : difference < -same ? EarAnswer::second : EarAnswer::same;
}

Result<double> predicted_difference(const Listening& listening, const EarPair& pair, std::span<const double> by_rank) {
  const Sounds first{listening, pair.first, pair.keys};
  const Sounds second{listening, pair.second, pair.keys};
  if (first.silent() || second.silent()) return fail("one of the pair is silent on these keys");
  const auto a = first.figure(quick_ear(), pair.question, by_rank);
  const auto b = second.figure(quick_ear(), pair.question, by_rank);
  if (!a || !b) return tl::unexpected(a ? b.error() : a.error());
  return *a - *b;
}

Result<std::vector<EarPair>> choose_ear_pairs(const Listening& listening, int count, std::uint64_t seed,
                                              const Work& work) {
  const Organ& organ = listening.organ();
  std::vector<Candidate> all = candidates(organ);
  const std::vector<double> unmoved(organ.ranks.size());
  std::erase_if(all, [&](const Candidate& c) { return Sounds{listening, c.drawn, c.keys}.silent(); });
  if (all.size() < 2)
    return fail("an ear trial compares stops, and this organ has not two that play the middle octave");
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (work.stop.stop_requested()) return fail("stopped before the pairs were chosen");
    const Sounds sounds{listening, all[i].drawn, all[i].keys};
    for (const EarQuestion q : {EarQuestion::louder, EarQuestion::brighter}) {
      auto s = slope(sounds, q, unmoved);
      if (!s) return tl::unexpected(s.error());
      all[i].slopes[static_cast<std::size_t>(q)] = std::move(*s);
    }
    work.tell(static_cast<double>(i + 1) / static_cast<double>(all.size()), "looking for telling pairs");
  }

  Covariance covariance{organ};
  std::vector<std::pair<std::size_t, std::size_t>> taken;
  std::vector<EarPair> out;
  Random random{seed, 0x7261};
  while (static_cast<int>(out.size()) < count) {
    const EarQuestion asked = (out.size() + 1) % brighter_every == 0 ? EarQuestion::brighter : EarQuestion::louder;
    const auto q = static_cast<std::size_t>(asked);
    double most = 0;
    std::optional<std::pair<std::size_t, std::size_t>> best;
    for (std::size_t a = 0; a < all.size(); ++a) {
      for (std::size_t b = a + 1; b < all.size(); ++b) {
        if (all[a].keyboard != all[b].keyboard) continue;
        if (std::find(taken.begin(), taken.end(), std::pair{a, b}) != taken.end()) continue;
        const Slope& x = all[a].slopes[q];
        const Slope& y = all[b].slopes[q];
        if (std::abs(x.at - y.at) < committed * listener(asked).same_within) continue;
        const double told = expected_information(asked, x.at - y.at, covariance.of(minus(x.by_rank, y.by_rank)));
        if (told <= most) continue;
        most = told;
        best = {a, b};
      }
    }
    if (!best) break;
    taken.push_back(*best);
    const Slope& x = all[best->first].slopes[q];
    const Slope& y = all[best->second].slopes[q];
    covariance.learn(minus(x.by_rank, y.by_rank), fisher(asked, x.at - y.at));
    const bool swapped = random.below(2) == 1;
    const Candidate& first = all[swapped ? best->second : best->first];
    const Candidate& second = all[swapped ? best->first : best->second];
    out.push_back(
        {first.drawn, second.drawn, first.keys, asked, answer_to(asked, first.slopes[q].at - second.slopes[q].at)});
  }
  return out;
}

Result<std::vector<HeardLevel>> levels_heard(const Listening& listening, std::span<const HeardPair> heard) {
  const Organ& organ = listening.organ();
  const std::size_t ranks = organ.ranks.size();
  std::vector<std::pair<Sounds, Sounds>> sounds;
  std::vector<bool> asked(ranks);
  for (const HeardPair& h : heard) {
    sounds.emplace_back(Sounds{listening, h.pair.first, h.pair.keys}, Sounds{listening, h.pair.second, h.pair.keys});
    if (sounds.back().first.silent() || sounds.back().second.silent())
      return fail("one of the pair is silent on these keys");
    for (const std::size_t r : sounds.back().first.ranks()) asked[r] = true;
    for (const std::size_t r : sounds.back().second.ranks()) asked[r] = true;
  }

  Covariance covariance{organ};
  std::vector<double> levels(ranks);
  std::vector<double> differences(heard.size());
  std::vector<std::vector<double>> slopes(heard.size());  // of each pair, by rank
  std::vector<Gradient> gradients(heard.size());
  const auto look_again = [&]() -> Result<void> {
    for (std::size_t i = 0; i < heard.size(); ++i) {
      const auto a = slope(sounds[i].first, heard[i].pair.question, levels);
      const auto b = slope(sounds[i].second, heard[i].pair.question, levels);
      if (!a || !b) return tl::unexpected(a ? b.error() : a.error());
      differences[i] = a->at - b->at;
      gradients[i] = minus(a->by_rank, b->by_rank);
      slopes[i].assign(ranks, 0);
      for (const auto& [rank, value] : gradients[i]) slopes[i][rank] = value;
    }
    return {};
  };
  // Straight lines through the present levels make the whole concave: rank by rank, Newton's step within the band.
  const auto climb = [&] {
    for (int sweep = 0; sweep < 500; ++sweep) {
      double moved = 0;
      for (std::size_t r = 0; r < ranks; ++r) {
        if (!asked[r]) continue;
        const double variance = covariance.of_rank(r);
        double first = -levels[r] / variance;
        double second = -1 / variance;
        for (std::size_t i = 0; i < heard.size(); ++i) {
          const Likelihood l = likelihood(heard[i].pair.question, heard[i].answered, differences[i]);
          first += l.first * slopes[i][r];
          second += l.second * slopes[i][r] * slopes[i][r];
        }
        const double band = level_band(organ.ranks[r]);
        const double to = std::clamp(levels[r] - first / second, -band, band);
        for (std::size_t i = 0; i < heard.size(); ++i) differences[i] += slopes[i][r] * (to - levels[r]);
        moved = std::max(moved, std::abs(to - levels[r]));
        levels[r] = to;
      }
      if (moved < 1e-5) return;
    }
  };
  for (int round = 0; round < outer_rounds; ++round) {
    if (const auto looked = look_again(); !looked) return tl::unexpected(looked.error());
    climb();
  }

  // Laplace: what is left open, from the curvature at the top.
  for (std::size_t i = 0; i < heard.size(); ++i)
    covariance.learn(gradients[i], -likelihood(heard[i].pair.question, heard[i].answered, differences[i]).second);
  std::vector<HeardLevel> out;
  for (std::size_t r = 0; r < ranks; ++r) {
    if (!asked[r] || organ.ranks[r].loudness.source != Source::assumed) continue;
    out.push_back({static_cast<RankIndex>(r), Decibels{levels[r]}, normal_95 * std::sqrt(covariance.of_rank(r)),
                   level_band(organ.ranks[r])});
  }
  return out;
}

}  // namespace calcant
