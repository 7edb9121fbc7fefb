// What every room of the book shares: the database behind it, and rows read and written column by column.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include "book/book.hpp"

namespace calcant {
namespace in_book {

inline void put(SQLite::Statement& s, int at, const std::string& v) { s.bind(at, v); }
inline void put(SQLite::Statement& s, int at, std::string_view v) { s.bind(at, std::string{v}); }
inline void put(SQLite::Statement& s, int at, std::int64_t v) { s.bind(at, v); }
inline void put(SQLite::Statement& s, int at, int v) { s.bind(at, v); }
inline void put(SQLite::Statement& s, int at, bool v) { s.bind(at, v ? 1 : 0); }
inline void put(SQLite::Statement& s, int at, double v) { s.bind(at, v); }
inline void put(SQLite::Statement& s, int at, Note v) { s.bind(at, v.midi); }
template <class Tag>
void put(SQLite::Statement& s, int at, Quantity<Tag> v) {
  s.bind(at, v.value());
}
template <class T>
inline void put(SQLite::Statement& s, int at, const std::optional<T>& v) {
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

}  // namespace in_book

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
    in_book::put_all(s, values...);
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
      in_book::put_all(s, values...);
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
      in_book::put_all(s, values...);
      while (s.executeStep()) {
        in_book::Row row{s};
        out.push_back(read(row));
      }
      return out;
    });
  }
};

}  // namespace calcant
