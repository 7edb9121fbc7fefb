#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "files/specification/specification.hpp"

namespace calcant {
namespace {

std::string upper(std::string s) {
  for (char& c : s) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return s;
}

std::string lengths(const Stop& s) {
  std::string out;
  for (const Feet f : s.feet) out += (out.empty() ? "" : " & ") + to_string(f);
  const std::string full = full_name(s);
  return out.empty() && full.size() > s.name.size() ? full.substr(s.name.size() + 1) : out;
}

// What a visiting player must know beside the length.
std::string remarks(const Organ& o, const Stop& s) {
  const Division& d = o.divisions[static_cast<std::size_t>(s.division)];
  std::vector<std::string> said;
  if (s.low_own() > d.low) {
    said.push_back(s.low_own() == Note{48} ? "from tenor C" : "from " + name(s.low_own()));
    for (const StopPart& p : s.parts) {
      if (p.borrowed) said.push_back("bass from " + o.ranks[static_cast<std::size_t>(p.rank)].name);
    }
  } else {
    for (const StopPart& p : s.parts) {
      if (p.borrowed) said.push_back("from " + o.ranks[static_cast<std::size_t>(p.rank)].name);
      else if (p.step != 0) said.push_back("extension of " + o.ranks[static_cast<std::size_t>(p.rank)].name);
    }
  }
  if (s.out_of_use) said.emplace_back("out of use");
  return said.empty() ? "" : fmt::format("  ({})", fmt::join(said, ", "));
}

// How many letters a text takes on the page: bytes that continue a letter take none.
std::size_t width(const std::string& s) {
  return static_cast<std::size_t>(
      std::count_if(s.begin(), s.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

}  // namespace

std::string print_specification(const Organ& o) {
  std::string out = o.name + "\n";
  if (!o.about.empty()) out += o.about + "\n";
  if (o.invented) out += "Invented: there is no such organ.\n";
  std::size_t widest = 16;
  for (const Stop& s : o.stops) widest = std::max(widest, width(s.name));
  int number = 1;
  for (std::size_t d = 0; d < o.divisions.size(); ++d) {
    const Division& division = o.divisions[d];
    out += "\n" + upper(division.name);
    if (division.keyboard) {
      const NoteSet keys = o.keyboards[static_cast<std::size_t>(*division.keyboard)].keys;
      out += fmt::format("  ({}-{}, {} notes{})", name(Note{keys.lowest()}), name(Note{keys.highest()}), keys.size(),
                         division.box ? ", enclosed" : "");
    } else if (division.box) {
      out += "  (enclosed)";
    }
    out += "\n";
    for (const Stop& s : o.stops) {
      if (s.division != static_cast<DivisionIndex>(d)) continue;
      out += fmt::format("{:>3}. {}{}  {}{}\n", number++, s.name, std::string(widest - width(s.name), ' '), lengths(s),
                         remarks(o, s));
    }
    for (const Accessory& a : o.accessories) {
      if (a.kind == AccessoryKind::tremulant && a.division == static_cast<DivisionIndex>(d))
        out += "     " + a.name + "\n";
    }
  }
  if (!o.couplers.empty()) {
    out += "\nCOUPLERS\n";
    for (const Coupler& c : o.couplers) out += "     " + c.name + "\n";
  }
  const bool more = std::any_of(o.accessories.begin(), o.accessories.end(),
                                [](const Accessory& a) { return a.kind != AccessoryKind::tremulant; });
  if (more || !o.boxes.empty()) out += "\nACCESSORIES\n";
  for (const Accessory& a : o.accessories) {
    if (a.kind != AccessoryKind::tremulant) out += "     " + a.name + "\n";
  }
  for (const SwellBox& b : o.boxes) {
    out += fmt::format("     {} swell pedal ({})\n", b.pedal == SwellPedal::lever ? "Lever" : "Balanced", b.name);
  }
  return out;
}

}  // namespace calcant
