// The blind ear trial: pairs of registrations worth hearing one after the other, and what the answers say of the levels
// that were only assumed.
//
// A listener in the nave says of each pair which was louder, or brighter, or that they were the same. He is taken for
// Thurstone's observer (A law of comparative judgment, Psychol. Rev. 34, 1927), who calls two sounds the same while they
// are within a threshold (Glenn & David, Ties in paired-comparison experiments, Biometrics 16, 1960): the difference the
// hearing model predicts, plus a normal error. The levels of the ranks are normal about what was assumed, 95 % within
// their band. Pairs are chosen one by one for what an answer is expected to tell of the levels (Lindley, On a measure of
// the information provided by an experiment, Ann. Math. Stat. 27, 1956); answers move the levels to where both together
// are most probable, never out of the band. (The papers from memory; the listener's figures below are assumed.)
#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "engine/listening/listening.hpp"
#include "engine/organ/registration.hpp"
#include "engine/quantity/result.hpp"
#include "engine/quantity/work.hpp"

namespace calcant {

enum class EarQuestion { louder, brighter };
enum class EarAnswer { first, second, same };
[[nodiscard]] std::string_view word(EarQuestion q);  // "louder"
[[nodiscard]] std::string_view word(EarAnswer a);    // "first"

// How finely the listener hears a difference between sounds some seconds apart: standard deviation of his error, and how
// near they must be to be called the same. Loudness in phon, brightness in per cent.
struct ListenerFigures {
  double spread;
  double same_within;
};
[[nodiscard]] ListenerFigures listener(EarQuestion q);

// One pair on the same keys, boxes open.
struct EarPair {
  Registration first;
  Registration second;
  KeysDown keys;
  EarQuestion question = EarQuestion::louder;
  EarAnswer predicted = EarAnswer::same;
};
struct HeardPair {
  EarPair pair;
  EarAnswer answered = EarAnswer::same;
};

// By how much the first is predicted to be over the second with the levels as the organ has them, moved by `by_rank`
// (dB; empty: not at all): phon, or per cent of brightness. Refuses keys on which either is silent.
[[nodiscard]] Result<double> predicted_difference(const Listening& listening, const EarPair& pair,
                                                  std::span<const double> by_rank = {});
[[nodiscard]] EarAnswer answer_to(EarQuestion q, double difference);

// Pairs of one or two stops on a chord of a manual, each of which the model says is louder (or, of every fifth,
// brighter) by an amount that can be heard; most telling first; A and B are in an order drawn by `seed`. Left out: celestes (they beat), stops out of use, and the pedal (below 80 Hz one seat says little). Fewer than `count`
// where the organ has no more; refuses an organ with under two stops that can be compared, and stopped work.
[[nodiscard]] Result<std::vector<EarPair>> choose_ear_pairs(const Listening& listening, int count, std::uint64_t seed,
                                                            const Work& work);

// What answers say of one rank whose level was assumed.
struct HeardLevel {
  RankIndex rank = 0;
  Decibels moved;                // against what was assumed
  double half_width_95 = 0;      // dB, of what is left open; by Laplace's approximation
  double half_width_before = 0;  // dB, as assumed
};
// For the ranks that sound in the pairs and have nothing better than an assumed level, by rank; the levels of others are
// held to their own bands and not handed back. Empty where there is no pair. listening: the organ without what earlier
// calls gave. Refuses what predicted_difference refuses.
[[nodiscard]] Result<std::vector<HeardLevel>> levels_heard(const Listening& listening,
                                                           std::span<const HeardPair> heard);

}  // namespace calcant
