#include "files/decisions/decisions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <utility>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/typed.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_faults = 30;
constexpr double longest = 24.0 * 3600.0;
constexpr std::string_view not_a_note = "nothing";
constexpr std::string_view heading =
    "# How the recording was cut up: one line for each key in the order they were played, then what belongs to none.\n"
    "# Times are seconds from the beginning. Correct a line and put ! before it: it then stands as you wrote it, and\n"
    "# everything else is worked out again round it.\n"
    "#   ! F#3 24.10 28.00 speaks     this stretch is F sharp\n"
    "#   ! F#3 dead                   its turn came, and nothing sounded\n"
    "#   ! F#3 unsure                 it was not played\n"
    "#   ! 24.10 28.00 nothing        not a note: leave it alone\n"
    "#   ! 24.10 24.60 false start    also: repeat, other\n";

struct Words {
  std::vector<std::string_view> word;
  std::size_t at = 0;
  [[nodiscard]] bool done() const { return at == word.size(); }
  [[nodiscard]] std::string_view next() { return done() ? std::string_view{} : word[at++]; }
  [[nodiscard]] std::string_view rest(std::string_view line) const {
    if (done()) return {};
    return line.substr(static_cast<std::size_t>(word[at].data() - line.data()));
  }
};

Words split(std::string_view line) {
  Words w;
  std::size_t at = 0;
  while (at < line.size()) {
    if (line[at] == ' ' || line[at] == '\t') {
      ++at;
      continue;
    }
    std::size_t end = at;
    while (end < line.size() && line[end] != ' ' && line[end] != '\t') ++end;
    w.word.push_back(line.substr(at, end - at));
    at = end;
  }
  return w;
}

std::optional<double> seconds(std::string_view word) {
  double v = 0.0;
  const auto [end, failed] = std::from_chars(word.data(), word.data() + word.size(), v);
  if (failed != std::errc{} || end != word.data() + word.size() || !std::isfinite(v)) return std::nullopt;
  return v;
}

class Reader {
 public:
  Reader(std::string_view name, const std::vector<Note>& order) : name_(name), order_(order) {}

  Result<DecisionsFile> read(std::string_view text) {
    if (text.size() > decisions_file_limit)
      return fail("is larger than a megabyte; that is no file of decisions", name_);
    for (; !text.empty(); ++line_) {
      const std::size_t end = std::min(text.find('\n'), text.size());
      one_line(trimmed(text.substr(0, end)));
      if (versioned_ && !faults_.empty() && !known_) break;  // some other file: one fault is enough
      text.remove_prefix(std::min(end + 1, text.size()));
    }
    if (!versioned_) fault("The file begins with a line 'decisions 1'.");
    if (faults_.empty()) return std::move(out_);
    std::string all = faults_.front().message;
    for (std::size_t i = 1; i < faults_.size(); ++i)
      all += fmt::format("\n{}: {}", faults_[i].where, faults_[i].message);
    return fail(std::move(all), faults_.front().where);
  }

 private:
  void fault(std::string message) {
    if (faults_.size() < most_faults) faults_.push_back({std::move(message), fmt::format("{}:{}", name_, line_)});
  }

  void one_line(std::string_view line) {
    Words w = split(line);
    if (w.done() || w.word[0].front() == '#') return;
    if (line.size() > 300) return fault("This line is longer than 300 letters.");
    if (!versioned_) return version(w);
    if (w.word[0] == "stop" || w.word[0] == "recording") {
      const bool stop = w.next() == "stop";
      (stop ? out_.stop : out_.recording) = std::string{w.rest(line)};
      return;
    }
    decision(line, w);
  }

  void version(Words& w) {
    const std::string_view first = w.next();
    const std::optional<double> v = seconds(w.next());
    versioned_ = true;  // told once
    if (first != "decisions" || !v || !w.done()) return fault("The file begins with a line 'decisions 1'.");
    if (*v > decisions_file_version)
      fault(
          fmt::format("This is version {:g} of the format; this program reads up to {}.", *v, decisions_file_version));
    else if (*v != decisions_file_version) fault("The version is a whole number from 1.");
    else known_ = true;
  }

  void decision(std::string_view line, Words& w) {
    if (out_.decisions.size() == most_decisions) {
      if (!full_) fault(fmt::format("A recording is cut into at most {} pieces.", most_decisions));
      full_ = true;
      return;
    }
    Decision d;
    if (w.word[0].front() == '!') {
      d.fixed = true;
      w.word[0].remove_prefix(1);
      if (w.word[0].empty()) ++w.at;
    }
    if (w.done()) return fault("After ! stands the line that is to hold.");
    std::optional<Note> key;
    if (const auto note = parse_note(w.word[w.at]); note) {
      key = *note;
      ++w.at;
    }
    if (!times(w, d)) return;
    const std::string said{w.rest(line)};
    if (said.empty()) return fault("What is it? Say at the end: speaks, dead, cipher, wrong, unsure, nothing.");
    if (!what(said, d)) return;
    if (!key && d.extra == Extra::none)
      return fault(fmt::format("Which key is it? Begin with its name: F#3 ... {}.", word(d.state)));
    if (d.from && !d.to) return fault("A stretch has a beginning and an end: 24.10 28.00.");
    if (d.extra != Extra::none && !d.from) return fault("From when to when? Two times in seconds: 24.10 24.60.");
    if (!d.from && (d.state == NoteState::speaks || d.state == NoteState::wrong))
      return fault(fmt::format("From when to when does it sound? Two times in seconds stand before '{}'.", said));
    if (key) {
      d.key = *key;
      const bool silent = d.state == NoteState::dead || d.state == NoteState::unsure;
      if (silent && d.from) return fault(fmt::format("A key that is {} has no stretch: take the times away.", said));
      if (d.extra == Extra::none && !turn(d)) return;
    }
    out_.decisions.push_back(d);
  }

