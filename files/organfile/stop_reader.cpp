// Stops, couplers, accessories: what stands on the console.
#include <fmt/format.h>

#include <algorithm>

#include "files/organfile/organ_reader.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant::organ_toml {

KnobPlace OrganReader::knob(Section& s) {
  KnobPlace place;
  const Value* v = s.value("knob");
  if (v == nullptr) return place;
  if (v->kind != Value::Kind::table) {
    s.fault(v->place, "\"knob\" should say where it stands: { jamb = \"left\", column = 1, row = 3 }");
    return place;
  }
  Section k{faults_, *v, "the knob of " + s.what()};
  (void)k.required("jamb", "\"left\"");
  place.jamb = static_cast<Jamb>(k.choice("jamb", {{"left", static_cast<int>(Jamb::left)},
                                                   {"right", static_cast<int>(Jamb::right)},
                                                   {"over manual", static_cast<int>(Jamb::over_manual)},
                                                   {"unknown", static_cast<int>(Jamb::unknown)}})
                                     .value_or(static_cast<int>(Jamb::unknown)));
  place.column = k.whole("column", 0, 20).value_or(0);
  place.row = k.whole("row", 0, 40).value_or(0);
  k.finish();
  return place;
}

// How far a stop of this length lies above its rank, in semitones: 8 ft from a 16 ft rank is an octave.
int OrganReader::step_between(Section& s, Place at, std::optional<Feet> stop_feet, RankIndex index) {
  const Rank& rank = o_.ranks[static_cast<std::size_t>(index)];
  if (!stop_feet || rank.pitch.size() != 1) return 0;
  const int step = stop_feet->semitones() - rank.pitch.front().feet.semitones();
  if (step != 0 && rank.pitch.front().feet.is_octave() != stop_feet->is_octave() && !stop_feet->is_octave()) {
    note(fmt::format("{} makes a {} ft stop from the {} ft rank \"{}\": its fifths and thirds are the rank's, tempered",
                     s.what(), to_string(*stop_feet), to_string(rank.pitch.front().feet), rank.id));
  }
  if (step < -36 || step > 60) {
    s.fault(at, fmt::format("{} is {} ft, but rank \"{}\" is {} ft: too far apart to be one of the other", s.what(),
                            to_string(*stop_feet), rank.id, to_string(rank.pitch.front().feet)));
    return 0;
  }
  return step;
}

void OrganReader::listed_parts(Section& s, Stop& stop, const Value& parts) {
  if (parts.kind != Value::Kind::list || parts.list.empty()) {
    s.fault(parts.place, "\"parts\" should be a list such as [{ rank = \"gt-open\", from = \"C2\", to = \"B2\" }]");
    return;
  }
  for (const Value& v : parts.list) {
    if (v.kind != Value::Kind::table) {
      s.fault(v.place, "a part should be a table: { rank = \"gt-open\", from = \"C2\", to = \"B2\" }");
      continue;
    }
    Section p{faults_, v, "this part of " + s.what()};
    (void)p.required("rank", "\"gt-open\"");
    const auto rank = refer(p, "rank", Kind::rank);
    StopPart part;
    part.rank = rank.value_or(0);
    const Division& d = o_.divisions[static_cast<std::size_t>(stop.division)];
    part.from = p.note("from").value_or(d.low);
    part.to = p.note("to").value_or(Note{highest_midi});
    if (part.from > part.to) p.fault(p.place_of("from"), p.what() + " begins above its end");
    part.borrowed = p.truth("borrowed").value_or(false);
    std::optional<Feet> feet;
    if (const Value* f = p.value("feet"); f != nullptr) feet = p.feet(*f);
    else if (stop.feet.size() == 1) feet = stop.feet.front();
    if (rank) part.step = step_between(p, p.place(), feet, part.rank);
    p.finish();
    if (rank && part.from <= part.to) stop.parts.push_back(part);
  }
}

