#include "files/planfile/planfile.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>
#include <stdexcept>

namespace calcant {
namespace {

using Json = nlohmann::ordered_json;

double tenth(double v, double step = 0.01) { return std::round(v / step) * step; }

class Writer {
 public:
  explicit Writer(const Organ& organ) : organ_(organ) {}

  Json moment(const Moment& m) const {
    Json j;
    j["bar"] = m.bar;
    j["bar_index"] = m.bar_index;
    j["at"] = to_string(m.at);
    j["pass"] = m.pass;
    j["verse"] = m.verse;
    j["line"] = m.line;
    return j;
  }
  Json ids(const std::vector<Knob>& list) const {
    Json j = Json::array();
    for (const Knob k : list) j.push_back(id(organ_, k));
    return j;
  }
  Json names(const std::vector<Knob>& list) const {
    Json j = Json::array();
    for (const Knob k : list) j.push_back(full_name(organ_, k));
    return j;
  }
  Json boxes(const std::vector<BoxSetting>& list) const {
    Json j = Json::array();
    for (const BoxSetting b : list) {
      j.push_back({{"id", organ_.boxes[static_cast<std::size_t>(b.box)].id},
                   {"opening", tenth(static_cast<double>(b.opening))}});
    }
    return j;
  }
  // Everything drawn and every box, as one state.
  void state(Json& j, const Registration& r) const {
    const auto drawn = knobs(organ_, r);
    j["draw"] = ids(drawn);
    j["draw_names"] = names(drawn);
    std::vector<BoxSetting> all;
    for (std::size_t b = 0; b < organ_.boxes.size(); ++b) all.push_back({static_cast<BoxIndex>(b), r.box[b]});
    j["box"] = all.empty() ? Json(nullptr) : Json(tenth(static_cast<double>(all.front().opening)));
    j["boxes"] = boxes(all);
  }
  Json keyboards(const HandsAndFeet& on) const {
    const auto one = [&](std::optional<KeyboardIndex> k) {
      return k ? Json(organ_.keyboards[static_cast<std::size_t>(*k)].id) : Json(nullptr);
    };
    Json j;
    j["right"] = one(on.right);
    j["left"] = one(on.left);
    j["feet"] = one(on.feet);
    return j;
  }
  Json section(const Section& s) const {
    Json j;
    j["label"] = s.label;
    j["kind"] = s.kind;
    j["wish"] = s.wish;
    if (!s.note.empty()) j["note"] = s.note;
    j["from"] = moment(s.from);
    state(j, s.drawn);
    j["keyboards"] = keyboards(s.keyboards);
    j["phon"] = s.loudness ? Json(tenth(s.loudness->value(), 0.1)) : Json(nullptr);
    j["pedal_phon"] = s.pedal_loudness ? Json(tenth(s.pedal_loudness->value(), 0.1)) : Json(nullptr);
    j["fixed"] = s.fixed;
    j["why"] = s.why;
    if (!s.copy.empty()) j["copy"] = Json::array();
    for (const CopyHeed& h : s.copy) {
      j["copy"].push_back({{"text", h.text}, {"wants", h.wanted}, {"followed", h.followed}, {"instead", h.instead}});
      if (h.in_part) j["copy"].back()["in_part"] = true;
    }
    j["advice"] = Json::array();
    for (const Advice& a : s.advice) {
      j["advice"].push_back({{"rule", a.rule},
                             {"weight", std::string{word(a.weight)}},
                             {"found", a.found},
                             {"why", a.why},
                             {"source", a.source}});
    }
    return j;
  }
  Json cue(const Cue& c) const {
    Json j;
    j["item"] = c.item;
    j["section"] = c.section;
    j["moment"] = moment(c.moment);
    j["draw"] = ids(c.draw);
    j["put_in"] = ids(c.put_in);
    j["draw_names"] = names(c.draw);
    j["put_in_names"] = names(c.put_in);
    j["box"] = c.boxes.empty() ? Json(nullptr) : Json(tenth(static_cast<double>(c.boxes.front().opening)));
    j["boxes"] = boxes(c.boxes);
    j["keyboards"] = c.go_to ? keyboards(*c.go_to) : Json(nullptr);
    j["hand"] = std::string{word(c.mover)};
    j["sides"] = sides(c);
    if (c.pressed) {
      const Accessory& pedal = organ_.accessories[static_cast<std::size_t>(*c.pressed)];
      j["pressed"] = pedal.id;
      j["pressed_name"] = pedal.name;
    }
    if (c.window) {
      j["window"] = {{"from", moment(c.window->from)},
                     {"to", moment(c.window->to)},
                     {"needed_s", tenth(c.window->needed.value())},
                     {"available_s", tenth(c.window->available.value())}};
    } else {
      j["window"] = nullptr;
    }
    j["why"] = c.why;
    j["fixed"] = c.fixed;
    if (c.gradual) j["gradual"] = true;
    return j;
  }

