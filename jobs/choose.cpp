#include "jobs/choose.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/plan/singers.hpp"
#include "engine/quantity/nearest.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/saved.hpp"

namespace calcant {
namespace {

constexpr double shade_phons = 2.0;
constexpr std::array<std::pair<std::string_view, double>, 7> words_of_level{{{"very soft", 0.0},
                                                                             {"soft", 0.2},
                                                                             {"rather soft", 0.35},
                                                                             {"moderate", 0.5},
                                                                             {"rather loud", 0.65},
                                                                             {"loud", 0.8},
                                                                             {"full", 1.0}}};

std::string all_level_words() {
  std::string out;
  for (const auto& [word, share] : words_of_level) out += (out.empty() ? "" : ", ") + std::string{word};
  return out;
}

constexpr double words_phons = 3.0;  // how far the nearest may be from a level said in words (assumed: a step or two)
struct Target {
  Phons level;
  Manner manner = Manner::free;
  std::string purpose;
  std::optional<SingersLevel> singers;
  double leeway = 0;  // phon: a level in words is no figure, and on a small organ may fall between two registrations
};

std::optional<std::string> after(const std::string& text, std::string_view start) {
  if (text.size() <= start.size() || text.compare(0, start.size(), start) != 0) return std::nullopt;
  return text.substr(start.size());
}

Result<Target> target_of(const OrganContext& context, Chooser& chooser, const std::string& level,
                         std::optional<double> phon, const Singers& one, Manner manner, const Work& work) {
  Target out;
  out.manner = manner;
  if (phon) {
    out.level = Phons{*phon};
    out.purpose = fmt::format("{:.0f} phon", *phon);
    return out;
  }
  for (const auto& [start, more] : {std::pair{"a shade more than ", shade_phons},
                                    std::pair{"a shade less than ", -shade_phons}, std::pair{"as loud as ", 0.0}}) {
    const auto name = after(level, start);
    if (!name) continue;
    const auto drawn = drawn_registration(context, *name);
    if (!drawn) return tl::unexpected(drawn.error());
    const HeardOn& heard = chooser.ear().hear(*drawn);
    if (!(heard.pipes > 0)) {
      return fail(fmt::format("\"{}\" does not sound on this keyboard", *name), "--level");
    }
    out.level = Phons{heard.phons + more};
    out.purpose = fmt::format("{} ({:.0f} phon): {:.0f} phon", level, heard.phons, out.level.value());
    return out;
  }
  if (const auto count = after(level, "enough for ")) {
    Singers singers = one;
    int n = 0;
    const auto [end, fault] = std::from_chars(count->data(), count->data() + count->size(), n);
    if (fault != std::errc{} || n < 1 || n > 5000) {
      return fail(fmt::format("\"{}\" is no number of singers; say \"enough for 40\"", *count), "--level");
    }
    singers.count = n;
    // Their tune is the treble of the chords that the registration is weighed on.
    std::vector<Chord> chords;
    for (const KeysDown& down : chooser.ear().chords()) {
      Chord c;
      c.right = down.keys[static_cast<std::size_t>(chooser.on())];
      chords.push_back(c);
    }
    const Scales scales{chooser.ear().listening(), chords};
    out.singers = loudness(singers, scales);
    out.level = out.singers->middle;
    out.manner = Manner::hymn;
    out.purpose = fmt::format(
        "a hymn's verse for {} singers, taken to be as loud as {:.0f} phon ({:.0f} to {:.0f}: an assumed "
        "{:.0f} dB each, {:.0f} either way)",
        n, out.level.value(), out.singers->low.value(), out.singers->high.value(), singers.each.value(), singers.band);
    return out;
  }
  for (const auto& [word, share] : words_of_level) {
    if (level != word) continue;
    const auto range = chooser.range(manner, work);
    if (!range) return tl::unexpected(range.error());
    out.level = Phons{range->low.value() + share * (range->high - range->low).value()};
    out.leeway = words_phons;
    out.purpose = fmt::format("{}: {:.0f} phon, where the softest here is {:.0f} and the loudest {:.0f}", level,
                              out.level.value(), range->low.value(), range->high.value());
    return out;
  }
  std::vector<std::string> known;
  for (const auto& [word, share] : words_of_level) known.emplace_back(word);
  return fail(
      fmt::format("\"{}\" is no level{}; say {}, \"softer\" or \"louder\" (with --from), \"a shade more than NAME\", "
                  "\"enough for 40\", or give --phon",
                  level.substr(0, 60), perhaps(level, known), all_level_words()),
      "--level");
}

std::string place_words(const OrganContext& context) {
  return context.condition.place == PlaceKind::bench ? "at the bench" : "in the nave";
}

// Names of the neighbours that are heard, the greatest first.
std::string neighbours_sentence(const Organ& organ, const std::vector<Neighbour>& all, bool drawn) {
  std::vector<const Neighbour*> told;
  for (const Neighbour& n : all) {
    if (n.drawn == drawn && n.difference >= Difference::audible) told.push_back(&n);
  }
  std::stable_sort(told.begin(), told.end(),
                   [](const Neighbour* a, const Neighbour* b) { return std::abs(a->phons) > std::abs(b->phons); });
  if (told.size() > 4) told.resize(4);
  std::string out;
  for (const Neighbour* n : told) {
    out += fmt::format("{}{} {:+.1f} phon, {}", out.empty() ? "" : "; ", full_name(organ, n->knob), n->phons,
                       n->acums > 0.02    ? "brighter"
                       : n->acums < -0.02 ? "darker"
                                          : "the same colour");
  }
  return out;
}

std::vector<std::string> reasons_of(const OrganContext& context, const Chosen& c, const Target& target) {
  const Organ& organ = context.organ;
  std::vector<std::string> out;
  std::string chords;
  for (const Heard& h : c.heard.chords) {
    chords += fmt::format("{}{:.0f}", chords.empty() ? "" : ", ", h.loudness.phons.value());
  }
  out.push_back(
      fmt::format("{:.0f} phon {}, the mean of its chords ({})", c.heard.phons, place_words(context), chords));
  if (target.singers) {
    const double low = c.heard.phons - target.singers->low.value();
    const double high = c.heard.phons - target.singers->high.value();
    out.push_back(
        fmt::format("if they sing softly it stands {:.0f} phon over them; if they sing out, {:.0f} phon {} them", low,
                    std::abs(high), high < 0 ? "under" : "over"));
  }
  if (c.brighter_than) {
    out.push_back(fmt::format("brighter than {:.0f} in 100 of what is allowed at this level (brightness {:.2f})",
                              100 * *c.brighter_than, c.heard.acums));
  }
  if (c.played != 0) {
    out.push_back(fmt::format("the hands play an octave {}: what is drawn sounds at the written pitch",
                              c.played > 0 ? "higher" : "lower"));
  }
  if (c.box_reserve >= 1) {
    out.push_back(fmt::format("opening the box brings {:.0f} phon more without a hand", c.box_reserve));
  }
  const std::string lost = neighbours_sentence(organ, c.neighbours, true);
  if (!lost.empty()) out.push_back("every knob is heard; put in: " + lost);
  const std::string gained = neighbours_sentence(organ, c.neighbours, false);
  if (!gained.empty()) out.push_back("one knob more: " + gained);
  out.push_back(fmt::format("takes {:.0f} litres of wind a second and {:.0f} pipes", c.heard.wind, c.heard.pipes));
  return out;
}

ChoiceShown show(const OrganContext& context, KeyboardIndex on, const Chosen& c, const Target& target) {
  ChoiceShown s;
  s.drawn = c.drawn;
  s.played = c.played;
  s.phons = c.heard.phons;
  s.acums = c.heard.acums;
  s.points = c.points.sum();
  s.reasons = reasons_of(context, c, target);
  s.neighbours = c.neighbours;
  Occasion occasion;
  occasion.on = on;
  occasion.played = c.played;
  occasion.use = target.manner == Manner::hymn ? Use::hymn : Use::chorus;
  s.advice = advise(context.organ, c.drawn, occasion);
  return s;
}

Result<Choices> solo(const OrganContext& context, const Listening& listening, const ChooseRequest& request,
                     const Registration& must, const Registration& must_not, const Work& work) {
  const Organ& organ = context.organ;
  const auto drawn = parse_registration(organ, request.solo);
  if (!drawn) return fail(drawn.error().message, "--solo");
  if (drawn->stops.none()) return fail("no stop is named for the solo", "--solo");
  SoloWish wish;
  wish.solo = *drawn;
  const DivisionIndex home = organ.stops[static_cast<std::size_t>(drawn->stops._Find_first())].division;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].division == home && !organ.keyboards[k].pedal) wish.solo_on = static_cast<KeyboardIndex>(k);
  }
  std::string under = request.under;
  for (std::size_t k = 0; k < organ.keyboards.size() && under.empty(); ++k) {
    if (!organ.keyboards[k].pedal && static_cast<KeyboardIndex>(k) != wish.solo_on) under = organ.keyboards[k].id;
  }
  if (under.empty()) return fail("this organ has one manual: a solo needs another for its accompaniment", "--solo");
  const auto on = manual_asked(organ, under, "--under");
  if (!on) return tl::unexpected(on.error());
  wish.under = *on;
  wish.colour = request.colour;
  wish.must = must;
  wish.must_not = must_not;
  wish.limit = request.limit;
  const auto found = choose_solo(listening, wish, work);
  if (!found) return tl::unexpected(found.error());
  Choices out;
  out.considered = found->considered;
  out.purpose =
      fmt::format("{} on the {} over an accompaniment on the {}, {:.0f} phon under it",
                  registration_text(organ, *drawn).substr(0, registration_text(organ, *drawn).find(", Swell box")),
                  organ.keyboards[static_cast<std::size_t>(wish.solo_on)].name,
                  organ.keyboards[static_cast<std::size_t>(wish.under)].name, wish.above);
  for (const SoloAnswer& a : found->answers) {
    ChoiceShown s = show(context, wish.under, a.accompaniment, {});
    s.drawn = a.drawn;
    s.phons = a.together_phons;
    s.points = a.points;
    s.reasons.insert(
        s.reasons.begin(),
        fmt::format("the solo by itself {:.0f} phon, what is under it {:.0f}, together {:.0f} {}; the tune "
                    "is {} at every moment tried",
                    a.solo_phons, a.accompaniment_phons, a.together_phons, place_words(context), word(a.presence)));
    s.reasons.erase(s.reasons.begin() + 1);
    Occasion occasion;
    occasion.on = wish.under;
    occasion.solo_on = wish.solo_on;
    occasion.use = Use::accompaniment;
    s.advice = advise(organ, a.drawn, occasion);
    out.answers.push_back(std::move(s));
  }
  return out;
}

