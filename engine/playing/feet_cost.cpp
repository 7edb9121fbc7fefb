#include "engine/playing/feet_cost.hpp"

namespace calcant {

std::string_view word(FeetTerm t) {
  static constexpr std::array<std::string_view, feet_terms> words{
      "heel",       "third",        "twist",        "slide", "lift",     "far lift",        "hop",
      "other foot", "other part",   "travel",       "hurry", "crossing", "over the middle", "substitution",
      "two keys",   "let go early", "foot not free"};
  return words[static_cast<std::size_t>(t)];
}

FeetWeights default_feet_weights() {
  FeetWeights w{};
  const auto set = [&w](FeetTerm t, double v) { w[static_cast<std::size_t>(t)] = v; };
  set(FeetTerm::heel, 0.6);
  set(FeetTerm::third, 1.5);
  set(FeetTerm::twist, 0.5);
  set(FeetTerm::slide, 3.0);
  set(FeetTerm::lift, 6.0);
  set(FeetTerm::lift_far, 0.3);
  set(FeetTerm::hop, 0.2);
  set(FeetTerm::other_foot, 1.0);
  set(FeetTerm::other_part, 0.5);
  set(FeetTerm::travel, 0.3);
  set(FeetTerm::hurry, 0.1);
  set(FeetTerm::cross, 5.0);
  set(FeetTerm::side, 0.2);
  set(FeetTerm::substitution, 2.0);
  set(FeetTerm::two_keys, 2.0);
  set(FeetTerm::early, 50.0);
  set(FeetTerm::not_free, 200.0);
  return w;
}

}  // namespace calcant
