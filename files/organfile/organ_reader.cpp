#include "files/organfile/organ_reader.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/organ/registration.hpp"
#include "files/organfile/organfile.hpp"

namespace calcant::organ_toml {
namespace {

constexpr std::string_view word(Kind k) {
  switch (k) {
    case Kind::keyboard: return "keyboard";
    case Kind::division: return "division";
    case Kind::box: return "box";
    case Kind::chest: return "chest";
    case Kind::rank: return "rank";
    case Kind::stop: return "stop";
    case Kind::coupler: return "coupler";
    case Kind::accessory: return "accessory";
    case Kind::place: break;
  }
  return "place";
}

const Value& empty_table() {
  static const Value none = [] {
    Value v;
    v.kind = Value::Kind::table;
    v.place = {1, 1};
    return v;
  }();
  return none;
}

bool fit_for_id(std::string_view s) {
  if (s.empty() || s.size() > 60) return false;
  return std::all_of(s.begin(), s.end(),
                     [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
}

}  // namespace

OrganReader::OrganReader(const toml_tree::Tree& tree, Faults& faults)
    : tree_(tree), faults_(faults), root_(faults, tree.root, "the organ file", tree.names_lost) {}

bool OrganReader::damaged(const Value& table) const {
  return tree_.names_lost || std::find(tree_.damaged_headers.begin(), tree_.damaged_headers.end(), table.place.line) !=
                                 tree_.damaged_headers.end();
}

const std::vector<Value>& OrganReader::tables(Kind kind) {
  static const std::vector<Value> none;
  const Value* v = root_.value(word(kind));
  if (v == nullptr || v->kind != Value::Kind::list) return none;
  return v->list;
}

std::string OrganReader::id_of(Kind kind, std::size_t i) const {
  const auto at = ids_.find(kind);
  return at != ids_.end() && i < at->second.all.size() ? at->second.all[i] : std::string{};
}

Section OrganReader::section(Kind kind, std::size_t i) {
  const Value& table = tables(kind)[i];
  const std::string id = id_of(kind, i);
  std::string what = id.empty() ? fmt::format("this {}", word(kind)) : fmt::format("{} \"{}\"", word(kind), id);
  Section s{faults_, table, std::move(what), damaged(table)};
  (void)s.value("id");
  return s;
}

Section OrganReader::single(std::string_view name, const Value& value) {
  return Section{faults_, value, fmt::format("[{}]", name), damaged(value)};
}

const Value& OrganReader::part(std::string_view name) {
  const Value* v = root_.value(name);
  if (v == nullptr) return empty_table();
  if (v->kind != Value::Kind::table) {
    faults_.add(v->place, fmt::format("\"{0}\" should be one table: write [{0}]", name));
    return empty_table();
  }
  return *v;
}

// First all ids, so that a table may name one that stands further down.
void OrganReader::collect(Kind kind, int most) {
  Ids& ids = ids_[kind];
  const Value* v = root_.value(word(kind));
  if (v == nullptr) return;
  const bool list_of_tables =
      v->kind == Value::Kind::list &&
      std::all_of(v->list.begin(), v->list.end(), [](const Value& t) { return t.kind == Value::Kind::table; });
  if (!list_of_tables) {
    faults_.add(v->place, fmt::format("\"{0}\" should be a row of tables: write [[{0}]] over each", word(kind)));
    return;
  }
  for (std::size_t i = 0; i < v->list.size(); ++i) {
    const Value& table = v->list[i];
    Section s{faults_, table, fmt::format("this {}", word(kind)), damaged(table)};
    (void)s.required("id", fmt::format("\"{}-1\"", word(kind)));
    const std::string id = s.text("id").value_or("");
    ids.all.push_back(id);
    if (id.empty() && !s.has("id")) continue;
    if (!fit_for_id(id)) {
      s.fault(s.place_of_value("id"),
              fmt::format("the id \"{}\" should be of small letters, figures and hyphens only, such as \"sw-oboe\"",
                          id.substr(0, 60)));
    } else if (const auto [at, fresh] = ids.index.insert({id, static_cast<int>(i)}); !fresh) {
      const Value& first = v->list[static_cast<std::size_t>(at->second)];
      s.fault(s.place_of_value("id"),
              fmt::format("the id \"{}\" is already that of the {} at line {}; each needs its own", id, word(kind),
                          first.place.line));
    }
    if (static_cast<int>(i) == most) {
      s.fault(table.place, fmt::format("there are more than {} of kind [[{}]]", most, word(kind)));
    }
  }
}

std::optional<int> OrganReader::refer_to(Section& s, Place at, const std::string& id, Kind kind) {
  const Ids& ids = ids_[kind];
  if (const auto found = ids.index.find(id); found != ids.index.end()) return found->second;
  if (!tree_.names_lost) {
    s.fault(at, fmt::format("{} names the {} \"{}\", which this file does not have{}", s.what(), word(kind),
                            id.substr(0, 60), perhaps(id, ids.all)));
  }
  return std::nullopt;
}

std::optional<int> OrganReader::refer(Section& s, std::string_view key, Kind kind) {
  const auto id = s.text(key);
  if (!id) return std::nullopt;
  return refer_to(s, s.place_of_value(key), *id, kind);
}

void OrganReader::read() {
  top();
  for (const auto& [kind, most] : {std::pair{Kind::keyboard, max_keyboards},
                                   {Kind::division, 12},
                                   {Kind::box, max_boxes},
                                   {Kind::chest, 48},
                                   {Kind::rank, max_ranks},
                                   {Kind::stop, max_stops},
                                   {Kind::coupler, max_couplers},
                                   {Kind::accessory, max_accessories},
                                   {Kind::place, 16}}) {
    collect(kind, most);
  }
  keyboards();
  divisions();
  boxes();
  chests();
  ranks();
  stops();
  couplers();
  accessories();
  pitch();
  room();
  wind();
  action();
  console();
  places();
  root_.finish();
}

void OrganReader::top() {
  (void)root_.value("version");  // read before anything else
  if (const auto name = root_.text("pipe_figures")) {
    const bool plain = !name->empty() && name->size() < 100 && name->find_first_of("/\\:") == std::string::npos &&
                       name->front() != '.';
    if (plain) pipe_figures_ = *name;
    else
      root_.fault(root_.place_of("pipe_figures"),
                  "\"pipe_figures\" should be the name of a file beside organ.toml, such as \"pipes.csv\"");
  }
  if (!root_.has("organ") && !tree_.names_lost) {
    faults_.add({1, 1}, "the file has no [organ] table; write [organ] with id and name below the version");
  }
  Section s = single("organ", part("organ"));
  if (root_.has("organ")) {
    (void)s.required("id", "\"st-somebody\"");
    (void)s.required("name", "\"St Somebody, Somewhere\"");
  }
  o_.id = s.text("id").value_or("");
  if (s.has("id") && !fit_for_id(o_.id)) {
    s.fault(s.place_of_value("id"), "the organ's id should be of small letters, figures and hyphens only");
  }
  o_.name = s.text("name").value_or(o_.id);
  o_.about = s.text("about").value_or("");
  o_.invented = s.truth("invented").value_or(false);
  s.finish();
}

void OrganReader::keyboards() {
  if (tables(Kind::keyboard).empty() && !tree_.names_lost && !root_.has("keyboard")) {
    faults_.add({1, 1}, "the organ has no keyboard; write [[keyboard]] with id, name, keys");
  }
  for (std::size_t i = 0; i < tables(Kind::keyboard).size(); ++i) {
    Section s = section(Kind::keyboard, i);
    Keyboard k;
    k.id = id_of(Kind::keyboard, i);
    k.name = s.text("name").value_or(k.id);
    k.pedal = s.truth("pedal").value_or(false);
    (void)s.required("keys", "\"C2-G6\"");
    k.keys = s.notes("keys").value_or(NoteSet::range(36, k.pedal ? 65 : 91));
    if (k.keys.empty()) s.fault(s.place_of_value("keys"), s.what() + " has no keys; write keys = \"C2-G6\"");
    // Unless it says otherwise it plays the division of its own id.
    const std::optional<int> division =
        s.has("division") ? refer(s, "division", Kind::division) : refer_to(s, s.place(), k.id, Kind::division);
    k.division = division.value_or(0);
    s.finish();
    o_.keyboards.push_back(std::move(k));
  }
}

void OrganReader::divisions() {
  for (std::size_t i = 0; i < tables(Kind::division).size(); ++i) {
    Section s = section(Kind::division, i);
    Division d;
    d.id = id_of(Kind::division, i);
    d.name = s.text("name").value_or(d.id);
    NoteSet keys;
    for (std::size_t k = 0; k < o_.keyboards.size(); ++k) {
      if (o_.keyboards[k].division != static_cast<int>(i)) continue;
      if (!d.keyboard) d.keyboard = static_cast<int>(k);
      keys |= o_.keyboards[k].keys;
    }
    const NoteSet notes = s.notes("notes").value_or(keys.empty() ? NoteSet::range(36, 91) : keys);
    if (!notes.empty()) {
      d.low = Note{notes.lowest()};
      d.high = Note{notes.highest()};
    }
    if (!keys.empty() && (keys.highest() < d.low.midi || keys.lowest() > d.high.midi)) {
      s.fault(s.place_of_value("notes"),
              fmt::format("{} has notes {}-{}, none of which its keyboard {}-{} can play", s.what(), name(d.low),
                          name(d.high), name(Note{keys.lowest()}), name(Note{keys.highest()})));
    }
    d.box = refer(s, "box", Kind::box);
    s.finish();
    o_.divisions.push_back(std::move(d));
  }
}

void OrganReader::boxes() {
  for (std::size_t i = 0; i < tables(Kind::box).size(); ++i) {
    Section s = section(Kind::box, i);
    SwellBox b;
    b.id = id_of(Kind::box, i);
    b.name = s.text("name").value_or(b.id);
    if (!s.has("pedal")) note(fmt::format("{} does not say its pedal: a lever is assumed", s.what()));
    b.pedal = static_cast<SwellPedal>(s.choice("pedal", {{"lever", static_cast<int>(SwellPedal::lever)},
                                                         {"balanced", static_cast<int>(SwellPedal::balanced)}})
                                          .value_or(static_cast<int>(SwellPedal::lever)));
    if (const Value* hitches = s.value("hitches"); hitches != nullptr) {
      if (b.pedal == SwellPedal::balanced) {
        s.fault(hitches->place, s.what() + " has a balanced pedal, which rests anywhere: leave \"hitches\" out");
      } else if (hitches->kind != Value::Kind::list || hitches->list.empty() || hitches->list.size() > 16) {
        s.fault(hitches->place, "\"hitches\" should be a list from 0 (shut) to 1 (open), such as [0, 0.5, 1]");
      } else {
        for (const Value& h : hitches->list) {
          if (!h.number() || !(h.real >= 0 && h.real <= 1)) {
            s.fault(h.place, "a hitch should be a number from 0 (shut) to 1 (open)");
          } else if (!b.hitches.empty() && h.real <= b.hitches.back()) {
            s.fault(h.place, fmt::format("the hitches should rise: {} comes after {}", h.real, b.hitches.back()));
          } else {
            b.hitches.push_back(h.real);
          }
        }
      }
    } else if (b.pedal == SwellPedal::lever) {
      b.hitches = {0, 1};
      note(fmt::format("{} does not say where its lever rests: shut and open are assumed", s.what()));
    }
    // No published table of swell boxes was found: a little in the bass, more where shutters stop it.
    constexpr Bands usual{4, 5, 7, 9, 12, 15, 17, 18};
    const auto attenuation = s.bands("attenuation_db", {0, 60, " dB"});
    b.attenuation = attenuation.value_or(assumed(usual, "a usual parish swell box, no source"));
    s.finish();
    o_.boxes.push_back(std::move(b));
  }
}

void OrganReader::chests() {
  for (std::size_t i = 0; i < tables(Kind::chest).size(); ++i) {
    Section s = section(Kind::chest, i);
    Chest c;
    c.id = id_of(Kind::chest, i);
    c.name = s.text("name").value_or(c.id);
    (void)s.required("division", "\"great\"");
    c.division = refer(s, "division", Kind::division).value_or(0);
    c.order = static_cast<PipeOrder>(s.choice("order", {{"sides", static_cast<int>(PipeOrder::sides)},
                                                        {"chromatic", static_cast<int>(PipeOrder::chromatic)}})
                                         .value_or(static_cast<int>(PipeOrder::sides)));
    const auto mm = s.figure("wind_mm", {20, 700, " mm of water"});
    const auto inches = s.figure("wind_in", {0.8, 28, " inches of water"});
    if (mm && inches) s.fault(s.place_of("wind_in"), s.what() + " says its wind twice; keep wind_mm or wind_in");
    set(c.wind, mm ? mm : inches, Pascals{}, "");
    if (mm) c.wind.value = millimetres_of_water(mm->value);
    else if (inches) c.wind.value = inches_of_water(inches->value);
    else c.wind = assumed(millimetres_of_water(75), "English parish organs, 65 to 90 mm (Pykett 2020)");
    set(c.shortest_tube, s.figure("tube_shortest_m", {0, 50, " m"}), Metres{2}, "no source");
    set(c.longest_tube, s.figure("tube_longest_m", {0, 50, " m"}), std::max(Metres{6}, c.shortest_tube.value),
        "no source");
    if (c.longest_tube.value < c.shortest_tube.value) {
      s.fault(s.place_of("tube_longest_m"), s.what() + " has a longest tube shorter than its shortest");
    }
    c.grooved = s.truth("grooved").value_or(true);
    c.trunk = s.text("trunk").value_or(c.id);
    s.finish();
    o_.chests.push_back(std::move(c));
  }
}

void OrganReader::rank_lengths(Section& s, Rank& r) {
  if (const Value* feet = s.value("feet"); feet != nullptr) {
    r.pitch = {{r.low_key, s.feet(*feet).value_or(Feet{})}};
    if (s.has("breaks")) s.fault(s.place_of("breaks"), s.what() + " says both feet and breaks; keep one of them");
  }
  for (const toml_tree::Entry& e : s.table("breaks")) {
    const Result<Note> from = parse_note(e.key);
    const auto feet = s.feet(e.value);
    if (!from) s.fault(e.place, from.error().message);
    if (from && feet) r.pitch.push_back({*from, *feet});
  }
  std::sort(r.pitch.begin(), r.pitch.end(), [](const Break& a, const Break& b) { return a.from < b.from; });
  const auto twice = std::adjacent_find(r.pitch.begin(), r.pitch.end(),
                                        [](const Break& a, const Break& b) { return a.from == b.from; });
  if (twice != r.pitch.end()) {
    if (!s.has("feet")) s.fault(s.place_of("breaks"), "two breaks of " + s.what() + " stand at one note");
    r.pitch.erase(twice + 1, r.pitch.end());
  }
  if (r.pitch.empty()) {
    if (!s.has("breaks")) (void)s.required("feet", "8");
    r.pitch = {{r.low_key, Feet{}}};
  }
  if (r.pitch.front().from > r.low_key) {
    s.fault(s.place_of("breaks"), fmt::format("{} begins at {}, but its first length is said from {}; say it from {}",
                                              s.what(), name(r.low_key), name(r.pitch.front().from), name(r.low_key)));
    r.pitch.front().from = r.low_key;
  }
}

void OrganReader::rank_compass(Section& s, Rank& r) {
  (void)s.required("notes", "\"C2-G6\"");
  if (const auto notes = s.notes("notes"); notes && !notes->empty()) {
    r.low_key = Note{notes->lowest()};
    r.pipes = notes->highest() - notes->lowest() + 1;
    if (notes->size() != r.pipes) {
      s.fault(s.place_of_value("notes"),
              s.what() + " has gaps among its notes; a rank is a whole row, so write it as two");
    }
    if (r.pipes > 97) {
      s.fault(s.place_of_value("notes"),
              fmt::format("{} would have {} pipes; more than 97 is no rank", s.what(), r.pipes));
    }
  }
  if (const auto pipes = s.whole("pipes", 1, 97); pipes && *pipes != r.pipes && s.has("notes")) {
    s.fault(s.place_of_value("pipes"), fmt::format("{} from {} to {} has {} pipes, not {}", s.what(), name(r.low_key),
                                                   name(r.high_key()), r.pipes, *pipes));
  }
}

void OrganReader::ranks() {
  for (std::size_t i = 0; i < tables(Kind::rank).size(); ++i) {
    Section s = section(Kind::rank, i);
    Rank r;
    r.id = id_of(Kind::rank, i);
    r.name = s.text("name").value_or(r.id);
    (void)s.required("chest", "\"great\"");
    r.chest = refer(s, "chest", Kind::chest).value_or(0);
    (void)s.required("family", "\"principal\"");
    const auto as_int = [](auto e) { return static_cast<int>(e); };
    r.family = static_cast<Family>(s.choice("family", {{"principal", as_int(Family::principal)},
                                                       {"flute", as_int(Family::flute)},
                                                       {"string", as_int(Family::string)},
                                                       {"reed", as_int(Family::reed)}})
                                       .value_or(as_int(Family::principal)));
    const bool reed = r.family == Family::reed;
    r.form = static_cast<Form>(s.choice("form", {{"open", as_int(Form::open)},
                                                 {"stopped", as_int(Form::stopped)},
                                                 {"tapered", as_int(Form::tapered)},
                                                 {"chimney", as_int(Form::chimney)},
                                                 {"harmonic", as_int(Form::harmonic)},
                                                 {"reed, full length", as_int(Form::reed_full)},
                                                 {"reed, half length", as_int(Form::reed_half)},
                                                 {"reed, short", as_int(Form::reed_short)}})
                                   .value_or(as_int(reed ? Form::reed_full : Form::open)));
    const bool reed_form = r.form == Form::reed_full || r.form == Form::reed_half || r.form == Form::reed_short;
    if (reed != reed_form && s.has("form")) {
      s.fault(s.place_of_value("form"), fmt::format("{} is of family \"{}\" but of form \"{}\"", s.what(),
                                                    calcant::word(r.family), calcant::word(r.form)));
    }
    r.material = static_cast<Material>(s.choice("material", {{"metal", as_int(Material::metal)},
                                                             {"tin", as_int(Material::tin)},
                                                             {"zinc", as_int(Material::zinc)},
                                                             {"wood", as_int(Material::wood)}})
                                           .value_or(as_int(Material::metal)));
    rank_compass(s, r);
    rank_lengths(s, r);
    for (const toml_tree::Entry& e : s.table("diameters_mm")) {
      const Result<Note> key = parse_note(e.key);
      if (!key) s.fault(e.place, key.error().message);
      const bool sound = e.value.number() && e.value.real >= 2 && e.value.real <= 1000;
      if (!sound) s.fault(e.value.place, "a diameter should be a number from 2 to 1000 mm");
      if (key && sound) r.scale.push_back({*key, Metres{e.value.real / 1000}});
    }
    std::sort(r.scale.begin(), r.scale.end(), [](const ScaleMark& a, const ScaleMark& b) { return a.key < b.key; });
    set(r.half_tones, s.figure("half_tones", {-30, 30, ""}), 0.0, "normal scale");
    set(r.mouth, s.figure("mouth", {0.05, 0.5, " of the circumference"}), 0.25, "normal mouth, a quarter");
    set(r.cut_up, s.figure("cut_up", {0.05, 1, " of the mouth's width"}), 0.25, "normal cut-up, a quarter");
    set(r.loudness, s.figure("loudness_db", {-40, 40, " dB"}), Decibels{0}, "what its kind and scale predict");
    set(r.offset, s.figure("offset_cents", {-100, 100, " cents"}), Cents{0}, "in tune");
    if (!s.has("offset_cents")) r.offset.source = Source::given;
    if (const auto partner = refer(s, "partner", Kind::rank)) {
      r.partner = id_of(Kind::rank, static_cast<std::size_t>(*partner));
      if (*r.partner == r.id) s.fault(s.place_of("partner"), s.what() + " is its own partner");
      if (r.offset.value == Cents{0})
        note(fmt::format("{} has a partner but no offset_cents: it will not beat", s.what()));
    }
    s.finish();
    o_.ranks.push_back(std::move(r));
  }
}

}  // namespace calcant::organ_toml
