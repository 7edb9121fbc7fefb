#include "engine/plan/copy_told.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "engine/plan/chorus.hpp"
#include "engine/quantity/listed.hpp"

namespace calcant {
namespace {

std::string moved_names(const Organ& organ, const Registration& from, const Registration& to) {
  std::vector<std::string> names;
  for (const Knob k : newly_drawn(organ, from, to)) names.push_back(full_name(organ, k));
  for (const Knob k : newly_drawn(organ, to, from)) names.push_back(full_name(organ, k) + " (in)");
  return listed(names);
}

// Stops of this kind elsewhere that a coupler brings to the keys of the division: "Oboe 8 by Swell to Pedal".
std::string coupled_from_elsewhere(const Organ& organ, const CopyWord& word, const std::string& name) {
  if (!word.division) return {};
  CopyTokens tokens(1);
  for (const char c : name) {
    if (c == ' ') tokens.emplace_back();
    else tokens.back() += c;
  }
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].division != *word.division) continue;
    for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
      const auto other = static_cast<DivisionIndex>(d);
      const auto coupler = unison_coupler(organ, static_cast<KeyboardIndex>(k), other, {});
      if (other == *word.division || !coupler) continue;
      for (const CopyStop& s : copy_stops(organ, tokens, other, true)) {
        if (s.here() && !s.instead)
          return fmt::format("{} by {}", full_name(organ.stops[static_cast<std::size_t>(s.stops.front())]),
                             full_name(organ, Knob{Knob::Kind::coupler, *coupler}));
      }
    }
  }
  return {};
}

class Told {
 public:
  Told(const Organ& organ, const Player& player, const Score& score, const std::vector<CopyAsk>& asks,
       const std::vector<Window>& windows, const CopyStep& step)
      : organ_(organ), player_(player), score_(score), asks_(asks), windows_(windows), step_(step), jambs_(organ) {}

  [[nodiscard]] CopyHeed of(const StandingAsk& standing) const {
    const CopyAsk& ask = asks_[standing.ask];
    CopyHeed h;
    h.text = ask.word.text;
    h.wanted = ask.word.wanted;
    const double left_out = unmet(ask, standing, *step_.drawn);
    h.followed = left_out == 0;
    h.in_part = left_out > 0 && std::any_of(ask.one_of.begin(), ask.one_of.end(),
                                            [&](const Jambs::Stops& any) { return (any & step_.drawn->stops).any(); });
    if (!h.followed) h.instead = left(standing);
    return h;
  }

 private:
  // Why it is left, and another way.
  [[nodiscard]] std::string left(const StandingAsk& standing) const {
    const Registration wanted = as_asked(asks_, {standing}, *step_.drawn);
    const std::string names = moved_names(organ_, *step_.drawn, wanted);
    if (step_.passage->by_user()) return "What you have fixed here stands.";
    if (step_.before == nullptr || step_.chance == nullptr)
      return "Another registration serves what is marked here better; fix it as a wish to have it.";
    if (names.empty()) {
      if (step_.chance->foot.seconds < player_.foot_accessory.value)
        return "The right foot is on the pedals. Another way: the box earlier, or as it was.";
      return "The box serves the dynamics here; fix it as a wish to have it so.";
    }
    if (step_.passage->in_slur) return fmt::format("{} would be heard within a slur. {}", names, another_time(wanted));
    const Sorted needed = sorted_knobs(jambs_, *step_.before, *step_.then, wanted, *step_.next);
    const Sorted had = sorted_knobs(jambs_, *step_.before, *step_.then, *step_.drawn, *step_.next);
    if (without_a_window(needed, *step_.chance) > without_a_window(had, *step_.chance))
      return fmt::format("No hand has time for {} here. {}", names, another_time(wanted));
    return fmt::format("Another registration serves what is marked here better; fix {} as a wish to have it.", names);
  }

