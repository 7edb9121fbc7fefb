#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/score/lines.hpp"
#include "engine/score/turns.hpp"
#include "files/musicxml/directions.hpp"
#include "files/musicxml/limits.hpp"
#include "files/musicxml/musicxml.hpp"
#include "files/musicxml/notations.hpp"
#include "files/musicxml/reading.hpp"
#include "files/musicxml/signs.hpp"

namespace calcant::musicxml {
namespace {

// A remark said once, however often its cause is met.
class Remarks {
 public:
  void once(std::string text, const std::string& place) {
    auto [at, fresh] = seen_.try_emplace(std::move(text), 0, place);
    ++at->second.first;
  }
  void into(std::vector<std::string>& out) const {
    for (const auto& [text, times] : seen_) {
      out.push_back(times.first == 1 ? fmt::format("{} ({}).", text, times.second)
                                     : fmt::format("{} ({} times, first at {}).", text, times.first, times.second));
    }
  }

 private:
  std::map<std::string, std::pair<int, std::string>> seen_;
};

int semitone(char step) {
  switch (step) {
    case 'C': return 0;
    case 'D': return 2;
    case 'E': return 4;
    case 'F': return 5;
    case 'G': return 7;
    case 'A': return 9;
    case 'B': return 11;
    default: return -1;
  }
}

// What of a part lasts from bar to bar.
struct PartState {
  Clock clock;
  int first_stave = 0;  // index into Score::staves
  int staves = 1;
  std::map<int, int> transposed;  // semitones by stave number; 0: all staves
  struct Graces {
    Rational at;
    int next = 0;
  };
  std::map<std::string, Graces> graces;  // by voice
};

class Reader {
 public:
  Reader(Reading& r) : r_(r), doc_(r.document), s_(r.score), signs_(doc_.bars()), directions_(signs_) {}

  Result<void> go(const RoleOverrides& overrides) {
    head();
    if (auto ok = staves(); !ok) return ok;
    s_.bars.resize(doc_.bars());
    for (std::size_t bar = 0; bar < doc_.bars(); ++bar) {
      if (auto ok = read_bar(static_cast<int>(bar)); !ok) return ok;
    }
    if (directions_.saw_damper_pedal()) {
      s_.remarks.emplace_back("Piano pedal marks were left out; they have nothing to do with the pedalboard.");
    }
    s_.directions = directions_.all(s_.remarks);
    sort_notes();
    remarks_.into(s_.remarks);
    if (auto ok = unfold_turns(); !ok) return ok;
    if (auto ok = assign_roles(s_, overrides); !ok) return ok;
    find_lines(s_);
    return {};
  }

 private:
  void head() {
    const pugi::xml_node root = doc_.root();
    s_.title = joined_text(root.child("work"), "work-title");
    const std::string movement = joined_text(root, "movement-title");
    if (s_.title.empty()) s_.title = movement;
    else if (!movement.empty() && movement != s_.title) s_.title += ": " + movement;
    for (const pugi::xml_node c : root.child("identification").children("creator")) {
      const std::string_view type = c.attribute("type").value();
      if (type == "composer" || s_.composer.empty()) s_.composer = c.text().get();
      if (type == "composer") break;
    }
  }

  // Finds how many staves each part has, and names them.
  Result<void> staves() {
    std::map<std::string, std::string> names;
    for (const pugi::xml_node p : doc_.root().child("part-list").children("score-part")) {
      std::string name = joined_text(p, "part-name");
      if (name.empty()) name = joined_text(p, "part-abbreviation");
      names[p.attribute("id").value()] = std::move(name);
    }
    parts_.resize(doc_.parts());
    for (std::size_t part = 0; part < doc_.parts(); ++part) {
      PartState& state = parts_[part];
      std::map<int, char> clefs;
      for (std::size_t bar = 0; bar < doc_.bars(); ++bar) {
        for (const pugi::xml_node child : doc_.measure(part, bar).children()) {
          const std::string_view name = child.name();
          if (name == "note") {
            const auto stave = stave_number(child);
            if (!stave) return tl::unexpected(stave.error());
            state.staves = std::max(state.staves, *stave);
          } else if (name == "attributes") {
            if (const auto n = whole(child.child_value("staves"), 1, 1000)) {
              if (*n > most_staves)
                return fail(fmt::format("a part has {} staves; at most {} are read", *n, most_staves),
                            doc_.where(child));
              state.staves = std::max(state.staves, *n);
            }
            for (const pugi::xml_node clef : child.children("clef")) {
              const int number = whole(clef.attribute("number").value(), 1, most_staves).value_or(1);
              clefs.try_emplace(number, clef.child_value("sign")[0]);
            }
          }
        }
      }
      state.first_stave = static_cast<int>(s_.staves.size());
      for (int n = 1; n <= state.staves; ++n) {
        Stave stave;
        stave.part = static_cast<int>(part);
        stave.number = n;
        stave.file_part = doc_.part_id(part);
        const auto name = names.find(stave.file_part);
        if (name != names.end()) stave.name = name->second;
        const auto clef = clefs.find(n);
        if (clef != clefs.end() && clef->second != '\0') stave.clef = clef->second;
        s_.staves.push_back(std::move(stave));
      }
    }
    return {};
  }

