#include "jobs/faults.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/typed.hpp"
#include "files/specification/specification.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/run_notes.hpp"

namespace calcant {
namespace {

std::vector<std::string> words_of(std::string_view line) {
  std::vector<std::string> out;
  std::string word;
  for (const char c : line) {
    if (c == ' ' || c == '\t' || c == ',' || c == ';' || c == ':') {
      if (!word.empty()) out.push_back(std::move(word));
      word.clear();
    } else {
      word += c;
    }
  }
  if (!word.empty()) out.push_back(std::move(word));
  return out;
}

std::string joined(const std::vector<std::string>& words, std::size_t from, std::size_t to) {
  std::string out;
  for (std::size_t i = from; i < to; ++i) out += (out.empty() ? "" : " ") + words[i];
  return out;
}

struct Sign {
  std::string_view word;
  FaultKind kind;
};
// What people say, and what it is called in the book. Longer sayings first, so that "out of use" is not "out of tune".
constexpr std::array<Sign, 30> signs{{{"out of use", FaultKind::out_of_use},
                                      {"out of tune", FaultKind::out_of_tune},
                                      {"slow to speak", FaultKind::slow},
                                      {"off speech", FaultKind::off_speech},
                                      {"does not speak", FaultKind::dead},
                                      {"won't speak", FaultKind::dead},
                                      {"sounds on", FaultKind::cipher},
                                      {"overblows", FaultKind::off_speech},
                                      {"unsteady", FaultKind::unsteady},
                                      {"wavers", FaultKind::unsteady},
                                      {"trembles", FaultKind::unsteady},
                                      {"ciphers", FaultKind::cipher},
                                      {"cipher", FaultKind::cipher},
                                      {"sticks", FaultKind::cipher},
                                      {"running", FaultKind::running},
                                      {"runs", FaultKind::running},
                                      {"murmur", FaultKind::running},
                                      {"silent", FaultKind::dead},
                                      {"dead", FaultKind::dead},
                                      {"late", FaultKind::late},
                                      {"slow", FaultKind::slow},
                                      {"flat", FaultKind::out_of_tune},
                                      {"sharp", FaultKind::out_of_tune},
                                      {"tune", FaultKind::out_of_tune},
                                      {"octave", FaultKind::off_speech},
                                      {"weak", FaultKind::weak},
                                      {"faint", FaultKind::weak},
                                      {"hiss", FaultKind::noise},
                                      {"rattle", FaultKind::noise},
                                      {"noise", FaultKind::noise}}};

FaultKind kind_of(const std::string& said) {
  const std::string text = lower(said);
  for (const Sign& s : signs) {
    if (text.find(s.word) != std::string::npos) return s.kind;
  }
  return FaultKind::other;
}

// Names a stop or a division may go by at the beginning of a line.
struct Name {
  std::string text;
  std::optional<StopIndex> stop;
  DivisionIndex division = 0;
};
std::vector<Name> names_of(const Organ& organ) {
  std::vector<Name> out;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    const Stop& stop = organ.stops[s];
    const std::string division = lower(organ.divisions[static_cast<std::size_t>(stop.division)].name);
    for (const std::string& name : {lower(full_name(stop)), lower(stop.name)}) {
      out.push_back({name, static_cast<StopIndex>(s), stop.division});
      out.push_back({division + " " + name, static_cast<StopIndex>(s), stop.division});
    }
  }
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    out.push_back({lower(organ.divisions[d].name), std::nullopt, static_cast<DivisionIndex>(d)});
  }
  return out;
}

// "Swell Trombone dead" is no fault of the whole Swell where it has no Trombone. A word of what was heard may be a
// stop's name as well: "octave", "sharp".
Result<void> no_unknown_stop(const Organ& organ, DivisionIndex division, const std::string& said,
                             const std::vector<Name>& names) {
  const std::string first = words_of(said).front();
  const bool a_symptom = std::ranges::any_of(signs, [&](const Sign& s) {
    const std::vector<std::string> words = words_of(s.word);
    return std::ranges::find(words, lower(first)) != words.end();
  });
  std::vector<std::string> known;
  for (const Name& n : names)
    if (n.division == division && n.stop) known.push_back(organ.stops[static_cast<std::size_t>(*n.stop)].name);
  const bool nearly = first.size() >= 6 && !nearest(first, known).empty();  // shorter ones are near to anything: "box"
  if (a_symptom || (!names_a_stop(first) && !nearly)) return {};
  return fail(fmt::format("the {} has no stop called \"{}\"{}",
                          organ.divisions[static_cast<std::size_t>(division)].name, first, perhaps(first, known)),
              "fault");
}

