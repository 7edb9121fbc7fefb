// What each stave is played on: found from names, clefs and layout, and overruled by the user.
#pragma once

#include <string_view>
#include <vector>

#include "engine/score/score.hpp"

namespace calcant {

struct RoleOverride {
  int stave = 0;  // index into Score::staves
  Role role = Role::either_hand;
};
using RoleOverrides = std::vector<RoleOverride>;

// "3=feet", staves counted from 1 as people count them from the top; right, left, either, feet or none.
[[nodiscard]] Result<RoleOverride> parse_role_override(std::string_view text);

// Sets role and role_reason of every stave, and whether the score is a hymn. Names come first (Pedal, Ped., Pédale;
// Organ, Manual, Gt., Sw.; singers and other players beside an organ are not played), then layout: the lowest of three
// staves with a bass clef is the pedal; of two staves the upper is the right hand's. What could not be told is
// either_hand, with a remark. `overrides` win over all of it; an index out of range is an error.
[[nodiscard]] Result<void> assign_roles(Score& s, const RoleOverrides& overrides = {});

}  // namespace calcant
