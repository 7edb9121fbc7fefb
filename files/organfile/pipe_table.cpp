#include "files/organfile/pipe_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>

#include "engine/quantity/typed.hpp"

namespace calcant::organ_toml {
namespace {

struct Cell {
  std::string_view text;
  Place place;
};

// Cells between commas; a cell in quotation marks may hold a comma.
std::vector<Cell> cells(std::string_view line, int number) {
  std::vector<Cell> out;
  std::size_t at = 0;
  while (at <= line.size()) {
    std::size_t end = at;
    bool quoted = false;
    while (end < line.size() && (quoted || line[end] != ',')) {
      if (line[end] == '"') quoted = !quoted;
      ++end;
    }
    std::string_view cell = trimmed(line.substr(at, end - at));
    if (cell.size() >= 2 && cell.front() == '"' && cell.back() == '"') cell = cell.substr(1, cell.size() - 2);
    out.push_back({cell, {number, static_cast<int>(at) + 1}});
    at = end + 1;
  }
  return out;
}

std::optional<double> number(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double v = 0;
  const auto [end, ec] = std::from_chars(text.data(), text.data() + text.size(), v);
  if (ec != std::errc{} || end != text.data() + text.size() || !std::isfinite(v)) return std::nullopt;
  return v;
}

class TableReader {
 public:
  TableReader(Organ& organ, Faults& faults) : o_(organ), faults_(faults) {}

  void read(std::string_view text) {
    int line_number = 0;
    std::size_t at = 0;
    while (at < text.size()) {
      const std::size_t end = std::min(text.find('\n', at), text.size());
      const std::string_view line = trimmed(text.substr(at, end - at));
      at = end + 1;
      ++line_number;
      if (line.empty() || line.front() == '#') continue;
      const std::vector<Cell> row = cells(line, line_number);
      if (columns_.empty()) {
        if (!header(row)) return;
      } else {
        body(row);
      }
    }
    std::sort(o_.pipe_figures.begin(), o_.pipe_figures.end(),
              [](const Organ::PipeFigures& a, const Organ::PipeFigures& b) { return a.pipe < b.pipe; });
    for (Rank& r : o_.ranks) {
      std::sort(r.scale.begin(), r.scale.end(), [](const ScaleMark& a, const ScaleMark& b) { return a.key < b.key; });
    }
  }

 private:
  bool header(const std::vector<Cell>& row) {
    static const std::vector<std::string> known{"rank",       "pipe", "diameter_mm", "level_db", "cents",
                                                "plus_minus", "from", "date",        "basis"};
    bool sound = true;
    for (const Cell& c : row) {
      if (std::find(known.begin(), known.end(), c.text) == known.end()) {
        faults_.add(c.place,
                    fmt::format("the table has no column \"{}\"{}", c.text.substr(0, 60), perhaps(c.text, known)));
        sound = false;
      }
      columns_.emplace_back(c.text);
    }
    for (const char* needed : {"rank", "pipe"}) {
      if (std::find(columns_.begin(), columns_.end(), needed) == columns_.end()) {
        faults_.add(row.front().place,
                    fmt::format("the first line should name the columns, among them \"{}\"", needed));
        sound = false;
      }
    }
    return sound;
  }

  const Cell* cell(const std::vector<Cell>& row, std::string_view column) const {
    for (std::size_t i = 0; i < columns_.size() && i < row.size(); ++i) {
      if (columns_[i] == column && !row[i].text.empty()) return &row[i];
    }
    return nullptr;
  }

  std::optional<double> figure(const std::vector<Cell>& row, std::string_view column, double low, double high) {
    const Cell* c = cell(row, column);
    if (c == nullptr) return std::nullopt;
    const auto v = number(c->text);
    if (v && *v >= low && *v <= high) return v;
    faults_.add(c->place, fmt::format("\"{}\" in column {} should be a number from {} to {}", c->text.substr(0, 60),
                                      column, low, high));
    return std::nullopt;
  }

  void body(const std::vector<Cell>& row) {
    if (row.size() > columns_.size()) {
      faults_.add(row[columns_.size()].place,
                  fmt::format("the line has {} cells, the header {}", row.size(), columns_.size()));
      return;
    }
    const Cell* rank_cell = cell(row, "rank");
    const Cell* pipe_cell = cell(row, "pipe");
    if (rank_cell == nullptr || pipe_cell == nullptr) {
      faults_.add(row.front().place, "the line should name a rank and the number of a pipe");
      return;
    }
    const auto rank = rank_by_id(o_, rank_cell->text);
    if (!rank) {
      std::vector<std::string> known;
      for (const Rank& r : o_.ranks) known.push_back(r.id);
      faults_.add(rank_cell->place, fmt::format("the organ has no rank \"{}\"{}", rank_cell->text.substr(0, 60),
                                                perhaps(rank_cell->text, known)));
      return;
    }
    Rank& r = o_.ranks[static_cast<std::size_t>(*rank)];
    const auto n = number(pipe_cell->text);
    if (!n || *n < 1 || *n > r.pipes || *n != std::floor(*n)) {
      faults_.add(pipe_cell->place,
                  fmt::format("rank \"{}\" has pipes 1 to {}, not {}", r.id, r.pipes, pipe_cell->text.substr(0, 20)));
      return;
    }
    const PipeId pipe{*rank, static_cast<int>(*n)};
    if (!seen_.emplace(pipe, row.front().place.line).second) {
      faults_.add(rank_cell->place,
                  fmt::format("pipe {}/{} stands already at line {}", r.id, pipe.number, seen_[pipe]));
      return;
    }
    if (const auto d = figure(row, "diameter_mm", 2, 1000)) {
      const Note key = key_of(o_, pipe);
      std::erase_if(r.scale, [&](const ScaleMark& m) { return m.key == key; });
      r.scale.push_back({key, Metres{*d / 1000}});
    }
    Sourced<double> common;
    common.source = source(row);
    common.half_width_95 = figure(row, "plus_minus", 0, 1000);
    if (const Cell* c = cell(row, "date")) common.date = c->text;
    if (const Cell* c = cell(row, "basis")) common.basis = c->text;
    Organ::PipeFigures figures{pipe, std::nullopt, std::nullopt};
    if (const auto v = figure(row, "level_db", -60, 60)) {
      figures.level = {Decibels{*v}, common.source, common.half_width_95, common.date, common.basis, {}};
    }
    if (const auto v = figure(row, "cents", -200, 200)) {
      figures.cents = {Cents{*v}, common.source, common.half_width_95, common.date, common.basis, {}};
    }
    if (figures.level || figures.cents) o_.pipe_figures.push_back(std::move(figures));
  }

  Source source(const std::vector<Cell>& row) {
    const Cell* c = cell(row, "from");
    if (c == nullptr) return Source::given;
    for (const Source s : {Source::measured, Source::given, Source::computed, Source::assumed}) {
      if (c->text == word(s)) return s;
    }
    faults_.add(c->place, "\"from\" should be measured, given, computed or assumed");
    return Source::given;
  }

  Organ& o_;
  Faults& faults_;
  std::vector<std::string> columns_;
  std::map<PipeId, int> seen_;
};

}  // namespace

void read_pipe_table(std::string_view text, Organ& organ, Faults& faults) { TableReader{organ, faults}.read(text); }

}  // namespace calcant::organ_toml