  Result<int> stave_number(pugi::xml_node node) const {
    const pugi::xml_node stave = node.child("staff");
    if (!stave) return 1;
    const auto n = whole(stave.child_value(), 1, most_staves);
    if (!n) return fail(fmt::format("<staff> must be a number from 1 to {}", most_staves), doc_.where(stave));
    return *n;
  }

  Result<void> read_bar(int index) {
    Bar& bar = s_.bars[static_cast<std::size_t>(index)];
    if (index > 0) {
      const Bar& before = s_.bars[static_cast<std::size_t>(index) - 1];
      bar.beats = before.beats;
      bar.beat_type = before.beat_type;
      bar.fifths = before.fifths;
      bar.start = before.start + before.length;
    }
    bool implicit = false;
    for (std::size_t part = 0; part < doc_.parts(); ++part) {
      const pugi::xml_node header = doc_.header(part, static_cast<std::size_t>(index));
      if (!header) continue;
      bar.label = header.attribute("number").value();
      implicit = std::string_view(header.attribute("implicit").value()) == "yes";
      break;
    }
    if (bar.label.empty()) bar.label = fmt::format("{}", index + 1);
    Rational length;
    for (std::size_t part = 0; part < doc_.parts(); ++part) {
      PartState& state = parts_[part];
      state.clock.begin_bar();
      state.graces.clear();
      for (const pugi::xml_node child : doc_.measure(part, static_cast<std::size_t>(index)).children()) {
        if (child.type() != pugi::node_element) continue;
        if (auto ok = read_child(index, part, child); !ok) return ok;
      }
      length = std::max(length, state.clock.furthest());
    }
    const Rational printed = nominal();
    if (length > Rational{1'000'000}) return fail("a bar is longer than any music", "bar " + bar.label);
    bar.length = length > Rational{} ? length : printed;
    bar.pickup = index == 0 && bar.length < printed && (implicit || doc_.bars() > 1);
    if (bar.length > printed && !free_time_) {
      remarks_.once("A bar holds more than its time signature says; it was taken as it stands", "bar " + bar.label);
    }
    return {};
  }

  // The length of a bar by its time signature.
  [[nodiscard]] Rational nominal() const { return time_; }

  Result<void> read_child(int bar, std::size_t part, pugi::xml_node child) {
    PartState& state = parts_[part];
    std::string fault;
    const Rational at = state.clock.take(child, fault);
    if (!fault.empty()) return fail(fault, doc_.where(child));
    const std::string_view name = child.name();
    if (name == "note") return read_note(bar, at, state, child);
    if (name == "attributes") {
      read_attributes(bar, state, child);
    } else if (name == "direction") {
      const auto stave = stave_number(child);
      if (!stave) return tl::unexpected(stave.error());
      const auto offset = decimal(child.child_value("offset"));
      const Rational moved = offset ? std::max(Rational{}, at + *offset / state.clock.divisions()) : at;
      directions_.direction(bar, moved, state.first_stave + std::min(*stave, state.staves) - 1, child);
    } else if (name == "sound") {
      directions_.sound(bar, at, child);
    } else if (name == "barline") {
      read_barline(bar, state.clock.furthest(), child);
    } else if (name == "print" && part == 0) {
      Bar& b = s_.bars[static_cast<std::size_t>(bar)];
      b.new_page = std::string_view(child.attribute("new-page").value()) == "yes";
      b.new_system = b.new_page || std::string_view(child.attribute("new-system").value()) == "yes";
    }
    return {};
  }

