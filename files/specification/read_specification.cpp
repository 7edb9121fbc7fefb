#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "files/specification/printed_line.hpp"
#include "files/specification/printed_text.hpp"
#include "files/specification/specification.hpp"
#include "files/specification/trade.hpp"

namespace calcant {
namespace {

using printed::Cell;

// No console has more; lines beyond are told as unread.
constexpr std::size_t most_manuals = 5;
constexpr int most_stops = 120;
constexpr int most_ranks = 180;
constexpr std::size_t most_couplers = 56;
constexpr std::size_t most_accessories = 20;

// Where the reader stands: under a division, under "Couplers", under "Accessories".
struct Context {
  enum class Under { nothing, division, couplers, accessories } under = Under::nothing;
  std::size_t division = 0;
  int column = 0;
};

bool has(const std::string& folded, std::string_view word) { return folded.find(word) != std::string::npos; }

class Reading {
 public:
  Draft read(std::string_view text) {
    int number = 0;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = std::min(text.find_first_of("\r\n", at), text.size());
      line_ = ++number;
      whole_line(text.substr(at, end - at));
      at = end + 1;
      if (end + 1 < text.size() && text[end] == '\r' && text[end + 1] == '\n') ++at;
    }
    resolve();
    return std::move(draft_);
  }

 private:
  void unread(std::string_view text) { draft_.unread.push_back({line_, std::string{text.substr(0, 200)}}); }

  void whole_line(std::string_view raw) {
    const std::string line = printed::cleaned(raw.substr(0, 1000));
    if (line.find_first_not_of(" -=*_") == std::string::npos) return;
    if (raw.size() > 400) return unread(line);
    const std::vector<Cell> cells = printed::cells(line);
    const bool all_headings = cells.size() >= 2 && std::all_of(cells.begin(), cells.end(), [](const Cell& c) {
                                return printed::heading(c.text) || section(c.text);
                              });
    if (all_headings) {
      columns_.assign(cells.size(), Context{});
      for (std::size_t i = 0; i < cells.size(); ++i) {
        columns_[i].column = cells[i].column;
        part(cells[i].text, columns_[i]);
      }
      return;
    }
    if (columns_.size() >= 2) {
      for (const Cell& c : cells) part(c.text, nearest_column(c.column));
      return;
    }
    const bool all_stops = cells.size() >= 2 && std::all_of(cells.begin(), cells.end(), [](const Cell& c) {
                             return printed::stop(c.text, true) || printed::coupler(c.text, {});
                           });
    if (all_stops) {
      for (const Cell& c : cells) part(c.text, here_);
      return;
    }
    std::string one;
    for (const Cell& c : cells) one += (one.empty() ? "" : " ") + c.text;
    part(one, here_);
  }

  Context& nearest_column(int column) {
    return *std::min_element(columns_.begin(), columns_.end(), [&](const Context& a, const Context& b) {
      return std::abs(a.column - column) < std::abs(b.column - column);
    });
  }

  static std::optional<Context::Under> section(std::string_view text) {
    const std::string f = trade::folded(text);
    const auto only = [&](std::initializer_list<std::string_view> words) {
      const auto list = printed::words(f);
      return !list.empty() && std::all_of(list.begin(), list.end(), [&](const std::string& w) {
        return std::find(words.begin(), words.end(), w) != words.end();
      });
    };
    if (only({"couplers", "coupler", "and", "accessories", "inter", "manual", "mechanical", "etc", "c"}) &&
        has(f, "coupler")) {
      return Context::Under::couplers;
    }
    if (only({"accessories", "accessory", "and", "composition", "pedals", "pistons", "compositions", "other", "aids",
              "details", "stops", "movements", "mechanical"}) &&
        (has(f, "accessor") || has(f, "compositions") || has(f, "aids") || has(f, "movements"))) {
      return Context::Under::accessories;
    }
    return std::nullopt;
  }

  void part(const std::string& text, Context& at) {
    if (const auto under = section(text)) {
      at.under = *under;
      return;
    }
    if (auto d = printed::heading(text)) return start(std::move(*d), text, at);
    // "GREAT: Open Diapason 8, Principal 4"
    if (const std::size_t colon = text.find(':'); colon != std::string::npos && colon > 0 && colon + 1 < text.size()) {
      auto d = printed::heading(text.substr(0, colon));
      const auto under = section(text.substr(0, colon));
      if (d || under) {
        if (d) start(std::move(*d), text, at);
        else at.under = *under;
        return list(text.substr(colon + 1), at);
      }
    }
    if (says_compass(text)) return;
    line_of(text, at);
  }

