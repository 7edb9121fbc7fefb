#include "jobs/registration_map.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "jobs/drawn_json.hpp"

namespace calcant {
namespace {

struct Span {
  double low = std::numeric_limits<double>::max();
  double high = std::numeric_limits<double>::lowest();
  void take(double v) {
    low = std::min(low, v);
    high = std::max(high, v);
  }
};

// Steps along one side: doubled until they are few enough, the first beginning at a whole one.
struct Steps {
  double step = 1;
  long first = 0;
  long count = 1;
  Steps(const Span& span, double smallest, int most) : step(smallest) {
    for (;; step *= 2) {
      first = std::lround(std::floor(span.low / step));
      count = std::lround(std::floor(span.high / step)) - first + 1;
      if (count <= most) return;
    }
  }
  [[nodiscard]] std::size_t of(double v) const {
    return static_cast<std::size_t>(std::clamp(std::lround(std::floor(v / step)) - first, 0L, count - 1));
  }
  [[nodiscard]] double middle(std::size_t i) const {
    return (static_cast<double>(first) + static_cast<double>(i) + 0.5) * step;
  }
};

struct Best {
  double states = 0;
  double allowed = 0;
  bool is_allowed = false;
  int knobs = 0;
  double away = 0;
  MapState state;
};

}  // namespace

Result<RegistrationMap> registration_map(Chooser& chooser, const Work& work) {
  const Map* map = chooser.map();
  if (map == nullptr || map->size() == 0) {
    return fail("this manual has too many registrations to be drawn as a map; ask for a level instead", "manual");
  }
  const Space& space = chooser.space();
  const Practice& practice = chooser.practice();
  Span loudness;
  Span brightness;
  map->for_each([&](const MapState& s) {
    loudness.take(static_cast<double>(s.figures.phons));
    brightness.take(static_cast<double>(s.figures.acums));
  });
  const Steps columns{loudness, 1, map_columns};
  const Steps rows{brightness, 0.05, map_rows};
  std::vector<Best> cells(static_cast<std::size_t>(columns.count * rows.count));
  double states = 0;
  for (std::size_t block = 0; block < map->blocks(); ++block) {
    if (work.stop.stop_requested()) return fail("Stopped.");
    map->for_block(block, [&](const MapState& s) {
      const double phons = static_cast<double>(s.figures.phons);
      const double acums = static_cast<double>(s.figures.acums);
      const std::size_t column = columns.of(phons);
      const std::size_t row = rows.of(acums);
      Best& best = cells[column * static_cast<std::size_t>(rows.count) + row];
      const bool allowed = practice.allows(s.linking, s.stops, Manner::free);
      const int knobs = std::popcount(s.stops) + space.linkings()[s.linking].knobs;
      const double away =
          std::abs(phons - columns.middle(column)) / columns.step + std::abs(acums - rows.middle(row)) / rows.step;
      const bool better =
          best.states == 0 || (allowed && !best.is_allowed) ||
          (allowed == best.is_allowed && (knobs < best.knobs || (knobs == best.knobs && away < best.away)));
      states += 1;
      best.states += 1;
      best.allowed += allowed ? 1 : 0;
      if (!better) return;
      best.is_allowed = allowed;
      best.knobs = knobs;
      best.away = away;
      best.state = s;
    });
  }
  RegistrationMap out;
  out.on = chooser.on();
  out.states = states;
  out.phon_step = columns.step;
  out.acum_step = rows.step;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const Best& best = cells[i];
    if (best.states == 0) continue;
    MapCell cell;
    cell.phons = columns.middle(i / static_cast<std::size_t>(rows.count));
    cell.acums = rows.middle(i % static_cast<std::size_t>(rows.count));
    cell.states = best.states;
    cell.allowed = best.allowed;
    Registration boxes;
    boxes.box = best.state.box;
    cell.drawn = space.registration(best.state.linking, best.state.stops, boxes);
    cell.drawn_phons = static_cast<double>(best.state.figures.phons);
    cell.drawn_acums = static_cast<double>(best.state.figures.acums);
    out.cells.push_back(std::move(cell));
  }
  return out;
}

std::string json_text(const OrganContext& context, const RegistrationMap& m) {
  const Organ& organ = context.organ;
  Json j;
  j["manual"] = organ.keyboards[static_cast<std::size_t>(m.on)].id;
  j["heard"] = context.heard;
  j["states"] = m.states;
  j["phon_step"] = m.phon_step;
  j["acum_step"] = m.acum_step;
  j["cells"] = Json::array();
  for (const MapCell& c : m.cells) {
    j["cells"].push_back({{"phon", rounded(c.phons, 2)},
                          {"acum", rounded(c.acums, 3)},
                          {"states", c.states},
                          {"allowed", c.allowed},
                          {"draw", draw_json(organ, c.drawn)},
                          {"box", box_json(organ, c.drawn)},
                          {"draw_phon", rounded(c.drawn_phons, 2)},
                          {"draw_acum", rounded(c.drawn_acums, 3)}});
  }
  return dump(j);
}

}  // namespace calcant
