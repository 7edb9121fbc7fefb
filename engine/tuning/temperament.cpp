#include "engine/tuning/temperament.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace calcant {
namespace {

const double pure_fifth = 1200 * std::log2(1.5);
const double syntonic_comma = 1200 * std::log2(81.0 / 80);
const double pythagorean_comma = 12 * pure_fifth - 7 * 1200;
const double schisma = pythagorean_comma - syntonic_comma;

// By how many cents each fifth is narrower than pure, in the order E flat - B flat - F - C - G - D - A - E - B - F sharp
// - C sharp - G sharp. The twelfth fifth, G sharp - E flat, is what is left (the wolf of the meantones).
using Narrowing = std::array<double, 11>;

Temperament from_fifths(std::string id, std::string name, const Narrowing& narrow) {
  std::array<double, 12> from_c{};  // cents above C, any octave, by semitone
  double cents = 0;
  constexpr int c = 3;  // place of C in the chain
  for (int i = c; i < 11; ++i) {
    cents += pure_fifth - narrow[static_cast<std::size_t>(i)];
    from_c[static_cast<std::size_t>((i - c + 1) * 7 % 12)] = cents;
  }
  cents = 0;
  for (int i = c - 1; i >= 0; --i) {
    cents -= pure_fifth - narrow[static_cast<std::size_t>(i)];
    from_c[static_cast<std::size_t>((c - i) * 5 % 12)] = cents;
  }
  Temperament t{std::move(id), std::move(name), {}};
  for (int i = 0; i < 12; ++i)
    t.offsets_cents[static_cast<std::size_t>(i)] =
        std::remainder(from_c[static_cast<std::size_t>(i)] - from_c[9] - 100.0 * (i - 9), 1200.0);
  return t;
}

Narrowing all(double narrow) {
  Narrowing n;
  n.fill(narrow);
  return n;
}

std::vector<Temperament> make_known() {
  const double quarter = syntonic_comma / 4, pythagorean_quarter = pythagorean_comma / 4;
  const double sixth = pythagorean_comma / 6, young = 3 * syntonic_comma / 16;
  const double young_rest = (pythagorean_comma - 4 * young) / 4;
  std::vector<Temperament> known;
  known.push_back({"equal", "Equal temperament", {}});
  known.push_back(from_fifths("pythagorean", "Pythagorean", all(0)));
  // Fifths narrowed by a quarter (Aaron 1523), fifth or sixth of the syntonic comma; wolf G sharp - E flat.
  known.push_back(from_fifths("meantone-quarter", "Quarter-comma meantone", all(quarter)));
  known.push_back(from_fifths("meantone-fifth", "Fifth-comma meantone", all(syntonic_comma / 5)));
  known.push_back(from_fifths("meantone-sixth", "Sixth-comma meantone", all(syntonic_comma / 6)));
  // Werckmeister 1691, his "III": C-G, G-D, D-A and B-F sharp narrow by a quarter of the Pythagorean comma.
  known.push_back(from_fifths(
      "werckmeister-3", "Werckmeister III",
      {0, 0, 0, pythagorean_quarter, pythagorean_quarter, pythagorean_quarter, 0, 0, pythagorean_quarter, 0, 0}));
  // Kirnberger's letter of 1779: C-G-D-A-E narrow by a quarter of the syntonic comma, F sharp - C sharp by the schisma.
  known.push_back(
      from_fifths("kirnberger-3", "Kirnberger III", {0, 0, 0, quarter, quarter, quarter, quarter, 0, 0, schisma, 0}));
  // Vallotti (c. 1754): the six fifths F-C-G-D-A-E-B narrow by a sixth of the Pythagorean comma.
  known.push_back(from_fifths("vallotti", "Vallotti", {0, 0, sixth, sixth, sixth, sixth, sixth, sixth, 0, 0, 0}));
  // Young, Phil. Trans. 90 (1800) 106, his first: C-G-D-A-E narrow by 3/16 of the syntonic comma; F sharp - C sharp -
  // G sharp - E flat - B flat pure; the other four share what is left.
  known.push_back(from_fifths("young-1799", "Young 1799 (his first)",
                              {0, young_rest, young_rest, young, young, young, young, young_rest, young_rest, 0, 0}));
  return known;
}

// Fewest single letters to add, drop or change.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t above = row[j];
      row[j] = std::min({above + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1)});
      diagonal = above;
    }
  }
  return row.back();
}

}  // namespace

const std::vector<Temperament>& known_temperaments() {
  static const std::vector<Temperament> known = make_known();
  return known;
}

Result<Temperament> temperament(std::string_view id) {
  const auto& known = known_temperaments();
  for (const auto& t : known)
    if (t.id == id) return t;
  const std::string_view asked = id.substr(0, 60);  // as much as a name can be mistaken for
  const auto nearest = std::min_element(known.begin(), known.end(), [&](const auto& a, const auto& b) {
    return distance(asked, a.id) < distance(asked, b.id);
  });
  std::string all_ids;
  for (const auto& t : known) all_ids += (all_ids.empty() ? "" : ", ") + t.id;
  return fail(fmt::format("There is no temperament \"{}\"; the nearest is \"{}\". Known are: {}.", asked, nearest->id,
                          all_ids));
}

Result<Temperament> own_temperament(std::string name, const std::array<double, 12>& cents_from_c) {
  if (cents_from_c[0] != 0)
    return fail(fmt::format("A table of twelve cents starts with C at 0, not at {:g}.", cents_from_c[0]));
  for (std::size_t i = 1; i < 12; ++i)
    if (!(cents_from_c[i] > cents_from_c[i - 1] && cents_from_c[i] < 1200))
      return fail(
          fmt::format("The twelve cents above C must rise from 0 and stay under 1200; number {} is {:g}, "
                      "after {:g}.",
                      i + 1, cents_from_c[i], cents_from_c[i - 1]));
  Temperament t{"own", std::move(name), {}};
  for (std::size_t i = 0; i < 12; ++i)
    t.offsets_cents[i] = cents_from_c[i] - cents_from_c[9] - 100.0 * (static_cast<double>(i) - 9);
  return t;
}

Hertz frequency(const Temperament& t, Hertz a, Note n) {
  const auto pitch_class = static_cast<std::size_t>((n.midi % 12 + 12) % 12);
  return Hertz{a.value() * std::exp2((n.midi - 69) / 12.0 + t.offsets_cents[pitch_class] / 1200.0)};
}

Hertz beats(Hertz lower, Hertz upper, int p, int q) { return q * upper - p * lower; }

Cents flue_shift(Celsius from, Celsius to) {
  return Cents{600 * std::log2((to.value() + 273.15) / (from.value() + 273.15))};
}

}  // namespace calcant
