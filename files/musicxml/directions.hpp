// Words, dynamics, wedges, tempo and rehearsal marks of a MusicXML score.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/score/score.hpp"
#include "files/musicxml/document.hpp"
#include "files/musicxml/signs.hpp"

namespace calcant::musicxml {

class Directions {
 public:
  explicit Directions(Signs& signs) : signs_(signs) {}

  // A <direction> at a place of a bar; `stave` is the index of the stave it stands at, `first_part` whether its part is
  // the first.
  void direction(int bar, Rational at, int stave, pugi::xml_node node);
  // A <sound> alone in a bar, or that of a direction.
  void sound(int bar, Rational at, pugi::xml_node node);
  // Any mark found elsewhere.
  void add(Direction d) { found_.push_back(std::move(d)); }
  // All of them, sorted, tempo marks said twice said once, "quarter = dotted quarter" worked out.
  [[nodiscard]] std::vector<Direction> all(std::vector<std::string>& remarks);
  [[nodiscard]] bool saw_damper_pedal() const { return saw_damper_pedal_; }

 private:
  void metronome(int bar, Rational at, pugi::xml_node node);

  Signs& signs_;
  std::vector<Direction> found_;
  bool saw_damper_pedal_ = false;
  bool unread_tempo_ = false;
};

// All text of the elements of that name below the node, in order, joined by blanks where none stand, on one line.
[[nodiscard]] std::string joined_text(pugi::xml_node node, const char* name);

}  // namespace calcant::musicxml