Result<Choices> step(const OrganContext& context, Chooser& chooser, const ChooseRequest& request,
                     const Registration& must, const Registration& must_not, const Work& work) {
  if (request.from.empty()) {
    return fail(fmt::format("\"{}\" than what? Give what is drawn now with --from", request.level), "--level");
  }
  const auto present = drawn_registration(context, request.from);
  if (!present) return tl::unexpected(present.error());
  Chooser::StepWish wish;
  wish.present = *present;
  wish.louder = request.level == "louder";
  wish.must = must;
  wish.must_not = must_not;
  wish.limit = request.limit;
  const auto found = chooser.step(wish, work);
  if (!found) return tl::unexpected(found.error());
  Choices out;
  out.purpose = fmt::format("{} than {} by an audible step, the fewest knobs moved", request.level,
                            registration_text(context.organ, *present));
  for (const Chooser::StepTaken& t : *found) {
    ChoiceShown s = show(context, chooser.on(), t.chosen, {});
    s.reasons.insert(s.reasons.begin(), fmt::format("{:.1f} phon {}, by {} knob{}{}", t.step, request.level, t.moved,
                                                    t.moved == 1 ? "" : "s", t.box ? " and the box" : ""));
    out.answers.push_back(std::move(s));
  }
  return out;
}

