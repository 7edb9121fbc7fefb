#include "jobs/tuners_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "files/pages/tuner_list.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"
#include "jobs/run_notes.hpp"

namespace calcant {
namespace {

constexpr double cold_by_kelvin = 4.0;  // under the tuning temperature: 12 cents of a flue's movement, told by the note

// Bearings stop first, then flues, undulating strings, reeds; the pedal last: as tuners go (trade practice).
int tuner_order(const Organ& organ, const Stop& s) {
  const Division& division = organ.divisions[static_cast<std::size_t>(s.division)];
  const bool pedal = division.keyboard && organ.keyboards[static_cast<std::size_t>(*division.keyboard)].pedal;
  const bool bearings =
      s.division == 0 && s.family == Family::principal && !s.feet.empty() && s.feet[0] == Feet{Rational{4}};
  if (pedal) return s.family == Family::reed ? 7 : 6;
  if (s.family == Family::reed) return 5;
  if (s.celeste) return 4;
  if (s.family == Family::string) return 3;
  return bearings ? 0 : s.division == 0 ? 1 : 2;
}

struct Entry {
  int order = 8;  // a whole division comes last
  std::optional<Note> key;
  TunerList::Row row;
};

class Rows {
 public:
  explicit Rows(const OrganContext& context) : organ_(context.described) {}

  void add(const BookFault& f) {
    if (f.kind == FaultKind::out_of_tune && cold(f.temperature)) {
      ++left_out_cold_;
      return;
    }
    Entry e;
    e.key = f.key;
    const auto division = division_by_id(organ_, f.division);
    e.row.stop = division ? organ_.divisions[static_cast<std::size_t>(*division)].name : f.division;
    if (const auto stop = stop_by_id(organ_, f.stop)) place(e, *stop);
    e.row.note = f.key ? name(*f.key, NoteStyle::english) : "whole stop";
    e.row.heard = f.kind == FaultKind::other ? f.words : std::string{word(f.kind)};
    e.row.when = f.when;
    e.row.reported = f.reported;
    if (f.temperature) e.row.temperature = fmt::format("{:.0f} °C", f.temperature->value());
    entries_.push_back(std::move(e));
  }

  // Rows added.
  int add(const KeptRun& run, const std::vector<BookFault>& told) {
    int added = 0;
    for (const Finding& f : run.findings) {
      if (f.kind == FindingKind::wrong_note) continue;  // of the player, or of a cipher that has its own row
      if (f.kind == FindingKind::dead && !played_through(run.kept)) continue;
      for (const Note key : f.keys) {
        const bool again = std::ranges::any_of(told, [&](const BookFault& b) {
          return b.stop == run.run.stop && b.key == key && word(b.kind) == word(f.kind);
        });
        if (again) continue;
        if (f.kind == FindingKind::out_of_tune && cold(run.run.temperature)) {
          ++left_out_cold_;
          continue;
        }
        entries_.push_back(measured(run, f, key));
        ++added;
      }
    }
    return added;
  }

  [[nodiscard]] TunerList list(std::string_view date) {
    std::ranges::stable_sort(entries_, [](const Entry& a, const Entry& b) {
      if (a.order != b.order) return a.order < b.order;
      if (a.row.stop != b.row.stop) return a.row.stop < b.row.stop;
      return a.key < b.key;
    });
    TunerList list;
    list.organ = organ_.name;
    list.invented = organ_.invented;
    list.date = std::string{date};
    list.pitch = fmt::format("A = {:.4g} Hz at {:.4g} °C", organ_.pitch.a.value.value(), organ_.pitch.at.value.value());
    for (const Entry& e : entries_) list.rows.push_back(e.row);
    list.left_out_cold = left_out_cold_;
    return list;
  }

 private:
  [[nodiscard]] bool cold(const std::optional<Celsius>& t) const {
    return t && t->value() < organ_.pitch.at.value.value() - cold_by_kelvin;
  }

  void place(Entry& e, StopIndex stop) const {
    const Stop& s = organ_.stops[static_cast<std::size_t>(stop)];
    e.order = tuner_order(organ_, s);
    e.row.stop += ", " + full_name(s);
  }

  [[nodiscard]] Entry measured(const KeptRun& run, const Finding& f, Note key) const {
    Entry e;
    e.key = key;
    const Stop& s = organ_.stops[static_cast<std::size_t>(run.stop)];
    e.row.stop = organ_.divisions[static_cast<std::size_t>(s.division)].name;
    place(e, run.stop);
    e.row.note = name(key, NoteStyle::english);
    e.row.heard = std::string{word(f.kind)};
    if (f.kind == FindingKind::out_of_tune)
      e.row.heard += fmt::format(", {}{:.0f} cents {}", f.keys.size() > 1 ? "up to " : "", std::fabs(f.amount),
                                 f.amount > 0 ? "sharp" : "flat");
    e.row.when = "measured";
    e.row.reported = run.run.date;
    if (run.run.temperature) e.row.temperature = fmt::format("{:.0f} °C", run.run.temperature->value());
    return e;
  }

  const Organ& organ_;
  std::vector<Entry> entries_;
  int left_out_cold_ = 0;
};

}  // namespace

Result<TunersPage> tuners_page(const OrganContext& context, const Book& book, std::string_view date) {
  auto faults = book.faults_open(date);
  if (!faults) return tl::unexpected(faults.error());
  const auto visits = states_closed(book);
  if (!visits) return tl::unexpected(visits.error());
  std::vector<std::string> orphans;  // stops this organ no longer has are not the tuner's
  const auto runs = newest_runs(context, book, date, orphans);
  if (!runs) return tl::unexpected(runs.error());
  Rows rows{context};
  for (const BookFault& f : *faults) rows.add(f);
  TunersPage page;
  for (const KeptRun& run : *runs)
    if (!seen_to(*visits, run.run.stop, run.run.date, date)) page.measured += rows.add(run, *faults);
  const TunerList list = rows.list(date);
  page.html = tuner_list_page(list);
  page.left_out_cold = list.left_out_cold;
  page.faults = std::move(*faults);
  return page;
}

std::string json_text(const OrganContext& context, const TunersPage& page) {
  Json j = Json::parse(faults_json(context, page.faults));
  j["measured"] = page.measured;
  j["left_out_cold"] = page.left_out_cold;
  return dump(j);
}

}  // namespace calcant
