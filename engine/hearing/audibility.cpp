#include "engine/hearing/audibility.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "engine/hearing/cochlea.hpp"
#include "engine/hearing/kernels.hpp"

namespace calcant {
namespace {

constexpr double threshold_sones = 0.0038;
constexpr double clear_sones = 0.05;

Difference difference_of(const Change& c, double partial) {
  const double phons = std::abs((c.after.phons - c.before.phons).value());
  // The same step counts the same up and down.
  const double step = c.loudness >= 0 ? c.loudness : 1.0 / (1.0 + c.loudness) - 1.0;
  const double excitation = c.excitation.value();
  const Difference by_size = step >= 0.06 || excitation >= 1.0 || partial >= clear_sones ? Difference::audible
                             : step >= 0.015 || excitation >= 0.5 || partial >= threshold_sones
                                 ? Difference::in_comparison
                                 : Difference::none;
  if (by_size != Difference::audible) return by_size;
  return phons >= 10 ? Difference::twofold : phons >= 3 ? Difference::clear : Difference::audible;
}

Change change_of(const Ear& ear, const Loudness& before, const std::vector<double>& excited_before,
                 const Loudness& after, const std::vector<double>& excited_after) {
  Change c{before, after, 0, {}, Difference::none};
  if (before.sones > Sones{0}) c.loudness = after.sones / before.sones - 1;
  else if (after.sones > Sones{0}) c.loudness = std::numeric_limits<double>::infinity();
  const std::vector<double>& threshold = ear.cochlea().filters().threshold;
  assert(excited_before.size() == threshold.size() && excited_after.size() == threshold.size());
  double most = 1;
  for (std::size_t i = 0; i < threshold.size(); ++i) {
    const double ratio = (excited_after[i] + threshold[i]) / (excited_before[i] + threshold[i]);
    most = std::max({most, ratio, 1 / ratio});
  }
  c.excitation = power_to_decibels(most);
  c.difference = difference_of(c, 0);
  return c;
}

}  // namespace

std::string_view word(Difference d, bool louder) {
  switch (d) {
    case Difference::none: return "no audible difference";
    case Difference::in_comparison: return "just audible in direct comparison";
    case Difference::audible: return "audible";
    case Difference::clear: return louder ? "clearly louder" : "clearly softer";
    case Difference::twofold: break;
  }
  return louder ? "twice as loud" : "half as loud";
}

std::string_view word(Presence p) {
  switch (p) {
    case Presence::hidden: return "not heard as itself";
    case Presence::barely: return "just to be picked out";
    case Presence::heard: break;
  }
  return "heard as itself";
}

Change change(const Ear& ear, const Heard& before, const Heard& after) {
  return change_of(ear, before.loudness, before.excitation, after.loudness, after.excitation);
}

Result<Weighed> audibility(const Ear& ear, const Lines& whole, std::span<const PartLines> parts) {
  const hearing::Cochlea& cochlea = ear.cochlea();
  auto heard = ear.hear(whole);
  if (!heard) return tl::unexpected(heard.error());
  std::vector<std::vector<bool>> belongs(parts.size(), std::vector<bool>(whole.size(), false));
  for (std::size_t p = 0; p < parts.size(); ++p) {
    for (std::uint32_t k : parts[p]) {
      if (k >= whole.size())
        return fail(fmt::format("Part {} names line {} of a sound of {} lines; count from 0.", p + 1, k, whole.size()));
      belongs[p][k] = true;
    }
  }

  // Every part's excitation through the filters of the whole, where parts and rest add up exactly.
  const std::vector<hearing::Arrival> arrivals = cochlea.arrivals(whole);
  const hearing::Components components = cochlea.components(arrivals);
  const std::size_t n = cochlea.filters().size();
  std::vector<std::vector<double>> excited(parts.size(), std::vector<double>(n, 0.0));
  std::vector<double> row(n);
  for (std::size_t j = 0; j < components.size(); ++j) {
    std::fill(row.begin(), row.end(), 0.0);
    const auto reach = cochlea.excite(components, j, row.data());
    for (std::size_t p = 0; p < parts.size(); ++p) {
      double power = 0;
      for (std::size_t k = components.first[j]; k < components.first[j + 1]; ++k)
        if (belongs[p][arrivals[k].line]) power += arrivals[k].power;
      if (power > 0)
        kernels::add_share(row.data() + reach.first, power / components.power[j], reach.last - reach.first,
                           excited[p].data() + reach.first);
    }
  }

  const auto loudness_of = [&](const std::vector<double>& excitation) {
    const Sones s{cochlea.loudness(excitation)};
    return Loudness{s, ear.phons(s)};
  };
  Weighed weighed;
  weighed.whole = std::move(*heard);
  std::vector<hearing::Arrival> part;
  std::vector<hearing::Arrival> rest;
  for (std::size_t p = 0; p < parts.size(); ++p) {
    part.clear();
    rest.clear();
    for (const hearing::Arrival& a : arrivals) (belongs[p][a.line] ? part : rest).push_back(a);
    Audibility a;
    a.alone = loudness_of(cochlea.excitation(cochlea.components(part)));
    const std::vector<double> without = cochlea.excitation(cochlea.components(rest));
    a.drawn = change_of(ear, loudness_of(without), without, weighed.whole.loudness, weighed.whole.excitation);
    double most = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const double others = std::max(weighed.whole.excitation[i] - excited[p][i], 0.0);
      const double specific = cochlea.partial(i, excited[p][i], others);
      a.partial += Sones{specific * cochlea.step()};
      if (specific > most) {
        most = specific;
        a.heard_at = ear.filter(i);
      }
    }
    const double partial = a.partial.value();
    a.presence = partial >= clear_sones       ? Presence::heard
                 : partial >= threshold_sones ? Presence::barely
                                              : Presence::hidden;
    a.drawn.difference = difference_of(a.drawn, partial);
    weighed.parts.push_back(a);
  }
  return weighed;
}

}  // namespace calcant