 private:
  // Which jamb each moved knob stands on, in the order draw, put_in; none is reached for that a foot moves.
  Json sides(const Cue& c) const {
    Json j = Json::array();
    for (const auto* list : {&c.draw, &c.put_in}) {
      for (const Knob k : *list) {
        const Jamb jamb = place(organ_, k).jamb;
        j.push_back(c.pressed                   ? "foot"
                    : jamb == Jamb::left        ? "left"
                    : jamb == Jamb::right       ? "right"
                    : jamb == Jamb::over_manual ? "over manual"
                                                : "unknown");
      }
    }
    return j;
  }
  const Organ& organ_;
};

// Anything in the file that is not as it is written comes out here, and is turned into one Error at the edge.
struct Refused : std::runtime_error {
  using std::runtime_error::runtime_error;
};

class Reader {
 public:
  explicit Reader(const Organ& organ) : organ_(organ) {}

  Knob knob(const std::string& id) const {
    if (const auto s = stop_by_id(organ_, id)) return {Knob::Kind::stop, *s};
    if (const auto c = coupler_by_id(organ_, id)) return {Knob::Kind::coupler, *c};
    for (std::size_t i = 0; i < organ_.accessories.size(); ++i) {
      if (organ_.accessories[i].id == id) return {Knob::Kind::accessory, static_cast<int>(i)};
    }
    throw Refused(
        fmt::format("This organ has no stop, coupler or accessory with the id '{}'; the plan is for another organ or "
                    "an older state of this one.",
                    id.substr(0, 60)));
  }
  std::vector<Knob> knobs_of(const Json& j) const {
    std::vector<Knob> out;
    for (const Json& id : j) out.push_back(knob(id.get<std::string>()));
    return out;
  }
  Moment moment(const Json& j) const {
    Moment m;
    m.bar = j.at("bar").get<std::string>();
    m.bar_index = j.at("bar_index").get<int>();
    const auto at = parse_rational(j.at("at").get<std::string>());
    if (!at) throw Refused(at.error().message);
    m.at = *at;
    m.pass = j.at("pass").get<int>();
    m.verse = j.at("verse").get<int>();
    m.line = j.value("line", 0);
    return m;
  }
  BoxSetting box(const Json& j) const {
    const auto id = j.at("id").get<std::string>();
    for (std::size_t b = 0; b < organ_.boxes.size(); ++b) {
      if (organ_.boxes[b].id == id) return {static_cast<BoxIndex>(b), opening(j.at("opening"))};
    }
    throw Refused(fmt::format("This organ has no swell box with the id '{}'.", id.substr(0, 60)));
  }
  Registration state(const Json& j) const {
    Registration r;
    for (const Knob k : knobs_of(j.at("draw"))) set_drawn(r, k, true);
    r.box.fill(1.0F);
    for (const Json& b : j.at("boxes")) {
      const BoxSetting m = box(b);
      r.box[static_cast<std::size_t>(m.box)] = m.opening;
    }
    return r;
  }
  HandsAndFeet keyboards(const Json& j) const {
    const auto one = [&](const char* who) -> std::optional<KeyboardIndex> {
      const Json& k = j.at(who);
      if (k.is_null()) return std::nullopt;
      const auto found = keyboard_by_id(organ_, k.get<std::string>());
      if (!found)
        throw Refused(fmt::format("This organ has no keyboard with the id '{}'.", k.get<std::string>().substr(0, 60)));
      return found;
    };
    return {one("right"), one("left"), one("feet")};
  }
  Section section(const Json& j) const {
    Section s;
    s.label = j.at("label").get<std::string>();
    s.kind = j.at("kind").get<std::string>();
    s.wish = j.at("wish").get<std::string>();
    s.note = j.value("note", "");
    s.from = moment(j.at("from"));
    s.drawn = state(j);
    s.keyboards = keyboards(j.at("keyboards"));
    if (!j.at("phon").is_null()) s.loudness = Phons{j.at("phon").get<double>()};
    if (!j.at("pedal_phon").is_null()) s.pedal_loudness = Phons{j.at("pedal_phon").get<double>()};
    s.fixed = j.value("fixed", false);
    s.why = j.at("why").get<std::vector<std::string>>();
    for (const Json& h : j.value("copy", Json::array()))
      s.copy.push_back({h.at("text").get<std::string>(), h.at("wants").get<std::string>(), h.at("followed").get<bool>(),
                        h.at("instead").get<std::string>(), h.value("in_part", false)});
    for (const Json& a : j.at("advice")) {
      Advice advice;
      advice.rule = a.at("rule").get<std::string>();
      const auto weight = a.at("weight").get<std::string>();
      for (const Weight w : {Weight::advice, Weight::warning, Weight::against}) {
        if (weight == word(w)) advice.weight = w;
      }
      advice.found = a.at("found").get<std::string>();
      advice.why = a.at("why").get<std::string>();
      advice.source = a.at("source").get<std::string>();
      s.advice.push_back(std::move(advice));
    }
    return s;
  }
  Cue cue(const Json& j) const {
    Cue c;
    c.item = j.at("item").get<int>();
    c.section = j.at("section").get<int>();
    c.moment = moment(j.at("moment"));
    c.draw = knobs_of(j.at("draw"));
    c.put_in = knobs_of(j.at("put_in"));
    for (const Json& b : j.at("boxes")) c.boxes.push_back(box(b));
    if (!j.at("keyboards").is_null()) c.go_to = keyboards(j.at("keyboards"));
    const auto hand = j.at("hand").get<std::string>();
    for (const Mover m :
         {Mover::nobody, Mover::left_hand, Mover::right_hand, Mover::both_hands, Mover::foot, Mover::helper}) {
      if (hand == word(m)) c.mover = m;
    }
    if (const Json& w = j.at("window"); !w.is_null()) {
      c.window = ChangeWindow{moment(w.at("from")), moment(w.at("to")), Seconds{w.at("needed_s").get<double>()},
                              Seconds{w.at("available_s").get<double>()}};
    }
    c.why = j.at("why").get<std::string>();
    if (const auto pressed = j.value("pressed", std::string{}); !pressed.empty()) {
      for (std::size_t a = 0; a < organ_.accessories.size(); ++a) {
        if (organ_.accessories[a].id == pressed) c.pressed = static_cast<int>(a);
      }
    }
    c.fixed = j.value("fixed", false);
    c.gradual = j.value("gradual", false);
    return c;
  }

