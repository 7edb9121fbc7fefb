// What the front of the sheet says of notes and stops that are missing today.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "engine/organ/sounding.hpp"
#include "engine/plan/chorus.hpp"
#include "engine/quantity/listed.hpp"
#include "jobs/lost_notes.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_told = 4;  // of an item: the rest is on the sheet's foot
constexpr std::size_t most_bars = 6;

// A pipe that is wanted and does not speak: from which key, and where.
struct Missing {
  KeyboardIndex keyboard = 0;
  int key = 0;
  std::vector<std::string> where;  // "v1", or the bars
  const Section* section = nullptr;
};

class Teller {
 public:
  Teller(const OrganContext& context, const Item& item)
      : context_(context), organ_(context.organ), item_(item), whole_(context.described), today_(organ_) {}

  // Every one of these keys in every verse; `of`: whose they are.
  std::vector<std::string> all(const Chord& wanted, const std::string& of) {
    std::size_t sounding = 0;
    for (const Section& s : item_.sections) {
      if (!s.keyboards.right && !s.keyboards.left) continue;
      ++sounding;
      NoteSet lower = wanted.left;
      NoteSet upper = wanted.right;
      if (s.keyboards.left == s.keyboards.right) upper = lower = wanted.left | wanted.right;
      const std::string label = s.label.starts_with("Verse ") ? "v" + s.label.substr(6) : s.label;
      find(s, s.keyboards.right, upper, label);
      if (s.keyboards.left != s.keyboards.right) find(s, s.keyboards.left, lower, label);
      find(s, s.keyboards.feet, wanted.feet, label);
    }
    return told([&](const Missing& m) {
      return of + " wants it" +
             (m.where.size() < sounding ? fmt::format(" ({})", fmt::join(m.where, ", ")) : std::string{});
    });
  }

  // Every key where it is played.
  std::vector<std::string> all(const Score& score) {
    const auto played = presses(score);
    for (std::size_t i = 0; i < item_.sections.size(); ++i) {
      const Section& s = item_.sections[i];
      const Rational from = performed_at(score, s.from).value_or(Rational{0});
      const Rational to = i + 1 < item_.sections.size()
                              ? performed_at(score, item_.sections[i + 1].from).value_or(performed_length(score))
                              : performed_length(score);
      for (const Press& p : played) {
        if (p.start < from || p.start >= to) continue;
        NoteSet key;
        key.insert(p.key.midi);
        find(s, s.keyboards.of(p.role), key, moment_at(score, p.start).bar);
      }
    }
    return told([](const Missing& m) {
      std::vector<std::string> bars(m.where.begin(),
                                    m.where.begin() + static_cast<long>(std::min(m.where.size(), most_bars)));
      if (m.where.size() > most_bars) bars.push_back(fmt::format("{} more", m.where.size() - most_bars));
      return fmt::format("bar{} {} want{} it", m.where.size() == 1 ? "" : "s", listed(bars),
                         m.where.size() == 1 ? "s" : "");
    });
  }

