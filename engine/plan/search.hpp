// The exact search of a plan: the cheapest way through sections, each with its own choices.
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

namespace calcant {

struct Cheapest {
  std::vector<std::size_t> path;  // a choice for each stage
  double cost = 0;
  std::size_t weighed = 0;  // steps that had to be looked at; the rest was ruled out by bounds
};

// Stage s has sizes[s] choices (at least one each); own(s, i) is what choice i costs by itself, step(s, i, j) what going
// from choice i of stage s - 1 to choice j of stage s costs. No cost is negative; infinity forbids.
//
// Layered dynamic programming: the answer is a cheapest path of all (proved by comparing with every path on small cases,
// search_test.cpp). Two bounds save work without touching that: a choice whose own cost, with the least every other stage
// can cost, is beyond a path already known is never on a cheaper one; and choices of the stage before are tried in rising
// order of what they have cost, until none can win. Of equally cheap paths
// always the same one. Where every path is forbidden the cost is infinity.
[[nodiscard]] Cheapest cheapest_path(const std::vector<std::size_t>& sizes,
                                     const std::function<double(std::size_t, std::size_t)>& own,
                                     const std::function<double(std::size_t, std::size_t, std::size_t)>& step);

}  // namespace calcant
