#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/playing/fit_parts.hpp"

namespace calcant::fitting {

namespace {

constexpr int least_troubles = 8;
constexpr int one_place_in = 12;

Moment beginning_of(const Score& s, int bar, Rational at) {
  Moment m;
  m.bar = s.bars[static_cast<std::size_t>(bar)].label;
  m.bar_index = bar;
  m.at = at;
  return m;
}

void missing_manuals(const Asked& a, bool both_hands_apart, std::vector<FitFinding>& out) {
  std::set<std::string> told;
  for (const ManualWord& w : manual_words(a.score, a.organ)) {
    if (w.keyboard || !told.insert(w.wanted).second) continue;
    const bool one = manuals(a.organ).size() == 1;
    const std::string names = one ? "one manual" : manual_names(a.organ);
    FitFinding f;
    f.kind = FitKind::manual_missing;
    f.moment = beginning_of(a.score, w.bar, w.at);
    f.hinders = false;
    f.message = w.name ? fmt::format("The stave named \"{}\" asks for {}, and this console has {}.", w.text,
                                     w.wanted.rfind("manual", 0) == 0 ? w.wanted : "the " + w.wanted, names)
                       : fmt::format("\"{}\" asks for {}, and this console has {}.", w.text,
                                     w.wanted.rfind("manual", 0) == 0 ? w.wanted : "the " + w.wanted, names);
    if (!one) f.remedies.push_back(fmt::format("Choose where it is played: {}.", names));
    else if (!both_hands_apart) f.remedies.emplace_back("Play it on the one manual with the rest.");
    else f.remedies.emplace_back("Play it on the one manual, as far as the hands do not meet there.");
    // A stave named so is no passage.
    if (!w.name) f.remedies.emplace_back("Draw for that passage what comes nearest, and go back after it.");
    out.push_back(std::move(f));
  }
}

std::vector<std::string> ways_apart(const Asked& a, const InTheWay& now, KeyboardIndex here) {
  std::vector<std::string> out;
  const std::vector<KeyboardIndex> all = manuals(a.organ);
  for (const KeyboardIndex k : all) {
    if (k == here) continue;
    for (std::size_t s = 0; s < a.score.staves.size(); ++s) {
      if (a.score.staves[s].role != Role::left_hand) continue;
      out.push_back(fmt::format("Play {} on the {} (--stave {}={}).", stave_name(a, static_cast<int>(s)),
                                board(a, k).name, s + 1, board(a, k).id));
    }
  }
  const bool goes_down = std::all_of(a.presses.begin(), a.presses.end(), [&](const Press& p) {
    return p.role != Role::left_hand || board(a, here).keys.contains(p.key.midi - 12);
  });
  if (goes_down && !wants_two_manuals(in_the_way(a, 12))) {
    out.push_back(fmt::format(
        "Play the left hand an octave lower throughout: the hands then meet {} instead of {} times, and the parts lie "
        "further apart than written.",
        in_the_way(a, 12).troubles(), now.troubles()));
  }
  if (all.size() < 2) out.emplace_back("Choose it for an organ of two manuals.");
  return out;
}

void two_manuals(const Asked& a, const InTheWay& w, bool asked, std::vector<FitFinding>& out) {
  FitFinding f;
  f.kind = FitKind::two_manuals;
  f.moment = first_moment(a.score, *w.first);
  f.note = a.score.notes[*w.first].note;
  f.written = w.first;
  f.times = w.troubles();
  const auto here = a.keyboards.at(a.score.notes[*w.first].stave, Role::left_hand, onset_of(a.score, *w.first));
  const std::string on = here ? board(a, *here).name : "manual";
  f.message = fmt::format(
      "On the {} one hand strikes a key that the other holds {} time{}, and the hands cross {} time{}: {}, and both "
      "hands "
      "are on one.",
      on, w.again.size(), w.again.size() == 1 ? "" : "s", w.crossed, w.crossed == 1 ? "" : "s",
      asked ? "the copy asks for two manuals" : "this looks like music for two manuals");
  if (here) f.remedies = ways_apart(a, w, *here);
  out.push_back(std::move(f));
}

// One finding a bar.
void same_keys(const Asked& a, const InTheWay& w, std::vector<FitFinding>& out) {
  int told_in = -1;
  for (const std::size_t i : w.again) {
    const Press& p = a.presses[i];
    const WrittenNote& n = a.score.notes[p.notes.front()];
    if (n.bar == told_in) {
      ++out.back().times;
      continue;
    }
    told_in = n.bar;
    FitFinding f;
    f.kind = FitKind::same_key;
    f.moment = first_moment(a.score, n.id);
    f.note = p.key;
    f.written = n.id;
    f.hinders = false;
    const bool left = p.role == Role::left_hand;
    f.message = fmt::format("The {} hand strikes {} while the {} hand holds it.", left ? "left" : "right", name(p.key),
                            left ? "right" : "left");
    f.remedies.emplace_back("Let go and strike it again: from there it sounds for both.");
    if (manuals(a.organ).size() > 1) f.remedies.emplace_back("Put one hand on the other manual here.");
    out.push_back(std::move(f));
  }
}

}  // namespace

InTheWay in_the_way(const Asked& a, int down) {
  InTheWay out;
  if (a.score.hymn) return out;
  std::vector<std::size_t> sounding;
  const auto moved = [&](const Press& p) { return p.key.midi - (p.role == Role::left_hand ? down : 0); };
  const auto keyboard = [&](const Press& p) {
    return a.keyboards.at(p.stave, p.role, onset_of(a.score, p.notes.front()));
  };
  std::set<NoteId> seen;  // each written note once, repeats left out
  for (std::size_t i = 0; i < a.presses.size();) {
    const Rational t = a.presses[i].start;
    std::erase_if(sounding, [&](std::size_t s) { return a.presses[s].end <= t; });
    const std::size_t before = sounding.size();
    bool first_time = false;
    for (; i < a.presses.size() && a.presses[i].start == t; ++i) {
      const Role role = a.presses[i].role;
      if (role != Role::left_hand && role != Role::right_hand) continue;
      sounding.push_back(i);
      first_time |= seen.insert(a.presses[i].notes.front()).second;
    }
    if (sounding.size() == before || !first_time) continue;
    bool both = false;
    bool crossed = false;
    const std::size_t struck_before = out.again.size();
    for (std::size_t x = 0; x < sounding.size(); ++x) {
      for (std::size_t y = before; y < sounding.size(); ++y) {
        const Press& p = a.presses[sounding[x]];
        const Press& q = a.presses[sounding[y]];
        if (p.role == q.role || keyboard(p) != keyboard(q)) continue;
        both = true;
        if (moved(p) == moved(q)) {
          if (x < before) out.again.push_back(sounding[y]);
        } else {
          crossed |= (p.role == Role::left_hand) == (moved(p) > moved(q));
        }
      }
    }
    out.places += both;
    out.crossed += crossed;
    if (!out.first && (crossed || out.again.size() > struck_before)) {
      out.first = a.presses[sounding.back()].notes.front();
    }
  }
  return out;
}

bool wants_two_manuals(const InTheWay& w) {
  return w.troubles() >= least_troubles && w.troubles() * one_place_in >= w.places;
}

std::string manual_names(const Organ& o) {
  std::string out;
  for (const KeyboardIndex k : manuals(o)) {
    out += (out.empty() ? "" : " and ") + o.keyboards[static_cast<std::size_t>(k)].name;
  }
  return out.empty() ? "no manual" : out;
}

void manuals_wanted(const Asked& a, std::vector<FitFinding>& out) {
  const InTheWay w = in_the_way(a);
  std::set<std::string> wanted;
  for (const ManualWord& m : manual_words(a.score, a.organ)) {
    if (m.name) wanted.insert(m.wanted);
  }
  const bool asked = wanted.size() > 1 || asks_for_two_manuals(a.score);
  missing_manuals(a, w.troubles() > 0, out);
  if (wants_two_manuals(w) || (asked && w.troubles() >= least_troubles)) two_manuals(a, w, asked, out);
  else same_keys(a, w, out);
}

}  // namespace calcant::fitting
