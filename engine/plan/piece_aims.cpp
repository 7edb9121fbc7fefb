#include "engine/plan/piece_aims.hpp"

#include <algorithm>
#include <limits>

#include "engine/plan/chorus.hpp"

namespace calcant {
namespace {

constexpr double loud_share = 0.7;  // from here on, and where nothing is marked, a chorus of 8, 4 and more
constexpr double unmarked_share = 0.7;
constexpr double marked_near = 1.5;  // phon
constexpr double unmarked_near = 4;  // phon: nobody says how loud
constexpr double trio_share = 0.5;   // chamber music

bool names_stops(const Organ& organ, const std::vector<CopyAsk>& asks, const Passage& p) {
  const auto pedals = pedalboard(organ);
  return std::any_of(p.asks.begin(), p.asks.end(), [&](const StandingAsk& s) {
    const CopyAsk& a = asks[s.ask];
    const bool pedal = pedals && a.word.division == organ.keyboards[static_cast<std::size_t>(*pedals)].division;
    return s.fresh && a.whole && !pedal;
  });
}

}  // namespace

std::vector<Aim> piece_aims(const Organ& organ, const std::vector<Passage>& passages, const std::vector<CopyAsk>& asks,
                            const std::vector<Shade>& vocabulary, bool trio, Phons correction) {
  double low = std::numeric_limits<double>::infinity();
  double high = 0;
  for (const Shade& s : vocabulary) {
    if (s.against >= 1) continue;
    low = std::min(low, s.hands.value());
    high = std::max(high, s.hands.value());
  }
  if (high == 0) {
    low = vocabulary.front().hands.value();
    high = vocabulary.back().hands.value();
  }
  std::vector<Aim> out;
  for (const Passage& p : passages) {
    const bool named = names_stops(organ, asks, p);
    Aim a;
    a.share = p.given ? p.share : trio ? trio_share : unmarked_share;
    a.colour = p.colour;
    a.target = Phons{low + a.share * (high - low)} + correction;
    a.near_enough = p.given && !named ? marked_near : unmarked_near;
    a.unit = 2.0;
    a.of_the_hands = true;
    a.led = !named && !trio && (!p.given || p.share >= loud_share) && (!p.right || p.right == p.left);
    a.right = p.right;
    a.left = p.left;
    out.push_back(a);
  }
  return out;
}

}  // namespace calcant
