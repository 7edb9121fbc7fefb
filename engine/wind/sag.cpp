#include "engine/wind/sag.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace calcant {
namespace {

// The reservoir's litres and the demand, followed from change to change.
class Reservoir {
 public:
  Reservoir(double supply, double size) : supply_(supply), size_(size), left_(size) {}

  void take(double at, double by) {
    pass(at);
    demand_ = std::max(demand_ + by, 0.0);
    out_.most = std::max(out_.most, LitresPerSecond{demand_});
    if (demand_ <= supply_) {
      press(at, 1.0);
    } else if (left_ <= 0) {
      empty(at);
    }
  }

  Sag done() {
    if (demand_ > supply_) pass(INFINITY);
    return std::move(out_);
  }

 private:
  void pass(double until) {
    const double surplus = supply_ - demand_;
    const double lasts = surplus < 0 ? left_ / -surplus : INFINITY;
    if (left_ > 0 && now_ + lasts < until) {
      left_ = 0;
      empty(now_ + lasts);
    } else if (left_ > 0 || surplus > 0) {
      left_ = std::clamp(left_ + surplus * (until - now_), 0.0, size_);
    }
    now_ = until;
  }

  void empty(double at) {
    if (!out_.empty_at) out_.empty_at = Seconds{at};
    const double share = supply_ / demand_;
    press(at, share * share);
  }

  void press(double at, double to) {
    if (to == aim_) return;
    // What has not been reached is turned from where it is.
    const double from = aim_ + (last_ - aim_) * std::clamp(1 - (at - turned_) / sinking.value(), 0.0, 1.0);
    if (!out_.pressure.empty() && out_.pressure.back().at.value() > at) out_.pressure.pop_back();
    out_.pressure.push_back({Seconds{at}, from});
    out_.pressure.push_back({Seconds{at} + sinking, to});
    out_.least = std::min(out_.least, to);
    last_ = from;
    aim_ = to;
    turned_ = at;
  }

  double supply_;
  double size_;
  double left_;
  double demand_ = 0;
  double now_ = 0;
  double last_ = 1;  // the pressure when it was last turned
  double aim_ = 1;
  double turned_ = 0;
  Sag out_;
};

}  // namespace

Sag sag(std::vector<DemandChange> changes, LitresPerSecond supply, CubicMetres reservoir) {
  std::stable_sort(changes.begin(), changes.end(),
                   [](const DemandChange& a, const DemandChange& b) { return a.at < b.at; });
  Reservoir walk(supply.value(), 1000 * reservoir.value());
  for (std::size_t i = 0; i < changes.size();) {
    const Seconds at = changes[i].at;
    LitresPerSecond by;
    for (; i < changes.size() && changes[i].at == at; ++i) by += changes[i].by;
    walk.take(at.value(), by.value());
  }
  return walk.done();
}

std::optional<std::string> sentence(const Sag& s, LitresPerSecond supply, std::string_view supplier) {
  if (!s.empty_at) return std::nullopt;
  return fmt::format(
      "{} gives {:.0f} l/s and up to {:.0f} are wanted: the reservoir is empty after {:.0f} s, and the pressure falls "
      "to "
      "{:.0f} %.",
      supplier, supply.value(), s.most.value(), s.empty_at->value(), 100 * s.least);
}

}  // namespace calcant
