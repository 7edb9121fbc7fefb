#include "engine/playing/copy_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

namespace calcant {

namespace {

using Words = CopyTokens;

// "Gt. to Ped., Sw. box closed" has two: each says one thing.
std::vector<std::string> clauses(std::string_view text) {
  std::vector<std::string> out(1);
  for (const char c : text) {
    if (c == ',' || c == ';' || c == '\n' || c == '(' || c == ')') out.emplace_back();
    else out.back() += c;
  }
  return out;
}

Words words_of(std::string_view clause) {
  Words out;
  std::string word;
  for (const char c : std::string(clause) + " ") {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0) {
      word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
      continue;
    }
    if (!word.empty()) out.push_back(std::move(word));
    word.clear();
    if (c == '/' || c == '+' || c == '&') out.emplace_back(1, c);
  }
  return out;
}

bool has(const Words& w, std::initializer_list<std::string_view> any) {
  return std::any_of(w.begin(), w.end(),
                     [&](const std::string& s) { return std::find(any.begin(), any.end(), s) != any.end(); });
}

// The ladder a division is drawn up by: 8, 4 and 2 ft principals (a flute where it has none), mixture, reeds.
std::vector<CopyStop> ladder(const Organ& o, std::optional<DivisionIndex> division) {
  std::vector<CopyStop> out;
  const auto step = [&](const char* name, const auto& is) {
    CopyStop s;
    s.name = name;
    for (const bool principal : {true, false}) {
      for (std::size_t i = 0; i < o.stops.size() && (principal || s.stops.empty()); ++i) {
        const Stop& stop = o.stops[i];
        if (division && stop.division != *division) continue;
        if (is(stop) && (!principal || stop.family == Family::principal || stop.family == Family::reed))
          s.stops.push_back(static_cast<StopIndex>(i));
      }
    }
    if (s.here()) out.push_back(std::move(s));
  };
  const auto flue = [](int semitones) {
    return [semitones](const Stop& s) {
      return s.family != Family::reed && s.mixture_ranks == 0 && s.feet.size() == 1 && !s.celeste &&
             s.feet.front().semitones() == semitones;
    };
  };
  step("8", flue(0));
  step("4", flue(12));
  step("2", flue(24));
  step("mixture", [](const Stop& s) { return s.mixture_ranks > 0; });
  step("reed", [](const Stop& s) { return s.family == Family::reed; });
  return out;
}

class Clause {
 public:
  // division: the one the clause before was about, where this names none.
  Clause(const Organ& o, const std::string& text, std::string_view division) : o_(o), w_(words_of(text)) {
    for (const std::string& w : w_) {
      if (division_.empty()) division_ = copy_division(w);
    }
    if (division_.empty()) division_ = division;
  }

  std::optional<CopyWord> read() const {
    auto read = between_divisions();
    if (!read) read = box();
    if (!read) read = full();
    if (!read) read = added();
    if (!read) read = drawn();
    if (read && !read->division && !division_.empty()) read->division = copy_division_of(o_, division_);
    return read;
  }
  [[nodiscard]] std::string_view division() const { return division_; }

 private:
  [[nodiscard]] static CopyWord made(CopyKind kind, std::string wanted, bool here) {
    CopyWord out;
    out.kind = kind;
    out.wanted = std::move(wanted);
    out.here = here;
    return out;
  }

  // "Sw. to Gt.", "Gt. to Fifteenth", "Ch./Sw.", "Sw. coupled".
  [[nodiscard]] std::optional<CopyWord> between_divisions() const {
    for (std::size_t i = 1; i + 1 < w_.size(); ++i) {
      const std::string_view a = copy_division(w_[i - 1]);
      const std::string_view b = copy_division(w_[i + 1]);
      if (a.empty() || (w_[i] != "to" && w_[i] != "/")) continue;
      if (w_[i] == "to" && b.empty()) return up_to(a, i + 1);
      if (b.empty()) continue;
      if (w_[i] == "/")
        return made(CopyKind::unclear, fmt::format("{0} coupled to {1}, or a hand on each", a, b), false);
      if (has(w_, {"in"})) return made(CopyKind::unclear, fmt::format("{} to {}, drawn or put in", a, b), false);
      return coupler(a, b);
    }
    if (has(w_, {"coupled", "uncoupled", "cpld", "uncouple"}) && !division_.empty())
      return made(CopyKind::unclear, "a coupler, without saying which", false);
    return std::nullopt;
  }

