#include "book/book.hpp"

#include <SQLiteCpp/Backup.h>
#include <sqlite3.h>

#include "book/schema.hpp"
#include "book/store.hpp"

namespace calcant {

using in_book::put_all;
using in_book::Row;

namespace {

int version_of(SQLite::Database& db) { return db.execAndGet("PRAGMA user_version").getInt(); }

// A new book gets its tables, an older one the newer ones, whole or not at all. What there is to do is asked under the
// lock: of two programs that open a new book at once the second finds it made.
Result<void> bring_up_to_date(SQLite::Database& db, const std::string& path, std::string_view organ_id) {
  if (version_of(db) == book_version) return {};
  SQLite::Transaction whole{db, SQLite::TransactionBehavior::IMMEDIATE};
  const int version = version_of(db);
  if (version > book_version) {
    return fail(fmt::format("this book was written by a newer Calcant (format {}, this one knows {}); update Calcant, "
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
    SQLite::Database before{path, SQLite::OPEN_READONLY};  // what is being written cannot be copied, what was read can
    SQLite::Backup backup{copy, before};
    if (backup.executeStep(-1) != SQLITE_DONE) {
      return fail("this book is of an older Calcant and could not be copied before the change; it was left as it is",
                  path);
    }
  }
  for (int v = version; v < book_version; ++v) {
    db.exec(std::string{book_migrations[static_cast<std::size_t>(v)]});
    if (v == 0) {
      SQLite::Statement s{db, "INSERT INTO about VALUES ('organ', ?)"};
      put_all(s, organ_id);
      s.exec();
    }
  }
  db.exec(fmt::format("PRAGMA user_version = {}", book_version));
  whole.commit();
  return {};
}

}  // namespace

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
    if (auto current = bring_up_to_date(db, path, organ_id); !current) return tl::unexpected<Error>(current.error());
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

Result<void> Book::hear(const CouplerHeard& h) {
  return store_->guarded("writing what was heard of the couplers", [&] {
    SQLite::Transaction whole{store_->db};
    SQLite::Statement before{store_->db, "DELETE FROM coupler_heard WHERE through = ? AND carried = ?"};
    put_all(before, h.through, h.carried);
    before.exec();
    if (!h.heard.empty()) {
      store_->insert("INSERT INTO coupler_heard VALUES (?,?,?,?,?)", h.through, h.carried, h.date, h.heard, h.carries);
    }
    whole.commit();
  });
}

Result<std::vector<CouplerHeard>> Book::couplers_heard() const {
  return store_->all<CouplerHeard>(
      "reading what was heard of the couplers",
      "SELECT through, carried, date, heard, carries FROM coupler_heard ORDER BY through, carried", [](Row& row) {
        CouplerHeard h;
        h.through = row.text();
        h.carried = row.text();
        h.date = row.text();
        h.heard = row.text();
        if (const auto carries = row.maybe_whole()) h.carries = *carries != 0;
        return h;
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

Result<void> Book::rename_registration(std::string_view name, std::string_view to) {
  return store_->change("renaming a registration", "UPDATE registration SET name = ? WHERE name = ?",
                        fmt::format("no registration is saved as \"{}\"", name), to, name);
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

Result<void> Book::restore_trial(const std::vector<EntryId>& pairs) {
  EntryId missing = 0;
  auto done = store_->guarded("taking an ear trial up again", [&] {
    SQLite::Transaction whole{store_->db};
    for (const EntryId id : pairs) {
      SQLite::Statement s{store_->db, "UPDATE trial_answer SET undone = 0 WHERE id = ? AND undone = 1"};
      put_all(s, id);
      if (s.exec() == 0) missing = id;
    }
    if (missing == 0) whole.commit();
  });
  if (!done) return done;
  if (missing != 0) return fail(fmt::format("no pair {} was taken back", missing), store_->path);
  return {};
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

}  // namespace calcant