 private:
  static float opening(const Json& j) {
    const double v = j.get<double>();
    if (!(v >= 0 && v <= 1)) throw Refused("A swell box is set from 0 (shut) to 1 (open).");
    return static_cast<float>(v);
  }
  const Organ& organ_;
};

}  // namespace

std::string write_plan(const Organ& organ, const PlanFile& file) {
  const Writer w(organ);
  const Plan& plan = file.plan;
  Json j;
  j["version"] = plan_file_version;
  j["organ"] = {
      {"id", file.organ_id}, {"name", file.organ_name}, {"invented", file.invented}, {"hash", file.organ_hash}};
  j["overlay"] = {{"day", file.day}, {"origin", file.day_origin}, {"hash", file.overlay_hash}, {"faults", file.faults}};
  j["score"] = file.score_name.empty() ? Json(nullptr) : Json{{"name", file.score_name}, {"hash", file.score_hash}};
  j["initial"] = Json::object();
  w.state(j["initial"], plan.initial);
  j["initial"]["keyboards"] = w.keyboards(plan.initial_keyboards);
  j["staves"] = Json::array();
  for (const PlannedStave& s : file.staves) {
    j["staves"].push_back({{"stave", s.number},
                           {"name", s.name},
                           {"role", s.role},
                           {"reason", s.reason},
                           {"keyboard", s.keyboard.empty() ? Json(nullptr) : Json(s.keyboard)}});
  }
  j["items"] = Json::array();
  for (const Item& item : plan.items) {
    Json ij;
    ij["kind"] = std::string{word(item.kind)};
    ij["number"] = item.number;
    ij["title"] = item.title;
    ij["subtitle"] = item.subtitle;
    ij["play_over"] = item.play_over;
    ij["notes"] = item.notes;
    ij["sections"] = Json::array();
    for (const Section& s : item.sections) ij["sections"].push_back(w.section(s));
    ij["remarks"] = item.remarks;
    ij["search"] = {{"choices", item.search.choices}, {"cost", tenth(item.search.cost, 0.001)}};
    j["items"].push_back(std::move(ij));
  }
  j["cues"] = Json::array();
  for (const Cue& c : plan.cues) j["cues"].push_back(w.cue(c));
  j["remarks"] = plan.remarks;
  return j.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<PlanFile> read_plan(std::string_view text, std::string_view name, const Organ& organ) {
  const std::string where{name};
  if (text.size() > plan_file_limit) return fail("The plan is larger than 8 MB.", where);
  try {
    const Json j = Json::parse(text);
    const int version = j.at("version").get<int>();
    if (version > plan_file_version) {
      return fail(fmt::format("The plan is of version {}; this program reads up to {}. A newer Calcant reads it.",
                              version, plan_file_version),
                  where);
    }
    const Reader r(organ);
    PlanFile f;
    const Json& o = j.at("organ");
    f.organ_id = o.at("id").get<std::string>();
    f.organ_name = o.at("name").get<std::string>();
    f.invented = o.at("invented").get<bool>();
    f.organ_hash = o.at("hash").get<std::string>();
    const Json& d = j.at("overlay");
    f.day = d.at("day").get<std::string>();
    f.day_origin = d.at("origin").get<std::string>();
    f.overlay_hash = d.at("hash").get<std::string>();
    f.faults = d.at("faults").get<std::vector<std::string>>();
    if (const Json& s = j.at("score"); !s.is_null()) {
      f.score_name = s.at("name").get<std::string>();
      f.score_hash = s.at("hash").get<std::string>();
    }
    f.plan.initial = r.state(j.at("initial"));
    f.plan.initial_keyboards = r.keyboards(j.at("initial").at("keyboards"));
    for (const Json& s : j.at("staves")) {
      f.staves.push_back({s.at("stave").get<int>(), s.at("name").get<std::string>(), s.at("role").get<std::string>(),
                          s.at("reason").get<std::string>(),
                          s.at("keyboard").is_null() ? std::string{} : s.at("keyboard").get<std::string>()});
    }
    for (const Json& ij : j.at("items")) {
      Item item;
      const auto kind = ij.at("kind").get<std::string>();
      for (const ItemKind k : {ItemKind::hymn, ItemKind::psalm, ItemKind::piece}) {
        if (kind == word(k)) item.kind = k;
      }
      item.number = ij.at("number").get<std::string>();
      item.title = ij.at("title").get<std::string>();
      item.subtitle = ij.at("subtitle").get<std::string>();
      item.play_over = ij.at("play_over").get<std::vector<std::string>>();
      item.notes = ij.value("notes", std::vector<std::string>{});
      if (const auto search = ij.find("search"); search != ij.end())
        item.search = {search->at("choices").get<std::size_t>(), search->at("cost").get<double>()};
      for (const Json& s : ij.at("sections")) item.sections.push_back(r.section(s));
      item.remarks = ij.at("remarks").get<std::vector<std::string>>();
      f.plan.items.push_back(std::move(item));
    }
    for (const Json& c : j.at("cues")) f.plan.cues.push_back(r.cue(c));
    f.plan.remarks = j.at("remarks").get<std::vector<std::string>>();
    return f;
  } catch (const Refused& e) {
    return fail(e.what(), where);
  } catch (const nlohmann::json::exception& e) {
    // The library's own words say which key or which byte; they follow ours.
    return fail(fmt::format("This is not a plan as Calcant writes it ({}).", e.what()), where);
  }
}

}  // namespace calcant