  [[nodiscard]] CopyWord coupler(std::string_view played, std::string_view keys) const {
    const bool off = has(w_, {"off", "uncouple", "uncoupled", "without"});
    CopyWord out = made(off ? CopyKind::coupler_off : CopyKind::coupler_on,
                        fmt::format("{} to {} {}", played, keys, off ? "put in" : "drawn"), false);
    const auto division = copy_division_of(o_, played);
    for (std::size_t c = 0; division && c < o_.couplers.size() && !out.coupler; ++c) {
      const Coupler& k = o_.couplers[c];
      if (k.to != *division || k.semitones != 0 || k.unison_off) continue;
      if (copy_division_of(o_, keys) == o_.keyboards[static_cast<std::size_t>(k.from)].division)
        out.coupler = static_cast<CouplerIndex>(c);
    }
    out.here = out.coupler.has_value();
    return out;
  }

  [[nodiscard]] CopyWord up_to(std::string_view division, std::size_t from) const {
    const Words rest(w_.begin() + static_cast<std::ptrdiff_t>(from), w_.end());
    std::string last;
    for (const std::string& w : rest) last += (last.empty() ? "" : " ") + w;
    CopyWord out = made(CopyKind::level, fmt::format("the {} drawn up to the {}", division, last), false);
    out.division = copy_division_of(o_, division);
    const auto to = out.division ? copy_stops(o_, rest, out.division, false) : std::vector<CopyStop>{};
    if (to.empty() || !to.front().here()) return out;
    // Every step of the ladder up to the one that is named.
    const StopIndex top = to.front().stops.front();
    for (CopyStop& step : ladder(o_, out.division)) {
      const bool last_step = std::find(step.stops.begin(), step.stops.end(), top) != step.stops.end();
      if (last_step) step.stops = to.front().stops;
      out.stops.push_back(std::move(step));
      if (last_step) break;
    }
    out.here = true;
    return out;
  }

  // "Sw. box closed", "box open", "Sw. shut"; "Open Diapason" is a stop.
  [[nodiscard]] std::optional<CopyWord> box() const {
    std::optional<double> open;
    for (std::size_t i = 0; i < w_.size(); ++i) {
      const bool stop = i + 1 < w_.size() && (w_[i + 1].rfind("diap", 0) == 0 || w_[i + 1] == "wood");
      if (w_[i] == "open" && !stop) open = 1.0;
      if (w_[i] == "closed" || w_[i] == "shut" || w_[i] == "close") open = 0.0;
    }
    if (!open || !(has(w_, {"box"}) || division_ == "Swell" || division_ == "Choir")) return std::nullopt;
    if (has(w_, {"half", "partly", "gradually", "slightly"})) open = 0.5;
    const std::string_view name = division_.empty() ? std::string_view("Swell") : division_;
    CopyWord out = made(CopyKind::box,
                        fmt::format("the {} box {}", name,
                                    *open == 0.5 ? "partly open"
                                    : *open > 0  ? "open"
                                                 : "shut"),
                        false);
    out.open = open;
    if (const auto d = copy_division_of(o_, name); d && o_.divisions[static_cast<std::size_t>(*d)].box)
      out.box = static_cast<int>(*o_.divisions[static_cast<std::size_t>(*d)].box);
    out.here = out.box.has_value();
    return out;
  }

  [[nodiscard]] std::optional<CopyWord> full() const {
    const bool whole = has(w_, {"tutti"}) || (has(w_, {"full"}) && has(w_, {"organ", "org"}));
    if (!whole && (!has(w_, {"full"}) || division_.empty())) return std::nullopt;
    CopyWord out = made(CopyKind::level, whole ? "the full organ" : fmt::format("the {} full", division_), false);
    const auto division = whole ? std::nullopt : copy_division_of(o_, division_);
    out.here = whole || division.has_value();
    if (out.here) out.stops = ladder(o_, division);
    return out;
  }