struct AskedKnobs {
  Registration must;
  Registration must_not;
};
// Refused: what must be drawn and must not, or is out of use on the day.
Result<AskedKnobs> read_knobs(const Organ& organ, const std::string& must, const std::string& must_not) {
  const auto wanted = parse_registration(organ, must);
  if (!wanted) return fail(wanted.error().message, "--must");
  const auto unwanted = parse_registration(organ, must_not);
  if (!unwanted) return fail(unwanted.error().message, "--not");
  for (const Knob k : knobs(organ, *wanted)) {
    if (is_drawn(*unwanted, k))
      return fail(fmt::format("{} must be drawn and must not; ask for one of the two", full_name(organ, k)), "--must");
    if (k.kind == Knob::Kind::stop && organ.stops[static_cast<std::size_t>(k.index)].out_of_use)
      return fail(fmt::format("{} is out of use", full_name(organ, k)), "--must");
  }
  return AskedKnobs{*wanted, *unwanted};
}

}  // namespace

Result<KeyboardIndex> manual_asked(const Organ& organ, const std::string& name, const std::string& where) {
  std::vector<std::string> known;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    const Keyboard& board = organ.keyboards[k];
    if (board.pedal) continue;
    if (name.empty() || board.name == name || board.id == name) return static_cast<KeyboardIndex>(k);
    known.push_back(board.name);
  }
  return fail(fmt::format("no manual is called \"{}\"{}; there {} {}", name.substr(0, 60), perhaps(name, known),
                          known.size() == 1 ? "is" : "are", fmt::join(known, ", ")),
              where);
}

