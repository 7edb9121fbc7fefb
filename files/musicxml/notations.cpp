#include "files/musicxml/notations.hpp"

#include <string>
#include <string_view>
#include <utility>

namespace calcant::musicxml {
namespace {

void mark(const WrittenNote& n, Direction::Kind kind, Rational at, std::string text, Directions& directions) {
  Direction d;
  d.kind = kind;
  d.bar = n.bar;
  d.at = at;
  d.stave = n.stave;
  d.text = std::move(text);
  directions.add(std::move(d));
}

void read_articulations(WrittenNote& n, pugi::xml_node node, Directions& directions) {
  for (const pugi::xml_node a : node.children()) {
    const std::string_view sign = a.name();
    if (sign == "staccato" || sign == "staccatissimo") n.staccato = true;
    else if (sign == "breath-mark" || sign == "caesura")
      mark(n, Direction::Kind::breath, n.at + n.length, {}, directions);
  }
}

std::string dynamics_of(pugi::xml_node node) {
  std::string text;
  for (const pugi::xml_node d : node.children()) {
    if (d.type() == pugi::node_element) text += text.empty() ? d.name() : std::string(" ") + d.name();
  }
  return text;
}

void read_foot(WrittenNote& n, pugi::xml_node t) {
  const std::string_view name = t.name();
  if (name != "heel" && name != "toe") return;
  n.foot_part = name == "heel" ? WrittenNote::Part::heel : WrittenNote::Part::toe;
  const std::string_view placement = t.attribute("placement").value();
  n.foot = placement == "above"   ? WrittenNote::Foot::right
           : placement == "below" ? WrittenNote::Foot::left
                                  : WrittenNote::Foot::none;
  n.foot_change = std::string_view(t.attribute("substitution").value()) == "yes";
}

}  // namespace

void read_ties(WrittenNote& n, pugi::xml_node node) {
  for (const pugi::xml_node t : node.children("tie")) {
    const std::string_view type = t.attribute("type").value();
    if (type == "start") n.tie_to = true;
    else if (type == "stop") n.tie_from = true;
  }
  if (n.tie_to || n.tie_from) return;
  for (const pugi::xml_node notations : node.children("notations")) {
    for (const pugi::xml_node t : notations.children("tied")) {
      const std::string_view type = t.attribute("type").value();
      if (type == "start" || type == "continue") n.tie_to = true;
      if (type == "stop" || type == "continue") n.tie_from = true;
    }
  }
}

void read_notations(WrittenNote& n, pugi::xml_node node, Directions& directions) {
  for (const pugi::xml_node notations : node.children("notations")) {
    for (const pugi::xml_node c : notations.children()) {
      const std::string_view name = c.name();
      if (name == "fermata") n.fermata = true;
      else if (name == "slur") {
        const std::string_view type = c.attribute("type").value();
        n.slur_starts += type == "start";
        n.slur_ends += type == "stop";
      } else if (name == "articulations") {
        read_articulations(n, c, directions);
      } else if (name == "dynamics") {
        mark(n, Direction::Kind::dynamics, n.at, dynamics_of(c), directions);
      } else if (name == "technical") {
        for (const pugi::xml_node t : c.children()) read_foot(n, t);
      }
    }
  }
}

void read_rest_signs(const WrittenNote& rest, pugi::xml_node node, Directions& directions) {
  for (const pugi::xml_node notations : node.children("notations")) {
    if (notations.child("fermata")) mark(rest, Direction::Kind::pause, rest.at, {}, directions);
  }
}

}  // namespace calcant::musicxml
