#include "engine/hearing/known_sources.hpp"

#include <algorithm>
#include <bit>
#include <iterator>

#include "engine/hearing/among.hpp"
#include "engine/hearing/cochlea.hpp"
#include "engine/hearing/kernels.hpp"

namespace calcant {

KnownSources::KnownSources(Ear ear) : ear_(std::move(ear)) {}
KnownSources::~KnownSources() = default;
KnownSources::KnownSources(KnownSources&&) noexcept = default;
KnownSources& KnownSources::operator=(KnownSources&&) noexcept = default;

Result<void> KnownSources::add(std::span<const Lines> sources) {
  constexpr std::size_t most = ~std::uint32_t{0};
  std::vector<hearing::Arrival> all = lines_;
  std::vector<hearing::Alone> own;
  auto source = static_cast<std::uint32_t>(places_.size());
  for (const Lines& lines : sources) {
    if (const auto ok = check_lines(lines); !ok) return ok;
    const std::vector<hearing::Arrival> arrivals = ear_.cochlea().arrivals(lines);
    for (const hearing::Arrival& a : arrivals) all.push_back({source, a.frequency, a.power});
    own.push_back(ear_.cochlea().alone(arrivals));
    ++source;
  }
  if (all.size() > most) return fail("more lines than can be kept at once");
  std::sort(all.begin(), all.end(), [](const hearing::Arrival& a, const hearing::Arrival& b) {
    if (a.frequency != b.frequency) return a.frequency < b.frequency;
    return a.power != b.power ? a.power < b.power : a.line < b.line;
  });
  lines_ = std::move(all);
  own_.insert(own_.end(), std::make_move_iterator(own.begin()), std::make_move_iterator(own.end()));
  level_places_.clear();
  for (const hearing::Arrival& a : lines_) level_places_.push_back(hearing::Cochlea::level_place(a.frequency));
  places_.assign(source, {});
  for (std::size_t k = 0; k < lines_.size(); ++k) places_[lines_[k].line].push_back(static_cast<std::uint32_t>(k));
  return {};
}

Heard KnownSources::hear(std::span<const std::uint32_t> sounding) const {
  // A bit a line, so that what sounds comes out in order without being sorted.
  std::vector<std::uint64_t> sounds((lines_.size() + 63) / 64);
  std::size_t count = 0;
  for (const std::uint32_t s : sounding) {
    for (const std::uint32_t k : places_[s]) sounds[k / 64] |= std::uint64_t{1} << k % 64;
    count += places_[s].size();
  }
  std::vector<hearing::Arrival> arrivals;
  std::vector<float> places;
  arrivals.reserve(count);
  places.reserve(count);
  for (std::size_t w = 0; w < sounds.size(); ++w) {
    for (std::uint64_t left = sounds[w]; left != 0; left &= left - 1) {
      const std::size_t k = 64 * w + static_cast<std::size_t>(std::countr_zero(left));
      arrivals.push_back(lines_[k]);
      places.push_back(level_places_[k]);
    }
  }
  hearing::Alone sums = sounding.empty() ? ear_.cochlea().alone({}) : own_[sounding.front()];
  for (const std::uint32_t s : sounding.subspan(std::min<std::size_t>(1, sounding.size()))) {
    kernels::add(own_[s].upper.data(), sums.upper.size(), sums.upper.data());
    kernels::add(own_[s].level.data(), sums.level.size(), sums.level.data());
  }
  return heard_of(ear_, ear_.cochlea().excitation_together(arrivals, places, std::move(sums)));
}

}  // namespace calcant
