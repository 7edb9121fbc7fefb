#include "book/book.hpp"

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>

#include "book/schema.hpp"

namespace calcant {
namespace {

constexpr std::array<std::string_view, 12> fault_words{"dead",        "cipher",     "late",       "slow to speak",
                                                       "out of tune", "off speech", "weak",       "unsteady",
                                                       "running",     "noise",      "out of use", "other"};

void put(SQLite::Statement& s, int at, const std::string& v) { s.bind(at, v); }
void put(SQLite::Statement& s, int at, std::string_view v) { s.bind(at, std::string{v}); }
void put(SQLite::Statement& s, int at, std::int64_t v) { s.bind(at, v); }
void put(SQLite::Statement& s, int at, int v) { s.bind(at, v); }
void put(SQLite::Statement& s, int at, bool v) { s.bind(at, v ? 1 : 0); }
void put(SQLite::Statement& s, int at, double v) { s.bind(at, v); }
void put(SQLite::Statement& s, int at, Note v) { s.bind(at, v.midi); }
template <class Tag>
void put(SQLite::Statement& s, int at, Quantity<Tag> v) {
  s.bind(at, v.value());
}
template <class T>
void put(SQLite::Statement& s, int at, const std::optional<T>& v) {
  if (v) put(s, at, *v);
  else s.bind(at);
}

template <class... Values>
void put_all(SQLite::Statement& s, const Values&... values) {
  int at = 0;
  (put(s, ++at, values), ...);
}

// Reads the columns of a row from left to right.
class Row {
 public:
  explicit Row(SQLite::Statement& s) : s_(s) {}
  std::string text() { return s_.getColumn(at_++).getString(); }
  std::int64_t whole() { return s_.getColumn(at_++).getInt64(); }
  int number() { return static_cast<int>(whole()); }
  bool yes() { return whole() != 0; }
  template <class T>
  std::optional<T> maybe() {
    const SQLite::Column c = s_.getColumn(at_++);
    if (c.isNull()) return std::nullopt;
    return T{c.getDouble()};
  }
  std::optional<std::int64_t> maybe_whole() {
    const SQLite::Column c = s_.getColumn(at_++);
    return c.isNull() ? std::nullopt : std::optional{c.getInt64()};
  }

 private:
  SQLite::Statement& s_;
  int at_ = 0;
};

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

std::string csv_field(const std::string& text) {
  if (text.find_first_of(",\"\n\r") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  return out += '"';
}

constexpr std::array<const char*, 7> tables{"visit",         "fault",        "run",         "run_note",
                                            "after_service", "registration", "trial_answer"};

}  // namespace

std::string_view word(FaultKind k) { return fault_words[static_cast<std::size_t>(k)]; }

std::optional<FaultKind> fault_kind(std::string_view text) {
  for (std::size_t i = 0; i < fault_words.size(); ++i) {
    if (fault_words[i] == text) return static_cast<FaultKind>(i);
  }
  return std::nullopt;
}

struct Book::Store {
  explicit Store(const std::string& file)
      : path(file), db(file, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, /*busy timeout, ms*/ 5000) {}

  std::string path;
  mutable SQLite::Database db;

  // Runs what may throw inside the database and turns it into a sentence.
  template <class F>
  auto guarded(std::string_view doing, F&& f) const -> Result<decltype(f())> {
    try {
      if constexpr (std::is_void_v<decltype(f())>) {
        f();
        return {};
      } else {
        return f();
      }
    } catch (const SQLite::Exception& e) {
      return fail(
          fmt::format("the book could not be used while {}: {}. Nothing was changed; see that the folder can be "
                      "written to and the disk is not full",
                      doing, e.what()),
          path);
    }
  }

  template <class... Values>
  EntryId insert(const char* sql, const Values&... values) const {
    SQLite::Statement s{db, sql};
    put_all(s, values...);
    s.exec();
    return db.getLastInsertRowid();
  }

  EntryId insert(const TrialAnswer& a) const {
    return insert(
        "INSERT INTO trial_answer (date, place, first, second, keys, question, predicted, answered, undone) "
        "VALUES (?,?,?,?,?,?,?,?,?)",
        a.date, a.place, a.first, a.second, a.keys, a.question, a.predicted, a.answered, a.undone);
  }