  void start(DraftDivision d, const std::string& text, Context& at) {
    d.line = line_;
    for (std::size_t i = 0; i < draft_.divisions.size(); ++i) {
      if (draft_.divisions[i].name == d.name) {
        at = {Context::Under::division, i, at.column};
        if (d.notes) draft_.divisions[i].notes = d.notes;
        return;
      }
    }
    const auto manuals = static_cast<std::size_t>(std::count_if(draft_.divisions.begin(), draft_.divisions.end(),
                                                                [](const DraftDivision& x) { return !x.pedal; }));
    if (!d.pedal && manuals >= most_manuals) {
      unread(text);
      at.under = Context::Under::nothing;
      return;
    }
    draft_.divisions.push_back(std::move(d));
    at = {Context::Under::division, draft_.divisions.size() - 1, at.column};
  }

  // Several things in one line, between commas.
  void list(const std::string& text, Context& at) {
    for (std::size_t from = 0; from <= text.size();) {
      // A comma inside brackets parts nothing.
      std::size_t end = from;
      int depth = 0;
      while (end < text.size() && (depth > 0 || (text[end] != ',' && text[end] != ';'))) {
        depth += text[end] == '(' ? 1 : text[end] == ')' ? -1 : 0;
        ++end;
      }
      const std::string item = text.substr(from, end - from);
      if (!printed::words(item).empty()) line_of(item, at);
      from = end + 1;
    }
  }

  bool says_compass(const std::string& text) {
    const std::string f = trade::folded(text);
    if (!has(f, "compass") && f.rfind("manuals", 0) != 0 && f.rfind("pedals c", 0) != 0) return false;
    const std::size_t pedal = std::min(text.find("edal"), text.size());
    const auto manual_notes = printed::compass(text.substr(0, pedal), false);
    const auto pedal_notes = pedal < text.size() ? printed::compass(text.substr(pedal), true) : std::nullopt;
    if (manual_notes) draft_.manual_notes = manual_notes;
    if (pedal_notes) draft_.pedal_notes = pedal_notes;
    return manual_notes || pedal_notes;
  }

  void line_of(const std::string& text, Context& at) {
    const std::string f = trade::folded(text);
    const bool under_division = at.under == Context::Under::division;
    DraftDivision* division = under_division ? &draft_.divisions[at.division] : nullptr;
    if (has(f, "tremul") || has(f, "tremolo")) return tremulant(f, division, text);
    if (has(f, "swell pedal") || has(f, "trigger swell")) {
      draft_.swell_pedal = has(f, "balanced") ? SwellPedal::balanced : SwellPedal::lever;
      return;
    }
    for (const std::string_view word : {"composition", "piston", "reversible", "reverser", "crescendo", "toe "}) {
      if (has(f, word)) return accessory(text);
    }
    if (at.under == Context::Under::accessories || at.under == Context::Under::couplers) {
      if (couplers(text, {})) return;
      if (at.under == Context::Under::accessories && text.size() <= 100) return accessory(text);
      // A stop under a heading of couplers stands in no division.
      return unread(text);
    }
    const bool between = has(f, " to ") || text.find('/') != std::string::npos;
    if (between && couplers(text, division != nullptr ? division->name : std::string{})) return;
    auto s = printed::stop(text, !under_division);
    if (s && under_division) return add(std::move(*s), *division, text);
    if (division != nullptr && couplers(text, division->name)) return;
    if (s && draft_.divisions.empty()) {
      // Stops before any heading: an organ of one manual.
      DraftDivision one;
      one.name = "Manual";
      start(std::move(one), text, at);
      return add(std::move(*s), draft_.divisions.back(), text);
    }
    if (draft_.divisions.empty() && draft_.title.size() + text.size() < 160) {
      draft_.title += (draft_.title.empty() ? "" : ", ") + text;
      return;
    }
    unread(text);
  }

  void add(DraftStop s, DraftDivision& division, const std::string& text) {
    const int ranks = std::max({1, s.mixture_ranks, static_cast<int>(s.feet.size())});
    if (stops_ + 1 > most_stops || ranks_ + ranks > most_ranks) return unread(text);
    ++stops_;
    ranks_ += ranks;
    s.line = line_;
    division.stops.push_back(std::move(s));
  }