  // `end`: how far the bar has come.
  void read_barline(int bar, Rational end, pugi::xml_node node) {
    Bar& b = s_.bars[static_cast<std::size_t>(bar)];
    signs_.barline(bar, node, s_.remarks, b.label);
    const std::string_view style = node.child_value("bar-style");
    const std::string_view location = node.attribute("location").as_string("right");
    if (location == "right" &&
        (style == "light-light" || style == "light-heavy" || style == "heavy-light" || style == "heavy-heavy")) {
      b.double_bar_after = true;
    }
    if (!node.child("fermata")) return;
    Direction d;
    d.kind = Direction::Kind::pause;
    d.bar = bar;
    d.at = location == "left" ? Rational{} : end;
    directions_.add(std::move(d));
  }

  void read_attributes(int bar, PartState& state, pugi::xml_node node) {
    Bar& b = s_.bars[static_cast<std::size_t>(bar)];
    if (const auto fifths = whole(node.child("key").child_value("fifths"), -20, 20)) b.fifths = *fifths;
    if (const pugi::xml_node time = node.child("time")) {
      free_time_ = !!time.child("senza-misura");
      Rational sum;
      int beat_type = 0;
      for (pugi::xml_node c = time.child("beats"); c; c = c.next_sibling("beats")) {
        const auto type = whole(c.next_sibling("beat-type").child_value(), 1, 1024);
        if (!type) continue;
        beat_type = std::max(beat_type, *type);
        int beats = 0;
        std::string_view text = c.child_value();
        while (!text.empty()) {
          const auto plus = text.find('+');
          beats += whole(text.substr(0, plus), 1, 1000).value_or(0);
          text = plus == std::string_view::npos ? std::string_view{} : text.substr(plus + 1);
        }
        sum += Rational{4 * beats, *type};
      }
      if (beat_type > 0 && sum > Rational{}) {
        time_ = sum;
        const Rational beats = sum * Rational{beat_type, 4};
        b.beat_type = beat_type;
        b.beats = static_cast<int>(beats.num() / beats.den());
      }
    }
    for (const pugi::xml_node t : node.children("transpose")) {
      const int stave = whole(t.attribute("number").value(), 1, most_staves).value_or(0);
      const auto chromatic = decimal(t.child_value("chromatic"));
      const int octaves = whole(t.child_value("octave-change"), -10, 10).value_or(0);
      int semitones = octaves * 12;
      if (chromatic) semitones += static_cast<int>(std::lround(std::clamp(chromatic->to_double(), -200.0, 200.0)));
      if (t.child("double")) {
        semitones += std::string_view(t.child("double").attribute("above").value()) == "yes" ? 12 : -12;
      }
      if (stave == 0) state.transposed.clear();
      state.transposed[stave] = semitones;
    }
  }

  Result<void> read_note(int bar, Rational at, PartState& state, pugi::xml_node node) {
    const pugi::xml_node pitch = node.child("pitch");
    const auto stave = stave_number(node);
    if (!stave) return tl::unexpected(stave.error());
    const std::string& label = s_.bars[static_cast<std::size_t>(bar)].label;
    WrittenNote n;
    n.bar = bar;
    n.at = at;
    n.stave = state.first_stave + *stave - 1;
    n.length = state.clock.length();
    if (!pitch) {
      if (node.child("unpitched")) remarks_.once("Notes without a pitch were left out", "bar " + label);
      else read_rest_signs(n, node, directions_);
      return {};
    }
    n.voice = node.child_value("voice");
    n.grace = !!node.child("grace");
    n.cue = !!node.child("cue");
    const char step = pitch.child_value("step")[0];
    const auto octave = whole(pitch.child_value("octave"), -1, 12);
    const int base = semitone(step);
    if (base < 0 || !octave) {
      return fail("a note's <pitch> needs a <step> from A to G and an <octave> from 0 to 9", doc_.where(pitch));
    }
    Rational alter;
    if (const pugi::xml_node a = pitch.child("alter")) {
      const auto value = decimal(a.child_value());
      if (!value || *value > Rational{10} || *value < Rational{-10}) {
        return fail("a note's <alter> is no number of semitones", doc_.where(a));
      }
      alter = *value;
    }
    if (alter.den() != 1) {
      remarks_.once("Notes between the keys were moved to the nearest key", "bar " + label);
    }
    n.step = step;
    n.alter = static_cast<int>(std::lround(alter.to_double()));
    const auto own = state.transposed.find(*stave);
    const auto all = state.transposed.find(0);
    const int moved = own != state.transposed.end() ? own->second : all != state.transposed.end() ? all->second : 0;
    n.note.midi = 12 * (*octave + 1) + base + n.alter + moved;
    if (n.note.midi < 0 || n.note.midi > highest_midi) {
      remarks_.once("Notes beyond every keyboard were left out", "bar " + label);
      return {};
    }
    if (n.length == Rational{} && !n.grace) {
      remarks_.once("A note without a length was taken as a grace note", "bar " + label);
      n.grace = true;
    }
    if (n.grace) {
      PartState::Graces& g = state.graces[n.voice];
      if (g.at != at || g.next == 0) g = {at, 0};
      n.grace_place = node.child("chord") ? std::max(0, g.next - 1) : g.next++;
    } else {
      state.graces.erase(n.voice);
    }
    read_ties(n, node);
    read_notations(n, node, directions_);
    read_lyrics(n, node);
    n.file_id = node.attribute("id").value();
    if (s_.notes.size() >= most_notes) {
      return fail(fmt::format("the score has more than {} notes", most_notes), doc_.where(node));
    }
    s_.notes.push_back(std::move(n));
    r_.nodes.push_back(node);
    return {};
  }