void OrganReader::stop_parts(Section& s, Stop& stop) {
  const Division& d = o_.divisions[static_cast<std::size_t>(stop.division)];
  const Note top{highest_midi};
  if (const Value* parts = s.value("parts"); parts != nullptr) {
    for (const std::string_view key : {"rank", "ranks", "from", "to", "bass"}) {
      if (s.has(key)) {
        s.fault(s.place_of(key), fmt::format("{} says parts, so \"{}\" belongs inside them", s.what(), key));
        (void)s.value(key);
      }
    }
    listed_parts(s, stop, *parts);
    return;
  }
  const std::string_view key = s.has("rank") ? "rank" : "ranks";
  const std::string_view other = s.has("rank") ? "ranks" : "rank";
  (void)s.value(other);
  if (s.has(key) && s.has(other)) s.fault(s.place_of(other), s.what() + " says both rank and ranks; keep one");
  (void)s.required(s.has("ranks") ? "ranks" : "rank", "\"gt-open\"");
  const auto names = s.texts(key);
  const Note from = s.note("from").value_or(d.low);
  const Note to = s.note("to").value_or(top);
  if (from > to) {
    s.fault(s.place_of_value("to"), s.what() + " begins above its end");
    return;
  }
  std::vector<RankIndex> own;
  if (names) {
    for (std::size_t i = 0; i < names->size(); ++i) {
      const auto rank = refer_to(s, s.place_of_value(key), (*names)[i], Kind::rank);
      if (!rank) continue;
      std::optional<Feet> feet;
      if (stop.feet.size() == 1 && names->size() == 1) feet = stop.feet.front();
      else if (stop.feet.size() == names->size()) feet = stop.feet[i];
      stop.parts.push_back({*rank, from, to, step_between(s, s.place_of(key), feet, *rank), false});
      own.push_back(*rank);
    }
  }
  if (const auto lender = refer(s, "bass", Kind::rank)) {
    if (from <= d.low) {
      s.fault(s.place_of("bass"),
              fmt::format("{} borrows a bass but has its own notes from {}; say from where it is its "
                          "own: from = \"C3\"",
                          s.what(), name(from)));
    } else if (std::find(own.begin(), own.end(), *lender) != own.end()) {
      s.fault(s.place_of("bass"), s.what() + " borrows its bass from its own rank");
    } else {
      const std::optional<Feet> feet = stop.feet.size() == 1 ? std::optional{stop.feet.front()} : std::nullopt;
      stop.parts.push_back(
          {*lender, d.low, Note{from.midi - 1}, step_between(s, s.place_of("bass"), feet, *lender), true});
    }
  }
}

// What a stop names must give pipes to at least some of its division's notes.
void OrganReader::stop_checks(Section& s, Stop& stop) {
  const Division& d = o_.divisions[static_cast<std::size_t>(stop.division)];
  for (const StopPart& p : stop.parts) {
    const Rank& r = o_.ranks[static_cast<std::size_t>(p.rank)];
    const int low = std::max({p.from.midi, d.low.midi, r.low_key.midi - p.step});
    const int high = std::min({p.to.midi, d.high.midi, r.high_key().midi - p.step});
    if (low > high) {
      s.fault(
          s.place(),
          fmt::format("{} finds no pipe: rank \"{}\" has {}-{}, the division {}-{}, the stop begins at {}", s.what(),
                      r.id, name(r.low_key), name(r.high_key()), name(d.low), name(d.high), name(p.from)));
    }
  }
  if (stop.mixture_ranks > 0 && static_cast<std::size_t>(stop.mixture_ranks) < stop.parts.size()) {
    const bool over = std::count_if(stop.parts.begin(), stop.parts.end(),
                                    [](const StopPart& p) { return !p.borrowed; }) > stop.mixture_ranks;
    if (over) {
      s.fault(s.place_of_value("mixture_ranks"),
              fmt::format("{} says {} ranks but names {}", s.what(), stop.mixture_ranks, stop.parts.size()));
    }
  }
}

