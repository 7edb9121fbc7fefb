#include <fmt/format.h>

#include <set>
#include <string>

#include "engine/organ/organ.hpp"
#include "engine/organ/registration.hpp"

namespace calcant {
namespace {

class Checker {
 public:
  explicit Checker(const Organ& o) : o_(o) {}

  std::vector<std::string> all() {
    ids(o_.keyboards, "keyboard", max_keyboards);
    ids(o_.divisions, "division", 64);
    ids(o_.chests, "chest", 64);
    ids(o_.ranks, "rank", max_ranks);
    ids(o_.stops, "stop", max_stops);
    ids(o_.couplers, "coupler", max_couplers);
    ids(o_.boxes, "box", max_boxes);
    ids(o_.accessories, "accessory", max_accessories);
    ids(o_.places, "place", 64);
    if (o_.keyboards.empty()) say("the organ has no keyboard");
    for (const Keyboard& k : o_.keyboards) {
      index(k.division, o_.divisions, "keyboard " + k.id);
      if (k.keys.empty()) say("keyboard " + k.id + " has no keys");
    }
    for (const Division& d : o_.divisions) {
      if (d.keyboard) index(*d.keyboard, o_.keyboards, "division " + d.id);
      if (d.box) index(*d.box, o_.boxes, "division " + d.id);
      if (d.low.midi < 0 || d.high.midi > highest_midi || d.low > d.high) say("division " + d.id + " has no notes");
    }
    for (const Chest& c : o_.chests) index(c.division, o_.divisions, "chest " + c.id);
    for (const Rank& r : o_.ranks) rank(r);
    for (const Stop& s : o_.stops) stop(s);
    for (const Coupler& c : o_.couplers) {
      index(c.from, o_.keyboards, "coupler " + c.id);
      index(c.to, o_.divisions, "coupler " + c.id);
      for (const CouplerIndex k : c.carries) index(k, o_.couplers, "coupler " + c.id);
      if (c.semitones < -48 || c.semitones > 48) say("coupler " + c.id + " moves by more than four octaves");
    }
    for (const Accessory& a : o_.accessories) {
      if (a.division) index(*a.division, o_.divisions, "accessory " + a.id);
      if (a.reverses) index(*a.reverses, o_.couplers, "accessory " + a.id);
    }
    for (const Place& p : o_.places) {
      if (p.from_division.size() != o_.divisions.size()) say("place " + p.id + " lacks a distance for each division");
    }
    if (o_.action.delay.size() != o_.divisions.size()) say("the action lacks a delay for each division");
    if (!o_.dead.empty() && o_.dead.size() != o_.ranks.size()) say("dead pipes are not listed by rank");
    if (!(o_.pitch.a.value.value() > 0)) say("the pitch is no frequency");
    return std::move(said_);
  }

 private:
  void say(std::string what) { said_.push_back(std::move(what)); }

  template <class Vector>
  void ids(const Vector& things, const char* kind, int most) {
    if (static_cast<int>(things.size()) > most) say(fmt::format("there are more than {} of kind {}", most, kind));
    std::set<std::string> seen;
    for (const auto& t : things) {
      if (t.id.empty() || !seen.insert(t.id).second) say(fmt::format("{} id \"{}\" is empty or twice", kind, t.id));
    }
  }
  template <class Vector>
  void index(int i, const Vector& things, const std::string& of) {
    if (i < 0 || i >= static_cast<int>(things.size())) say(of + " refers to what is not there");
  }
  void rank(const Rank& r) {
    index(r.chest, o_.chests, "rank " + r.id);
    if (r.pipes < 1 || r.pipes > highest_midi || r.low_key.midi < 0 || r.high_key().midi > highest_midi) {
      say("rank " + r.id + " has pipes beyond 0..127");
    }
    if (r.pitch.empty()) return say("rank " + r.id + " has no length");
    if (r.pitch.front().from > r.low_key) say("rank " + r.id + " has no length at its lowest key");
    for (std::size_t i = 1; i < r.pitch.size(); ++i) {
      if (r.pitch[i].from <= r.pitch[i - 1].from) say("rank " + r.id + " has breaks out of order");
    }
  }
  void stop(const Stop& s) {
    index(s.division, o_.divisions, "stop " + s.id);
    if (s.parts.empty()) say("stop " + s.id + " draws no rank");
    for (const StopPart& p : s.parts) {
      index(p.rank, o_.ranks, "stop " + s.id);
      if (p.from.midi < 0 || p.to.midi > highest_midi || p.from > p.to)
        say("stop " + s.id + " has a part with no keys");
      if (p.step < -highest_midi || p.step > highest_midi) say("stop " + s.id + " steps out of every compass");
    }
  }

  const Organ& o_;
  std::vector<std::string> said_;
};

}  // namespace

std::vector<std::string> breaches(const Organ& o) { return Checker{o}.all(); }

}  // namespace calcant
