#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "engine/playing/fit_parts.hpp"

namespace calcant::fitting {

namespace {

// What is told at one place of a gathered finding.
struct Told {
  Moment moment;
  std::vector<std::string> remedies;
};

bool at_one_place(const Moment& a, const Moment& b) { return a.bar_index == b.bar_index && a.at == b.at; }

std::string places(const Score& s, const std::vector<Moment>& at) {
  std::string out;
  for (std::size_t i = 0; i < at.size(); ++i) {
    out += (i == 0 ? "" : i + 1 == at.size() ? " and " : "; ") + words(s, at[i]);
  }
  return out;
}

// Remedies that are not the same everywhere come first, with the places they are for: they say most.
std::vector<std::string> joined_remedies(const Score& s, const std::vector<Told>& told) {
  std::vector<std::pair<std::string, std::vector<Moment>>> all;
  for (const Told& t : told) {
    for (const std::string& r : t.remedies) {
      auto known = std::find_if(all.begin(), all.end(), [&](const auto& one) { return one.first == r; });
      if (known == all.end()) known = all.insert(all.end(), {r, {}});
      if (known->second.empty() || !(known->second.back() == t.moment)) known->second.push_back(t.moment);
    }
  }
  std::vector<std::string> some;
  std::vector<std::string> everywhere;
  for (const auto& [remedy, at] : all) {
    if (at.size() == told.size()) everywhere.push_back(remedy);
    else some.push_back(fmt::format("At {}: {}", places(s, at), remedy));
  }
  some.insert(some.end(), everywhere.begin(), everywhere.end());
  return some;
}

}  // namespace

void gather(const Score& s, std::vector<FitFinding>& findings) {
  std::map<std::tuple<FitKind, bool, bool, std::string>, std::size_t> known;
  std::vector<FitFinding> out;
  std::vector<std::vector<Told>> told;
  for (FitFinding& f : findings) {
    const auto [at, fresh] = known.try_emplace({f.kind, f.hinders, f.if_drawn, f.message}, out.size());
    if (fresh) {
      told.push_back({{f.moment, f.remedies}});
      out.push_back(std::move(f));
      continue;
    }
    FitFinding& first = out[at->second];
    std::vector<Told>& here = told[at->second];
    first.times += f.times;
    if (at_one_place(here.back().moment, f.moment)) continue;
    first.also_at.push_back(f.moment);
    here.push_back({f.moment, std::move(f.remedies)});
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (told[i].size() > 1) out[i].remedies = joined_remedies(s, told[i]);
  }
  findings = std::move(out);
}

}  // namespace calcant::fitting
