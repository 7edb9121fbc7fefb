#include "engine/care/comparison.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <map>

#include "engine/tuning/temperament.hpp"

namespace calcant {
namespace {

constexpr double least_level = 3.0;   // dB, "a trade-off to be set with the builder" (measuring practice)
constexpr double least_speech = 1.5;  // times, assumed
constexpr double kelvin_95 = 0.5;     // of a temperature read at the pipes
constexpr double least_kelvin = 3.0;  // between the coldest and the warmest
constexpr std::size_t least_keys = 3;

double middle(std::vector<double> v) {
  const auto half = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), half, v.end());
  return v.size() % 2 == 1 ? *half : (*half + *std::max_element(v.begin(), half)) / 2.0;
}

// How much wider an interval must be to hold for `n` notes together.
double widening(std::size_t n) {
  const boost::math::normal standard;
  return boost::math::quantile(standard, 1.0 - 0.025 / static_cast<double>(std::max<std::size_t>(n, 1))) /
         boost::math::quantile(standard, 0.975);
}

struct Both {
  const OneMeasuring::Pipe* before;
  const OneMeasuring::Pipe* after;
};

std::optional<MeasuredChange> whole_change(const std::vector<Both>& both) {
  std::vector<double> by;
  std::vector<double> wide;
  for (const auto& [a, b] : both) {
    if (!a->cents || !b->cents || !a->cents_95 || !b->cents_95) continue;
    by.push_back(b->cents->value() - a->cents->value());
    wide.push_back(std::hypot(a->cents_95->value(), b->cents_95->value()));
  }
  if (by.size() < least_keys) return std::nullopt;
  MeasuredChange c{middle(by), middle(wide), false};
  c.sure = std::fabs(c.by) > c.half_width;
  return c;
}

bool same_place(const OneMeasuring& a, const OneMeasuring& b) {
  return a.close == b.close && !a.place.empty() && a.place == b.place;
}

}  // namespace

Result<Comparison> compare(const OneMeasuring& before, const OneMeasuring& after) {
  for (const OneMeasuring* m : {&before, &after})
    if (!m->temperature)
      return fail(
          fmt::format("the measuring of {} has no temperature at the pipes, and a flue moves 3 cents a kelvin; two "
                      "measurings are compared only with both temperatures",
                      m->date));
  std::vector<Both> both;
  std::map<Note, const OneMeasuring::Pipe*> earlier;
  for (const auto& p : before.pipes) earlier[p.key] = &p;
  for (const auto& p : after.pipes)
    if (const auto it = earlier.find(p.key);
        it != earlier.end() && it->second->state != "unsure" && p.state != "unsure")
      both.push_back({it->second, &p});
  if (both.size() < least_keys)
    return fail(fmt::format("the two measurings have only {} keys in common; three are the least", both.size()));

  Comparison out;
  out.before_at = *before.temperature;
  out.after_at = *after.temperature;
  out.whole = whole_change(both);
  const bool levels = same_place(before, after);
  const bool speech = before.close && after.close;
  if (!levels)
    out.remarks.emplace_back("Levels are not compared: the microphone is not said to have stood in the same place.");
  if (!speech) out.remarks.emplace_back("Speech is not compared: that needs the microphone at the mouths both times.");
  const double wider = widening(both.size());
  for (const auto& [a, b] : both) {
    ComparedNote n{a->key, a->state, b->state, {}, {}, {}};
    if (a->in_run && b->in_run && a->in_run_95 && b->in_run_95) {
      n.pitch = MeasuredChange{b->in_run->value() - a->in_run->value(),
                               wider * std::hypot(a->in_run_95->value(), b->in_run_95->value()), false};
      n.pitch->sure = std::fabs(n.pitch->by) > n.pitch->half_width;
    }
    if (levels && a->level && b->level) {
      const double own =
          std::hypot(a->level_95.value_or(Decibels{1}).value(), b->level_95.value_or(Decibels{1}).value());
      n.level = MeasuredChange{b->level->value() - a->level->value(), std::max(least_level, wider * own), false};
      n.level->sure = std::fabs(n.level->by) > n.level->half_width;
    }
    if (speech && a->speech_ms && b->speech_ms && *a->speech_ms > 0.0 && *b->speech_ms > 0.0 && !a->room_limited &&
        !b->room_limited) {
      n.speech = MeasuredChange{*b->speech_ms / *a->speech_ms, least_speech, false};
      n.speech->sure = n.speech->by > least_speech || n.speech->by < 1.0 / least_speech;
    }
    out.notes.push_back(std::move(n));
  }
  return out;
}

Result<Warmth> warmth(const std::vector<WarmthPoint>& points) {
  if (points.size() < 2) return fail("how a rank moves with the temperature is learnt from two measurings or more");
  const auto [cold, warm] = std::ranges::minmax(points, {}, [](const WarmthPoint& p) { return p.at; });
  if (warm.at.value() - cold.at.value() < least_kelvin)
    return fail(fmt::format("the measurings lie only {:.1f} K apart; {:.0f} K are the least to learn from",
                            warm.at.value() - cold.at.value(), least_kelvin));
  const double n = static_cast<double>(points.size());
  double x = 0.0;
  double y = 0.0;
  for (const auto& p : points) {
    x += p.at.value() / n;
    y += p.height.value() / n;
  }
  double xx = 0.0;
  double xy = 0.0;
  for (const auto& p : points) {
    xx += (p.at.value() - x) * (p.at.value() - x);
    xy += (p.at.value() - x) * (p.height.value() - y);
  }
  const double slope = xy / xx;
  double rest = 0.0;
  double known = 0.0;
  for (const auto& p : points) {
    const double off = p.height.value() - y - slope * (p.at.value() - x);
    rest += off * off;
    const double weight = (p.at.value() - x) / xx;
    const double own = std::hypot(p.own_95.value(), slope * kelvin_95);
    known += weight * weight * own * own;
  }
  double half = std::sqrt(known);
  if (points.size() > 2) {
    const double t = boost::math::quantile(boost::math::students_t(n - 2.0), 0.975);
    half = std::max(half, t * std::sqrt(rest / (n - 2.0) / xx));
  }
  Warmth out;
  out.per_kelvin = Cents{slope};
  out.per_kelvin_95 = Cents{half};
  out.flue_share = slope / flue_shift(Celsius{x - 0.5}, Celsius{x + 0.5}).value();
  out.measurings = static_cast<int>(points.size());
  out.coldest = cold.at;
  out.warmest = warm.at;
  return out;
}

}  // namespace calcant