Result<Choices> choose(const OrganContext& context, const ChooseRequest& request, const Work& work) {
  const Organ& organ = context.organ;
  const auto asked = read_knobs(organ, request.must, request.must_not);
  if (!asked) return tl::unexpected(asked.error());
  const auto& [must, must_not] = *asked;
  const Listening listening{organ, context.condition};
  if (!request.solo.empty()) return solo(context, listening, request, must, must_not, work);
  if (request.level.empty() && !request.phon) {
    return fail(
        fmt::format("say what it is for: --level {}, \"enough for 40\", or --phon, or --solo", all_level_words()),
        "--level");
  }
  const auto on = manual_asked(organ, request.on, "--on");
  if (!on) return tl::unexpected(on.error());
  auto chooser = Chooser::prepare(listening, *on, {}, must_not, work);
  if (!chooser) return tl::unexpected(chooser.error());
  if (!request.phon && (request.level == "softer" || request.level == "louder")) {
    return step(context, *chooser, request, must, must_not, work);
  }
  Singers singers;
  singers.each = Decibels{request.singer_db};
  singers.band = request.singer_band;
  const auto target = target_of(context, *chooser, request.level, request.phon, singers, Manner::free, work);
  if (!target) return tl::unexpected(target.error());
  Wish wish;
  wish.level = target->level;
  wish.colour = request.colour;
  wish.manner = target->manner;
  wish.must = must;
  wish.must_not = must_not;
  wish.limit = request.limit;
  Choices out;
  out.purpose = target->purpose;
  auto found = chooser->ask(wish, work);
  if (!found && target->leeway > 0) {
    const auto nearest = chooser->nearest_level(wish);
    if (nearest && std::abs((*nearest - wish.level).value()) <= target->leeway) {
      out.purpose +=
          fmt::format("; nothing comes within {:.0f} phon of that, and these are the nearest, at {:.0f} phon",
                      wish.band, nearest->value());
      wish.level = *nearest;
      found = chooser->ask(wish, work);
    }
  }
  if (!found) return tl::unexpected(found.error());
  out.considered = found->considered;
  out.searched = found->searched;
  out.at_least = found->at_least;
  for (const Chosen& c : found->answers) out.answers.push_back(show(context, *on, c, *target));
  return out;
}

Result<BuiltUp> build_up(const OrganContext& context, const BuildUpRequest& request, const Work& work) {
  const Organ& organ = context.organ;
  const auto asked = read_knobs(organ, request.must, request.must_not);
  if (!asked) return tl::unexpected(asked.error());
  const auto& [must, must_not] = *asked;
  const auto on = manual_asked(organ, request.on, "--on");
  if (!on) return tl::unexpected(on.error());
  const Listening listening{organ, context.condition};
  Registration forbidden = fewer_stops(organ, *on, must);
  const std::size_t spared = forbidden.stops.count();
  forbidden.stops |= must_not.stops;
  forbidden.couplers |= must_not.couplers;
  auto chooser = Chooser::prepare(listening, *on, {}, forbidden, work);
  if (!chooser) return tl::unexpected(chooser.error());
  const auto from = target_of(context, *chooser, request.from, std::nullopt, {}, Manner::chorus, work);
  if (!from) return fail(from.error().message, "--from");
  const auto to = target_of(context, *chooser, request.to, std::nullopt, {}, Manner::chorus, work);
  if (!to) return fail(to.error().message, "--to");
  BuildUpWish wish;
  wish.from = from->level;
  wish.to = to->level;
  wish.steps = request.steps;
  wish.must = must;
  wish.must_not = must_not;
  auto report = build_up(*chooser, wish, work);
  if (!report) return tl::unexpected(report.error());
  BuiltUp out{std::move(*report), fmt::format("from {:.0f} to {:.0f} phon", from->level.value(), to->level.value())};
  if (spared > 0) {
    out.report.left_out =
        "The organ is large: one stop of each family and pitch was considered in the first two divisions, "
        "no octave couplers.";
  }
  return out;
}

