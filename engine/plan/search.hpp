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

// What is chosen from and what it costs. No cost is negative; infinity forbids.
struct Stages {
  std::vector<std::size_t> sizes;                       // choices of each stage, at least one
  std::function<double(std::size_t, std::size_t)> own;  // (s, i): what choice i of stage s costs by itself
  // (s, i): its kind, counted from 0: choices of one kind cost the same to come from and to go to, but for `step`.
  std::function<std::size_t(std::size_t, std::size_t)> kind;
  // (s, a, b, enough): what going from kind a of stage s - 1 to kind b of stage s costs; where that is `enough` or more,
  // anything that is enough or more.
  std::function<double(std::size_t, std::size_t, std::size_t, double)> between;
  // (s, i, j): what going from choice i of stage s - 1 to choice j of stage s costs beyond that.
  std::function<double(std::size_t, std::size_t, std::size_t)> step;
};

// Layered dynamic programming: the answer is a cheapest path of all (proved by comparing with every path on small cases,
// search_test.cpp). Bounds save work without touching that: a choice that with the least everything before and after it
// can cost is beyond a path already known is never on a cheaper one; and kinds of the stage before are tried in rising
// order of what they have cost, until none can win. Of equally cheap paths always the same one. Where every path is
// forbidden the cost is infinity.
[[nodiscard]] Cheapest cheapest_path(const Stages& choices);

// The same where every choice is a kind of its own.
[[nodiscard]] Cheapest cheapest_path(const std::vector<std::size_t>& sizes,
                                     const std::function<double(std::size_t, std::size_t)>& own,
                                     const std::function<double(std::size_t, std::size_t, std::size_t)>& step);

}  // namespace calcant
