#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/playing/fit_parts.hpp"
#include "engine/playing/windows.hpp"

namespace calcant::fitting {

namespace {

constexpr double octave = 12;

// Semitones the hand moves so that it lies over the new keys: none while one position covers both.
int moved(NoteSet from, NoteSet to, int span) {
  const int up = to.highest() - from.lowest() - span;
  const int down = from.highest() - to.lowest() - span;
  return std::max({0, up, down});
}

class Leaps {
 public:
  Leaps(const Asked& a, Hand hand) : a_(a), hand_(hand), span_(hand == Hand::left ? a.player.left : a.player.right) {}

  void go(std::vector<FitFinding>& out) {
    const Role role = hand_ == Hand::left ? Role::left_hand : Role::right_hand;
    std::vector<const Press*> mine;
    for (const Press& p : a_.presses) {
      if (p.role == role) mine.push_back(&p);
    }
    for (std::size_t i = 0; i < mine.size();) {
      const Rational t = mine[i]->start;
      const std::size_t first = i;
      NoteSet struck;
      for (; i < mine.size() && mine[i]->start == t; ++i) struck.insert(mine[i]->key.midi);
      // A hand that holds a key goes on from there: what it spans is another question.
      const bool free = std::all_of(behind_.begin(), behind_.end(), [&](const Press* p) { return p->end <= t; });
      if (free && !behind_.empty()) judge(*mine[first], struck, out);
      std::erase_if(behind_, [&](const Press* p) { return p->end <= t; });
      behind_.insert(behind_.end(), mine.begin() + static_cast<std::ptrdiff_t>(first),
                     mine.begin() + static_cast<std::ptrdiff_t>(i));
    }
  }

 private:
  [[nodiscard]] NoteSet left_keys() const {
    NoteSet keys;
    for (const Press* p : behind_) keys.insert(p->key.midi);
    return keys;
  }
  // When the hand can go at the soonest: after half of each length, the rest of which is given to the leap.
  [[nodiscard]] Rational leaves() const {
    Rational out;
    for (const Press* p : behind_) out = std::max(out, p->start + (p->end - p->start) / Rational{2});
    return out;
  }

  [[nodiscard]] double needed(NoteSet to) const {
    return a_.player.leap.value.value() * moved(left_keys(), to, span_.comfortable.value) / octave;
  }

  void judge(const Press& p, NoteSet struck, std::vector<FitFinding>& out) {
    const double need = needed(struck);
    const double have = (a_.tempo.at(p.start) - a_.tempo.at(leaves())).value();
    if (need <= have) return;
    const NoteId n = p.notes.front();
    if (!told_.insert(n).second) return;
    FitFinding f;
    f.kind = FitKind::leap;
    f.moment = first_moment(a_.score, n);
    f.note = hand_ == Hand::left ? Note{struck.lowest()} : Note{struck.highest()};
    f.written = n;
    f.hinders = false;
    f.message =
        fmt::format("The {} hand leaps {} semitones further than it spans in {:.2f} s; this player needs {:.2f} s.",
                    word(hand_), moved(left_keys(), struck, span_.comfortable.value), have, need);
    f.remedies = ways(p, struck, have, need);
    out.push_back(std::move(f));
  }

  [[nodiscard]] std::vector<std::string> ways(const Press& p, NoteSet struck, double have, double need) const {
    std::vector<std::string> out;
    if (auto way = other_hand(p, struck)) out.push_back(std::move(*way));
    if (auto way = fewer(struck, have)) out.push_back(std::move(*way));
    const double tempo = a_.tempo.quarters_per_minute(p.start) * have / need;
    if (tempo >= slowest) {
      out.push_back(
          fmt::format("Play it at {:.0f} crotchets a minute or slower: there is time then.", std::floor(tempo)));
    }
    out.emplace_back("Wait for it: a little time taken before the leap is heard as breathing.");
    return out;
  }

  // The other hand strikes them, where it rests or lies near enough with what it has.
  [[nodiscard]] std::optional<std::string> other_hand(const Press& p, NoteSet struck) const {
    const Role role = hand_ == Hand::left ? Role::right_hand : Role::left_hand;
    const HandSpan& span = hand_ == Hand::left ? a_.player.right : a_.player.left;
    NoteSet theirs = struck;
    const auto here = a_.keyboards.at(p.stave, p.role, onset_of(a_.score, p.notes.front()));
    Rational before;
    const Press* last = nullptr;
    for (const Press& q : a_.presses) {
      if (q.role != role) continue;
      if (q.start < p.end && p.start < q.end) {
        if (a_.keyboards.at(q.stave, q.role, onset_of(a_.score, q.notes.front())) != here) return std::nullopt;
        theirs.insert(q.key.midi);
      } else if (q.end <= p.start && (last == nullptr || q.end >= before)) {
        before = q.end;
        last = &q;
      }
    }
    if (theirs.size() > keys_in_a_hand || theirs.highest() - theirs.lowest() > span.comfortable.value)
      return std::nullopt;
    // It must not have to leap as far itself.
    NoteSet from;
    if (last != nullptr) from.insert(last->key.midi);
    if (last != nullptr && moved(from, theirs, span.comfortable.value) > 0) return std::nullopt;
    return fmt::format("Let the {} hand take it: it lies near.", word(other(hand_)));
  }

  // Without a key that sounds in another octave as well the rest may be near enough.
  [[nodiscard]] std::optional<std::string> fewer(NoteSet struck, double have) const {
    for (const int key : struck) {
      NoteSet rest = struck;
      rest.erase(key);
      bool doubled = false;
      for (const int k : rest) doubled = doubled || k % 12 == key % 12;
      if (doubled && needed(rest) <= have)
        return fmt::format("Leave out {}: the same note sounds in another octave.", name(Note{key}));
    }
    return std::nullopt;
  }

  static constexpr double slowest = 20;  // crotchets a minute; no advice below

  const Asked& a_;
  Hand hand_;
  const HandSpan& span_;
  std::vector<const Press*> behind_;  // what the hand had down when it struck last
  std::set<NoteId> told_;             // each written note once, repeats left out
};

}  // namespace

void leaps(const Asked& a, std::vector<FitFinding>& out) {
  for (const Hand hand : {Hand::left, Hand::right}) Leaps(a, hand).go(out);
}

}  // namespace calcant::fitting
