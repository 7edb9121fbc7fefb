// Wind: what the sounding pipes take, and whether blower, reservoir or the people at the pump can give it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/organ/sounding.hpp"
#include "engine/pipe/voice.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

using Watts = Quantity<struct WattsTag>;
using Kilograms = Quantity<struct KilogramsTag>;

// What every pipe of an organ takes while it sounds, looked up. Immutable; safe to share between threads.
class WindTable {
 public:
  WindTable(const Organ& organ, const Air& air);

  [[nodiscard]] LitresPerSecond of(PipeId pipe) const;
  [[nodiscard]] LitresPerSecond demand(const PipeSet& pipes) const;
  // The same by wind trunk, for robbing: chests of one trunk fall together. In the order in which the organ names them.
  struct Trunk {
    std::string name;
    LitresPerSecond demand;
  };
  [[nodiscard]] std::vector<Trunk> by_trunk(const PipeSet& pipes) const;

 private:
  std::vector<std::vector<LitresPerSecond>> pipes_;  // by rank, pipe number - 1
  std::vector<std::string> trunks_;
  std::vector<std::size_t> trunk_of_;  // by rank
};

// How long a full reservoir holds out against this demand; nothing when the supply keeps up. Reserve = area times rise.
[[nodiscard]] std::optional<Seconds> reserve_time(CubicMetres reservoir, LitresPerSecond demand,
                                                  LitresPerSecond supply = {});
// What must lie on a reservoir's top, boards included, for this pressure (1 mm of water = 1 kg a square metre).
[[nodiscard]] Kilograms load(SquareMetres top, Pascals pressure);
// Power in the wind itself, P Q. A fan needs two to three times as much at its shaft.
[[nodiscard]] Watts air_power(Pascals pressure, LitresPerSecond flow);
// What a wedge feeder of this board gives: half of area times drop a stroke.
[[nodiscard]] LitresPerSecond feeder_supply(SquareMetres board, Metres drop, double strokes_per_minute);

// What one grown person can keep up at the pump handle: 75 W (common figure for sustained work, from memory), of which
// 55 % reaches the wind (50 to 60 % allowed for feeders and leaks, assumed).
[[nodiscard]] LitresPerSecond sustained_by_hand(Pascals pressure);

enum class WindVerdict { ample, tight, falls_short };
// Ample: a fifth of the supply and more is left (common practice leaves leakage that much; no source). Tight: the supply
// keeps up, with less to spare. Falls short: the reservoir sinks; `lasts` says for how long it holds, where its size is
// known.
struct WindJudgement {
  WindVerdict verdict;
  LitresPerSecond demand;
  LitresPerSecond supply;
  std::optional<Seconds> lasts;
};
[[nodiscard]] WindJudgement judge(LitresPerSecond demand, LitresPerSecond supply,
                                  std::optional<CubicMetres> reservoir = std::nullopt);
// A sentence for people: "The blower gives 130 l/s, 59 are wanted: ample."
[[nodiscard]] std::string sentence(const WindJudgement& j, std::string_view supplier);

}  // namespace calcant