  // Runs a statement that must touch one row or more.
  template <class... Values>
  Result<void> change(std::string_view doing, const char* sql, std::string_view missing,
                      const Values&... values) const {
    auto touched = guarded(doing, [&] {
      SQLite::Statement s{db, sql};
      put_all(s, values...);
      return s.exec();
    });
    if (!touched) return tl::unexpected(touched.error());
    if (*touched == 0) return fail(std::string{missing}, path);
    return {};
  }

  template <class T, class Read, class... Values>
  Result<std::vector<T>> all(std::string_view doing, const char* sql, Read&& read, const Values&... values) const {
    return guarded(doing, [&] {
      std::vector<T> out;
      SQLite::Statement s{db, sql};
      put_all(s, values...);
      while (s.executeStep()) {
        Row row{s};
        out.push_back(read(row));
      }
      return out;
    });
  }
};

Book::Book(std::unique_ptr<Store> store) : store_(std::move(store)) {}
Book::~Book() = default;
Book::Book(Book&&) noexcept = default;
Book& Book::operator=(Book&&) noexcept = default;

Result<Book> Book::open(const std::string& path, std::string_view organ_id) {
  try {
    auto store = std::make_unique<Store>(path);
    SQLite::Database& db = store->db;
    db.exec("PRAGMA journal_mode = WAL");
    db.exec("PRAGMA synchronous = FULL");  // on the disk before we say so
    db.exec("PRAGMA foreign_keys = ON");
    db.exec("PRAGMA trusted_schema = OFF");
    const int version = db.execAndGet("PRAGMA user_version").getInt();
    if (version > book_version) {
      return fail(
          fmt::format("this book was written by a newer Calcant (format {}, this one knows {}); update Calcant, "
                      "the book was left as it is",
                      version, book_version),
          path);
    }
    if (version == 0 && db.execAndGet("SELECT count(*) FROM sqlite_schema").getInt() > 0) {
      return fail("this is a database, but no book of Calcant's; it was left as it is", path);
    }
    if (version > 0 && version < book_version) {
      SQLite::Database copy{fmt::format("{}.before-v{}", path, book_version),
                            SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
      SQLite::Backup backup{copy, db};
      backup.executeStep(-1);
    }
    for (int v = version; v < book_version; ++v) {
      SQLite::Transaction step{db};
      db.exec(std::string{book_migrations[static_cast<std::size_t>(v)]});
      if (v == 0) {
        SQLite::Statement s{db, "INSERT INTO about VALUES ('organ', ?)"};
        put_all(s, organ_id);
        s.exec();
      }
      db.exec(fmt::format("PRAGMA user_version = {}", v + 1));
      step.commit();
    }
    const std::string whose = db.execAndGet("SELECT value FROM about WHERE key = 'organ'").getString();
    if (whose != organ_id) {
      return fail(
          fmt::format("this book belongs to the organ \"{}\", not to \"{}\"; move it to its own folder, or give the "
                      "organ file its old id back",
                      whose, organ_id),
          path);
    }
    return Book{std::move(store)};
  } catch (const SQLite::Exception& e) {
    return fail(
        fmt::format("the book cannot be opened: {}. If the file is damaged, put back a copy; it was left as it is",
                    e.what()),
        path);
  }
}

// ------------------------------------------------------------------------------------------------ faults and
// visits

Result<EntryId> Book::add(const BookFault& f) {
  return store_->guarded("writing a fault", [&] {
    return store_->insert(
        "INSERT INTO fault (stop, division, midi, rank, pipe, kind, words, heard_when, reported, celsius, "
        "closed, visit, "
        "remedy) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)",
        f.stop, f.division, f.key, f.rank, f.pipe, word(f.kind), f.words, f.when, f.reported, f.temperature, f.closed,
        f.visit, f.remedy);
  });
}

Result<Book::HandedIn> Book::hand_in(const BookFault& f, std::string_view key) {
  return store_->guarded("writing a fault", [&] {
    SQLite::Transaction whole{store_->db, SQLite::TransactionBehavior::IMMEDIATE};
    SQLite::Statement seen{store_->db, "SELECT fault FROM handed_in WHERE key = ?"};
    put_all(seen, key);
    if (seen.executeStep()) return HandedIn{Row{seen}.maybe_whole(), true};
    const auto id = add(f);
    if (!id) throw SQLite::Exception{id.error().message};
    store_->insert("INSERT INTO handed_in (key, fault) VALUES (?,?)", key, *id);
    whole.commit();
    return HandedIn{*id, false};
  });
}

Result<void> Book::take_back_fault(EntryId id) {
  return store_->change("taking back a fault", "DELETE FROM fault WHERE id = ?",
                        fmt::format("there is no fault {} in the book", id), id);
}

Result<void> Book::close_fault(EntryId id, std::string_view date, std::string_view remedy,
                               std::optional<EntryId> visit) {
  return store_->change("closing a fault", "UPDATE fault SET closed = ?, remedy = ?, visit = ? WHERE id = ?",
                        fmt::format("there is no fault {} in the book", id), date, remedy, visit, id);
}

Result<void> Book::reopen_fault(EntryId id) {
  return store_->change("reopening a fault", "UPDATE fault SET closed = '', visit = NULL WHERE id = ?",
                        fmt::format("there is no fault {} in the book", id), id);
}

namespace {
constexpr const char* all_faults =
    "SELECT id, stop, division, midi, rank, pipe, kind, words, heard_when, reported, celsius, closed, visit, "
    "remedy FROM "
    "fault ORDER BY reported, id";

BookFault read_fault(Row& row) {
  BookFault f;
  f.id = row.whole();
  f.stop = row.text();
  f.division = row.text();
  if (const auto midi = row.maybe_whole()) f.key = Note{static_cast<int>(*midi)};
  f.rank = row.text();
  f.pipe = row.number();
  f.kind = fault_kind(row.text()).value_or(FaultKind::other);
  f.words = row.text();
  f.when = row.text();
  f.reported = row.text();
  f.temperature = row.maybe<Celsius>();
  f.closed = row.text();
  f.visit = row.maybe_whole();
  f.remedy = row.text();
  return f;
}
}  // namespace

Result<std::vector<BookFault>> Book::faults() const {
  return store_->all<BookFault>("reading the faults", all_faults, read_fault);
}

Result<std::vector<BookFault>> Book::faults_open(std::string_view on) const {
  auto all = faults();
  if (!all) return all;
  std::erase_if(*all, [&](const BookFault& f) {
    if (on.empty()) return !f.closed.empty();
    return f.reported > on || (!f.closed.empty() && f.closed <= on);
  });
  return all;
}

Result<EntryId> Book::add(const Visit& v, const std::vector<EntryId>& closes) {
  std::optional<EntryId> missing;
  auto written = store_->guarded("writing a visit", [&] {
    SQLite::Transaction whole{store_->db};
    const EntryId id = store_->insert("INSERT INTO visit (date, who, work, celsius, stop) VALUES (?,?,?,?,?)", v.date,
                                      v.who, v.work, v.temperature, v.stop);
    for (const EntryId fault : closes) {
      SQLite::Statement s{store_->db,
                          "UPDATE fault SET closed = ?, remedy = ?, visit = ? WHERE id = ? AND closed = ''"};
      put_all(s, v.date, v.work, id, fault);
      if (s.exec() == 0) {
        missing = fault;
        return id;  // the transaction is taken back
      }
    }
    whole.commit();
    return id;
  });
  if (written && missing) return fail(fmt::format("there is no open fault {} in the book", *missing), store_->path);
  return written;
}

Result<std::vector<Visit>> Book::visits() const {
  return store_->all<Visit>("reading the visits",
                            "SELECT id, date, who, work, celsius, stop FROM visit ORDER BY date, id", [](Row& row) {
                              Visit v;
                              v.id = row.whole();
                              v.date = row.text();
                              v.who = row.text();
                              v.work = row.text();
                              v.temperature = row.maybe<Celsius>();
                              v.stop = row.text();
                              return v;
                            });
}

// ---------------------------------------------------------------------------------------------------------------
// runs

Result<EntryId> Book::add(const Run& run, const std::vector<RunNote>& notes) {
  return store_->guarded("writing a run", [&] {
    SQLite::Transaction whole{store_->db};
    const EntryId id = store_->insert(
        "INSERT INTO run (stop, date, celsius, celsius_blower, place, close, recording, fingerprint, remark) "
        "VALUES "
        "(?,?,?,?,?,?,?,?,?)",
        run.stop, run.date, run.temperature, run.at_blower, run.place, run.close, run.recording, run.fingerprint,
        run.remark);
    int place = 0;
    for (const RunNote& n : notes) {
      store_->insert("INSERT INTO run_note VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", id,
                     ++place, n.key, n.rank, n.pipe, n.state, n.start_s, n.hz, n.cents, n.cents_95, n.cents_in_run,
                     n.cents_in_run_95, n.ruled_by, n.rise_ms, n.speech_ms, n.room_limited, n.level, n.level_95,
                     n.pipes_heard, joined(n.harmonics_db), n.heard, n.sounds_at, n.resolution_ms, n.speaks_first,
                     n.chiff, n.wind_noise, n.unsteady, n.beat, n.beat_apart, n.late_ms, n.clipped);
    }
    whole.commit();
    return id;
  });
}

Result<std::vector<Run>> Book::runs() const {
  return store_->all<Run>(
      "reading the runs",
      "SELECT id, stop, date, celsius, celsius_blower, place, close, recording, fingerprint, remark "
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

// ------------------------------------------------------------------------------------- services,
// registrations, trial

Result<EntryId> Book::add(const AfterService& line) {
  return store_->guarded("writing a line after a service", [&] {
    return store_->insert("INSERT INTO after_service (date, item, verdict, words) VALUES (?,?,?,?)", line.date,
                          line.item, line.verdict, line.words);
  });
}

Result<void> Book::say_after(const AfterService& line) {
  return store_->guarded("writing what was said after a service", [&] {
    SQLite::Transaction whole{store_->db};
    SQLite::Statement before{store_->db, "DELETE FROM after_service WHERE date = ? AND item = ?"};
    put_all(before, line.date, line.item);
    before.exec();
    if (!line.verdict.empty()) {
      store_->insert("INSERT INTO after_service (date, item, verdict, words) VALUES (?,?,?,?)", line.date, line.item,
                     line.verdict, line.words);
    }
    whole.commit();
  });
}

Result<std::vector<AfterService>> Book::after_services() const {
  return store_->all<AfterService>("reading the lines after services",
                                   "SELECT id, date, item, verdict, words FROM after_service ORDER BY date, id",
                                   [](Row& row) {
                                     AfterService a;
                                     a.id = row.whole();
                                     a.date = row.text();
                                     a.item = row.text();
                                     a.verdict = row.text();
                                     a.words = row.text();
                                     return a;
                                   });
}

Result<void> Book::save(const SavedRegistration& r) {
  auto done = store_->guarded("saving a registration", [&] {
    return store_->insert("INSERT OR REPLACE INTO registration VALUES (?,?,?,?)", r.name, r.draw, r.saved, r.remark);
  });
  if (!done) return tl::unexpected(done.error());
  return {};
}

Result<void> Book::forget_registration(std::string_view name) {
  return store_->change("forgetting a registration", "DELETE FROM registration WHERE name = ?",
                        fmt::format("no registration is saved as \"{}\"", name), name);
}

Result<std::vector<SavedRegistration>> Book::registrations() const {
  return store_->all<SavedRegistration>("reading the saved registrations",
                                        "SELECT name, draw, saved, remark FROM registration ORDER BY name",
                                        [](Row& row) {
                                          SavedRegistration r;
                                          r.name = row.text();
                                          r.draw = row.text();
                                          r.saved = row.text();
                                          r.remark = row.text();
                                          return r;
                                        });
}

Result<EntryId> Book::add(const TrialAnswer& a) {
  return store_->guarded("writing an ear trial", [&] { return store_->insert(a); });
}

Result<void> Book::add(const std::vector<TrialAnswer>& pairs) {
  return store_->guarded("writing an ear trial", [&] {
    SQLite::Transaction whole{store_->db};
    for (const TrialAnswer& a : pairs) store_->insert(a);
    whole.commit();
  });
}

Result<void> Book::answer(const std::vector<Answered>& answers) {
  EntryId missing = 0;
  auto done = store_->guarded("writing answers", [&] {
    SQLite::Transaction whole{store_->db};
    for (const Answered& a : answers) {
      SQLite::Statement s{store_->db, "UPDATE trial_answer SET answered = ? WHERE id = ?"};
      put_all(s, a.answered, a.id);
      if (s.exec() == 0) missing = a.id;
    }
    if (missing == 0) whole.commit();
  });
  if (!done) return done;
  if (missing != 0) return fail(fmt::format("there is no pair {} in the book", missing), store_->path);
  return {};
}

Result<void> Book::undo_trial(std::string_view date) {
  return store_->change("taking back an ear trial", "UPDATE trial_answer SET undone = 1 WHERE date = ?",
                        fmt::format("no ear trial of {} is in the book", date), date);
}

Result<std::vector<TrialAnswer>> Book::trial() const {
  return store_->all<TrialAnswer>("reading the ear trial",
                                  "SELECT id, date, place, first, second, keys, question, predicted, "
                                  "answered, undone FROM trial_answer ORDER BY id",
                                  [](Row& row) {
                                    TrialAnswer a;
                                    a.id = row.whole();
                                    a.date = row.text();
                                    a.place = row.text();
                                    a.first = row.text();
                                    a.second = row.text();
                                    a.keys = row.text();
                                    a.question = row.text();
                                    a.predicted = row.text();
                                    a.answered = row.text();
                                    a.undone = row.yes();
                                    return a;
                                  });
}

// ------------------------------------------------------------------------------------------------ copies and
// exports

Result<std::string> Book::export_json() const {
  return store_->guarded("exporting", [&] {
    nlohmann::ordered_json out;
    out["format"] = book_version;
    for (const char* table : tables) {
      auto& rows = out[table] = nlohmann::ordered_json::array();
      SQLite::Statement s{store_->db, fmt::format("SELECT * FROM {} ORDER BY rowid", table)};
      while (s.executeStep()) {
        nlohmann::ordered_json row;
        for (int i = 0; i < s.getColumnCount(); ++i) {
          const SQLite::Column c = s.getColumn(i);
          auto& field = row[c.getName()];
          if (c.isInteger()) field = c.getInt64();
          else if (c.isFloat()) field = c.getDouble();
          else if (c.isText()) field = c.getString();
        }
        rows.push_back(std::move(row));
      }
    }
    // A byte that is no UTF-8 (a file name from elsewhere) must not lose the whole export.
    return out.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
  });
}

Result<void> Book::export_csv(const std::string& folder) const {
  std::error_code failed;
  std::filesystem::create_directories(folder, failed);
  if (failed) return fail("the folder cannot be made: " + failed.message(), folder);
  for (const char* table : tables) {
    auto text = store_->guarded("exporting", [&] {
      std::string out;
      SQLite::Statement s{store_->db, fmt::format("SELECT * FROM {} ORDER BY rowid", table)};
      for (int i = 0; i < s.getColumnCount(); ++i) out += (i == 0 ? "" : ",") + csv_field(s.getColumnName(i));
      out += "\n";
      while (s.executeStep()) {
        for (int i = 0; i < s.getColumnCount(); ++i) {
          if (i > 0) out += ",";
          if (!s.getColumn(i).isNull()) out += csv_field(s.getColumn(i).getString());
        }
        out += "\n";
      }
      return out;
    });
    if (!text) return tl::unexpected(text.error());
    const std::filesystem::path path = std::filesystem::path{folder} / (std::string{table} + ".csv");
    std::ofstream file{path, std::ios::binary | std::ios::trunc};
    file << *text;
    if (!file.flush()) return fail("the file cannot be written; see that there is room on the disk", path.string());
  }
  return {};
}

Result<void> Book::copy_to(const std::string& path) const {
  const std::string part = path + ".part";
  auto copied = store_->guarded("copying", [&] {
    std::error_code ignored;
    std::filesystem::remove(part, ignored);
    SQLite::Database copy{part, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE};
    SQLite::Backup backup{copy, store_->db};
    backup.executeStep(-1);
  });
  if (!copied) return copied;
  std::error_code failed;
  std::filesystem::rename(part, path, failed);
  if (failed) return fail("the copy cannot be put in its place: " + failed.message(), path);
  return {};
}

}  // namespace calcant