  bool times(Words& w, Decision& d) {
    for (std::optional<Seconds>* t : {&d.from, &d.to}) {
      if (w.done()) break;
      const char first = w.word[w.at].front();
      if ((first < '0' || first > '9') && first != '-' && first != '.') break;
      const std::string word{w.next()};
      const auto v = seconds(word);
      if (!v || *v < 0.0 || *v > longest) {
        fault(fmt::format("'{}' is no time in seconds from the recording's beginning.", word.substr(0, 40)));
        return false;
      }
      *t = Seconds{*v};
    }
    if (d.from && d.to && *d.to <= *d.from) {
      fault(fmt::format("It ends at {:.3f} s, before it begins at {:.3f} s.", d.to->value(), d.from->value()));
      return false;
    }
    return true;
  }

  bool what(const std::string& said, Decision& d) {
    for (const Extra e : {Extra::repeat, Extra::false_start, Extra::other})
      if (said == word(e)) d.extra = e;
    if (said == not_a_note) d.extra = Extra::other;
    if (d.extra != Extra::none) return true;
    const std::size_t space = said.find_first_of(" \t");
    const std::string first = said.substr(0, space);
    if (const auto state = note_state(first)) {
      d.state = *state;
      if (space == std::string::npos) return true;
      const std::string other = said.substr(said.find_first_not_of(" \t", space));
      if (d.state == NoteState::wrong) {
        if (const auto heard = parse_note(other); heard) {
          d.heard = *heard;
          return true;
        }
        fault(fmt::format("'{}' is no note; after 'wrong' stands what was heard, as in 'wrong G3'.",
                          other.substr(0, 40)));
        return false;
      }
    }
    const std::vector<std::string> known{
        "speaks", "dead", "cipher", "wrong", "unsure", "repeat", "false start", "other", std::string{not_a_note}};
    fault(fmt::format("'{}' is not known here{}; a line ends with one of: {}.", said.substr(0, 40),
                      perhaps(said.substr(0, 40), known), fmt::join(known, ", ")));
    return false;
  }

  // The n-th line of a key is its n-th turn, while there are turns. After that a cipher stands out of turn and gives up the
  // turn it holds to any other line; a line by hand takes the turn of one that is solved again, which goes.
  bool turn(Decision& d) {
    int skip = turns_[d.key.midi];
    for (std::size_t i = 0; i < order_.size(); ++i) {
      if (order_[i] != d.key || skip-- > 0) continue;
      d.place = static_cast<int>(i);
      ++turns_[d.key.midi];
      return true;
    }
    if (d.state == NoteState::cipher) return true;
    const auto holder = [&](auto&& gives_way) {
      return std::ranges::find_if(out_.decisions,
                                  [&](const Decision& o) { return o.place && o.key == d.key && gives_way(o); });
    };
    if (const auto cipher = holder([](const Decision& o) { return o.state == NoteState::cipher; });
        cipher != out_.decisions.end()) {
      d.place = std::exchange(cipher->place, std::nullopt);
      return true;
    }
    if (const auto unmarked = holder([&](const Decision& o) { return d.fixed && !o.fixed; });
        unmarked != out_.decisions.end()) {
      d.place = unmarked->place;
      out_.decisions.erase(unmarked);
      return true;
    }
    fault(std::ranges::find(order_, d.key) == order_.end()
              ? fmt::format("{} is no key of this stop.", calcant::name(d.key))
              : fmt::format("{} stands here once too often.", calcant::name(d.key)));
    return false;
  }

  std::string name_;
  const std::vector<Note>& order_;
  DecisionsFile out_;
  std::map<int, int> turns_;
  std::vector<Error> faults_;
  int line_ = 1;
  bool versioned_ = false;  // the first line was read,
  bool known_ = false;      // and it was the one that belongs there
  bool full_ = false;
};

// As it is read again: one line without blanks at its ends, no longer than a name is.
std::string one_line_text(std::string_view text) {
  std::string out{text};
  std::ranges::replace_if(
      out, [](char c) { return c == '\n' || c == '\r'; }, ' ');
  return std::string{trimmed(trimmed(out).substr(0, 200))};
}

}  // namespace

std::string write_decisions(const DecisionsFile& file) {
  std::string out = fmt::format("decisions {}\n", decisions_file_version);
  if (!file.stop.empty()) out += "stop " + one_line_text(file.stop) + "\n";
  if (!file.recording.empty()) out += "recording " + one_line_text(file.recording) + "\n";
  out += heading;
  for (const Decision& d : file.decisions) {
    const bool keyless = d.extra == Extra::other || (d.extra != Extra::none && d.key.midi == 0);
    out += fmt::format("{} {:<4}", d.fixed ? '!' : ' ', keyless ? std::string{} : name(d.key));
    if (d.from && d.to) out += fmt::format(" {:9.3f} {:9.3f}", d.from->value(), d.to->value());
    else out += fmt::format(" {:19}", "");
    out += " " + std::string{d.extra == Extra::other  ? not_a_note
                             : d.extra != Extra::none ? word(d.extra)
                                                      : word(d.state)};
    if (d.extra == Extra::none && d.state == NoteState::wrong && d.heard) out += " " + name(*d.heard);
    out += "\n";
  }
  return out;
}

Result<DecisionsFile> read_decisions(std::string_view text, std::string_view name,
                                     const std::vector<Note>& playing_order) {
  return Reader{name, playing_order}.read(text);
}

}  // namespace calcant
