#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "jobs/fault_line.hpp"
#include "jobs/faults.hpp"
#include "jobs/tuners_page.hpp"

namespace calcant::desk {
namespace {

const std::vector<std::string>& kind_words() {
  static const std::vector<std::string> words = [] {
    std::vector<std::string> all;
    for (int k = 0; k <= static_cast<int>(FaultKind::other); ++k) all.emplace_back(word(static_cast<FaultKind>(k)));
    return all;
  }();
  return words;
}

// faults_json's object, with the way back beside it.
std::string changed_json(const OrganContext& context, const std::vector<BookFault>& faults, const Json& undo) {
  Json j = Json::parse(faults_json(context, faults));
  if (!undo.is_null()) j["undo"] = undo;
  return dump(j);
}

struct Opened {
  std::shared_ptr<const OpenOrgan> organ;
  Book book;
};
tl::expected<Opened, Why> open(Desk& desk) {
  auto organ = organ_of(desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  auto book = desk.book((*organ)->context);
  if (!book) return why(500, book.error());
  return Opened{std::move(*organ), std::move(*book)};
}

// What is in the book now, after a change.
Answer answer_open(Desk& desk, const Opened& o, const Json& undo) {
  desk.changed({"faults"});
  const auto faults = o.book.faults_open("");
  if (!faults) return why(500, faults.error());
  return json_answer(changed_json(o.organ->context, *faults, undo), *o.organ);
}

tl::expected<BookFault, Why> known_fault(const Opened& o, std::int64_t id) {
  const auto all = o.book.faults();
  if (!all) return why(500, all.error());
  for (const BookFault& f : *all) {
    if (f.id == id) return f;
  }
  return why(404, fmt::format("There is no fault {} in the book.", id), "id");
}

Answer get_faults(Asking& a) {
  const auto on = a.query.date("on");
  const bool all = a.query.truth("all").value_or(false);
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto o = open(a.desk);
  if (!o) return tl::unexpected<Why>(o.error());
  const auto faults = all ? o->book.faults() : o->book.faults_open(on.value_or(""));
  if (!faults) return why(500, faults.error());
  return json_answer(faults_json(o->organ->context, *faults), *o->organ);
}

// The fault a body speaks of: a line, or its parts.
tl::expected<BookFault, Why> wished(Fields& body, const Organ& organ) {
  const auto line = body.text("line");
  const std::string division = body.text_or("division", "");
  const std::string stop = body.text_or("stop", "");
  const auto midi = body.whole("midi", 0, 127);
  const auto kind = body.one_of("kind", kind_words());
  const std::string words = body.text_or("words", "");
  const std::string when = body.text_or("when", "");
  const auto on = body.date("on");
  const auto celsius = body.number("temperature", -20, 50);
  if (auto right = finished(body); !right) return tl::unexpected<Why>(right.error());
  const bool parts = !division.empty() && kind;
  if (line.has_value() == parts || (line && (!stop.empty() || midi || !words.empty()))) {
    return why(400, "A fault is a line, or a division and a kind with stop and note where they apply.", "line");
  }
  auto fault = line ? parse_fault(organ, *line)
                    : fault_of(organ, division, stop, midi ? std::optional{Note{*midi}} : std::nullopt,
                               fault_kind(*kind).value_or(FaultKind::other), words);
  if (!fault) return why(422, fault.error());
  if (!when.empty()) fault->when = when;
  if (on) fault->reported = *on;
  if (celsius) fault->temperature = Celsius{*celsius};
  return std::move(*fault);
}

Answer post_fault(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const auto key = body->text("key", 64);
  if (key && (key->size() < 8 || safe_name(*key) != *key)) {
    return why(400, "A key is 8 to 64 letters, digits and hyphens.", "key");
  }
  auto o = open(a.desk);
  if (!o) return tl::unexpected<Why>(o.error());
  const OrganContext& context = o->organ->context;
  auto fault = wished(*body, context.described);
  if (!fault) return tl::unexpected<Why>(fault.error());
  if (fault->reported.empty()) fault->reported = a.desk.today();
  const std::lock_guard lock{a.desk.changing()};
  Book::HandedIn in;
  if (key) {
    const auto handed = o->book.hand_in(*fault, *key);
    if (!handed) return why(500, handed.error());
    in = *handed;
  } else {
    const auto id = o->book.add(*fault);
    if (!id) return why(500, id.error());
    in.fault = *id;
  }
  if (in.before) {
    std::vector<BookFault> it;
    if (in.fault) {
      if (auto known = known_fault(*o, *in.fault)) it.push_back(std::move(*known));
    }
    return json_answer(changed_json(context, it, nullptr), *o->organ);
  }
  a.desk.changed({"faults"});
  fault->id = *in.fault;
  return json_answer(changed_json(context, {*fault}, undo_json("DELETE", fmt::format("/api/faults/{}", fault->id))),
                     *o->organ, 201);
}

Answer delete_fault(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto id = entry_id(a);
  if (!id) return tl::unexpected<Why>(id.error());
  auto o = open(a.desk);
  if (!o) return tl::unexpected<Why>(o.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto known = known_fault(*o, *id);
  if (!known) return tl::unexpected<Why>(known.error());
  if (auto gone = o->book.take_back_fault(*id); !gone) return why(500, gone.error());
  Json again;
  again["division"] = known->division;
  if (!known->stop.empty()) again["stop"] = known->stop;
  if (known->key) again["midi"] = known->key->midi;
  again["kind"] = std::string{word(known->kind)};
  again["words"] = known->words;
  again["when"] = known->when;
  again["on"] = known->reported;
  if (known->temperature) again["temperature"] = known->temperature->value();
  return answer_open(a.desk, *o, undo_json("POST", "/api/faults", again.dump()));
}

Answer close_fault(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string done = body->text_or("done", "", 1000);
  const auto on = body->date("on");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto id = entry_id(a);
  if (!id) return tl::unexpected<Why>(id.error());
  auto o = open(a.desk);
  if (!o) return tl::unexpected<Why>(o.error());
  const std::lock_guard lock{a.desk.changing()};
  if (const auto known = known_fault(*o, *id); !known) return tl::unexpected<Why>(known.error());
  if (auto closed = o->book.close_fault(*id, on.value_or(a.desk.today()), done); !closed)
    return why(500, closed.error());
  return answer_open(a.desk, *o, undo_json("POST", fmt::format("/api/faults/{}/reopen", *id)));
}

Answer reopen_fault(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto id = entry_id(a);
  if (!id) return tl::unexpected<Why>(id.error());
  auto o = open(a.desk);
  if (!o) return tl::unexpected<Why>(o.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto known = known_fault(*o, *id);
  if (!known) return tl::unexpected<Why>(known.error());
  if (known->closed.empty()) return why(409, fmt::format("Fault {} is open already.", *id), "id");
  if (auto opened = o->book.reopen_fault(*id); !opened) return why(500, opened.error());
  Json again;
  again["done"] = known->remedy;
  again["on"] = known->closed;
  return answer_open(a.desk, *o, undo_json("POST", fmt::format("/api/faults/{}/close", *id), again.dump()));
}

Answer get_tuner_list(Asking& a) {
  const auto on = a.query.date("on");
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto o = open(a.desk);
  if (!o) return tl::unexpected<Why>(o.error());
  const std::string date = on.value_or(a.desk.today());
  const auto page = tuners_page(o->organ->context, o->book, date);
  if (!page) return why(500, page.error());
  return sheet_answer(page->html);
}

}  // namespace

std::vector<Route> fault_routes() {
  return {{"GET", "/api/faults", get_faults},
          {"POST", "/api/faults", post_fault, Carries::json},
          {"DELETE", "/api/faults/{id}", delete_fault},
          {"POST", "/api/faults/{id}/close", close_fault, Carries::json},
          {"POST", "/api/faults/{id}/reopen", reopen_fault},
          {"GET", "/api/tuner-list", get_tuner_list}};
}

}  // namespace calcant::desk
