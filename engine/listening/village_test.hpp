// An invented village organ and church of ordinary stops, for the tests of this folder.
#pragma once

#include <string>

#include "engine/organ/organ.hpp"

namespace calcant::village {

inline Organ organ() {
  Organ o;
  o.id = "village";
  o.invented = true;
  o.pitch = {given(Hertz{440}, "test"), given(Celsius{15}, "test")};
  o.divisions = {{"great", "Great", 0, Note{36}, Note{91}, {}},
                 {"swell", "Swell", 1, Note{36}, Note{91}, 0},
                 {"pedal", "Pedal", 2, Note{36}, Note{65}, {}}};
  o.keyboards = {{"great", "Great", false, NoteSet::range(36, 91), 0},
                 {"swell", "Swell", false, NoteSet::range(36, 91), 1},
                 {"pedal", "Pedal", true, NoteSet::range(36, 65), 2}};
  o.boxes.resize(1);
  o.boxes[0].id = "swell-box";
  for (int i = 0; i < 3; ++i) {
    Chest c;
    c.division = i;
    c.wind = given(millimetres_of_water(75), "test");
    o.chests.push_back(c);
  }
  const auto add = [&](std::string id, int chest, Family family, Form form, Rational feet, int pipes = 56) -> Rank& {
    Rank r;
    r.id = std::move(id);
    r.chest = chest;
    r.family = family;
    r.form = form;
    r.pipes = pipes;
    r.pitch = {{Note{36}, Feet{feet}}};
    o.ranks.push_back(r);
    return o.ranks.back();
  };
  using F = Family;
  add("gt-open", 0, F::principal, Form::open, 8);
  add("gt-stopped", 0, F::flute, Form::stopped, 8);
  add("gt-dulciana", 0, F::string, Form::open, 8).loudness = given(Decibels{-4}, "test");
  add("gt-principal-4", 0, F::principal, Form::open, 4);
  add("gt-twelfth", 0, F::principal, Form::open, {8, 3});
  add("gt-fifteenth", 0, F::principal, Form::open, 2);
  for (int i = 0; i < 2; ++i) {
    Rank& r = add("gt-mixture-" + std::to_string(i + 1), 0, F::principal, Form::open, 1);
    r.pitch = i == 0 ? std::vector<Break>{{Note{36}, Feet{Rational{4, 3}}}, {Note{60}, Feet{Rational{8, 3}}}}
                     : std::vector<Break>{{Note{36}, Feet{Rational{1}}}, {Note{60}, Feet{Rational{2}}}};
  }
  add("sw-geigen", 1, F::principal, Form::open, 8).half_tones = given(-4.0, "test");
  add("sw-lieblich", 1, F::flute, Form::stopped, 8);
  add("sw-salicional", 1, F::string, Form::open, 8);
  add("sw-celeste", 1, F::string, Form::open, 8).offset = given(Cents{8}, "test");
  add("sw-gemshorn-4", 1, F::principal, Form::tapered, 4);
  add("sw-flute-4", 1, F::flute, Form::harmonic, 4);
  add("sw-oboe", 1, F::reed, Form::reed_full, 8);
  add("ped-open-16", 2, F::principal, Form::open, 16, 30);
  add("ped-bourdon-16", 2, F::flute, Form::stopped, 16, 30);

  o.room.volume = given(CubicMetres{2100}, "test");
  o.room.seats = given(220, "test");
  const auto surface = [&](double area, Bands a) { o.room.surfaces.push_back({"", SquareMetres{area}, a}); };
  surface(700, {.013, .013, .015, .02, .03, .04, .05, .05});  // plaster
  surface(120, {.18, .18, .10, .08, .07, .05, .04, .04});     // glass
  surface(160, {.02, .02, .02, .03, .04, .05, .05, .05});     // stone floor
  surface(130, {.10, .10, .09, .08, .08, .08, .08, .08});     // pews
  surface(320, {.15, .15, .11, .10, .07, .06, .07, .07});     // boarded roof
  o.room.reverberation = given(Bands{2.0, 2.0, 1.95, 1.9, 1.8, 1.65, 1.35, 0.9}, "test");
  o.room.temperature = given(Celsius{15}, "test");
  o.room.humidity = given(0.6, "test");
  o.places = {{"bench", "Bench", PlaceKind::bench, {Metres{3}, Metres{4}, Metres{4}}},
              {"nave", "Nave", PlaceKind::nave, {Metres{12}, Metres{13}, Metres{13}}}};
  return o;
}

}  // namespace calcant::village