std::string box_words(const Organ& organ, const Registration& drawn) {
  std::string out;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    const float at = drawn.box[b];
    out += fmt::format("{}{} {}", out.empty() ? "" : ", ", organ.boxes[b].name,
                       at <= 0   ? "shut"
                       : at >= 1 ? "open"
                                 : fmt::format("{:.2g} open", at));
  }
  return out;
}

namespace {

Json draw_json(const Organ& organ, const Registration& drawn) {
  Json out = Json::array();
  for (const Knob k : knobs(organ, drawn)) {
    std::string name = full_name(organ, k);
    if (k.kind == Knob::Kind::stop) {
      const Stop& s = organ.stops[static_cast<std::size_t>(k.index)];
      name = organ.divisions[static_cast<std::size_t>(s.division)].name + ": " + name;
    }
    out.push_back(name);
  }
  return out;
}
Json box_json(const Organ& organ, const Registration& drawn) {
  if (organ.boxes.empty()) return nullptr;
  if (organ.boxes.size() == 1) return rounded(drawn.box[0], 2);
  Json out;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) out[organ.boxes[b].id] = rounded(drawn.box[b], 2);
  return out;
}

Json series_json(const Organ& organ, const BuildUp& b) {
  Json steps = Json::array();
  for (const BuildUpStep& s : b.steps) {
    steps.push_back({{"draw", draw_json(organ, s.drawn)},
                     {"box", box_json(organ, s.drawn)},
                     {"phon", rounded(s.phons, 2)},
                     {"louder_phon", rounded(s.louder, 2)},
                     {"knobs_moved", s.moved}});
  }
  return steps;
}
Json evenness_json(const BuildUp& b) {
  return std::isfinite(b.evenness) ? Json(rounded(b.evenness, 2)) : Json(nullptr);
}

}  // namespace

std::string json_text(const OrganContext& context, const Choices& c) {
  const Organ& organ = context.organ;
  Json j;
  j["purpose"] = c.purpose;
  j["heard"] = context.heard;
  j["considered"] = c.considered;
  j["searched"] = c.searched;
  if (c.at_least) j["points_at_least"] = rounded(*c.at_least, 2);
  j["answers"] = Json::array();
  for (const ChoiceShown& a : c.answers) {
    Json one;
    one["draw"] = draw_json(organ, a.drawn);
    one["box"] = box_json(organ, a.drawn);
    one["played_semitones"] = a.played;
    one["phon"] = rounded(a.phons, 2);
    one["brightness_acum"] = rounded(a.acums, 3);
    one["points"] = rounded(a.points, 2);
    one["reasons"] = a.reasons;
    one["one_knob_away"] = Json::array();
    for (const Neighbour& n : a.neighbours) {
      one["one_knob_away"].push_back({{"name", full_name(organ, n.knob)},
                                      {"drawn", n.drawn},
                                      {"phon", rounded(n.phons, 2)},
                                      {"acum", rounded(n.acums, 3)},
                                      {"difference", word(n.difference, n.phons > 0)}});
    }
    one["advice"] = Json::array();
    for (const Advice& v : a.advice) {
      one["advice"].push_back({{"rule", v.rule}, {"weight", word(v.weight)}, {"found", v.found}, {"source", v.source}});
    }
    j["answers"].push_back(std::move(one));
  }
  return dump(j);
}

std::string json_text(const OrganContext& context, const BuiltUp& b) {
  const Organ& organ = context.organ;
  Json j;
  j["purpose"] = b.purpose;
  j["heard"] = context.heard;
  j["asked"] = b.report.asked;
  j["steps"] = series_json(organ, b.report.best);
  j["evenness"] = evenness_json(b.report.best);
  j["knobs_a_step"] = rounded(b.report.best.knobs, 2);
  j["others"] = Json::array();
  for (const BuildUp& o : b.report.others) {
    j["others"].push_back({{"name", o.name},
                           {"evenness", evenness_json(o)},
                           {"every_step_heard", o.every_step_heard},
                           {"knobs_a_step", rounded(o.knobs, 2)},
                           {"steps", series_json(organ, o)}});
  }
  if (!b.report.left_out.empty()) j["left_out"] = b.report.left_out;
  return dump(j);
}

}  // namespace calcant
