#include "engine/hearing/known_sources.hpp"

#include <algorithm>
#include <bit>

#include "engine/hearing/among.hpp"
#include "engine/hearing/cochlea.hpp"

namespace calcant {

KnownSources::KnownSources(Ear ear) : ear_(std::move(ear)) {}
KnownSources::~KnownSources() = default;
KnownSources::KnownSources(KnownSources&&) noexcept = default;
KnownSources& KnownSources::operator=(KnownSources&&) noexcept = default;

Result<void> KnownSources::add(std::span<const Lines> sources) {
  constexpr std::size_t most = ~std::uint32_t{0};
  std::vector<hearing::Arrival> all = lines_;
  auto source = static_cast<std::uint32_t>(places_.size());
  for (const Lines& lines : sources) {
    if (const auto ok = check_lines(lines); !ok) return ok;
    for (const hearing::Arrival& a : ear_.cochlea().arrivals(lines)) all.push_back({source, a.frequency, a.power});
    ++source;
  }
  if (all.size() > most) return fail("more lines than can be kept at once");
  std::sort(all.begin(), all.end(), [](const hearing::Arrival& a, const hearing::Arrival& b) {
    if (a.frequency != b.frequency) return a.frequency < b.frequency;
    return a.power != b.power ? a.power < b.power : a.line < b.line;
  });
  lines_ = std::move(all);
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
  arrivals.reserve(count);
  for (std::size_t w = 0; w < sounds.size(); ++w) {
    for (std::uint64_t left = sounds[w]; left != 0; left &= left - 1) {
      arrivals.push_back(lines_[64 * w + static_cast<std::size_t>(std::countr_zero(left))]);
    }
  }
  return heard_of(ear_, ear_.cochlea().excitation(ear_.cochlea().components(arrivals)));
}

}  // namespace calcant
