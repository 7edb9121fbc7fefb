#include "engine/measuring/shared_findings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "engine/quantity/listed.hpp"

namespace calcant {
namespace {

// A fault as wind and action would share it: its kind, and to which side.
struct Way {
  FindingKind kind;
  bool down = false;  // flat, soft
  friend auto operator<=>(const Way&, const Way&) = default;
};

bool of_wind_or_action(FindingKind k) {
  switch (k) {
    case FindingKind::dead:
    case FindingKind::cipher:
    case FindingKind::late:
    case FindingKind::slow_speech:
    case FindingKind::too_soft:
    case FindingKind::out_of_tune:
    case FindingKind::unsteady:
    case FindingKind::noisy: return true;
    default: return false;
  }
}

std::string said(Way w) {
  switch (w.kind) {
    case FindingKind::dead: return "gives no sound";
    case FindingKind::cipher: return "sounds on";
    case FindingKind::late: return "comes late";
    case FindingKind::slow_speech: return "is slow to speak";
    case FindingKind::too_soft: return "is soft";
    case FindingKind::out_of_tune: return w.down ? "is flat" : "is sharp";
    case FindingKind::unsteady: return "wavers";
    default: return "is noisy";
  }
}

std::string key_names(const std::vector<Note>& keys) {
  std::vector<std::string> names;
  for (const Note n : keys) names.push_back(name(n));
  return listed(names);
}

const SeparatingTest box_and_knobs{
    "Couplers off; draw the stops of this keyboard one at a time and play the keys named, then their neighbours: write "
    "down "
    "which stop and which key.",
    Who::organist};
const SeparatingTest after_wind{"Again after half an hour of wind, and on a warm and a cold day.", Who::organist};
const SeparatingTest at_the_chest{"Wind at the groove, pallet opening, motor and tube of these notes.", Who::builder};

// Everything that is known of one chest.
struct Chest {
  std::vector<const StopFindings*> stops;
  std::map<Way, std::map<Note, std::vector<std::string>>> faulty;  // key: stops that show it
};

bool speaks(const StopFindings& s, Note key) {
  return std::ranges::any_of(s.notes, [&](const MeasuredNote& n) {
    return n.key == key && n.state == NoteState::speaks && n.pitch.has_value();
  });
}
bool measured(const StopFindings& s, Note key) {
  return std::ranges::any_of(s.notes,
                             [&](const MeasuredNote& n) { return n.key == key && n.state != NoteState::unsure; });
}

class Finder {
 public:
  void chest(const Chest& c) {
    for (const auto& [way, keys] : c.faulty) {
      std::set<Note> told;
      grooves(c, way, keys, told);
      region(way, keys, told);
      alone(c, way, keys, told);
    }
  }
  std::vector<SharedFinding> take() { return std::move(found_); }

 private:
  void grooves(const Chest& c, Way way, const std::map<Note, std::vector<std::string>>& keys, std::set<Note>& told) {
    for (const auto& [key, stops] : keys) {
      const auto tried =
          std::ranges::count_if(c.stops, [&, k = key](const StopFindings* s) { return s->grooved && measured(*s, k); });
      if (stops.size() < 2 || 3 * static_cast<std::ptrdiff_t>(stops.size()) < 2 * tried) continue;
      told.insert(key);
      found_.push_back({way.kind,
                        {key},
                        stops,
                        "one groove",
                        fmt::format("{} {} on {}: what these share at this key, its groove, pallet or action, and not "
                                    "the pipes.",
                                    name(key), said(way), listed(stops)),
                        {"the note's motor, tube or primary", "its pallet, or wind short or leaking at its groove"},
                        {box_and_knobs, after_wind, at_the_chest},
                        Who::builder});
    }
  }

  void region(Way way, const std::map<Note, std::vector<std::string>>& keys, std::set<Note>& told) {
    std::vector<Note> all;
    std::set<std::string> stops;
    for (const auto& [key, named] : keys) {
      all.push_back(key);
      stops.insert(named.begin(), named.end());
    }
    if (all.size() < 5 || stops.size() < 2) return;
    const auto on_side = std::ranges::count_if(all, [&](Note n) { return n.midi % 2 == all.front().midi % 2; });
    std::string shared;
    std::string cause;
    if (on_side == static_cast<std::ptrdiff_t>(all.size())) {
      shared = all.front().midi % 2 == 0 ? "C side" : "C sharp side";
      cause = "wind to this side of the chest, or its temperature, differs from the other's";
    } else if (all.back().midi - all.front().midi < 12) {
      shared = "one octave";
      cause = "a leak, a draught or a crack at this part of the chest";
    } else {
      return;
    }
    told.insert(all.begin(), all.end());
    const std::vector<std::string> named(stops.begin(), stops.end());
    found_.push_back({way.kind,
                      all,
                      named,
                      shared,
                      fmt::format("{} ({}): each {}, over {}.", key_names(all), shared, said(way), listed(named)),
                      {cause, "the trunk or reservoir that feeds it"},
                      {box_and_knobs, after_wind, at_the_chest},
                      Who::builder});
  }

  void alone(const Chest& c, Way way, const std::map<Note, std::vector<std::string>>& keys, std::set<Note>& told) {
    const bool tells = way.kind == FindingKind::dead || way.kind == FindingKind::cipher ||
                       way.kind == FindingKind::late || way.kind == FindingKind::slow_speech;
    if (!tells) return;
    for (const auto& [key, stops] : keys) {
      if (stops.size() != 1 || told.contains(key)) continue;
      std::vector<std::string> fine;
      for (const StopFindings* s : c.stops)
        if (s->grooved && s->stop != stops.front() && speaks(*s, key)) fine.push_back(s->stop);
      if (fine.empty()) continue;
      found_.push_back(
          {way.kind,
           {key},
           stops,
           "one stop",
           fmt::format("{} {} on {} alone; {} {} there: the pipe or its hole, and not the "
                       "action.",
                       name(key), said(way), stops.front(), listed(fine),
                       fine.size() == 1 ? "speaks as it should" : "speak as they should"),
           {"the pipe itself, dust in it or a blocked foot hole", "the slider not fully drawn at this note"},
           {box_and_knobs, {"The pipe out and looked at, its hole blown through.", Who::builder}},
           Who::builder});
    }
  }

  std::vector<SharedFinding> found_;
};

}  // namespace

std::vector<SharedFinding> shared_findings(std::span<const StopFindings> stops) {
  std::map<std::string, Chest> chests;
  for (const StopFindings& s : stops) {
    Chest& c = chests[s.chest];
    c.stops.push_back(&s);
    for (const Finding& f : s.findings) {
      if (!of_wind_or_action(f.kind)) continue;
      const Way way{f.kind, f.kind == FindingKind::out_of_tune && f.amount < 0.0};
      for (const Note key : f.keys) {
        auto& named = c.faulty[way][key];
        if (std::ranges::find(named, s.stop) == named.end()) named.push_back(s.stop);
      }
    }
  }
  Finder finder;
  for (auto& [id, chest] : chests) {
    const bool grooved = std::ranges::any_of(chest.stops, [](const StopFindings* s) { return s->grooved; });
    if (grooved && chest.stops.size() > 1) finder.chest(chest);
  }
  return finder.take();
}

}  // namespace calcant
