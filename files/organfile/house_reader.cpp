// Pitch, room, wind, action, console, listening places: figures that every organ has and few owners know.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "files/organfile/organ_reader.hpp"

namespace calcant::organ_toml {

void OrganReader::pitch() {
  Section s = single("pitch", part("pitch"));
  if (!s.has("a_hz")) note("the pitch is not said: A = 440 Hz at 15 C is assumed");
  set(o_.pitch.a, s.figure("a_hz", {370, 500, " Hz"}), Hertz{440}, "usual pitch");
  set(o_.pitch.at, s.figure("at_celsius", {-10, 40, " degrees Celsius"}), Celsius{15}, "a church in use");
  if (const Value* own = s.value("own_cents"); own != nullptr) {
    if (s.has("temperament"))
      s.fault(s.place_of_value("temperament"), "[pitch] says both temperament and own_cents; keep one");
    (void)s.value("temperament");
    std::array<double, 12> cents{};
    bool sound = own->kind == Value::Kind::list && own->list.size() == 12;
    for (std::size_t i = 0; sound && i < 12; ++i) {
      sound = own->list[i].number() && std::isfinite(own->list[i].real);
      if (sound) cents[i] = own->list[i].real;
    }
    const std::string called = s.text("own_name").value_or("Own temperament");
    const Result<Temperament> t = sound ? own_temperament(called, cents)
                                        : Result<Temperament>{fail("\"own_cents\" should be twelve numbers, the "
                                                                   "cents of each note above C, C first")};
    if (t) o_.temperament = *t;
    else s.fault(own->place, t.error().message);
  } else if (const auto id = s.text("temperament")) {
    if (const Result<Temperament> t = temperament(*id)) o_.temperament = *t;
    else s.fault(s.place_of_value("temperament"), t.error().message);
  }
  s.finish();
}

// Where neither surfaces nor reverberation are given, the field assumes a reverberation (engine/room/field.hpp).
void OrganReader::surfaces(Section& s) {
  Room& room = o_.room;
  const Value* v = s.value("surface");
  if (v != nullptr) {
    if (v->kind != Value::Kind::list) {
      s.fault(v->place, "\"surface\" should be a row of tables: write [[room.surface]] over each");
      return;
    }
    for (const Value& item : v->list) {
      if (item.kind != Value::Kind::table) {
        s.fault(item.place, "a surface should be a table with name, area_m2 and absorption");
        continue;
      }
      Section t{faults_, item, "this surface", damaged(item)};
      Surface surface;
      surface.name = t.text("name").value_or("surface");
      (void)t.required("area_m2", "120");
      if (const auto area = t.figure("area_m2", {0.1, 50000, " square metres"}))
        surface.area = SquareMetres{area->value};
      if (const Value* a = t.required("absorption", "[0.02, 0.02, 0.03, 0.03, 0.04, 0.05, 0.06, 0.07]")) {
        if (const auto bands = t.bands_of(*a, "absorption", {0, 1, ""})) surface.absorption = *bands;
      }
      t.finish();
      if (surface.area.value() > 0) room.surfaces.push_back(std::move(surface));
    }
    return;
  }
  if (!room.reverberation)
    note(
        "neither surfaces nor reverberation of the room are said: 1.6 s in 2000 cubic metres is assumed, more or less "
        "with the cube root of volume");
}

void OrganReader::room() {
  Section s = single("room", part("room"));
  Room& room = o_.room;
  if (const Value* size = s.value("size_m"); size != nullptr) {
    const bool sound = size->kind == Value::Kind::list && size->list.size() == 3 &&
                       std::all_of(size->list.begin(), size->list.end(),
                                   [](const Value& v) { return v.number() && v.real >= 1 && v.real <= 300; });
    if (!sound) s.fault(size->place, "\"size_m\" should be length, width and height in metres, [24, 9, 8]");
    for (std::size_t i = 0; sound && i < 3; ++i) room.size[i] = Metres{size->list[i].real};
  }
  const auto volume = s.figure("volume_m3", {20, 500000, " cubic metres"});
  const double box = room.size[0].value() * room.size[1].value() * room.size[2].value();
  if (volume) {
    set(room.volume, volume, CubicMetres{}, "");
  } else if (box > 0) {
    room.volume = {CubicMetres{box}, Source::computed, {}, {}, "length by width by height", {}};
  } else {
    room.volume = assumed(CubicMetres{1500}, "a village church");
    note("the room is not said: a church of 1500 cubic metres is assumed");
  }
  if (!(box > 0)) {
    // A box of the usual long shape: 2.5 by 1 by 0.9.
    const double width = std::cbrt(room.volume.value.value() / (2.5 * 0.9));
    room.size = {Metres{2.5 * width}, Metres{width}, Metres{0.9 * width}};
  }
  const auto seats = s.figure("seats", {0, 20000, " people"});
  room.seats =
      seats ? Sourced<int>{static_cast<int>(std::lround(seats->value)),
                           seats->source,
                           seats->half_width_95,
                           seats->date,
                           seats->basis,
                           seats->conditions}
            : assumed(static_cast<int>(std::lround(room.volume.value.value() / 10)), "one seat to 10 cubic metres");
  room.reverberation = s.bands("reverberation_s", {0.1, 20, " seconds"});
  set(room.temperature, s.figure("celsius", {-20, 45, " degrees Celsius"}), o_.pitch.at.value, "as tuned");
  set(room.humidity, s.figure("humidity", {0, 1, ""}), 0.6, "an unheated church");
  surfaces(s);
  s.finish();
}

void OrganReader::wind() {
  Section s = single("wind", part("wind"));
  const double ranks = std::max(1.0, static_cast<double>(o_.ranks.size()));
  set(o_.wind.blower, s.figure("blower_l_per_s", {1, 5000, " litres a second"}), LitresPerSecond{20 * ranks},
      "20 litres a second a rank, no source");
  set(o_.wind.hand_pump, s.figure("hand_pump_l_per_s", {0, 2000, " litres a second"}), LitresPerSecond{0},
      "no hand pump in use");
  set(o_.wind.reservoir, s.figure("reservoir_m3", {0, 100, " cubic metres"}), CubicMetres{0.08 * ranks},
      "80 litres a rank, no source");
  s.finish();
}

void OrganReader::action() {
  Section s = single("action", part("action"));
  o_.action.kind = s.text("kind").value_or("tubular-pneumatic");
  set(o_.action.repeats_per_second, s.figure("repeats_per_second", {1, 40, " a second"}), 8.0,
      "tubular-pneumatic action in good order, 6 to 10, from memory");
  o_.action.delay.assign(o_.divisions.size(),
                         assumed(Seconds{0.07}, "tubular-pneumatic action, 50 to 150 ms, from memory"));
  if (const Value* delay = s.value("delay_ms"); delay != nullptr && delay->kind == Value::Kind::table) {
    for (const toml_tree::Entry& e : delay->table) {
      const auto division = refer_to(s, e.place, e.key, Kind::division);
      const auto figure = s.figure_of(e.value, "delay_ms", {0, 2000, " ms"});
      if (!division || !figure || static_cast<std::size_t>(*division) >= o_.action.delay.size()) continue;
      Sourced<Seconds>& into = o_.action.delay[static_cast<std::size_t>(*division)];
      set(into, figure, Seconds{}, "");
      into.value = Seconds{figure->value / 1000};
    }
  } else if (delay != nullptr) {
    s.fault(delay->place, "\"delay_ms\" should say it for each division: { great = 60, swell = 80 }");
  }
  s.finish();
}

void OrganReader::console() {
  Section s = single("console", part("console"));
  const auto millimetres = [&](std::string_view key, Range range, double otherwise, std::string_view basis) {
    Sourced<Metres> out;
    const auto read = s.figure(key, range);
    set(out, read, Metres{otherwise / 1000}, basis);
    if (read) out.value = Metres{read->value / 1000};
    return out;
  };
  Console& c = o_.console;
  c.pedal_spacing =
      millimetres("pedal_spacing_mm", {30, 120, " mm"}, 63.5, "2 1/2 inches between naturals, a modern standard");
  c.concave = s.truth("concave").value_or(true);
  c.radiating = s.truth("radiating").value_or(true);
  const auto under = s.note("pedal_under_middle_d");
  c.pedal_under_middle_d = under ? given(*under) : assumed(Note{50}, "pedal D under manual D (Elliston 1903)");
  c.lever_right_of_centre =
      millimetres("swell_pedal_right_mm", {-1500, 1500, " mm"}, 500, "a lever at the right end of the pedals");
  s.finish();
}

void OrganReader::places() {
  for (std::size_t i = 0; i < tables(Kind::place).size(); ++i) {
    Section s = section(Kind::place, i);
    calcant::Place at;
    at.id = id_of(Kind::place, i);
    at.name = s.text("name").value_or(at.id);
    (void)s.required("kind", "\"nave\"");
    at.kind = static_cast<PlaceKind>(
        s.choice("kind", {{"bench", static_cast<int>(PlaceKind::bench)}, {"nave", static_cast<int>(PlaceKind::nave)}})
            .value_or(static_cast<int>(PlaceKind::nave)));
    at.from_division.assign(o_.divisions.size(), Metres{at.kind == PlaceKind::bench ? 3.0 : 12.0});
    for (const toml_tree::Entry& e : s.table("metres")) {
      const auto division = refer_to(s, e.place, e.key, Kind::division);
      const auto figure = s.figure_of(e.value, "metres", {0.3, 200, " metres"});
      if (division && figure && static_cast<std::size_t>(*division) < at.from_division.size()) {
        at.from_division[static_cast<std::size_t>(*division)] = Metres{figure->value};
      }
    }
    s.finish();
    o_.places.push_back(std::move(at));
  }
  const auto lacks = [&](PlaceKind kind) {
    return std::none_of(o_.places.begin(), o_.places.end(), [&](const calcant::Place& p) { return p.kind == kind; });
  };
  for (const auto& [kind, id, called, metres] :
       {std::tuple{PlaceKind::bench, "bench", "At the bench", 3.0}, {PlaceKind::nave, "nave", "In the nave", 12.0}}) {
    if (!lacks(kind)) continue;
    std::string free = id;
    while (ids_[Kind::place].index.count(free) != 0) free += "-assumed";
    o_.places.push_back({free, called, kind, std::vector<Metres>(o_.divisions.size(), Metres{metres})});
    note(fmt::format("the place \"{}\" is not said: {} m from every division is assumed", id, metres));
  }
}

}  // namespace calcant::organ_toml