void OrganReader::stops() {
  if (o_.divisions.empty()) {
    if (!tables(Kind::stop).empty() && !tree_.names_lost) {
      faults_.add({1, 1}, "the file has no division for its stops; write [[division]] with id and name");
    }
    return;
  }
  if (o_.ranks.empty() && !tables(Kind::stop).empty() && !tree_.names_lost) {
    faults_.add({1, 1}, "the file has no rank for its stops; write [[rank]] with id, chest, family, feet and notes");
  }
  for (std::size_t i = 0; i < tables(Kind::stop).size(); ++i) {
    Section s = section(Kind::stop, i);
    Stop stop;
    stop.id = id_of(Kind::stop, i);
    (void)s.required("name", "\"Open Diapason\"");
    stop.name = s.text("name").value_or(stop.id);
    (void)s.required("division", "\"great\"");
    stop.division = refer(s, "division", Kind::division).value_or(0);
    if (const Value* feet = s.value("feet"); feet != nullptr) {
      if (feet->kind == Value::Kind::list) {
        for (const Value& f : feet->list) {
          if (const auto length = s.feet(f)) stop.feet.push_back(*length);
        }
        if (stop.feet.size() > 12) s.fault(feet->place, s.what() + " names more than 12 lengths");
      } else if (const auto length = s.feet(*feet)) {
        stop.feet.push_back(*length);
      }
    }
    stop.mixture_ranks = s.whole("mixture_ranks", 1, 12).value_or(0);
    if (!s.has("feet") && !s.has("mixture_ranks")) (void)s.required("feet", "8");
    stop_parts(s, stop);
    Family first = Family::principal;
    bool beats = false;
    if (!stop.parts.empty()) {
      const Rank& r = o_.ranks[static_cast<std::size_t>(stop.parts.front().rank)];
      first = r.family;
      beats = r.partner.has_value();
    }
    const auto as_int = [](auto e) { return static_cast<int>(e); };
    stop.family = static_cast<Family>(s.choice("family", {{"principal", as_int(Family::principal)},
                                                          {"flute", as_int(Family::flute)},
                                                          {"string", as_int(Family::string)},
                                                          {"reed", as_int(Family::reed)}})
                                          .value_or(as_int(first)));
    stop.celeste = s.truth("celeste").value_or(beats);
    stop.tremulous_solo = s.truth("solo").value_or(false);
    stop.from_assumption = s.truth("assumed").value_or(false);
    stop.place = knob(s);
    if (!o_.ranks.empty()) stop_checks(s, stop);
    s.finish();
    o_.stops.push_back(std::move(stop));
  }
}

void OrganReader::couplers() {
  if (o_.keyboards.empty() || o_.divisions.empty()) return;
  for (std::size_t i = 0; i < tables(Kind::coupler).size(); ++i) {
    Section s = section(Kind::coupler, i);
    Coupler c;
    c.id = id_of(Kind::coupler, i);
    (void)s.required("name", "\"Swell to Great\"");
    c.name = s.text("name").value_or(c.id);
    (void)s.required("from", "\"great\"");
    const auto from = refer(s, "from", Kind::keyboard);
    (void)s.required("to", "\"swell\"");
    const auto to = refer(s, "to", Kind::division);
    c.from = from.value_or(0);
    c.to = to.value_or(0);
    c.semitones = s.whole("semitones", -36, 36).value_or(0);
    c.unison_off = s.truth("unison_off").value_or(false);
    const DivisionIndex home = o_.keyboards[static_cast<std::size_t>(c.from)].division;
    if (from && to) {
      if (c.unison_off && (home != c.to || c.semitones != 0)) {
        s.fault(s.place_of("unison_off"), s.what() +
                                              " is a unison off: it goes from a keyboard to its own division, "
                                              "with no semitones");
      } else if (!c.unison_off && home == c.to && c.semitones == 0) {
        s.fault(s.place_of_value("to"), s.what() +
                                            " does nothing: it leads a keyboard to its own division at the unison; say "
                                            "semitones = 12 for an octave coupler, or unison_off = true");
      }
    }
    if (const auto carries = s.texts("carries")) {
      for (const std::string& id : *carries) {
        if (const auto k = refer_to(s, s.place_of_value("carries"), id, Kind::coupler)) c.carries.push_back(*k);
      }
    }
    std::sort(c.carries.begin(), c.carries.end());
    c.carries.erase(std::unique(c.carries.begin(), c.carries.end()), c.carries.end());
    if (const auto tried = s.text("tried"); tried && *tried != "not tried") {
      c.tried = true;
      c.tried_on = *tried;
      const bool date = tried->size() == 10 && (*tried)[4] == '-' && (*tried)[7] == '-';
      if (!date) {
        s.fault(s.place_of_value("tried"),
                "\"tried\" should be the date of the trial at the console, \"2026-03-31\", or \"not tried\"");
      }
    }
    c.place = knob(s);
    s.finish();
    o_.couplers.push_back(std::move(c));
  }
  // A coupler acts on notes that have come to the division its own keyboard plays.
  for (std::size_t i = 0; i < o_.couplers.size(); ++i) {
    for (const CouplerIndex k : o_.couplers[i].carries) {
      if (static_cast<std::size_t>(k) >= o_.couplers.size()) continue;
      const Coupler& fed = o_.couplers[static_cast<std::size_t>(k)];
      Section s = section(Kind::coupler, i);
      if (o_.keyboards[static_cast<std::size_t>(fed.from)].division != o_.couplers[i].to) {
        s.fault(s.place_of_value("carries"),
                fmt::format("{} cannot carry \"{}\": it brings notes to the {}, and \"{}\" starts from the {}",
                            s.what(), fed.id, o_.divisions[static_cast<std::size_t>(o_.couplers[i].to)].name, fed.id,
                            o_.keyboards[static_cast<std::size_t>(fed.from)].name));
      } else if (fed.unison_off) {
        s.fault(s.place_of_value("carries"), fmt::format("{} cannot carry \"{}\", a unison off", s.what(), fed.id));
      }
    }
  }
  const bool untried =
      std::any_of(o_.couplers.begin(), o_.couplers.end(), [](const Coupler& c) { return !c.unison_off && !c.tried; });
  if (untried) note(std::string{couplers_untried});
}

