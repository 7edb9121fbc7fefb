// From one registration of a build-up to the next, whatever is drawn between them.
#include <algorithm>
#include <bit>
#include <cmath>

#include "engine/registration/buildup_series.hpp"

namespace calcant {
namespace {

constexpr double uneven_cost = 20.0;   // times the square of a step's share off the even step
constexpr double knob_cost = 0.3;      // every knob that the series begins with
constexpr double second_cost = 0.3;    // the second knob of a step; the third costs twice that, and so on
constexpr double prepared_cost = 0.1;  // a stop of a division that was silent until then: drawn beforehand
constexpr double box_cost = 0.2;
constexpr double close_cost = 1.5;  // a box that is closed as a reed or a mixture comes in behind it
constexpr double reach = 2.0;       // of an even step: how far from its even level a registration may stand

}  // namespace

// A box may be opened, or closed for a reed or a mixture that comes in behind it; where it is silent it is set beforehand.
BuildUpSeries::BoxMove BuildUpSeries::box_move(std::uint8_t speaking, std::size_t p, std::size_t q) const {
  BoxMove out;
  for (std::size_t b = 0; b < boxes_.size(); ++b) {
    const auto box = static_cast<std::size_t>(boxes_[b]);
    if ((speaking >> b & 1) == 0 || positions_[p][box] == positions_[q][box]) continue;
    out.moved = true;
    const bool closes = positions_[q][box] < positions_[p][box];
    out.cost += closes ? close_cost : box_cost;
    if (closes) out.closed |= static_cast<std::uint8_t>(1U << b);
  }
  return out;
}

double BuildUpSeries::drawing_cost(Bits added) const {
  Bits ready = 0;
  for (const Coupled& c : coupled_) {
    if ((added & c.bit) != 0) ready |= added & c.stops;
  }
  const auto knobs = static_cast<double>(std::popcount(added & ~ready));
  return prepared_cost * std::popcount(ready) + second_cost * knobs * std::max(0.0, knobs - 1) / 2;
}

std::uint8_t BuildUpSeries::may_close(Bits added) const {
  std::uint8_t out = 0;
  for (std::size_t i = 0; i < stops_.size(); ++i) {
    if ((added >> i & 1) != 0) out |= big_[i];
  }
  return out;
}

BuildUpSeries::Layer BuildUpSeries::first() const {
  Layer out(allowed_.size() * positions_.size());
  for (std::size_t v = 0; v < allowed_.size(); ++v) {
    for (std::size_t q = 0; q < positions_.size(); ++q) {
      const double here = level(allowed_[v], q);
      if (here < 0 || std::abs(here - from_.value()) > end_near) continue;
      out[v * positions_.size() + q].cost =
          knob_cost * std::popcount(allowed_[v]) + std::abs(here - from_.value()) + against_[allowed_[v]];
    }
  }
  return out;
}

BuildUpSeries::Layer BuildUpSeries::next(const Layer& before, const Stage& stage) const {
  const std::size_t width = positions_.size();
  Layer out(before.size());
  std::vector<std::size_t> from;  // those reached before
  for (std::size_t u = 0; u < allowed_.size(); ++u) {
    if (std::any_of(before.begin() + static_cast<std::ptrdiff_t>(u * width),
                    before.begin() + static_cast<std::ptrdiff_t>((u + 1) * width),
                    [](const Reached& r) { return r.cost < nowhere; })) {
      from.push_back(u);
    }
  }
  const std::size_t kinds = std::size_t{1} << boxes_.size();
  std::vector<BoxMove> moves(kinds * width * width);
  for (std::size_t m = 0; m < moves.size(); ++m) {
    moves[m] = box_move(static_cast<std::uint8_t>(m / width / width), m / width % width, m % width);
  }
  for (std::size_t v = 0; v < allowed_.size(); ++v) {
    const Bits now = allowed_[v];
    std::vector<std::size_t> places;
    for (std::size_t q = 0; q < width; ++q) {
      const double there = level(now, q);
      if (there >= 0 && std::abs(there - stage.level) <= stage.off && (!stage.last || may_end(now, q)))
        places.push_back(q);
    }
    if (places.empty()) continue;
    for (const std::size_t u : from) {
      const Bits then = allowed_[u];
      if ((then & ~now) != 0) continue;
      const double drawing = drawing_cost(now & ~then) + against_[now];
      const std::uint8_t closable = may_close(now & ~then);
      for (const std::size_t q : places) {
        Reached& best = out[v * width + q];
        for (std::size_t p = 0; p < width; ++p) {
          const double cost = before[u * width + p].cost;
          if (cost + drawing >= best.cost) continue;
          const double step = level(now, q) - level(then, p);
          if (step < stage.least) continue;
          const BoxMove& move = moves[(used_[then] * width + p) * width + q];
          if ((move.closed & ~closable) != 0 || (then == now && !move.moved)) continue;
          const double share = step / stage.even - 1;
          const double total = cost + drawing + move.cost + uneven_cost * share * share;
          if (total < best.cost) best = {total, static_cast<std::uint32_t>(u * width + p)};
        }
      }
    }
  }
  return out;
}

std::vector<Registration> BuildUpSeries::cheapest(int steps, double least, const Work& work) const {
  const double even = (to_.value() - from_.value()) / (steps - 1);
  std::vector<Layer> layers{first()};
  const auto cheapest_of = [](const Layer& l) {
    return std::min_element(l.begin(), l.end(), [](const Reached& a, const Reached& b) { return a.cost < b.cost; });
  };
  for (int k = 1; k < steps; ++k) {
    if (work.stop.stop_requested()) return {};
    const bool last = k + 1 == steps;
    layers.push_back(
        next(layers.back(), {from_.value() + k * even, last ? end_near : reach * even, even, least, last}));
    if (!(cheapest_of(layers.back())->cost < nowhere)) return {};
    work.tell(static_cast<double>(k) / steps, "building up");
  }
  auto at = static_cast<std::size_t>(cheapest_of(layers.back()) - layers.back().begin());
  std::vector<Registration> out;
  for (std::size_t k = layers.size(); k-- > 0;) {
    out.push_back(registration(allowed_[at / positions_.size()], at % positions_.size()));
    at = layers[k][at].from;
  }
  std::reverse(out.begin(), out.end());
  return out;
}

}  // namespace calcant