  void read_lyrics(WrittenNote& n, pugi::xml_node node) {
    const pugi::xml_node lyric = node.child("lyric");
    if (!lyric || !lyric.child("text")) return;
    n.syllable = true;
    s_.staves[static_cast<std::size_t>(n.stave)].sung = true;
  }

  // Into the order Score promises, and numbered.
  void sort_notes() {
    std::vector<std::size_t> order(s_.notes.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    const auto key = [&](std::size_t i) -> const WrittenNote& { return s_.notes[i]; };
    std::stable_sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) {
      const WrittenNote& a = key(x);
      const WrittenNote& b = key(y);
      if (a.bar != b.bar) return a.bar < b.bar;
      if (a.at != b.at) return a.at < b.at;
      if (a.grace != b.grace) return a.grace;
      if (a.grace && a.grace_place != b.grace_place) return a.grace_place < b.grace_place;
      if (a.stave != b.stave) return a.stave < b.stave;
      return a.note < b.note;
    });
    std::vector<WrittenNote> notes;
    std::vector<pugi::xml_node> nodes;
    notes.reserve(order.size());
    nodes.reserve(order.size());
    for (const std::size_t i : order) {
      notes.push_back(std::move(s_.notes[i]));
      notes.back().id = static_cast<NoteId>(notes.size() - 1);
      nodes.push_back(r_.nodes[i]);
    }
    s_.notes = std::move(notes);
    r_.nodes = std::move(nodes);
  }

  Result<void> unfold_turns() {
    bool cut = false;
    s_.turns = unfold(s_.bars, signs_.signs(s_.bars, s_.remarks), &cut);
    if (cut) s_.remarks.emplace_back("The repeats never end; they were cut short.");
    std::vector<std::size_t> in_bar(s_.bars.size(), 0);
    for (const WrittenNote& n : s_.notes) ++in_bar[static_cast<std::size_t>(n.bar)];
    std::size_t played = 0;
    for (const Turn& t : s_.turns) played += in_bar[static_cast<std::size_t>(t.bar)];
    if (played > most_played_notes) {
      return fail(
          fmt::format("with its repeats the score has {} notes; at most {} are read", played, most_played_notes));
    }
    return {};
  }

  Reading& r_;
  Document& doc_;
  Score& s_;
  Signs signs_;
  Directions directions_;
  Remarks remarks_;
  std::vector<PartState> parts_;
  Rational time_{4};
  bool free_time_ = false;
};

}  // namespace

Result<std::unique_ptr<Reading>> read(Text text, std::string_view filename, const RoleOverrides& overrides) {
  auto r = std::make_unique<Reading>();
  r->text = std::move(text);
  auto document = Document::load(r->text.utf8, filename);
  if (!document) return tl::unexpected(document.error());
  r->document = std::move(*document);
  r->score.remarks = r->text.remarks;
  if (auto ok = Reader(*r).go(overrides); !ok) {
    Error e = ok.error();
    if (e.where.empty()) e.where = std::string(filename);
    return tl::unexpected(std::move(e));
  }
  return r;
}

}  // namespace calcant::musicxml

namespace calcant {

Result<Score> read_musicxml(std::string_view bytes, std::string_view filename, const RoleOverrides& overrides) {
  auto text = musicxml::text_of(bytes, filename);
  if (!text) return tl::unexpected(text.error());
  auto reading = musicxml::read(std::move(*text), filename, overrides);
  if (!reading) return tl::unexpected(reading.error());
  return std::move((*reading)->score);
}

}  // namespace calcant
