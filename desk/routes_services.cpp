#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/prepared.hpp"
#include "desk/routes.hpp"
#include "jobs/boards.hpp"
#include "jobs/by_hand.hpp"
#include "jobs/faults.hpp"
#include "jobs/pieces.hpp"
#include "jobs/sha256.hpp"
#include "jobs/wishes.hpp"

namespace calcant::desk {
namespace {

constexpr const char* own_board = "sunday";
const std::vector<std::string> kinds{"hymn", "psalm", "voluntary", "fill", "note"};
const std::vector<std::string> basses{"feet", "hands", "both"};
const std::vector<std::string> play_overs{"first line", "last line", "both", "whole", "none"};

// -- a board as JSON and back ----------------------------------------------------------------------------------------
Json place_json(const PaperPlace& p) {
  Json j = Json::object();
  if (p.page > 0) j["page"] = p.page;
  if (p.system > 0) j["system"] = p.system;
  if (!p.bar.empty()) j["bar"] = p.bar;
  if (!p.word.empty()) j["word"] = p.word;
  if (p.rest) j["rest"] = *p.rest;
  return j;
}

Json item_json(const ServiceItem& i) {
  Json j;
  const auto text = [&j](const char* name, const std::string& value) {
    if (!value.empty()) j[name] = value;
  };
  j["kind"] = std::string{word(i.kind)};
  text("number", i.number);
  text("title", i.title);
  text("key", i.key);
  text("metre", i.metre);
  if (i.verses > 0) j["verses"] = i.verses;
  text("bass", i.bass);
  text("play_over", i.play_over);
  text("play_over_word", i.play_over_word);
  text("note", i.note);
  if (!i.words.empty()) j["words"] = i.words;
  text("score", i.score);
  if (i.tempo) j["tempo"] = *i.tempo;
  if (i.minutes) j["minutes"] = *i.minutes;
  text("when", i.when);
  if (i.double_chant) j["double_chant"] = true;
  if (!i.gloria) j["gloria"] = false;
  if (!i.cuts.empty()) j["cuts"] = i.cuts;
  for (const PaperPlace& p : i.places) j["places"].push_back(place_json(p));
  return j;
}

PaperPlace place_of(Fields& f) {
  PaperPlace p;
  p.page = f.whole("page", 1, most_pages).value_or(0);
  p.system = f.whole("system", 1, most_systems).value_or(0);
  p.bar = f.text_or("bar", "");
  p.word = f.text_or("word", "");
  p.rest = f.number("rest", 0, longest_rest);
  return p;
}

ServiceItem item_of(Fields& f) {
  ServiceItem i;
  if (!f.has("kind")) f.fault("'kind' is missing.", "kind");
  if (const auto kind = f.one_of("kind", kinds)) {
    i.kind = static_cast<ServiceItem::Kind>(std::find(kinds.begin(), kinds.end(), *kind) - kinds.begin());
  }
  i.number = f.text_or("number", "");
  i.title = f.text_or("title", "");
  i.key = f.text_or("key", "");
  i.metre = f.text_or("metre", "");
  i.verses = f.whole("verses", 0, most_verses).value_or(0);
  i.bass = f.one_of("bass", basses).value_or("");
  i.play_over = f.one_of("play_over", play_overs).value_or("");
  i.play_over_word = f.text_or("play_over_word", "");
  i.note = f.text_or("note", "");
  i.words = f.texts("words", most_verses).value_or(std::vector<std::string>{});
  i.score = f.text_or("score", "");
  if (!i.score.empty() && safe_name(i.score) != i.score) f.fault("'score' is the name of a piece.", "score");
  i.tempo = f.number("tempo", 10, 400);
  i.minutes = f.number("minutes", least_minutes, most_minutes);
  i.when = f.one_of("when", {"before", "after"}).value_or("");
  i.double_chant = f.truth("double_chant").value_or(false);
  i.gloria = f.truth("gloria").value_or(true);
  i.cuts = f.texts("cuts", most_cuts).value_or(std::vector<std::string>{});
  if (auto places = f.tables("places", most_places)) {
    for (Fields& p : *places) {
      i.places.push_back(place_of(p));
      if (auto right = p.finish(); !right) f.fault(right.error().message, right.error().where);
    }
  }
  return i;
}

Json wish_json(const Service& s) {
  Json j;
  j["name"] = s.name;
  j["singers"] = s.singers ? Json(*s.singers) : Json(nullptr);
  j["items"] = Json::array();
  for (const ServiceItem& i : s.items) j["items"].push_back(item_json(i));
  return j;
}

Json problems_json(const std::filesystem::path& folder, const Service& s) {
  Json j = Json::array();
  for (const RowProblem& p : problems(folder, s)) j.push_back({{"row", p.row}, {"message", p.message}});
  return j;
}

// What will not be followed of the words, by the reading the sheet is made with. Nothing where there is no organ yet, or its
// wishes cannot be read: the sheet says so.
Json hints_json(Desk& desk, const Service& s) {
  Json j = Json::array();
  const auto organ = desk.organ({});
  const auto wishes = organ ? Wishes::of((*organ)->context) : Result<Wishes>{};
  for (const RowProblem& p : words_not_followed(s, wishes ? wishes->words() : Wordbook{})) {
    j.push_back({{"row", p.row}, {"message", p.message}});
  }
  return j;
}

// -- helpers ---------------------------------------------------------------------------------------------------------
tl::expected<Board, Why> board_of(const Desk& desk, const std::string& service) {
  if (const auto file = board_file(desk.folder(), service); !file) return why(404, file.error());
  if (!is_there(desk.folder(), service)) return why(404, "Nothing has been typed for that day yet.", "service");
  auto board = read_board(desk.folder(), service);
  if (!board) return why(409, board.error());
  return std::move(*board);
}

// The organ a service is planned for: that of its day.
Asked on_the_day(Asked asked, const std::string& service) {
  if (!asked.on && service != own_board) asked.on = service;
  return asked;
}

// What a sheet is made from, in one hash: the board, the organ, and what was changed by hand for the day and its scores.
std::string made_from(const Desk& desk, const Board& board, const OpenOrgan& organ) {
  std::string all = board.hash + organ.unmeasured + ByHand::of_service(desk.folder(), board.service).all();
  for (const ServiceItem& i : board.content.items) {
    if (!i.score.empty()) all += ByHand::of_piece(desk.folder(), i.score).all();
  }
  return sha256(all);
}

// -- routes ----------------------------------------------------------------------------------------------------------
Answer get_services(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  Json j;
  j["services"] = Json::array();
  for (const std::string& service : boards(a.desk.folder())) {
    const auto board = read_board(a.desk.folder(), service);
    Json one;
    one["service"] = service;
    one["name"] = board ? board->content.name : "";
    one["items"] = board ? board->content.items.size() : 0;
    const auto place = prepared_service(a.desk, service);
    std::shared_ptr<const OpenOrgan> organ;
    if (board && is_prepared(place)) organ = a.desk.organ(on_the_day({}, service)).value_or(nullptr);
    one["prepared"] = how_prepared(place, organ ? made_from(a.desk, *board, *organ) : "", organ.get());
    if (!board) one["problem"] = sentence(board.error());
    j["services"].push_back(std::move(one));
  }
  return json_answer(dump(j));
}

Answer get_service(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::string& service = a.part(0);
  const auto board = board_of(a.desk, service);
  if (!board) return tl::unexpected<Why>(board.error());
  const auto organ = organ_of(a.desk, on_the_day({}, service));
  const auto place = prepared_service(a.desk, service);
  Json j;
  j["service"] = service;
  j["name"] = board->content.name;
  j["invented"] = board->content.invented;
  const Json wish = wish_json(board->content);
  j["singers"] = wish["singers"];
  j["items"] = wish["items"];
  j["hash"] = board->hash;
  j["read_only"] = board->read_only;
  j["prepared"] = how_prepared(place, organ ? made_from(a.desk, *board, **organ) : "", organ ? organ->get() : nullptr);
  j["problems"] = problems_json(a.desk.folder(), board->content);
  j["hints"] = hints_json(a.desk, board->content);
  return json_answer(dump(j));
}

Answer put_service(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  Service wish;
  wish.name = body->text_or("name", "");
  if (!body->is_null("singers")) wish.singers = body->whole("singers", 1, 5000);
  const auto hash = body->text("hash");
  if (!body->has("items")) body->fault("'items' is missing.", "items");
  auto items = body->tables("items", most_items);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  for (Fields& f : *items) {
    wish.items.push_back(item_of(f));
    if (auto right = finished(f); !right) return tl::unexpected<Why>(right.error());
  }
  const std::string& service = a.part(0);
  if (service == own_board) return why(409, "sunday.toml is written by hand; type a board under its date.", "service");
  if (const auto file = board_file(a.desk.folder(), service); !file) return why(404, file.error());

  const std::lock_guard lock{a.desk.changing()};
  std::optional<Board> before;
  if (is_there(a.desk.folder(), service)) {
    auto read = read_board(a.desk.folder(), service);
    if (!read)
      return why(409, fmt::format("The board in the folder cannot be read: {}", sentence(read.error())), "service");
    before = std::move(*read);
  }
  if (hash && before && *hash != before->hash) {
    return why(409, "This board has been changed elsewhere meanwhile; look at it afresh.", "hash");
  }
  if (before) wish.invented = before->content.invented;
  const auto written = write_board(a.desk.folder(), service, wish);
  if (!written) return why(422, written.error());
  a.desk.changed({"services"});
  const std::string path = "/api/services/" + service;
  Json j;
  j["service"] = service;
  j["hash"] = written->hash;
  j["problems"] = problems_json(a.desk.folder(), written->content);
  j["hints"] = hints_json(a.desk, written->content);
  j["undo"] = before ? undo_json("PUT", path, wish_json(before->content).dump()) : undo_json("DELETE", path);
  return json_answer(dump(j));
}

Answer delete_service(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const std::string& service = a.part(0);
  const std::lock_guard lock{a.desk.changing()};
  const auto board = board_of(a.desk, service);
  if (!board) return tl::unexpected<Why>(board.error());
  if (auto gone = remove_board(a.desk.folder(), service); !gone) return why(409, gone.error());
  a.desk.changed({"services"});
  Json j;
  j["done"] = fmt::format("The board for {} was taken away.", service);
  j["undo"] = undo_json("PUT", "/api/services/" + service, wish_json(board->content).dump());
  return json_answer(dump(j));
}

Answer prepare_service(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string service = a.part(0);
  const Asked asked = on_the_day(asked_of(*body, {"on", "temperature", "at", "people"}), service);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto board = board_of(a.desk, service);
  if (!board) return tl::unexpected<Why>(board.error());
  if (board->content.items.empty()) return why(422, "There is nothing on the board yet.", "items");
  if (const auto wrong = problems(a.desk.folder(), board->content); !wrong.empty()) {
    return why(422, fmt::format("Row {}: {}", wrong.front().row + 1, wrong.front().message),
               fmt::format("items[{}]", wrong.front().row));
  }
  if (const auto organ = organ_of(a.desk, asked); !organ) return tl::unexpected<Why>(organ.error());
  const auto task = a.desk.start("prepare", fmt::format("The sheet for {}", service),
                                 [&desk = a.desk, service, asked](const Work& work) -> Result<std::string> {
                                   const auto organ = desk.organ(asked);
                                   if (!organ) return tl::unexpected<Error>(organ.error());
                                   const auto now = read_board(desk.folder(), service);
                                   if (!now) return tl::unexpected<Error>(now.error());
                                   PrepareRequest request;
                                   request.service = *board_file(desk.folder(), service);
                                   request.preview = false;
                                   auto made = prepare_in_place(desk, (*organ)->context, std::move(request),
                                                                prepared_service(desk, service),
                                                                made_from(desk, *now, **organ), work);
                                   if (made) desk.changed({"services"});
                                   return made;
                                 });
  if (!task) return why(503, task.error());
  return started(*task);
}

Answer get_sheet(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (const auto file = board_file(a.desk.folder(), a.part(0)); !file) return why(404, file.error());
  auto html = prepared_file(prepared_service(a.desk, a.part(0)), "cues.html");
  if (!html) return tl::unexpected<Why>(html.error());
  return sheet_answer(std::move(*html));
}

Answer get_plan(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (const auto file = board_file(a.desk.folder(), a.part(0)); !file) return why(404, file.error());
  auto plan = prepared_file(prepared_service(a.desk, a.part(0)), "plan.json");
  if (!plan) return tl::unexpected<Why>(plan.error());
  return json_answer(std::move(*plan));
}

Answer after_lines(const OpenOrgan& organ, const Book& book, const std::string& date, const Json& undo) {
  const auto lines = book.after_services();
  if (!lines) return why(500, lines.error());
  Json j;
  j["lines"] = Json::array();
  for (const AfterService& l : *lines) {
    if (l.date != date) continue;
    j["lines"].push_back(
        {{"id", l.id}, {"date", l.date}, {"item", l.item}, {"verdict", l.verdict}, {"words", l.words}});
  }
  if (!undo.is_null()) j["undo"] = undo;
  return json_answer(dump(j), organ);
}

Answer get_after(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  if (!parse_date(a.part(0))) return why(404, "What is said after a service is kept under its date.", "service");
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  return after_lines(**organ, *book, a.part(0), nullptr);
}

Answer post_after(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  AfterService line;
  line.item = body->required("item");
  if (!body->has("verdict")) body->fault("'verdict' is missing.", "verdict");
  line.verdict = body->one_of("verdict", {"", "too thin", "right", "too strong", "a fault"}).value_or("");
  line.words = body->text_or("words", "");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  if (!parse_date(a.part(0))) return why(404, "What is said after a service is kept under its date.", "service");
  line.date = a.part(0);
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  auto book = a.desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto lines = book->after_services();
  if (!lines) return why(500, lines.error());
  Json back;
  back["item"] = line.item;
  back["verdict"] = "";
  for (const AfterService& l : *lines) {
    if (l.date != line.date || l.item != line.item) continue;
    back["verdict"] = l.verdict;
    back["words"] = l.words;
  }
  if (const auto said = book->say_after(line); !said) return why(500, said.error());
  a.desk.changed({"services"});
  return after_lines(**organ, *book, line.date,
                     undo_json("POST", fmt::format("/api/services/{}/after", line.date), back.dump()));
}

Answer get_tunes(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  Json j;
  j["tunes"] = Json::array();
  for (const ServiceItem& i : known_tunes(a.desk.folder())) {
    Json one;
    one["title"] = i.title;
    one["kind"] = std::string{word(i.kind)};
    if (!i.number.empty()) one["number"] = i.number;
    if (!i.key.empty()) one["key"] = i.key;
    if (!i.metre.empty()) one["metre"] = i.metre;
    if (i.verses > 0) one["verses"] = i.verses;
    if (!i.score.empty()) one["score"] = i.score;
    j["tunes"].push_back(std::move(one));
  }
  return json_answer(dump(j));
}

}  // namespace

std::vector<Route> service_routes() {
  return {{"GET", "/api/services", get_services},
          {"GET", "/api/services/{service}", get_service},
          {"PUT", "/api/services/{service}", put_service, Carries::json},
          {"DELETE", "/api/services/{service}", delete_service},
          {"POST", "/api/services/{service}/prepare", prepare_service, Carries::json},
          {"GET", "/api/services/{service}/sheet", get_sheet},
          {"GET", "/api/services/{service}/plan", get_plan},
          {"GET", "/api/services/{service}/after", get_after},
          {"POST", "/api/services/{service}/after", post_after, Carries::json},
          {"GET", "/api/tunes", get_tunes}};
}

}  // namespace calcant::desk