  void tremulant(const std::string& f, DraftDivision* under, const std::string& text) {
    DraftDivision* of = under;
    for (const std::string& w : printed::words(f)) {
      const std::string d = printed::division_word(w);
      for (DraftDivision& division : draft_.divisions) {
        if (!d.empty() && trade::folded(division.name) == d) of = &division;
      }
    }
    for (DraftDivision& division : draft_.divisions) {
      if (of == nullptr && division.name == "Swell") of = &division;
    }
    if (of == nullptr) return unread(text);
    of->tremulant = true;
  }

  void accessory(const std::string& text) {
    if (draft_.accessories.size() >= most_accessories) return unread(text);
    std::string one;
    for (const std::string& w : printed::words(text)) one += (one.empty() ? "" : " ") + w;
    draft_.accessories.push_back(one.substr(0, 100));
  }

  // True where every part of the line, between commas and "and", is a coupler.
  bool couplers(const std::string& text, const std::string& here) {
    std::vector<DraftCoupler> found;
    std::string parts = text;
    for (const std::string_view word : {" and ", " & "}) {
      for (std::size_t at = 0; (at = parts.find(word, at)) != std::string::npos;) parts.replace(at, word.size(), ",");
    }
    for (std::size_t from = 0; from <= parts.size();) {
      const std::size_t end = std::min(parts.find_first_of(",;", from), parts.size());
      const std::string item = parts.substr(from, end - from);
      from = end + 1;
      if (printed::words(item).empty()) continue;
      auto c = printed::coupler(item, here);
      if (!c) return false;
      c->line = line_;
      found.push_back(std::move(*c));
    }
    for (DraftCoupler& c : found) draft_.couplers.push_back(std::move(c));
    return !found.empty();
  }

  // Couplers between divisions that there are, each once.
  void resolve() {
    // An organ of one manual may call it by another name than its couplers do.
    std::vector<std::string> manuals;
    for (const DraftDivision& d : draft_.divisions) {
      if (!d.pedal) manuals.push_back(d.name);
    }
    const auto known = [&](std::string& name) {
      if (name == "Manual" && manuals.size() == 1) name = manuals.front();
      return std::any_of(draft_.divisions.begin(), draft_.divisions.end(),
                         [&](const DraftDivision& d) { return d.name == name; });
    };
    std::vector<DraftCoupler> kept;
    for (DraftCoupler& c : draft_.couplers) {
      const bool from = known(c.from);
      const bool to = known(c.to);
      const bool twice = std::any_of(kept.begin(), kept.end(), [&](const DraftCoupler& k) {
        return k.from == c.from && k.to == c.to && k.semitones == c.semitones && k.unison_off == c.unison_off;
      });
      const bool idle = c.from == c.to && c.semitones == 0 && !c.unison_off;
      if (from && to && !twice && !idle && kept.size() < most_couplers) kept.push_back(std::move(c));
      else if (!twice) draft_.unread.push_back({c.line, c.name});
    }
    draft_.couplers = std::move(kept);
    std::sort(draft_.unread.begin(), draft_.unread.end(),
              [](const UnreadLine& a, const UnreadLine& b) { return a.line < b.line; });
  }

  Draft draft_;
  Context here_;
  std::vector<Context> columns_;
  int line_ = 0;
  int stops_ = 0;
  int ranks_ = 0;
};

}  // namespace

Result<Draft> read_specification(std::string_view text) {
  if (text.size() > specification_limit) {
    return fail(
        fmt::format("the text is longer than {} KiB; paste the specification alone", specification_limit / 1024));
  }
  Draft draft = Reading{}.read(text);
  const bool any = std::any_of(draft.divisions.begin(), draft.divisions.end(), [](const DraftDivision& d) {
    return std::any_of(d.stops.begin(), d.stops.end(), [](const DraftStop& s) { return !s.prepared_for; });
  });
  if (!any) {
    return fail(
        "no stop was found; write the divisions as headings (GREAT, SWELL, PEDAL) and one stop a line with its "
        "length, as \"Open Diapason 8\"");
  }
  return draft;
}

bool names_a_stop(std::string_view word) { return trade::kind_of(word, false).known; }

}  // namespace calcant
