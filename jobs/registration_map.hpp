// Every registration of one manual as a picture: loudness against brightness, in cells, each with how many registrations
// fall there and one that stands for them. Asked of a Registrant (registrant.hpp).
#pragma once

#include <string>
#include <vector>

#include "engine/registration/choose.hpp"
#include "jobs/context.hpp"

namespace calcant {

inline constexpr int map_columns = 60;  // at most: of loudness
inline constexpr int map_rows = 40;     // at most: of brightness

struct MapCell {
  double phons = 0;  // the middle of the cell; the mean over the stated chords, by the screen
  double acums = 0;
  double states = 0;   // that sound different
  double allowed = 0;  // of them: by the rules of practice
  // An allowed one where there is one, of these with the fewest knobs, of these nearest to the middle.
  Registration drawn;
  double drawn_phons = 0;
  double drawn_acums = 0;
};
struct RegistrationMap {
  KeyboardIndex on = 0;
  double states = 0;  // that sound different, on this manual as it is written
  double phon_step = 1;
  double acum_step = 0.05;
  std::vector<MapCell> cells;  // by loudness, then brightness
};

// Refuses an organ with too many registrations for a map, and stopped work.
[[nodiscard]] Result<RegistrationMap> registration_map(Chooser& chooser, const Work& work);

[[nodiscard]] std::string json_text(const OrganContext& context, const RegistrationMap& m);

}  // namespace calcant
