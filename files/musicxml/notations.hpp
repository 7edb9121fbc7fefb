// What stands about a note besides its pitch and length: ties, slurs, pauses, breaths, dynamics, heel and toe.
#pragma once

#include <pugixml.hpp>

#include "engine/score/score.hpp"
#include "files/musicxml/directions.hpp"

namespace calcant::musicxml {

// Ties as they sound (<tie>); where the file has none, as they are printed (<tied>).
void read_ties(WrittenNote& n, pugi::xml_node node);
// Signs that hold for all become directions at the note's place.
void read_notations(WrittenNote& n, pugi::xml_node node, Directions& directions);
// Of a rest: a pause on it.
void read_rest_signs(const WrittenNote& rest, pugi::xml_node node, Directions& directions);

}  // namespace calcant::musicxml