 private:
  template <typename Who>
  std::vector<std::string> told(const Who& who) {
    std::vector<std::string> out;
    for (const auto& [pipe, m] : missing_) {
      const Rank& rank = organ_.ranks[static_cast<std::size_t>(pipe.rank)];
      out.push_back(
          fmt::format("{} of the {} does not speak, and {}: {}", name(Note{m.key}), rank.name, who(m), way(m)));
    }
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (organ_.stops[s].out_of_use && !context_.described.stops[s].out_of_use && leads(organ_.stops[s]))
        out.push_back(without(s));
    }
    if (out.size() > most_told) out.resize(most_told);
    return out;
  }

  [[nodiscard]] static KeysDown one(KeyboardIndex keyboard, int key) {
    KeysDown down;
    down.keys[static_cast<std::size_t>(keyboard)].insert(key);
    return down;
  }
  void find(const Section& s, std::optional<KeyboardIndex> keyboard, const NoteSet& keys, const std::string& where) {
    if (!keyboard) return;
    for (const int key : keys& organ_.keyboards[static_cast<std::size_t>(*keyboard)].keys) {
      const KeysDown down = one(*keyboard, key);
      whole_.pipes(s.drawn, down, all_);
      today_.pipes(s.drawn, down, left_);
      for (std::size_t r = 0; r < all_.ranks.size(); ++r) {
        for (const int n : all_.ranks[r] - left_.ranks[r]) {
          Missing& m =
              missing_.try_emplace({static_cast<RankIndex>(r), n}, Missing{*keyboard, key, {}, &s}).first->second;
          if (std::find(m.where.begin(), m.where.end(), where) == m.where.end()) m.where.push_back(where);
        }
      }
    }
  }

  // How many pipes speak today, and how many would.
  [[nodiscard]] bool speaks(const Registration& drawn, KeyboardIndex keyboard, int key) {
    if (!organ_.keyboards[static_cast<std::size_t>(keyboard)].keys.contains(key)) return false;
    whole_.pipes(drawn, one(keyboard, key), all_);
    today_.pipes(drawn, one(keyboard, key), left_);
    return left_.size() > 0 && left_.size() == all_.size();
  }

  // Another way for one key: an octave up in the pedals, what is drawn besides, another stop of its pitch.
  [[nodiscard]] std::string way(const Missing& m) {
    const bool pedal = organ_.keyboards[static_cast<std::size_t>(m.keyboard)].pedal;
    const std::string other = another_stop(m);
    if (pedal && speaks(m.section->drawn, m.keyboard, m.key + 12))
      return "take it an octave higher" + (other.empty() ? other : ", or draw " + other);
    today_.pipes(m.section->drawn, one(m.keyboard, m.key), left_);
    if (!pedal && left_.size() > 0) return "what else is drawn has the note";
    if (!other.empty()) return other + " has the note";
    return left_.size() > 0 ? "what else is drawn has the note" : "leave it out, or let the other hand have it";
  }
  // A stop of the same keyboard that has the note.
  [[nodiscard]] std::string another_stop(const Missing& m) {
    const DivisionIndex home = organ_.keyboards[static_cast<std::size_t>(m.keyboard)].division;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      const Stop& stop = organ_.stops[s];
      if (stop.division != home || stop.out_of_use || m.section->drawn.stops[s]) continue;
      if (chorus_part(stop) == ChorusPart::other) continue;
      Registration alone;
      alone.box.fill(1.0F);
      alone.stops.set(s);
      if (speaks(alone, m.keyboard, m.key)) return full_name(stop);
    }
    return {};
  }

  // What a hymn is led with, or its bass.
  [[nodiscard]] bool leads(const Stop& stop) const {
    const ChorusPart part = chorus_part(stop);
    const auto keyboard = organ_.divisions[static_cast<std::size_t>(stop.division)].keyboard;
    const bool pedal = keyboard && organ_.keyboards[static_cast<std::size_t>(*keyboard)].pedal;
    return pedal ? part == ChorusPart::sixteen : part == ChorusPart::principal8 || part == ChorusPart::principal4;
  }
  [[nodiscard]] std::string without(std::size_t out) const {
    const Stop& stop = organ_.stops[out];
    for (const Section& s : item_.sections) {
      for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
        const Stop& other = organ_.stops[i];
        if (!s.drawn.stops[i] || other.division != stop.division || other.feet.empty() || stop.feet.empty()) continue;
        if (other.feet.front().semitones() == stop.feet.front().semitones())
          return fmt::format("{} is out of use: {} in its place", full_name(stop), full_name(other));
      }
    }
    return fmt::format("{} is out of use: planned without it", full_name(stop));
  }

  const OrganContext& context_;
  const Organ& organ_;
  const Item& item_;
  Sounding whole_;
  Sounding today_;
  PipeSet all_;
  PipeSet left_;
  std::map<PipeId, Missing> missing_;
};

}  // namespace

std::vector<std::string> lost_told(const OrganContext& context, const Item& item, const Chord& wanted,
                                   const std::string& of) {
  if (faults_of_the_day(context).empty()) return {};
  return Teller(context, item).all(wanted, of);
}

std::vector<std::string> lost_told(const OrganContext& context, const Item& item, const Score& score) {
  if (faults_of_the_day(context).empty()) return {};
  return Teller(context, item).all(score);
}

}  // namespace calcant