  // Where the hand of that side is free before and after.
  [[nodiscard]] std::string another_time(const Registration& wanted) const {
    const KnobCount knobs = jambs_.moved(*step_.drawn, wanted);
    const Rational here = step_.passage->from;
    const Window* before = nullptr;
    const Window* after = nullptr;
    for (const Window& w : windows_) {
      const int side = w.hand == Hand::left ? knobs.left : knobs.right;
      const bool only = knobs.left + knobs.right == side;
      if (w.page_turn || !only || w.seconds < seconds_for(player_, std::max(1, knobs.all()))) continue;
      if (w.to <= here && (before == nullptr || w.to > before->to)) before = &w;
      if (w.from > here && (after == nullptr || w.from < after->from)) after = &w;
    }
    std::vector<std::string> ways;
    if (before != nullptr) ways.push_back(fmt::format("earlier ({})", place(*before)));
    if (after != nullptr) ways.push_back(fmt::format("later ({})", place(*after)));
    std::string out = "Another way: ";
    for (const std::string& w : ways) out += w + ", ";
    return out + "or a helper.";
  }
  [[nodiscard]] std::string place(const Window& w) const {
    return fmt::format("the {} hand is free from {}", word(w.hand), words(score_, w.moment));
  }

  const Organ& organ_;
  const Player& player_;
  const Score& score_;
  const std::vector<CopyAsk>& asks_;
  const std::vector<Window>& windows_;
  const CopyStep& step_;
  Jambs jambs_;
};

}  // namespace

std::vector<CopyHeed> copy_heeded(const Organ& organ, const Player& player, const Score& score,
                                  const std::vector<CopyAsk>& asks, const std::vector<Window>& windows,
                                  const CopyStep& step) {
  const Told told(organ, player, score, asks, windows, step);
  std::vector<CopyHeed> out;
  for (const StandingAsk& s : step.passage->asks) {
    if (s.fresh) out.push_back(told.of(s));
  }
  for (const std::size_t a : step.passage->set_aside)
    out.push_back(
        {asks[a].word.text, asks[a].word.wanted, false, "Your own wish for this place stands before it.", false});
  return out;
}

std::string as_the_copy_asks(const std::vector<CopyHeed>& heeded) {
  std::string out;
  for (const CopyHeed& h : heeded) {
    if (h.followed) out += fmt::format("{}\"{}\"", out.empty() ? "" : ", ", h.text);
  }
  return out.empty() ? out : ", as the copy asks: " + out;
}

std::string another_way(const Organ& organ, const CopyWord& word) {
  switch (word.kind) {
    case CopyKind::coupler_on:
      if (word.wanted.find(" to Pedal") != std::string::npos) return "the Pedal's own 8 ft, or the coupler there is";
      return "draw louder on the manual that is played";
    case CopyKind::box: return "fewer or softer stops";
    case CopyKind::stops:
    case CopyKind::add:
    case CopyKind::level: {
      std::vector<std::string> ways;
      for (const CopyStop& s : word.stops) {
        if (s.here()) continue;
        if (const std::string way = coupled_from_elsewhere(organ, word, s.name); !way.empty()) ways.push_back(way);
      }
      return listed(ways);
    }
    default: return {};
  }
}

std::vector<std::string> copy_not_here(const Organ& organ, const Score& score, const std::vector<CopyAsk>& asks) {
  std::vector<std::string> out;
  for (const CopyAsk& a : asks) {
    const bool off = a.word.kind == CopyKind::coupler_off || a.word.kind == CopyKind::put_in;
    if (off && !a.word.here) continue;  // what is not there is in
    std::string said = words(organ, a.word);
    if (a.word.here && a.lacking.empty()) continue;
    if (a.word.here) said = fmt::format("\"{}\" wants {}: {}.", a.word.text, a.word.wanted, listed(a.lacking));
    if (a.word.kind == CopyKind::unclear) said += " The plan leaves it to you.";
    else if (const std::string way = another_way(organ, a.word); !way.empty())
      said += fmt::format(" Another way: {}.", way);
    else if (a.empty()) said += " What is drawn goes by the dynamics.";
    out.push_back(fmt::format("The copy, {}: {}", words(score, a.word.moment), said));
  }
  return out;
}

}  // namespace calcant
