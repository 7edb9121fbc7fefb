// Repeats, endings and jumps of a MusicXML score, gathered over its parts.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/score/turns.hpp"
#include "files/musicxml/document.hpp"

namespace calcant::musicxml {

class Signs {
 public:
  explicit Signs(std::size_t bars) : signs_(bars), opened_(bars), closed_(bars, false) {}

  void barline(int bar, pugi::xml_node node, std::vector<std::string>& remarks, std::string_view label);
  // A <sound> at a place of the bar, in a direction or alone.
  void sound(int bar, Rational at, pugi::xml_node node);
  // The printed signs <segno/> and <coda/>, and words such as "D.C. al Fine": used where no <sound> says it.
  void printed(int bar, Rational at, std::string_view sign);
  void words(int bar, Rational at, std::string_view text);
  // What the turns are worked out from. Bars must have their lengths.
  [[nodiscard]] std::vector<BarSigns> signs(const std::vector<Bar>& bars, std::vector<std::string>& remarks);

 private:
  enum class What { segno, coda, to_coda, dal_segno, da_capo, fine };
  struct Placed {
    What what;
    int bar;
    Rational at;
    std::string label;
  };
  void put(const Placed& p, const std::vector<Bar>& bars);

  std::vector<BarSigns> signs_;
  std::vector<std::vector<int>> opened_;  // endings that begin at the bar
  std::vector<bool> closed_;              // an ending stops at the bar
  std::vector<Placed> sounded_;
  std::vector<Placed> printed_;
};

}  // namespace calcant::musicxml
