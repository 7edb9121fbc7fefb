#include "engine/room/materials.hpp"

#include <fmt/format.h>

#include <array>

namespace calcant {
namespace {

SurfaceMaterial row(std::string id, std::string name, const std::array<double, 6>& a, std::string source) {
  return {std::move(id), std::move(name), {a[0], a[0], a[1], a[2], a[3], a[4], a[5], a[5]}, std::move(source)};
}

std::vector<SurfaceMaterial> make() {
  const std::string handbook = "handbook table 27.1 (read in reprint)";
  const std::string handbook_and_web = "handbook table 27.1 and two public tables that agree";
  const std::string web = "public table (calculla.com), read";
  return {
      row("marble", "marble or glazed tile", {.01, .01, .01, .01, .02, .02}, handbook),
      row("stone", "stone or limestone wall", {.02, .02, .03, .04, .05, .05},
          "Vorländer, Auralization (2008), annex, from memory: not read again"),
      row("brick", "brick, unglazed", {.03, .03, .03, .04, .05, .07}, handbook_and_web),
      row("brick-painted", "brick, painted", {.01, .01, .02, .02, .02, .03}, handbook_and_web),
      row("plaster-on-brick", "plaster, smooth, on brick", {.013, .015, .02, .03, .04, .05}, handbook),
      row("plaster-on-lath", "plaster, smooth, on lath", {.14, .10, .06, .04, .04, .03}, handbook),
      row("wood-floor", "wooden floor on joists", {.15, .11, .10, .07, .06, .07}, handbook_and_web),
      row("parquet", "parquet on concrete", {.04, .04, .07, .06, .06, .07}, handbook_and_web),
      row("solid-wood", "solid wooden doors or panels", {.10, .07, .05, .04, .04, .04}, web),
      row("window-glass", "ordinary window glass", {.35, .25, .18, .12, .07, .04}, handbook),
      row("heavy-glass", "large panes of heavy glass", {.18, .06, .04, .03, .02, .02}, handbook_and_web),
      row("leaded-glass", "small panes (leaded: the nearest row)", {.04, .04, .03, .03, .02, .02}, web),
      row("carpet-heavy", "heavy carpet on concrete", {.02, .06, .14, .37, .60, .65},
          "Cox & D'Antonio, appendix A.1 (read in reprint); handbook table 27.1"),
      row("carpet-on-felt", "carpet on hair felt or foam", {.08, .24, .57, .69, .71, .73},
          "Cox & D'Antonio, appendix A.1 (read in reprint); handbook table 27.1"),
      row("carpet-thin", "thin carpet", {.01, .02, .06, .15, .25, .45}, web),
      row("pews", "wooden pews, empty, per floor area", {.10, .09, .08, .08, .08, .08}, web),
      row("pews-full", "wooden pews, full, per floor area (persons then not counted again)",
          {.50, .56, .66, .76, .80, .76}, web),
      row("pews-cushioned", "cushioned pews, empty, per floor area", {.32, .40, .42, .44, .43, .48}, web),
  };
}

}  // namespace

const std::vector<SurfaceMaterial>& surface_materials() {
  static const std::vector<SurfaceMaterial> materials = make();
  return materials;
}

Result<SurfaceMaterial> surface_material(std::string_view id) {
  std::string all;
  for (const auto& m : surface_materials()) {
    if (m.id == id) return m;
    all += (all.empty() ? "" : ", ") + m.id;
  }
  return fail(fmt::format("There is no surface material \"{}\". Known are: {}.", id.substr(0, 60), all));
}

}  // namespace calcant
