// What is asked of the colour beside a step, in words.
#pragma once

#include <string_view>

#include "engine/registration/choose.hpp"

namespace calcant {

// As it goes on after "louder": " and brighter", or nothing.
[[nodiscard]] constexpr std::string_view and_colour(Colour c) {
  return c == Colour::brighter ? " and brighter" : c == Colour::darker ? " and darker" : "";
}

}  // namespace calcant
