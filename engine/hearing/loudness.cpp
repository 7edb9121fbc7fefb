#include "engine/hearing/loudness.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/hearing/among.hpp"
#include "engine/hearing/cochlea.hpp"

namespace calcant {
namespace {

constexpr int highest_phon = 140;

}  // namespace

Result<void> check_lines(const Lines& lines) {
  if (lines.size() > most_lines)
    return fail(
        fmt::format("The sound has {} spectral lines; at most {} can be weighed at once.", lines.size(), most_lines));
  for (std::size_t k = 0; k < lines.size(); ++k) {
    const double f = lines[k].frequency.value();
    const double level = lines[k].level.value();
    const std::string where = fmt::format("line {}", k + 1);
    if (!std::isfinite(f) || !(f > 0))
      return fail(fmt::format("The frequency {} Hz is not one; it must be a number above 0.", f), where);
    if (!std::isfinite(level) || std::abs(level) > 200)
      return fail(fmt::format("The level {} dB is not one; it must be a number from -200 to 200.", level), where);
  }
  return {};
}

Ear::Ear(const EarSettings& how) : how_(how), cochlea_(std::make_shared<hearing::Cochlea>(how)) {
  const hearing::Cochlea reference({how.set, SoundField::free, Ears::both, Grid::fine});
  std::vector<double> column;
  for (int db = 0; db <= highest_phon; ++db) {
    const auto tone = reference.arrivals({{Hertz{1000}, Decibels{static_cast<double>(db)}}});
    column.push_back(std::log(reference.loudness(reference.excitation(reference.components(tone)))));
  }
  column_ = std::make_shared<const std::vector<double>>(std::move(column));
}

Result<Heard> Ear::hear(const Lines& lines) const {
  if (const auto ok = check_lines(lines); !ok) return tl::unexpected(ok.error());
  const auto arrivals = cochlea_->arrivals(lines);
  Heard heard = heard_of(*this, cochlea_->excitation(cochlea_->components(arrivals)));
  heard.left_out = static_cast<int>(lines.size() - arrivals.size());
  return heard;
}

Acums Ear::brightness(std::size_t i) const { return Acums{cochlea_->filters().bright[i]}; }

Hertz Ear::filter(std::size_t i) const { return Hertz{cochlea_->filters().centre[i]}; }

Phons Ear::phons(Sones s) const {
  const std::vector<double>& column = *column_;
  if (!(s.value() > 0)) return Phons{0};
  const double x = std::log(s.value());
  if (x <= column.front()) return Phons{0};
  if (x >= column.back()) return Phons{highest_phon};
  const auto above = std::upper_bound(column.begin(), column.end(), x);
  const double below = *(above - 1);
  return Phons{static_cast<double>(above - 1 - column.begin()) + (x - below) / (*above - below)};
}

Sones Ear::sones(Phons p) const {
  const double level = std::clamp(p.value(), 0.0, static_cast<double>(highest_phon));
  const auto i = std::min(static_cast<std::size_t>(level), column_->size() - 2);
  const double share = level - static_cast<double>(i);
  return Sones{std::exp((*column_)[i] * (1 - share) + (*column_)[i + 1] * share)};
}

}  // namespace calcant
