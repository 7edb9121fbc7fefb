#include "files/pages/abbreviations.hpp"

#include <algorithm>
#include <cctype>
#include <iterator>
#include <utility>

namespace calcant {
namespace {

constexpr std::pair<std::string_view, std::string_view> usual[] = {
    {"great", "Gt"},          {"swell", "Sw"},         {"pedal", "Ped"},       {"choir", "Ch"},
    {"solo", "Solo"},         {"manual", "Man"},       {"open", "Op."},        {"stopped", "St."},
    {"diapason", "Diap."},    {"double", "Dbl"},       {"principal", "Prin."}, {"fifteenth", "15th"},
    {"twelfth", "12th"},      {"seventeenth", "17th"}, {"nineteenth", "19th"}, {"twenty-second", "22nd"},
    {"mixture", "Mix."},      {"flute", "Fl."},        {"harmonic", "Harm."},  {"bourdon", "Bdn"},
    {"octave", "8ve"},        {"sub-octave", "Sub"},   {"trumpet", "Trpt"},    {"clarinet", "Clar."},
    {"dulciana", "Dulc."},    {"salicional", "Sal."},  {"violin", "Vln"},      {"gemshorn", "Gems."},
    {"piccolo", "Picc."},     {"cornopean", "Corn."},  {"unison", "Unis."},    {"tremulant", "Trem."},
    {"bass", "Bass"},         {"celeste", "Cel."},     {"wald", "Wald"},       {"rohr", "Rohr"},
    {"clarabella", "Clar'a"}, {"lieblich", "Lieb."},   {"gedact", "Ged."},     {"gedackt", "Ged."},
    {"stopt", "St."},         {"contra", "Con."},
};

// Stops called after their interval above 8 ft, where they speak at it.
bool says_its_pitch(std::string_view brief, std::string_view pitch) {
  constexpr std::pair<std::string_view, std::string_view> called[] = {
      {"12th", " 2 2/3"}, {"15th", " 2"}, {"17th", " 1 3/5"}, {"19th", " 1 1/3"}, {"22nd", " 1"}};
  return std::any_of(std::begin(called), std::end(called),
                     [&](const auto& c) { return brief == c.first && pitch == c.second; });
}

std::string short_word(std::string_view word) {
  std::string lower{word};
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (const auto& [full, brief] : usual) {
    if (lower == full) return std::string{brief};
  }
  // Cutting bytes of other alphabets would break letters.
  const bool plain = std::all_of(word.begin(), word.end(), [](char c) { return static_cast<unsigned char>(c) < 128; });
  if (word.size() <= 6 || !plain) return std::string{word};
  return std::string{word.substr(0, 5)} + ".";
}

}  // namespace

std::string abbreviated(std::string_view name) {
  std::string out;
  while (!name.empty()) {
    const auto end = std::min(name.find(' '), name.size());
    if (end > 0) out += (out.empty() ? "" : " ") + short_word(name.substr(0, end));
    name.remove_prefix(std::min(end + 1, name.size()));
  }
  return out;
}

std::string short_name(const Organ& organ, Knob knob) {
  if (knob.kind != Knob::Kind::stop) return abbreviated(full_name(organ, knob));
  const Stop& stop = organ.stops[static_cast<std::size_t>(knob.index)];
  const std::string full = full_name(stop);
  const std::string brief = abbreviated(stop.name);
  const std::string pitch = full.substr(std::min(full.size(), stop.name.size()));
  return says_its_pitch(brief, pitch) ? brief : brief + pitch;
}

std::string short_division(std::string_view name) {
  const std::string brief = abbreviated(name);
  return brief.size() <= 5 ? brief : brief.substr(0, 3);
}

}  // namespace calcant