void OrganReader::accessories() {
  for (std::size_t i = 0; i < tables(Kind::accessory).size(); ++i) {
    Section s = section(Kind::accessory, i);
    Accessory a;
    a.id = id_of(Kind::accessory, i);
    (void)s.required("name", "\"Tremulant\"");
    a.name = s.text("name").value_or(a.id);
    (void)s.required("kind", "\"tremulant\"");
    a.kind = static_cast<AccessoryKind>(s.choice("kind", {{"tremulant", static_cast<int>(AccessoryKind::tremulant)},
                                                          {"composition", static_cast<int>(AccessoryKind::composition)},
                                                          {"reverser", static_cast<int>(AccessoryKind::reverser)},
                                                          {"other", static_cast<int>(AccessoryKind::other)}})
                                            .value_or(static_cast<int>(AccessoryKind::other)));
    a.division = refer(s, "division", Kind::division);
    if (a.division && static_cast<std::size_t>(*a.division) >= o_.divisions.size()) a.division.reset();
    if (a.kind == AccessoryKind::tremulant && !s.has("division")) (void)s.required("division", "\"swell\"");
    if (const auto draws = s.texts("draws")) {
      std::vector<std::string> known = ids_[Kind::stop].all;
      known.insert(known.end(), ids_[Kind::coupler].all.begin(), ids_[Kind::coupler].all.end());
      for (const std::string& id : *draws) {
        const bool there = std::find(known.begin(), known.end(), id) != known.end();
        if (there) a.draws.push_back(id);
        else if (!tree_.names_lost) {
          s.fault(s.place_of_value("draws"), fmt::format("{} draws \"{}\", which is no stop or coupler of this file{}",
                                                         s.what(), id.substr(0, 60), perhaps(id, known)));
        }
      }
      if (a.kind != AccessoryKind::composition) {
        s.fault(s.place_of_value("draws"), s.what() + " is no composition pedal, so it draws nothing");
      }
    }
    if (s.has("reverses")) {
      a.reverses = refer(s, "reverses", Kind::coupler);
      if (a.reverses && static_cast<std::size_t>(*a.reverses) >= o_.couplers.size()) a.reverses.reset();
    } else if (a.kind == AccessoryKind::reverser) {
      (void)s.required("reverses", "\"gt-pd\"");
    }
    a.by_foot = s.truth("by_foot").value_or(a.kind == AccessoryKind::composition || a.kind == AccessoryKind::reverser);
    a.place = knob(s);
    s.finish();
    o_.accessories.push_back(std::move(a));
  }
}

}  // namespace calcant::organ_toml
