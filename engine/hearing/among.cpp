#include "engine/hearing/among.hpp"

#include "engine/hearing/cochlea.hpp"

namespace calcant {

Result<std::vector<std::vector<double>>> excitations_among(const Ear& ear, std::span<const Lines> parts,
                                                           const Lines& whole) {
  if (const auto ok = check_lines(whole); !ok) return tl::unexpected(ok.error());
  const hearing::Cochlea& cochlea = ear.cochlea();
  const hearing::Components everything = cochlea.components(cochlea.arrivals(whole));
  std::vector<std::vector<double>> out;
  for (const Lines& part : parts) {
    if (const auto ok = check_lines(part); !ok) return tl::unexpected(ok.error());
    out.push_back(cochlea.excitation(cochlea.among(cochlea.components(cochlea.arrivals(part)), everything)));
  }
  return out;
}

Heard heard_of(const Ear& ear, std::vector<double> excitation) {
  const hearing::Cochlea& cochlea = ear.cochlea();
  Heard heard;
  heard.excitation = std::move(excitation);
  double sum = 0;
  double weighted = 0;
  heard.specific.reserve(heard.excitation.size());
  for (std::size_t i = 0; i < heard.excitation.size(); ++i) {
    heard.specific.push_back(cochlea.specific(i, heard.excitation[i]));
    sum += heard.specific.back();
    weighted += heard.specific.back() * cochlea.filters().bright[i];
  }
  sum *= cochlea.step();
  heard.loudness = {Sones{sum}, ear.phons(Sones{sum})};
  if (sum > 0) heard.brightness = Acums{weighted * cochlea.step() / sum};
  return heard;
}

}  // namespace calcant
