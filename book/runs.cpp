#include "book/store.hpp"

namespace calcant {

using in_book::Row;

namespace {

std::string joined(const std::vector<double>& values) {
  std::string out;
  for (const double v : values) out += fmt::format("{}{:.2f}", out.empty() ? "" : " ", v);
  return out;
}

std::vector<double> split(const std::string& text) {
  std::vector<double> out;
  std::size_t at = 0;
  while (at < text.size()) {
    std::size_t end = text.find(' ', at);
    if (end == std::string::npos) end = text.size();
    try {
      out.push_back(std::stod(text.substr(at, end - at)));
    } catch (const std::exception&) {
      break;  // written by another hand: keep what could be read
    }
    at = end + 1;
  }
  return out;
}

// Within a transaction of the caller's. Store is the book's own.
template <class Store>
void insert_notes(const Store& store, EntryId run, const std::vector<RunNote>& notes) {
  int place = 0;
  for (const RunNote& n : notes) {
    store.insert("INSERT INTO run_note VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", run,
                 ++place, n.key, n.rank, n.pipe, n.state, n.start_s, n.hz, n.cents, n.cents_95, n.cents_in_run,
                 n.cents_in_run_95, n.ruled_by, n.rise_ms, n.speech_ms, n.room_limited, n.level, n.level_95,
                 n.pipes_heard, joined(n.harmonics_db), n.heard, n.sounds_at, n.resolution_ms, n.speaks_first, n.chiff,
                 n.wind_noise, n.unsteady, n.beat, n.beat_apart, n.late_ms, n.clipped);
  }
}

}  // namespace

Result<EntryId> Book::add(const Run& run, const std::vector<RunNote>& notes) {
  return store_->guarded("writing a run", [&] {
    SQLite::Transaction whole{store_->db};
    const EntryId id = store_->insert(
        "INSERT INTO run (stop, date, celsius, celsius_blower, place, close, recording, fingerprint, remark, sides, "
        "decisions) VALUES (?,?,?,?,?,?,?,?,?,?,?)",
        run.stop, run.date, run.temperature, run.at_blower, run.place, run.close, run.recording, run.fingerprint,
        run.remark, run.sides, run.decisions);
    insert_notes(*store_, id, notes);
    whole.commit();
    return id;
  });
}

Result<void> Book::correct_run(const Run& run, const std::vector<RunNote>& notes, std::string_view were) {
  const auto corrected = store_->guarded("correcting a run", [&] {
    SQLite::Transaction whole{store_->db};
    SQLite::Statement s{store_->db, "UPDATE run SET remark = ?, decisions = ? WHERE id = ? AND decisions = ?"};
    in_book::put_all(s, run.remark, run.decisions, run.id, were);
    if (s.exec() == 0) return false;
    SQLite::Statement gone{store_->db, "DELETE FROM run_note WHERE run = ?"};
    in_book::put_all(gone, run.id);
    gone.exec();
    insert_notes(*store_, run.id, notes);
    whole.commit();
    return true;
  });
  if (!corrected) return tl::unexpected(corrected.error());
  if (!*corrected)
    return fail(
        fmt::format("run {} was corrected elsewhere meanwhile, or is no longer in the book; look at it again "
                    "before it is corrected",
                    run.id));
  return {};
}

Result<std::vector<Run>> Book::runs() const {
  return store_->all<Run>(
      "reading the runs",
      "SELECT id, stop, date, celsius, celsius_blower, place, close, recording, fingerprint, remark, sides, decisions "
      "FROM run ORDER BY date, id",
      [](Row& row) {
        Run r;
        r.id = row.whole();
        r.stop = row.text();
        r.date = row.text();
        r.temperature = row.maybe<Celsius>();
        r.at_blower = row.maybe<Celsius>();
        r.place = row.text();
        r.close = row.yes();
        r.recording = row.text();
        r.fingerprint = row.text();
        r.remark = row.text();
        r.sides = row.yes();
        r.decisions = row.text();
        return r;
      });
}

Result<std::vector<RunNote>> Book::notes(EntryId run) const {
  return store_->all<RunNote>(
      "reading a run", "SELECT * FROM run_note WHERE run = ? ORDER BY place",
      [](Row& row) {
        RunNote n;
        row.whole();  // run
        row.whole();  // place
        n.key = Note{row.number()};
        n.rank = row.text();
        n.pipe = row.number();
        n.state = row.text();
        n.start_s = row.maybe<double>();
        n.hz = row.maybe<Hertz>();
        n.cents = row.maybe<Cents>();
        n.cents_95 = row.maybe<Cents>();
        n.cents_in_run = row.maybe<Cents>();
        n.cents_in_run_95 = row.maybe<Cents>();
        n.ruled_by = row.text();
        n.rise_ms = row.maybe<double>();
        n.speech_ms = row.maybe<double>();
        n.room_limited = row.yes();
        n.level = row.maybe<Decibels>();
        n.level_95 = row.maybe<Decibels>();
        n.pipes_heard = row.number();
        n.harmonics_db = split(row.text());
        if (const auto midi = row.maybe_whole()) n.heard = Note{static_cast<int>(*midi)};
        n.sounds_at = row.maybe<double>().value_or(1.0);
        n.resolution_ms = row.maybe<double>();
        if (const auto first = row.maybe_whole()) n.speaks_first = static_cast<int>(*first);
        n.chiff = row.maybe<Decibels>();
        n.wind_noise = row.maybe<Decibels>();
        n.unsteady = row.maybe<Cents>();
        n.beat = row.maybe<Hertz>();
        n.beat_apart = row.maybe<Cents>();
        n.late_ms = row.maybe<double>();
        n.clipped = row.yes();
        return n;
      },
      run);
}

Result<void> Book::remove_run(EntryId run) {
  return store_->change("removing a run", "DELETE FROM run WHERE id = ?",
                        fmt::format("there is no run {} in the book", run), run);
}

}  // namespace calcant
