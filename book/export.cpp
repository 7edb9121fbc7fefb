#include <SQLiteCpp/Backup.h>

#include <array>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "book/store.hpp"

namespace calcant {
namespace {

std::string csv_field(const std::string& text) {
  if (text.find_first_of(",\"\n\r") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  return out += '"';
}

constexpr std::array<const char*, 8> tables{"visit",         "fault",        "run",          "run_note",
                                            "after_service", "registration", "trial_answer", "coupler_heard"};

}  // namespace

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