// The pipe a note of a stop sounds: its own, or the lender's.
Result<void> find_pipe(const Organ& organ, const Stop& stop, BookFault& f) {
  for (const StopPart& part : stop.parts) {
    if (*f.key < part.from || *f.key > part.to) continue;
    const Rank& rank = organ.ranks[static_cast<std::size_t>(part.rank)];
    const int number = f.key->midi + part.step - rank.low_key.midi + 1;
    if (number < 1 || number > rank.pipes) continue;
    f.rank = rank.id;
    f.pipe = number;
    return {};
  }
  return fail(fmt::format("{} has no pipe at {}; it goes from {} to {}", full_name(stop), name(*f.key),
                          name(stop.low()), name(organ.divisions[static_cast<std::size_t>(stop.division)].high)),
              "fault");
}

}  // namespace

Result<BookFault> parse_fault(const Organ& organ, std::string_view line) {
  const std::vector<std::string> words = words_of(line);
  if (words.empty() || line.size() > 500) {
    return fail("a fault is one line: division and stop, the note, and what was heard, like \"Pedal Bourdon F#2 dead\"",
                "fault");
  }
  // The note, if any, parts what it is from what was heard; else the longest name known at the beginning does.
  std::size_t named = 0;
  BookFault f;
  for (std::size_t i = 1; i < words.size(); ++i) {
    if (const auto note = parse_note(words[i])) {
      f.key = *note;
      named = i;
      break;
    }
  }
  const std::vector<Name> names = names_of(organ);
  std::vector<Name> found;
  std::size_t length = 0;
  for (std::size_t n = f.key ? named : words.size(); n > 0 && found.empty(); --n) {
    const std::string head = lower(joined(words, 0, n));
    for (const Name& name : names) {
      if (name.text == head) found.push_back(name);
    }
    length = n;
    if (f.key) break;
  }
  std::sort(found.begin(), found.end(), [](const Name& a, const Name& b) { return a.stop < b.stop; });
  found.erase(std::unique(found.begin(), found.end(), [](const Name& a, const Name& b) { return a.stop == b.stop; }),
              found.end());
  if (found.empty()) {
    const std::string head = joined(words, 0, f.key ? named : 1);
    std::vector<std::string> known;
    for (const Name& name : names) known.push_back(name.text);
    const auto near = nearest(lower(head), known);
    return fail(fmt::format("no stop or division is called \"{}\"{}", head,
                            near.empty() ? "" : fmt::format("; the nearest is \"{}\"", near)),
                "fault");
  }
  if (found.size() > 1) {
    std::string both;
    for (const Name& n : found) {
      both += (both.empty() ? "" : " or ") + organ.divisions[static_cast<std::size_t>(n.division)].name + " " +
              full_name(organ.stops[static_cast<std::size_t>(*n.stop)]);
    }
    return fail(fmt::format("\"{}\" may be {}; put the division before it", joined(words, 0, length), both), "fault");
  }
  const std::string said = joined(words, f.key ? named + 1 : length, words.size());
  if (said.empty())
    return fail("what was heard? Put it at the end: dead, ciphers, late, slow, flat, out of use ...", "fault");
  if (!found[0].stop && !f.key) {
    if (const auto right = no_unknown_stop(organ, found[0].division, said, names); !right)
      return tl::unexpected(right.error());
  }
  f.division = organ.divisions[static_cast<std::size_t>(found[0].division)].id;
  f.kind = kind_of(said);
  if (found[0].stop) {
    const Stop& stop = organ.stops[static_cast<std::size_t>(*found[0].stop)];
    f.stop = stop.id;
    if (f.key) {
      if (const auto pipe = find_pipe(organ, stop, f); !pipe) return tl::unexpected(pipe.error());
    }
  }
  f.words = std::string{line};
  return f;
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
    f.key = key;
    if (key) {
      if (auto pipe = find_pipe(organ, organ.stops[static_cast<std::size_t>(*s)], f); !pipe) {
        return fail(pipe.error().message, "midi");
      }
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
