#include "jobs/faults.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/run_notes.hpp"

namespace calcant {

Result<void> lay_on_pipe(const Organ& organ, StopIndex stop, Note key, BookFault& f) {
  const Stop& s = organ.stops[static_cast<std::size_t>(stop)];
  for (const StopPart& part : s.parts) {
    if (key < part.from || key > part.to) continue;
    const Rank& rank = organ.ranks[static_cast<std::size_t>(part.rank)];
    const int number = key.midi + part.step - rank.low_key.midi + 1;
    if (number < 1 || number > rank.pipes) continue;
    f.key = key;
    f.rank = rank.id;
    f.pipe = number;
    return {};
  }
  return fail(fmt::format("{} has no pipe at {}; it goes from {} to {}", full_name(s), name(key), name(s.low()),
                          name(organ.divisions[static_cast<std::size_t>(s.division)].high)),
              "fault");
}

Result<BookFault> fault_of(const Organ& organ, const std::string& division, const std::string& stop,
                           std::optional<Note> key, FaultKind kind, const std::string& words) {
  BookFault f;
  const auto d = division_by_id(organ, division);
  if (!d) return fail(fmt::format("no division has the id \"{}\"", division), "division");
  f.division = division;
  f.kind = kind;
  if (!stop.empty()) {
    const auto s = stop_by_id(organ, stop);
    if (!s || organ.stops[static_cast<std::size_t>(*s)].division != *d) {
      return fail(
          fmt::format("no stop of the {} has the id \"{}\"", organ.divisions[static_cast<std::size_t>(*d)].name, stop),
          "stop");
    }
    f.stop = stop;
    if (key) {
      if (auto pipe = lay_on_pipe(organ, *s, *key, f); !pipe) return fail(pipe.error().message, "midi");
    }
  } else if (key) {
    return fail("a note is of a stop; say which", "stop");
  }
  f.words = words.empty() ? std::string{word(kind)} : words;
  return f;
}

std::string fault_text(const Organ& organ, const BookFault& f) {
  const auto division = division_by_id(organ, f.division);
  const auto stop = stop_by_id(organ, f.stop);
  std::string out = division ? organ.divisions[static_cast<std::size_t>(*division)].name : f.division;
  if (!f.stop.empty()) out += ": " + (stop ? full_name(organ.stops[static_cast<std::size_t>(*stop)]) : f.stop);
  if (f.key) out += ", " + name(*f.key);
  return out + ": " + std::string{f.kind == FaultKind::other ? std::string_view{f.words} : word(f.kind)};
}

Result<Book> open_book(const OrganContext& context) {
  return Book::open((context.folder / "organ.book").string(), context.described.id);
}

Result<EntryId> write_visit(const OrganContext& context, const VisitRequest& request) {
  Visit visit = request.visit;
  if (!request.stop.empty()) {
    const auto drawn = parse_registration(context.described, request.stop);
    if (!drawn) return fail(drawn.error().message, "--stop");
    if (drawn->stops.count() != 1) return fail("name one stop, or none for the whole organ", "--stop");
    for (std::size_t s = 0; s < context.described.stops.size(); ++s)
      if (drawn->stops.test(s)) visit.stop = context.described.stops[s].id;
  }
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  return book->add(visit, request.closes);
}

Result<std::vector<StateClosed>> states_closed(const Book& book) {
  const auto visits = book.visits();
  if (!visits) return tl::unexpected(visits.error());
  std::vector<StateClosed> out;
  for (const Visit& v : *visits) out.push_back({v.date, v.stop});
  return out;
}

Result<std::optional<Day>> day_from_book(const std::filesystem::path& folder, const Organ& described,
                                         const DayRequest& request) {
  const std::filesystem::path path = folder / "organ.book";
  std::error_code none;
  if (!std::filesystem::exists(path, none)) return std::nullopt;
  auto book = Book::open(path.string(), described.id);
  if (!book) return tl::unexpected(book.error());
  const auto faults = book->faults_open(request.date);
  if (!faults) return tl::unexpected(faults.error());
  std::vector<OpenFault> open;
  for (const BookFault& f : *faults) {
    OpenFault o;
    o.stop = f.stop;
    o.division = f.division;
    o.key = f.key;
    o.rank = f.rank;
    o.pipe = f.pipe;
    o.dead = f.kind == FaultKind::dead;
    o.out_of_use = f.kind == FaultKind::out_of_use;
    o.words = fault_text(described, f);
    o.when = f.when;
    o.reported = f.reported;
    open.push_back(std::move(o));
  }
  const auto runs = book->runs();
  if (!runs) return tl::unexpected(runs.error());
  const auto closed = states_closed(*book);
  if (!closed) return tl::unexpected(closed.error());
  std::vector<PipeRecord> records;
  for (const Run& run : *runs) {
    const auto notes = book->notes(run.id);
    if (!notes) return tl::unexpected(notes.error());
    const bool complete = played_through(*notes);
    for (const RunNote& n : *notes) {
      const bool dead = n.state == "dead" && complete;
      if ((n.state != "speaks" && !dead) || n.pipe == 0) continue;
      PipeRecord r;
      r.stop = run.stop;
      r.dead = dead;
      r.rank = n.rank;
      r.pipe = n.pipe;
      r.date = run.date;
      r.close = run.close;
      r.cents = n.cents;
      r.cents_95 = n.cents_95;
      r.level = n.level;
      r.level_95 = n.level_95;
      r.temperature = run.temperature;
      records.push_back(std::move(r));
    }
  }
  const auto heard = book->couplers_heard();
  if (!heard) return tl::unexpected(heard.error());
  Day day = organ_of_day(described, open, records, request, *closed);
  for (const CouplerHeard& h : *heard)
    if (h.carries) day.overlay.couplers.push_back({h.through, h.carried, *h.carries, h.date});
  return day;
}

std::string faults_json(const OrganContext& context, const std::vector<BookFault>& faults) {
  Json j;
  j["faults"] = Json::array();
  for (const BookFault& f : faults) {
    Json one;
    one["id"] = f.id;
    one["text"] = fault_text(context.described, f);
    one["division"] = f.division;
    one["stop"] = f.stop;
    if (f.key) {
      one["midi"] = f.key->midi;
      one["note"] = name(*f.key);
    }
    if (f.pipe > 0) {
      one["rank"] = f.rank;
      one["pipe"] = f.pipe;
    }
    one["kind"] = word(f.kind);
    one["words"] = f.words;
    one["when"] = f.when;
    one["reported"] = f.reported;
    if (f.temperature) one["celsius"] = f.temperature->value();
    one["closed"] = f.closed;
    one["remedy"] = f.remedy;
    j["faults"].push_back(std::move(one));
  }
  return dump(j);
}

}  // namespace calcant
