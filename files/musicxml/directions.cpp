#include "files/musicxml/directions.hpp"

#include <algorithm>
#include <cstdlib>

namespace calcant::musicxml {
namespace {

constexpr double slowest = 4;
constexpr double fastest = 2000;

// A tempo mark that only says how the new beat compares to the old is kept as its negative until the old one is known.
Direction tempo(int bar, Rational at, double quarters_per_minute, std::string text) {
  Direction d;
  d.kind = Direction::Kind::tempo;
  d.bar = bar;
  d.at = at;
  d.text = std::move(text);
  d.quarters_per_minute = quarters_per_minute;
  return d;
}

// "60", "ca. 60", "60-66" (the middle), "1/4 = 60" is not met. Nothing where there is no number.
std::optional<double> per_minute(const std::string& text) {
  const auto number_from = [&](std::size_t at, std::size_t& end) -> std::optional<double> {
    const auto digit = text.find_first_of("0123456789", at);
    if (digit == std::string::npos) return std::nullopt;
    end = text.find_first_not_of("0123456789.", digit);
    if (end == std::string::npos) end = text.size();
    const std::string number = text.substr(digit, std::min<std::size_t>(end - digit, 12));
    double value = 0;
    double place = 0;
    for (const char c : number) {
      if (c == '.') {
        if (place > 0) break;
        place = 1;
        continue;
      }
      value = value * 10 + (c - '0');
      place *= 10;
    }
    return place > 1 ? value / place : value;
  };
  std::size_t end = 0;
  const auto first = number_from(0, end);
  if (!first) return std::nullopt;
  const auto dash = text.find_first_not_of(' ', end);
  const bool range = dash != std::string::npos && (text[dash] == '-' || text.compare(dash, 3, "\xE2\x80\x93") == 0);
  if (!range) return first;
  const auto second = number_from(dash, end);
  return second && *second > *first ? (*first + *second) / 2 : first;
}

// Beat units of a metronome mark in order, each with its dots.
std::vector<Rational> beat_units(pugi::xml_node node) {
  std::vector<Rational> units;
  for (pugi::xml_node c = node.first_child(); c; c = c.next_sibling()) {
    if (std::string_view(c.name()) != "beat-unit") continue;
    int dots = 0;
    for (pugi::xml_node d = c.next_sibling(); d && std::string_view(d.name()) == "beat-unit-dot";
         d = d.next_sibling()) {
      ++dots;
    }
    if (const auto length = type_length(c.child_value(), dots)) units.push_back(*length);
  }
  return units;
}

std::string dynamics_text(pugi::xml_node dynamics) {
  std::string text;
  for (const pugi::xml_node c : dynamics.children()) {
    if (c.type() != pugi::node_element) continue;
    const std::string one = std::string_view(c.name()) == "other-dynamics" ? c.child_value() : c.name();
    if (!text.empty() && !one.empty()) text += ' ';
    text += one;
  }
  return text;
}

}  // namespace

std::string joined_text(pugi::xml_node node, const char* name) {
  std::string out;
  const auto visit = [&](pugi::xml_node n) {
    if (std::string_view(n.name()) != name) return;
    const std::string text = n.text().get();
    const bool blank = out.empty() || out.back() == ' ' || text.empty() || static_cast<unsigned char>(text[0]) <= ' ';
    if (!blank) out += ' ';
    for (const char c : text) {
      const bool space = static_cast<unsigned char>(c) <= ' ';
      if (space && (out.empty() || out.back() == ' ')) continue;
      out += space ? ' ' : c;
    }
  };
  for (const pugi::xml_node n : node.children()) {
    visit(n);
    if (std::string_view(n.name()) == "direction-type") {
      for (const pugi::xml_node inner : n.children()) visit(inner);
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

void Directions::direction(int bar, Rational at, int stave, pugi::xml_node node) {
  const auto mark = [&](Direction::Kind kind, std::string text, int on) {
    Direction d;
    d.kind = kind;
    d.bar = bar;
    d.at = at;
    d.stave = on;
    d.text = std::move(text);
    found_.push_back(std::move(d));
  };
  if (std::string words = joined_text(node, "words"); !words.empty()) {
    signs_.words(bar, at, words);
    mark(Direction::Kind::words, std::move(words), stave);
  }
  if (std::string text = joined_text(node, "rehearsal"); !text.empty()) {
    mark(Direction::Kind::rehearsal, std::move(text), -1);
  }
  const pugi::xml_node sounds = node.child("sound");
  for (const pugi::xml_node type : node.children("direction-type")) {
    for (const pugi::xml_node n : type.children()) {
      const std::string_view name = n.name();
      if (name == "dynamics") mark(Direction::Kind::dynamics, dynamics_text(n), stave);
      else if (name == "segno" || name == "coda") signs_.printed(bar, at, name);
      else if (name == "pedal") saw_damper_pedal_ = true;
      else if (name == "metronome" && !sounds.attribute("tempo")) metronome(bar, at, n);
      else if (name == "wedge") {
        const std::string_view w = n.attribute("type").value();
        if (w == "crescendo") mark(Direction::Kind::wedge_opens, {}, stave);
        else if (w == "diminuendo") mark(Direction::Kind::wedge_closes, {}, stave);
        else if (w == "stop") mark(Direction::Kind::wedge_ends, {}, stave);
      }
    }
  }
  if (sounds) sound(bar, at, sounds);
}

void Directions::sound(int bar, Rational at, pugi::xml_node node) {
  signs_.sound(bar, at, node);
  const pugi::xml_attribute t = node.attribute("tempo");
  if (!t) return;
  const double quarters = t.as_double(0);
  if (quarters >= slowest && quarters <= fastest) found_.push_back(tempo(bar, at, quarters, {}));
  else unread_tempo_ = true;
}

void Directions::metronome(int bar, Rational at, pugi::xml_node node) {
  const std::vector<Rational> units = beat_units(node);
  const std::string number = node.child_value("per-minute");
  if (units.size() == 2) {
    // The new second unit is as long as the old first one.
    found_.push_back(tempo(bar, at, -(units[1] / units[0]).to_double(), {}));
    return;
  }
  const auto beats = per_minute(number);
  if (units.size() != 1 || !beats) {
    unread_tempo_ = true;
    return;
  }
  const double quarters = *beats * units[0].to_double();
  if (quarters >= slowest && quarters <= fastest) found_.push_back(tempo(bar, at, quarters, number));
  else unread_tempo_ = true;
}

std::vector<Direction> Directions::all(std::vector<std::string>& remarks) {
  std::stable_sort(found_.begin(), found_.end(),
                   [](const Direction& a, const Direction& b) { return a.bar != b.bar ? a.bar < b.bar : a.at < b.at; });
  std::vector<Direction> out;
  std::optional<Direction> last_tempo;
  for (Direction& d : found_) {
    if (d.kind == Direction::Kind::tempo) {
      if (d.quarters_per_minute < 0) {
        const double now = last_tempo ? last_tempo->quarters_per_minute * -d.quarters_per_minute : 0;
        if (now < slowest || now > fastest) {
          unread_tempo_ = true;
          continue;
        }
        d.quarters_per_minute = now;
      } else if (last_tempo && last_tempo->bar == d.bar && last_tempo->at == d.at &&
                 last_tempo->quarters_per_minute == d.quarters_per_minute) {
        continue;
      }
      last_tempo = d;
    }
    out.push_back(std::move(d));
  }
  if (unread_tempo_) remarks.emplace_back("A tempo mark could not be read and was left out.");
  return out;
}

}  // namespace calcant::musicxml
