// What the player changes by hand in a day's plan and in a piece: said, freed again, taken back step by step.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "engine/organ/longest_draw.hpp"
#include "engine/score/score.hpp"
#include "files/words/words.hpp"
#include "jobs/boards.hpp"
#include "jobs/by_hand.hpp"
#include "jobs/fit.hpp"
#include "jobs/fixed_foot.hpp"
#include "jobs/pieces.hpp"
#include "jobs/read_score.hpp"
#include "jobs/wishes.hpp"

namespace calcant::desk {
namespace {

constexpr std::size_t most_places = 300;
constexpr int most_times = 99;  // through a bar

// -- as JSON ---------------------------------------------------------------------------------------------------------
Json place_json(const WishPlace& p) {
  Json j;
  j["item"] = p.item;
  if (p.standing > 0) j["standing"] = p.standing;
  if (!p.section.empty()) j["verse"] = p.section;
  else if (p.verse) j["verse"] = *p.verse == 0 ? "play-over" : fmt::format("{}", *p.verse);
  if (!p.bar.empty()) j["bar"] = p.bar;
  if (!p.bar.empty()) j["beat"] = p.beat;
  if (p.time > 1) j["time"] = p.time;
  return j;
}

Json foot_json(const std::string& mark) {
  Json j;
  const auto colon = mark.rfind(':');
  j["note"] = mark.substr(0, colon);
  j["mark"] = colon == std::string::npos ? "" : mark.substr(mark.find_first_not_of(' ', colon + 1));
  return j;
}

tl::expected<Json, Why> changes_json(const ByHand& own) {
  const auto wishes = own.wishes();
  if (!wishes) return why(409, wishes.error());
  const auto feet = own.feet();
  if (!feet) return why(409, feet.error());
  Json j;
  j["steps"] = own.steps();
  for (const char* list : {"words", "fixed", "moved", "forbidden", "feet"}) j[list] = Json::array();
  for (const VerseWord& v : wishes->verses) {
    j["words"].push_back(place_json(v.place));
    j["words"].back()["word"] = v.word;
  }
  for (const FixedRegistration& f : wishes->fixed) {
    j["fixed"].push_back(place_json(f.place));
    j["fixed"].back()["draw"] = f.draw;
  }
  for (const FixedChange& c : wishes->changes) {
    Json& moved = j["moved"].emplace_back(place_json(c.place));
    moved["as_before"] = c.as_before;
    moved["draw"] = c.draw;
    moved["put_in"] = c.put_in;
    if (c.box) moved["box"] = *c.box;
  }
  for (const ForbiddenKnob& f : wishes->forbidden) j["forbidden"].push_back(f.knob);
  for (const std::string& m : *feet) j["feet"].push_back(foot_json(m));
  return j;
}

// -- what is changed -------------------------------------------------------------------------------------------------
tl::expected<WishPlace, Why> place_of(Fields& f) {
  WishPlace p;
  p.item = f.required("item");
  p.standing = f.whole("standing", 1, most_standing).value_or(0);
  const std::string verse = f.text_or("verse", "", 20);
  p.bar = f.text_or("bar", "", 20);
  p.beat = f.number("beat", 1, 99).value_or(1);
  p.time = f.whole("time", 1, most_times).value_or(1);
  if (verse == "play-over") p.verse = 0;
  else if (verse == "Gloria") p.section = verse;
  else if (!verse.empty()) {
    int n = 0;
    const auto [end, fault] = std::from_chars(verse.data(), verse.data() + verse.size(), n);
    if (fault != std::errc{} || end != verse.data() + verse.size() || n < 1 || n > 60)
      return why(422, "A verse is a number from 1 to 60, \"play-over\" or \"Gloria\".", "verse");
    p.verse = n;
  }
  if (verse.empty() == p.bar.empty()) return why(422, "Say which verse, or which bar.", "verse");
  return p;
}

bool same(const WishPlace& a, const WishPlace& b) {
  return a.item == b.item && a.standing == b.standing && a.verse == b.verse && a.section == b.section &&
         a.bar == b.bar && a.beat == b.beat && a.time == b.time;
}
// What was said of a place at all times it stands there is said of each of them.
bool covers(const WishPlace& said, const WishPlace& place) {
  WishPlace there = said;
  there.standing = place.standing;
  return same(there, place) && (said.standing == place.standing || said.standing == 0 || place.standing == 0);
}
template <class Entry>
void free_place(std::vector<Entry>& entries, const WishPlace& place) {
  std::erase_if(entries, [&](const Entry& e) { return covers(e.place, place); });
}
// What is drawn there is free again.
void free_drawn(WishesFile& wishes, const WishPlace& place) {
  free_place(wishes.fixed, place);
  free_place(wishes.changes, place);
}

// A bar that the score has; `moves`: not where it begins, where nothing is drawn before.
tl::expected<void, Why> is_in(const Score* score, const WishPlace& place, const char* member, bool moves) {
  if (score == nullptr || place.bar.empty()) return {};
  if (score->hymn) return why(422, "It is sung: its places are verses.", member);
  const auto bar = bar_of(place, *score, member);
  if (!bar) return why(422, bar.error());
  if (moves && is_beginning(*bar, *score))
    return why(422, "Nothing is drawn before its beginning that could be changed there.", member);
  return {};
}

tl::expected<void, Why> drawn(const std::string& draw, const char* member, const Organ& organ) {
  if (const auto read = parse_registration(organ, draw); !read) return why(422, read.error().message, member);
  return {};
}

tl::expected<void, Why> fix(Fields& f, const Organ& organ, const WishPlace& place, WishesFile& wishes) {
  FixedRegistration fixed;
  fixed.place = place;
  fixed.draw = f.required("draw", longest_draw);
  fixed.right = f.text_or("right", "");
  fixed.left = f.text_or("left", fixed.right);
  fixed.pedal = f.truth("pedal").value_or(true);
  if (auto right = drawn(fixed.draw, "draw", organ); !right) return right;
  if (fixed.right.empty() != fixed.left.empty()) return why(422, "Say where both hands are.", "right");
  for (const std::string& hand : {fixed.right, fixed.left}) {
    const auto is = [&](const Keyboard& k) { return !k.pedal && (k.id == hand || k.name == hand); };
    if (!hand.empty() && std::none_of(organ.keyboards.begin(), organ.keyboards.end(), is))
      return why(422, fmt::format("This organ has no manual '{}'.", hand.substr(0, 60)), "right");
  }
  free_drawn(wishes, place);
  wishes.fixed.push_back(std::move(fixed));
  return {};
}

// Nothing is moved there.
void strike(const WishPlace& place, WishesFile& wishes) {
  FixedChange nothing;
  nothing.place = place;
  nothing.as_before = true;
  free_drawn(wishes, place);
  wishes.changes.push_back(std::move(nothing));
}

// Struck out where it is and made at another bar. A change of the player's own was nobody else's: it is only taken from there.
tl::expected<void, Why> move(Fields& f, const Organ& organ, const Score* score, const WishPlace& place,
                             WishesFile& wishes) {
  FixedChange moved;
  moved.place = place;
  moved.place.bar = f.required("to_bar", 20);
  moved.place.beat = f.number("to_beat", 1, 99).value_or(1);
  moved.place.time = f.whole("to_time", 1, most_times).value_or(1);
  moved.draw = f.text_or("draw", "", longest_draw);
  moved.put_in = f.text_or("put_in", "", longest_draw);
  moved.box = f.number("box", 0, 1);
  if (place.bar.empty() || same(place, moved.place)) return why(422, "Say to which other bar or beat.", "to_bar");
  if (moved.draw.empty() && moved.put_in.empty() && !moved.box) return why(422, "Say what is moved there.", "draw");
  if (auto right = is_in(score, moved.place, "to_bar", true); !right) return right;
  if (auto right = drawn(moved.draw, "draw", organ); !right) return right;
  if (auto right = drawn(moved.put_in, "put_in", organ); !right) return right;
  if (moved.box && organ.boxes.empty()) return why(422, "This organ has no swell box.", "box");
  const bool own = std::any_of(wishes.changes.begin(), wishes.changes.end(),
                               [&](const FixedChange& c) { return covers(c.place, place) && !c.as_before; });
  if (own) free_drawn(wishes, place);
  else strike(place, wishes);
  free_drawn(wishes, moved.place);
  wishes.changes.push_back(std::move(moved));
  return {};
}

tl::expected<void, Why> forbid(Fields& f, const Organ& organ, bool again, WishesFile& wishes) {
  const std::string stop = f.required("stop");
  if (const auto drawn = parse_registration(organ, stop); !drawn) return why(422, drawn.error().message, "stop");
  std::erase_if(wishes.forbidden, [&](const ForbiddenKnob& k) { return k.knob == stop; });
  if (!again) wishes.forbidden.push_back({stop, "", 0});
  return {};
}

tl::expected<void, Why> change_wishes(Fields& f, const std::string& change, const Organ& organ, const Score* score,
                                      WishesFile& wishes) {
  if (change == "forbid" || change == "allow") return forbid(f, organ, change == "allow", wishes);
  const auto place = place_of(f);
  if (!place) return tl::unexpected<Why>(place.error());
  if (change == "free") {
    free_place(wishes.verses, *place);
    free_drawn(wishes, *place);
    return {};
  }
  if (auto right = is_in(score, *place, "bar", change == "strike" || change == "move"); !right) return right;
  if (change == "fix") return fix(f, organ, *place, wishes);
  if (change == "move") return move(f, organ, score, *place, wishes);
  if (change == "strike") {
    strike(*place, wishes);
    return {};
  }
  const std::string word = f.required("word");
  free_place(wishes.verses, *place);
  wishes.verses.push_back({*place, word});
  return {};
}

// A foot mark said or freed; the note is one of the score's, as in GET .../feet.
tl::expected<void, Why> change_feet(Fields& f, const std::string& change, const ByHand& own, const Score& score) {
  const std::string note = f.required("note", 20);
  auto marks = own.feet();
  if (!marks) return why(409, marks.error());
  std::erase_if(*marks, [&](const std::string& m) { return m.rfind(note + ":", 0) == 0; });
  if (change == "foot") {
    const auto foot = f.one_of("foot", {"left", "right"});
    const auto part = f.one_of("part", {"toe", "heel"});
    const std::string mark =
        fmt::format("{}: {}{}{}", note, foot.value_or(""), foot && part ? " " : "", part.value_or(""));
    if (const auto right = parse_fixed_foot(score, mark); !right) return why(422, right.error());
    marks->push_back(mark);
  }
  if (auto right = finished(f); !right) return tl::unexpected<Why>(right.error());
  if (auto kept = own.keep_feet(*marks); !kept) return why(422, kept.error());
  return {};
}

// -- routes ----------------------------------------------------------------------------------------------------------
const std::vector<std::string> of_a_day{"word", "fix", "strike", "free", "forbid", "allow"};
const std::vector<std::string> of_a_piece{"word",   "fix",   "strike", "move",     "free",
                                          "forbid", "allow", "foot",   "free foot"};

tl::expected<ByHand, Why> of_service(Asking& a) {
  if (const auto file = board_file(a.desk.folder(), a.part(0)); !file) return why(404, file.error());
  if (!is_there(a.desk.folder(), a.part(0))) return why(404, "Nothing has been typed for that day yet.", "service");
  return ByHand::of_service(a.desk.folder(), a.part(0));
}
tl::expected<ByHand, Why> of_piece(Asking& a) {
  if (const auto file = piece_file(a.desk.folder(), a.part(0)); !file) return why(404, file.error());
  return ByHand::of_piece(a.desk.folder(), a.part(0));
}

Answer told(const tl::expected<ByHand, Why>& own, const std::string& undo = {}) {
  if (!own) return tl::unexpected<Why>(own.error());
  auto j = changes_json(*own);
  if (!j) return tl::unexpected<Why>(j.error());
  if (!undo.empty()) (*j)["undo"] = undo_json("POST", undo);
  return json_answer(dump(*j));
}

Answer get_changes(Asking& a, const tl::expected<ByHand, Why>& own) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  return told(own);
}

Answer post_change(Asking& a, const tl::expected<ByHand, Why>& own, const std::string& at, bool piece) {
  if (!own) return tl::unexpected<Why>(own.error());
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  if (!body->has("change")) body->fault("'change' is missing.", "change");
  const auto change = body->one_of("change", piece ? of_a_piece : of_a_day);
  if (!change) return tl::unexpected<Why>(finished(*body).error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const int before = own->steps();
  const auto score = piece ? *piece_file(a.desk.folder(), a.part(0)) : std::filesystem::path{};
  if (change->find("foot") != std::string::npos) {
    ScoreRequest request;
    request.score = score;
    const auto read = feet_of_score((*organ)->context, request, std::nullopt);
    if (!read) return why(422, read.error());
    if (auto kept = change_feet(*body, *change, *own, read->read.score); !kept)
      return tl::unexpected<Why>(kept.error());
  } else {
    auto wishes = own->wishes();
    if (!wishes) return why(409, wishes.error());
    const auto read = piece ? read_score(score) : Result<ReadScore>{};
    if (!read) return why(422, read.error());
    const Score* bars = piece ? &read->score : nullptr;
    if (auto laid = change_wishes(*body, *change, (*organ)->context.organ, bars, *wishes); !laid)
      return tl::unexpected<Why>(laid.error());
    if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
    if (wishes->verses.size() + wishes->fixed.size() + wishes->changes.size() > most_places)
      return why(422, "More than 300 places are changed by hand here already.", "change");
    if (auto kept = own->keep(*wishes); !kept) return why(422, kept.error());
  }
  a.desk.changed({piece ? "pieces" : "services"});
  return told(own, own->steps() == before ? std::string{} : at + "/undo");
}

Answer post_undo(Asking& a, const tl::expected<ByHand, Why>& own, bool piece) {
  if (!own) return tl::unexpected<Why>(own.error());
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::lock_guard lock{a.desk.changing()};
  if (auto back = own->take_back(); !back) return why(409, back.error());
  a.desk.changed({piece ? "pieces" : "services"});
  return told(own);
}

std::string at_service(const Asking& a) { return fmt::format("/api/services/{}/changes", a.part(0)); }
std::string at_piece(const Asking& a) { return fmt::format("/api/pieces/{}/changes", a.part(0)); }

Answer get_of_service(Asking& a) { return get_changes(a, of_service(a)); }
Answer post_of_service(Asking& a) { return post_change(a, of_service(a), at_service(a), false); }
Answer undo_of_service(Asking& a) { return post_undo(a, of_service(a), false); }
Answer get_of_piece(Asking& a) { return get_changes(a, of_piece(a)); }
Answer post_of_piece(Asking& a) { return post_change(a, of_piece(a), at_piece(a), true); }
Answer undo_of_piece(Asking& a) { return post_undo(a, of_piece(a), true); }

}  // namespace

std::vector<Route> change_routes() {
  return {{"GET", "/api/services/{service}/changes", get_of_service},
          {"POST", "/api/services/{service}/changes", post_of_service, Carries::json},
          {"POST", "/api/services/{service}/changes/undo", undo_of_service},
          {"GET", "/api/pieces/{piece}/changes", get_of_piece},
          {"POST", "/api/pieces/{piece}/changes", post_of_piece, Carries::json},
          {"POST", "/api/pieces/{piece}/changes/undo", undo_of_piece}};
}

}  // namespace calcant::desk
