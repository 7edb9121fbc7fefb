#include "jobs/marked_copy.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/playing/windows.hpp"
#include "files/pages/abbreviations.hpp"
#include "files/pages/pencilling.hpp"
#include "jobs/foot_marks.hpp"

namespace calcant {
namespace {

using musicxml::Mark;
using OnBoards = decltype(Section::keyboards);

// A movement of the box takes the foot for about this long.
const Rational box_quarters{1, 2};

// Two engraved bars of organ music seldom leave room for more above them, beside what the copy says itself.
constexpr std::size_t letters_a_line = 26;

// Words that begin so soon behind ours are kept clear of them by blanks that engravers keep: these then find them in each
// other's way, and set ours higher.
const Rational near_quarters{3};
constexpr std::string_view room = "\u00a0\u00a0";

class Copy {
 public:
  Copy(const Organ& organ, const Plan& plan, int item, const Score& score)
      : organ_(organ), plan_(plan), index_(item), item_(plan.items[static_cast<std::size_t>(item)]), score_(score) {}

  std::vector<Mark> marks() {
    // The manuals first, so that they are engraved next to the notes.
    const OnBoards& first = item_.sections.front().keyboards;
    const bool several =
        std::count_if(organ_.keyboards.begin(), organ_.keyboards.end(), [](const Keyboard& k) { return !k.pedal; }) > 1;
    if (several) boards({}, first, 0, Rational{});
    for (const std::string& division : pencilled(organ_, item_.sections.front().drawn))
      add(Mark::Kind::registration, division, ", ", 0, Rational{}, -1);
    OnBoards on = first;
    for (const Cue& c : plan_.cues) {
      if (c.item != index_ || c.section == 0) continue;
      cue(c);
      if (!c.go_to) continue;
      const Moment& from = item_.sections[static_cast<std::size_t>(c.section)].from;
      if (from.verse == 0 && several) boards(on, *c.go_to, from.bar_index, from.at);
      on = *c.go_to;
    }
    for (Mark& m : marks_)
      if (words_follow(m)) m.text += room;
    return std::move(marks_);
  }

 private:
  // What stands at one place is one mark of several lines, each no longer than a line of engraved words should be.
  void add(Mark::Kind kind, const std::string& text, std::string_view between, int bar, Rational at, int stave) {
    if (text.empty()) return;
    const std::string lines = broken(text, between);
    for (Mark& m : marks_) {
      if (m.kind != kind || m.bar != bar || m.at != at || m.stave != stave) continue;
      // From an earlier time through it stands there already.
      if (("\n" + m.text + "\n").find("\n" + lines + "\n") == std::string::npos) m.text += "\n" + lines;
      return;
    }
    Mark m;
    m.kind = kind;
    m.text = lines;
    m.bar = bar;
    m.at = at;
    m.stave = stave;
    marks_.push_back(std::move(m));
  }

  // Whether the copy's own words begin soon behind a mark over the same stave.
  [[nodiscard]] bool words_follow(const Mark& m) const {
    const auto place = [&](int bar, Rational at) { return score_.bars[static_cast<std::size_t>(bar)].start + at; };
    const int stave = std::max(0, m.stave);
    return std::ranges::any_of(score_.directions, [&](const Direction& d) {
      if (d.kind != Direction::Kind::words || std::max(0, d.stave) != stave) return false;
      const Rational behind = place(d.bar, d.at) - place(m.bar, m.at);
      return Rational{0} < behind && behind <= near_quarters;
    });
  }

  // Broken where one thing to draw ends and the next begins.
  static std::string broken(std::string_view text, std::string_view between) {
    std::string out;
    std::size_t line = 0;
    while (!text.empty()) {
      const auto end = std::min(text.find(between), text.size());
      const std::string_view thing = text.substr(0, end);
      if (line > 0 && line + between.size() + thing.size() > letters_a_line) {
        if (between.front() == ',') out += ',';
        out += "\n   ";
        line = 3;
      } else if (!out.empty()) {
        out += between;
        line += between.size();
      }
      out += thing;
      line += thing.size();
      text.remove_prefix(std::min(end + between.size(), text.size()));
    }
    return out;
  }

  void cue(const Cue& c) {
    const Section& to = item_.sections[static_cast<std::size_t>(c.section)];
    Cue knobs = c;
    if (to.from.verse == 0) knobs.go_to.reset();  // the manual stands over its own stave
    std::string text = pencilled(organ_, knobs);
    if (text.empty()) return;
    if (c.mover == Mover::helper) text = "helper: " + text;
    if (to.from.verse > 0) text = fmt::format("{}: {}", to.label, text);
    add(Mark::Kind::registration, text, "  ", c.moment.bar_index, c.moment.at, -1);
  }

  // The manual of each hand that comes to another one.
  void boards(const OnBoards& before, const OnBoards& now, int bar, Rational at) {
    for (std::size_t s = 0; s < score_.staves.size(); ++s) {
      const Role role = score_.staves[s].role;
      const bool right = role == Role::right_hand || role == Role::either_hand;
      if (!right && role != Role::left_hand) continue;
      const auto was = right ? before.right : before.left;
      const auto is = right ? now.right : now.left;
      if (!is || is == was) continue;
      add(Mark::Kind::manual, short_division(organ_.keyboards[static_cast<std::size_t>(*is)].name), "  ", bar, at,
          static_cast<int>(s));
    }
  }

  const Organ& organ_;
  const Plan& plan_;
  int index_;
  const Item& item_;
  const Score& score_;
  std::vector<Mark> marks_;
};

}  // namespace

std::optional<Pedalling> feet_in_plan(const Organ& organ, const Plan& plan, int item, const Score& score,
                                      const Player& player, const Tempo& tempo, const std::vector<FixedFoot>& marks) {
  FeetWishes wishes;
  wishes.fixed = marks;
  for (std::size_t box = 0; box < organ.boxes.size(); ++box) {
    std::vector<BoxMove> moves;
    for (const Cue& c : plan.cues) {
      if (c.item != item || c.section == 0 || c.moment.verse > 0 || c.mover == Mover::helper) continue;
      const Section& to = plan.items[static_cast<std::size_t>(item)].sections[static_cast<std::size_t>(c.section)];
      const auto ready = performed_at(score, to.from);
      for (const BoxSetting& b : c.boxes) {
        if (static_cast<std::size_t>(b.box) != box || !ready || *ready < box_quarters) continue;
        // Over a hairpin the foot is on the lever from its beginning, as the plan has it.
        const auto begun = c.mover == Mover::foot ? performed_at(score, c.moment) : std::nullopt;
        const Rational from = std::min(begun.value_or(*ready - box_quarters), *ready - box_quarters);
        moves.push_back({from, *ready, static_cast<double>(b.opening)});
      }
    }
    const auto busy = foot_for_box(organ.boxes[box], moves, performed_length(score));
    wishes.busy.insert(wishes.busy.end(), busy.begin(), busy.end());
  }
  auto solved = solve_feet(score, organ, player, tempo, wishes);
  if (!solved) return std::nullopt;
  return std::move(*solved);
}

Result<std::string> marked_copy(const Organ& organ, const Plan& plan, int item, const ReadScore& read,
                                const Pedalling* feet, bool every_foot) {
  std::vector<Mark> marks = Copy(organ, plan, item, read.score).marks();
  if (feet != nullptr) {
    for (Mark& m : foot_marks(*feet, every_foot)) marks.push_back(std::move(m));
  }
  return musicxml::write_marked(read.bytes, marks);
}

}  // namespace calcant