  // "add Sw. Principal", "Reeds off".
  [[nodiscard]] std::optional<CopyWord> added() const {
    const bool off = has(w_, {"off"});
    if (!off && !has(w_, {"add", "+"})) return std::nullopt;
    Words what;
    std::string text;
    for (const std::string& w : w_) {
      if (w == "off" || w == "add" || w == "+" || !copy_division(w).empty()) continue;
      what.push_back(w);
      text += (text.empty() ? "" : " ") + w;
    }
    if (text.empty()) return std::nullopt;
    CopyWord out =
        made(off ? CopyKind::put_in : CopyKind::add,
             fmt::format("{}{}{} {}", division_, division_.empty() ? "" : " ", text, off ? "put in" : "drawn"), false);
    find_stops(out, what, false);
    return out;
  }

  // "Sw. Oboe, solo", "Ped. 16", "Gt. 8 & 4 ft".
  [[nodiscard]] std::optional<CopyWord> drawn() const {
    if (division_.empty()) return std::nullopt;
    CopyWord out = made(CopyKind::stops, "", false);
    find_stops(out, w_, true);
    if (out.stops.empty()) return std::nullopt;
    std::string text;
    for (std::size_t i = 0; i < out.stops.size(); ++i)
      text += (i == 0 ? "" : i + 1 == out.stops.size() ? " and " : ", ") + out.stops[i].name;
    out.wanted = fmt::format("{} {} drawn", division_, text);
    return out;
  }

  void find_stops(CopyWord& out, const Words& what, bool known) const {
    out.division = division_.empty() ? std::nullopt : copy_division_of(o_, division_);
    // A division this organ has not has no stop either, whatever it is called.
    out.stops = copy_stops(
        o_, what, division_.empty() ? std::optional<DivisionIndex>{} : std::optional{out.division.value_or(-1)}, known);
    out.here = !out.stops.empty() &&
               std::all_of(out.stops.begin(), out.stops.end(), [](const CopyStop& s) { return s.here(); });
  }

  const Organ& o_;
  Words w_;
  std::string_view division_;  // the first named, or that of the clause before
};

}  // namespace

std::vector<CopyWord> copy_words(const Score& s, const Organ& organ) {
  std::vector<CopyWord> out;
  for (const Direction& d : s.directions) {
    if (d.kind != Direction::Kind::words) continue;
    std::string_view division;  // of which the clause before drew stops
    for (const std::string& text : clauses(d.text)) {
      const Clause clause(organ, text, division);
      auto read = clause.read();
      const bool stops = read && read->kind == CopyKind::stops;
      const bool goes_on = stops && !division.empty() && clause.division() == division;
      division = stops ? clause.division() : std::string_view{};
      if (!read) continue;
      const auto from = text.find_first_not_of(' ');
      read->text = text.substr(from, text.find_last_not_of(' ') + 1 - from);
      if (goes_on) {  // "Sw. Diapason 8, Flute 4"
        CopyWord& last = out.back();
        last.text += ", " + read->text;
        last.wanted = last.wanted.substr(0, last.wanted.size() - std::string_view(" drawn").size()) + " and " +
                      read->wanted.substr(division.size() + 1);
        last.stops.insert(last.stops.end(), read->stops.begin(), read->stops.end());
        last.here = last.here && read->here;
        continue;
      }
      read->stave = d.stave;
      read->moment.bar = s.bars[static_cast<std::size_t>(d.bar)].label;
      read->moment.bar_index = d.bar;
      read->moment.at = d.at;
      out.push_back(std::move(*read));
    }
  }
  return out;
}

std::string words(const Organ& organ, const CopyWord& w) {
  if (w.kind == CopyKind::unclear) return fmt::format("\"{}\" may mean {}.", w.text, w.wanted);
  std::string missing;
  std::string instead;
  for (const CopyStop& s : w.stops) {
    if (!s.here()) missing += (missing.empty() ? "" : ", ") + s.name;
    else if (s.instead)
      instead += fmt::format("{}{} for the {}", instead.empty() ? "" : ", ",
                             full_name(organ.stops[static_cast<std::size_t>(s.stops.front())]), s.name);
  }
  const bool some = std::any_of(w.stops.begin(), w.stops.end(), [](const CopyStop& s) { return s.here(); });
  return fmt::format("\"{}\" wants {}: {}.", w.text, w.wanted,
                     !instead.empty() && w.here ? fmt::format("this organ has {}", instead)
                     : w.here                   ? std::string("this organ has it")
                     : some                     ? fmt::format("this organ has no {} there", missing)
                                                : std::string("not on this organ"));
}

}  // namespace calcant
