#include <array>

#include "book/store.hpp"

namespace calcant {

using in_book::put_all;
using in_book::Row;

namespace {

constexpr std::array<std::string_view, 12> fault_words{"dead",        "cipher",     "late",       "slow to speak",
                                                       "out of tune", "off speech", "weak",       "unsteady",
                                                       "running",     "noise",      "out of use", "other"};

}  // namespace

std::string_view word(FaultKind k) { return fault_words[static_cast<std::size_t>(k)]; }

std::optional<FaultKind> fault_kind(std::string_view text) {
  for (std::size_t i = 0; i < fault_words.size(); ++i) {
    if (fault_words[i] == text) return static_cast<FaultKind>(i);
  }
  return std::nullopt;
}

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

}  // namespace calcant
