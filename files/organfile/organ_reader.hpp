// From a tree of keys and values to an Organ: one function a kind of table. Inside this part only.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "files/organfile/section.hpp"

namespace calcant::organ_toml {

enum class Kind { keyboard, division, box, chest, rank, stop, coupler, accessory, place };

class OrganReader {
 public:
  OrganReader(const toml_tree::Tree& tree, Faults& faults);

  // Reads everything; what could not be read has been told to the faults.
  void read();

  [[nodiscard]] Organ& organ() { return o_; }
  [[nodiscard]] std::vector<std::string>& notes() { return notes_; }
  [[nodiscard]] const std::string& pipe_figures() const { return pipe_figures_; }

 private:
  struct Ids {
    std::map<std::string, int, std::less<>> index;
    std::vector<std::string> all;
  };

  // organ_reader.cpp
  void collect(Kind kind, int most);
  const std::vector<Value>& tables(Kind kind);
  Section section(Kind kind, std::size_t i);
  Section single(std::string_view name, const Value& value);
  bool damaged(const Value& table) const;
  std::optional<int> refer(Section& s, std::string_view key, Kind kind);
  std::optional<int> refer_to(Section& s, Place at, const std::string& id, Kind kind);
  void note(std::string what) { notes_.push_back(std::move(what)); }
  std::string id_of(Kind kind, std::size_t i) const;

  void top();
  void keyboards();
  void divisions();
  void boxes();
  void chests();
  void ranks();
  void rank_lengths(Section& s, Rank& r);
  void rank_compass(Section& s, Rank& r);

  // stop_reader.cpp
  void stops();
  void stop_parts(Section& s, Stop& stop);
  void listed_parts(Section& s, Stop& stop, const Value& parts);
  int step_between(Section& s, Place at, std::optional<Feet> stop_feet, RankIndex rank);
  void stop_checks(Section& s, Stop& stop);
  KnobPlace knob(Section& s);
  void couplers();
  void accessories();

  // house_reader.cpp
  void pitch();
  void room();
  void surfaces(Section& s);
  void wind();
  void action();
  void console();
  void places();
  // The table of this name under the root; an empty one when it is not there.
  const Value& part(std::string_view name);

  const toml_tree::Tree& tree_;
  Faults& faults_;
  Section root_;
  Organ o_;
  std::vector<std::string> notes_;
  std::string pipe_figures_;
  std::map<Kind, Ids> ids_;
};

// A figure read, or what is assumed in its place and why.
template <class Q>
void set(Sourced<Q>& into, const std::optional<Sourced<double>>& read, Q otherwise, std::string_view basis) {
  if (!read) {
    into = assumed(otherwise, std::string{basis});
    return;
  }
  into = {Q{read->value}, read->source, read->half_width_95, read->date, read->basis, read->conditions};
}

}  // namespace calcant::organ_toml
