#include "engine/wind/wind.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace calcant {

WindTable::WindTable(const Organ& organ, const Air& air) {
  pipes_.resize(organ.ranks.size());
  trunk_of_.resize(organ.ranks.size());
  for (std::size_t r = 0; r < organ.ranks.size(); ++r) {
    const std::string& trunk = organ.chests[static_cast<std::size_t>(organ.ranks[r].chest)].trunk;
    const auto at = std::find(trunks_.begin(), trunks_.end(), trunk);
    trunk_of_[r] = static_cast<std::size_t>(at - trunks_.begin());
    if (at == trunks_.end()) trunks_.push_back(trunk);
    for (int number = 1; number <= organ.ranks[r].pipes; ++number)
      pipes_[r].push_back(wind_taken(design(organ, {static_cast<RankIndex>(r), number}, air), air));
  }
}

LitresPerSecond WindTable::of(PipeId pipe) const {
  return pipes_.at(static_cast<std::size_t>(pipe.rank)).at(static_cast<std::size_t>(pipe.number - 1));
}

LitresPerSecond WindTable::demand(const PipeSet& pipes) const {
  LitresPerSecond sum;
  for (const Trunk& t : by_trunk(pipes)) sum += t.demand;
  return sum;
}

std::vector<WindTable::Trunk> WindTable::by_trunk(const PipeSet& pipes) const {
  std::vector<Trunk> out;
  for (const auto& name : trunks_) out.push_back({name, {}});
  for (std::size_t r = 0; r < std::min(pipes_.size(), pipes.ranks.size()); ++r)
    for (int number : pipes.ranks[r])
      if (number >= 1 && static_cast<std::size_t>(number) <= pipes_[r].size())
        out[trunk_of_[r]].demand += pipes_[r][static_cast<std::size_t>(number - 1)];
  return out;
}

std::optional<Seconds> reserve_time(CubicMetres reservoir, LitresPerSecond demand, LitresPerSecond supply) {
  if (!(demand > supply)) return std::nullopt;
  return Seconds{1000 * reservoir.value() / (demand - supply).value()};
}

Kilograms load(SquareMetres top, Pascals pressure) {
  return Kilograms{in_millimetres_of_water(pressure) * top.value()};
}

Watts air_power(Pascals pressure, LitresPerSecond flow) { return Watts{pressure.value() * flow.value() / 1000}; }

LitresPerSecond feeder_supply(SquareMetres board, Metres drop, double strokes_per_minute) {
  return LitresPerSecond{1000 * board.value() * drop.value() / 2 * strokes_per_minute / 60};
}

LitresPerSecond sustained_by_hand(Pascals pressure) { return LitresPerSecond{1000 * 75 * 0.55 / pressure.value()}; }

WindJudgement judge(LitresPerSecond demand, LitresPerSecond supply, std::optional<CubicMetres> reservoir) {
  WindJudgement j{WindVerdict::falls_short, demand, supply, std::nullopt};
  if (demand <= supply * 0.8) j.verdict = WindVerdict::ample;
  else if (demand <= supply) j.verdict = WindVerdict::tight;
  else if (reservoir) j.lasts = reserve_time(*reservoir, demand, supply);
  return j;
}

std::string sentence(const WindJudgement& j, std::string_view supplier) {
  std::string s = fmt::format("{} gives {:.0f} l/s, {:.0f} are wanted: ", supplier, j.supply.value(), j.demand.value());
  switch (j.verdict) {
    case WindVerdict::ample: return s + "ample.";
    case WindVerdict::tight: return s + "enough, with little to spare.";
    case WindVerdict::falls_short: break;
  }
  if (!j.lasts) return s + "not enough.";
  return s + fmt::format("not enough; the reservoir lasts {:.0f} s.", j.lasts->value());
}

}  // namespace calcant
