// A MusicXML document as a grid of measures, partwise or timewise, with the line of every element for messages.
#pragma once

#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/rational.hpp"
#include "engine/quantity/result.hpp"

namespace calcant::musicxml {

class Document {
 public:
  // `text` must outlive the document. `filename` is for messages.
  [[nodiscard]] static Result<Document> load(std::string_view text, std::string_view filename);

  [[nodiscard]] pugi::xml_node root() const { return doc_.document_element(); }
  [[nodiscard]] std::size_t parts() const { return ids_.size(); }
  [[nodiscard]] std::size_t bars() const { return bars_; }
  [[nodiscard]] const std::string& part_id(std::size_t part) const { return ids_[part]; }
  // The element that holds a part's music of a bar; null where the part has no such bar.
  [[nodiscard]] pugi::xml_node measure(std::size_t part, std::size_t bar) const;
  // The element that bears the bar's number: the measure itself.
  [[nodiscard]] pugi::xml_node header(std::size_t part, std::size_t bar) const;
  // "hymn.musicxml:41".
  [[nodiscard]] std::string where(pugi::xml_node node) const;

 private:
  Result<void> partwise();
  Result<void> timewise();

  pugi::xml_document doc_;
  std::string filename_;
  std::string_view text_;
  std::vector<std::string> ids_;
  std::vector<std::vector<pugi::xml_node>> measures_;  // by part, then bar
  std::size_t bars_ = 0;
  bool timewise_ = false;
};

// A decimal number as MusicXML writes durations ("4", "2.5"), exactly; nothing when it is none or out of all bounds.
[[nodiscard]] std::optional<Rational> decimal(std::string_view text);
// A whole number between bounds, with blanks around it allowed.
[[nodiscard]] std::optional<int> whole(std::string_view text, int least, int most);

// Where a part stands in its bar while its elements are gone through in order.
class Clock {
 public:
  void begin_bar() { now_ = last_ = furthest_ = Rational{}; }
  // Takes one child of a measure into account: attributes, note, backup, forward. For a note, its onset is returned; for
  // anything else the place it stands at. `fault` gets a sentence when a number in it cannot be used.
  Rational take(pugi::xml_node child, std::string& fault);
  [[nodiscard]] Rational now() const { return now_; }
  [[nodiscard]] Rational furthest() const { return furthest_; }
  [[nodiscard]] Rational length() const { return length_; }        // of the note just taken; 0 for a grace note
  [[nodiscard]] Rational divisions() const { return divisions_; }  // of a quarter

 private:
  [[nodiscard]] std::optional<Rational> duration_of(pugi::xml_node child) const;

  Rational divisions_{1};
  Rational now_;
  Rational last_;  // onset of the last note that is not a chord's second
  Rational furthest_;
  Rational length_;
};

// Quarters of a note type ("quarter", "16th") with dots; nothing for an unknown one.
[[nodiscard]] std::optional<Rational> type_length(std::string_view type, int dots);

}  // namespace calcant::musicxml
