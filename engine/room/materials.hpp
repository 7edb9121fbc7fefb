// Absorption of what churches are made of, from printed tables.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/bands.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// Random-incidence absorption per octave band, 0 to 1. The tables run from 125 Hz to 4 kHz; 63 Hz is taken as 125 Hz
// and 8 kHz as 4 kHz (assumed). `source` says where the row was read.
struct SurfaceMaterial {
  std::string id;    // "plaster-on-brick"
  std::string name;  // "plaster, smooth, on brick"
  Bands absorption;
  std::string source;
};

[[nodiscard]] const std::vector<SurfaceMaterial>& surface_materials();
// By id; the error lists all ids.
[[nodiscard]] Result<SurfaceMaterial> surface_material(std::string_view id);

}  // namespace calcant
