#include "engine/plan/piece.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "engine/plan/changed_shades.hpp"
#include "engine/plan/changes.hpp"
#include "engine/plan/copy_becoming.hpp"
#include "engine/plan/copy_told.hpp"
#include "engine/plan/lower_hand.hpp"
#include "engine/plan/moves.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/piece_aims.hpp"
#include "engine/plan/piece_steps.hpp"
#include "engine/plan/search.hpp"

namespace calcant {
namespace {

constexpr std::size_t chords_weighed = 6;
constexpr double left_silent = 100;  // a change of the user's that leaves nothing to sound

class PiecePlanner {
 public:
  PiecePlanner(Plan& plan, const Organ& organ, const Score& score, const Piece& piece, const Player& player,
               const VocabularyWish& wish, const Work& work, Scales& scales)
      : plan_(plan),
        organ_(organ),
        score_(score),
        piece_(piece),
        player_(player),
        work_(work),
        scales_(scales),
        jambs_(organ),
        tempo_(score, piece.fallback_quarters_per_minute, piece.tempo),
        wish_(wish),
        asks_(copy_asks(score, organ, wish.never)),
        passages_(passages(score, organ, piece.wishes, piece.words, asks_)),
        presses_(presses(score)) {
    for (Passage& p : passages_) {
      if (piece.on.right) p.right = piece.on.right;
      if (piece.on.left) p.left = piece.on.left;
    }
  }

  Result<void> run() {
    wish_.feet = role_used(Role::feet) && pedalboard(organ_).has_value();
    wish_.become = becoming(organ_, asks_, passages_);
    for (const Composition& c : compositions(organ_)) {
      const bool barred = std::any_of(wish_.never.begin(), wish_.never.end(), [&](Knob k) {
        return k.kind == Knob::Kind::stop && c.leaves[static_cast<std::size_t>(k.index)];
      });
      if (!barred && passages_.size() > 1)
        wish_.become.push_back({[c](const Registration& r) { return c.pressed(r); }});
    }
    work_.tell(0.1, "weighing registrations");
    if (auto ready = shades(); !ready) return ready;
    work_.tell(0.6, "finding the cheapest way");
    fix(wish_.feet);
    const std::vector<Shade> known(shades_.begin(), shades_.begin() + static_cast<long>(vocabulary_));
    aims_ = piece_aims(organ_, passages_, asks_, known, wants_two_, piece_.correction);
    find_chances();
    search();
    write();
    return {};
  }

 private:
  [[nodiscard]] bool role_used(Role r) const {
    return std::any_of(presses_.begin(), presses_.end(), [&](const Press& p) { return p.role == r; });
  }

  Result<void> shades() {
    const bool sent_apart = std::any_of(passages_.begin(), passages_.end(),
                                        [](const Passage& p) { return p.right && p.left && p.right != p.left; });
    wants_two_ = is_trio(score_);
    trio_ = wants_two_ && !(piece_.on.right && piece_.on.right == piece_.on.left);
    if (trio_ || sent_apart) {
      auto two = vocabulary(organ_, scales_, wish_, trio_ ? Placing::trio : Placing::solo, work_);
      if (two) shades_ = std::move(*two);
      else trio_ = false;
    }
    if (!trio_) {
      auto together = vocabulary(organ_, scales_, wish_, Placing::together, work_);
      if (!together) return fail(together.error().message, piece_.title);
      shades_.insert(shades_.end(), together->begin(), together->end());
    }
    if (work_.stop.stop_requested()) return fail("Stopped before the plan was made.", piece_.title);
    return {};
  }

  // States the user has fixed stand behind the vocabulary, each for its own passage; and behind them what any state becomes
  // where the user says what is moved: a passage that follows so shares the stage of the search with the one before it.
  void fix(bool feet) {
    vocabulary_ = shades_.size();
    fixed_at_.assign(passages_.size(), std::nullopt);
    fixed_choices_.assign(passages_.size(), 0);
    changed_at_.assign(passages_.size(), std::nullopt);
    for (std::size_t p = 0; p < passages_.size(); ++p) {
      if (passages_[p].fixed == nullptr) continue;
      const std::vector<Shade> fixed = fixed_shades(organ_, scales_, wish_, *passages_[p].fixed, feet);
      fixed_at_[p] = shades_.size();
      fixed_choices_[p] = fixed.size();
      shades_.insert(shades_.end(), fixed.begin(), fixed.end());
    }
    for (std::size_t p = 0; p < passages_.size(); ++p) {
      if (passages_[p].change == nullptr) stages_.push_back(p);
      else change(p, feet);
    }
    Sounding sounding(organ_);
    for (const Shade& s : shades_) heeded_.push_back(heeded(organ_, sounding, s.drawn, s.on));
  }

  void change(std::size_t p, bool feet) {
    const GivenChange& change = *passages_[p].change;
    if (!changed_) changed_.emplace(organ_, scales_, shades_, passages_);
    const std::size_t begin = shades_.size();
    for (std::size_t i = 0; i < choices(stages_.back()); ++i) {
      const Shade& from = shades_[shade(p - 1, i)];
      HandsAndFeet on = from.on;
      if (passages_[p].right) on.right = passages_[p].right;
      if (passages_[p].left) on.left = passages_[p].left;
      const Registration drawn = with(from.drawn, change);
      if (feet && !on.feet) on.feet = usual_hands(organ_, drawn, true).feet;
      shades_.push_back(changed_->shade(drawn, change.on.value_or(on)));
    }
    changed_at_[p] = begin;
  }

  void find_chances() {
    Playing playing;
    playing.page_turns = playing_of(score_, {}).page_turns;
    if (trio_ || (piece_.on.right && piece_.on.left && piece_.on.right != piece_.on.left))
      playing.apart = {{Rational{0}, performed_length(score_)}};
    else playing.apart = OnKeyboards(score_, organ_).apart(score_);
    std::vector<Span> foot{{Rational{0}, performed_length(score_)}};
    if (role_used(Role::feet) && pedalboard(organ_))
      foot = right_foot_for_the_box(score_, organ_, player_, tempo_, passages_, piece_.feet);
    windows_ = windows(score_, player_, tempo_, playing);
    chances_ = chances(score_, passages_, windows_, foot, player_, tempo_);
  }

  // By the passage a stage begins with; and the shade of any passage where that one has its choice i.
  [[nodiscard]] std::size_t choices(std::size_t lead) const {
    return fixed_at_[lead] ? fixed_choices_[lead] : vocabulary_;
  }
  [[nodiscard]] std::size_t shade(std::size_t p, std::size_t i) const {
    return changed_at_[p] ? *changed_at_[p] + i : fixed_at_[p] ? *fixed_at_[p] + i : i;
  }
  // The last passage of the stage before.
  [[nodiscard]] std::size_t leaving(std::size_t stage) const { return stages_[stage] - 1; }

  // What a stage's passages cost by themselves: the first as any, the user's changes only where they make no sense.
  [[nodiscard]] double cost_of(std::size_t stage, std::size_t i) const {
    const std::size_t lead = stages_[stage];
    const Shade& drawn = shades_[shade(lead, i)];
    double cost = fixed_at_[lead] ? drawn.against
                                  : own_cost(aims_[lead], drawn) + copy_cost(asks_, passages_[lead].asks, drawn.drawn);
    for (std::size_t p = lead + 1; p < passages_.size() && passages_[p].change != nullptr; ++p) {
      cost += idle_change * idle_moves(shades_[shade(p - 1, i)].drawn, *passages_[p].change);
      if (shades_[shade(p, i)].loudness <= Phons{0}) cost += left_silent;
    }
    return cost;
  }

  void search() {
    const bool first = plan_.items.empty();
    const Registration before = first ? Registration{} : plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20);
    const HandsAndFeet before_on = first ? HandsAndFeet{} : plan_.items.back().sections.back().keyboards;
    steps_.emplace(organ_, player_, passages_, aims_, chances_, shades_, heeded_);
    Stages c;
    for (const std::size_t lead : stages_) c.sizes.push_back(choices(lead));
    c.own = [&](std::size_t s, std::size_t i) {
      const double cost = cost_of(s, i);
      if (s > 0 || first) return cost;
      const Shade& begun = shades_[shade(0, i)];
      return cost + step_cost(jambs_.moved(before, begun.drawn), Step::between_items, before_on != begun.on);
    };
    c.kind = [&](std::size_t s, std::size_t i) { return steps_->kind(shade(stages_[s], i)); };
    // What is left is another kind where the user has changed it since.
    std::vector<std::vector<std::size_t>> left(stages_.size());
    for (std::size_t s = 1; s < stages_.size(); ++s) {
      for (std::size_t i = 0; i < choices(stages_[s - 1]); ++i) {
        const std::size_t kind = steps_->kind(shade(stages_[s - 1], i));
        if (kind >= left[s].size()) left[s].resize(kind + 1);
        left[s][kind] = steps_->kind(shade(leaving(s), i));
      }
    }
    c.between = [&](std::size_t s, std::size_t a, std::size_t b, double enough) {
      return steps_->between(stages_[s], left[s][a], b, enough);
    };
    c.step = [&](std::size_t s, std::size_t i, std::size_t j) {
      return steps_->step(stages_[s], shade(leaving(s), i), shade(stages_[s], j));
    };
    const Cheapest found = cheapest_path(c);
    for (std::size_t s = 0; s < stages_.size(); ++s) {
      const std::size_t end = s + 1 < stages_.size() ? stages_[s + 1] : passages_.size();
      for (std::size_t p = stages_[s]; p < end; ++p) path_.push_back(shade(p, found.path[s]));
    }
    search_ = {vocabulary_, found.cost};
  }

  void section(Item& item, std::size_t p) {
    const Shade& shade = shades_[path_[p]];
    Section s;
    s.from = moment_at(score_, passages_[p].from);
    s.wish = passages_[p].mark;
    s.note = passages_[p].note;
    s.fixed = passages_[p].by_user();
    s.label = passages_.size() == 1 ? "Throughout" : words(score_, s.from);
    if (!s.label.empty() && s.label[0] >= 'a' && s.label[0] <= 'z')
      s.label[0] = static_cast<char>(s.label[0] - 'a' + 'A');
    s.drawn = shade.drawn;
    s.keyboards = shade.on;
    s.loudness = scales_.all(shade.drawn, shade.on);
    if (shade.on.feet) s.pedal_loudness = scales_.feet(shade.drawn, shade.on);
    s.advice = advice_on(organ_, scales_, shade.drawn, shade.on, Use::chorus);
    s.copy = heeded_copy(p);
    s.why.push_back(reason(p, as_the_copy_asks(s.copy)));
    item.sections.push_back(std::move(s));
  }

  [[nodiscard]] std::vector<CopyHeed> heeded_copy(std::size_t p) const {
    CopyStep step;
    step.passage = &passages_[p];
    step.drawn = &shades_[path_[p]].drawn;
    step.next = &heeded_[path_[p]];
    if (p > 0) {
      step.before = &shades_[path_[p - 1]].drawn;
      step.then = &heeded_[path_[p - 1]];
      step.chance = &chances_[p];
    }
    return copy_heeded(organ_, player_, score_, asks_, windows_, step);
  }

  [[nodiscard]] std::string reason(std::size_t p, const std::string& as_asked) const {
    const Passage& passage = passages_[p];
    const std::string& what = shades_[path_[p]].what;
    if (passage.change) return told(organ_, *passage.change);
    if (passage.by_user()) return "Fixed by you: " + what + ".";
    if (passage.waited)
      return fmt::format("{} for {}, asked for within the slur that ends here{}.", what,
                         passage.mark.empty() ? "the copy's words" : passage.mark, as_asked);
    if (!passage.given) return fmt::format("{}{}; the score marks no dynamic here.", what, as_asked);
    const bool by_degrees = passage.mark == "louder" || passage.mark == "softer";
    if (p > 0 && path_[p] == path_[p - 1])
      return by_degrees ? fmt::format("{} stays; getting {} is left to your playing{}.", what, passage.mark, as_asked)
                        : fmt::format("{} stays for {}{}.", what, passage.mark, as_asked);
    if (by_degrees) return fmt::format("{}: {} over the hairpin{}.", what, passage.mark, as_asked);
    return fmt::format("{} for {}{}.", what, passage.mark, as_asked);
  }

  void cue_before_the_piece(const Registration& before, const HandsAndFeet& before_on, const Item& item) {
    const Shade& to = shades_[path_.front()];
    Cue c;
    c.item = static_cast<int>(plan_.items.size());
    c.moment = item.sections.front().from;
    c.draw = newly_drawn(organ_, before, to.drawn);
    c.put_in = newly_drawn(organ_, to.drawn, before);
    c.boxes = box_moves(organ_, before, to.drawn);
    if (before_on != to.on) c.go_to = to.on;
    c.mover = move_for(jambs_.moved(before, to.drawn), player_, {at_leisure, at_leisure, at_leisure}).mover;
    c.why = fmt::format("Ready for {}.", piece_.title);
    if (!c.draw.empty() || !c.put_in.empty() || !c.boxes.empty() || c.go_to) plan_.cues.push_back(std::move(c));
  }

  // The trips of the hands, the foot, and what is left to a helper, by time.
  void cues(const Item& item, std::size_t p) {
    const std::size_t a = path_[p - 1];
    const std::size_t b = path_[p];
    const Shade& from = shades_[a];
    const Shade& to = shades_[b];
    std::vector<Cue> out;
    const auto cue = [&] {
      Cue c;
      c.item = static_cast<int>(plan_.items.size());
      c.section = static_cast<int>(p);
      c.moment = item.sections[p].from;
      c.why = item.sections[p].why.front();
      c.fixed = item.sections[p].fixed;
      return c;
    };
    const Composition* pedal = steps_->pressed(p, a, b);
    const Registration by_hand = pedal != nullptr ? pedal->pressed(from.drawn) : from.drawn;
    if (pedal != nullptr) out.push_back(press(cue(), *pedal, from.drawn, p));
    for (const HandTrip& t : trips(organ_, by_hand, heeded_[a], to.drawn, heeded_[b], chances_[p])) {
      Cue c = cue();
      c.draw = t.draw;
      c.put_in = t.put_in;
      c.mover = t.mover;
      const int knobs = static_cast<int>(t.draw.size() + t.put_in.size());
      if (t.mover == Mover::helper) {
        c.why += fmt::format(" No window here has room for {}: a helper.", knobs == 1 ? "this knob" : "these knobs");
      } else {
        const Seconds needed = seconds_for(player_, knobs);
        c.window = window_of(t.time, needed);
        // As late as it can be where it is heard; as soon as it can be where it is not.
        c.moment = t.trip == Trip::there ? latest(t.time, needed) : c.window->from;
        if (t.trip == Trip::early) c.why += " Not heard yet: there is time for it beforehand.";
        if (t.trip == Trip::late) c.why += " No longer heard: there is time for it afterwards.";
      }
      out.push_back(std::move(c));
    }
    const auto boxes = box_moves(organ_, from.drawn, to.drawn);
    if (!boxes.empty()) {
      Cue c = cue();
      c.boxes = boxes;
      c.mover = Mover::foot;
      const HandTime& foot = chances_[p].foot;
      if (steps_->foot_lacks(p, a, b)) {
        c.mover = Mover::helper;
        c.why += " The right foot is on the pedals: a helper, or the box as it was.";
      } else {
        const HandTime time = pedal != nullptr ? half_of(foot, false) : foot;
        c.window = window_of(time, player_.foot_accessory.value);
        c.moment = chances_[p].hairpin ? c.window->from : latest(time, player_.foot_accessory.value);
        c.gradual = chances_[p].hairpin;
        if (c.gradual) c.why += " Gradually, over the hairpin.";
      }
      out.push_back(std::move(c));
    }
    if (from.on != to.on) {
      if (out.empty() || out.back().moment != item.sections[p].from) out.push_back(cue());
      out.back().go_to = to.on;
    }
    std::stable_sort(out.begin(), out.end(), [&](const Cue& x, const Cue& y) { return when(x) < when(y); });
    for (Cue& c : out) plan_.cues.push_back(std::move(c));
  }
  // The foot presses a composition pedal as the passage begins, after the box where that moves too.
  [[nodiscard]] Cue press(Cue c, const Composition& pedal, const Registration& from, std::size_t p) const {
    const Registration to = pedal.pressed(from);
    c.draw = newly_drawn(organ_, from, to);
    c.put_in = newly_drawn(organ_, to, from);
    c.mover = Mover::foot;
    c.pressed = pedal.accessory;
    const HandTime time = half_of(chances_[p].foot, true);
    c.window = window_of(time, player_.foot_accessory.value);
    c.moment = latest(time, player_.foot_accessory.value);
    c.why += fmt::format(" By {}.", organ_.accessories[static_cast<std::size_t>(pedal.accessory)].name);
    return c;
  }
  [[nodiscard]] HandTime half_of(const HandTime& t, bool second) const {
    const Rational middle = t.from + (t.to - t.from) * Rational{1, 2};
    HandTime half = t;
    (second ? half.from : half.to) = middle;
    half.seconds = tempo_.at(half.to) - tempo_.at(half.from);
    return half;
  }
  [[nodiscard]] ChangeWindow window_of(const HandTime& t, Seconds needed) const {
    return {moment_at(score_, t.from), moment_at(score_, t.to), needed, t.seconds};
  }
  [[nodiscard]] Rational when(const Cue& c) const { return performed_at(score_, c.moment).value_or(Rational{0}); }

  // When to leave the keys so that the hand is back at the end of its time.
  [[nodiscard]] Moment latest(const HandTime& t, Seconds needed) const {
    Rational from = t.to;
    const Rational sixteenth{1, 16};
    while (from - sixteenth >= t.from && tempo_.at(t.to) - tempo_.at(from) < needed) from = from - sixteenth;
    if (tempo_.at(t.to) - tempo_.at(from) < needed) from = t.from;
    // On a beat or half a beat, where there is time to be so early.
    const Rational half{static_cast<std::int64_t>(std::floor(from.to_double() * 2)), 2};
    return moment_at(score_, std::max(half, t.from));
  }

  void write() {
    Item item;
    item.kind = ItemKind::piece;
    item.number = piece_.number;
    item.title = piece_.title;
    item.notes = piece_.notes;
    item.search = search_;
    if (!score_.composer.empty()) item.subtitle = score_.composer;
    for (std::size_t p = 0; p < passages_.size(); ++p) section(item, p);
    if (plan_.items.empty()) {
      plan_.initial = shades_[path_.front()].drawn;
      plan_.initial_keyboards = shades_[path_.front()].on;
    } else {
      cue_before_the_piece(plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20),
                           plan_.items.back().sections.back().keyboards, item);
    }
    for (std::size_t p = 1; p < passages_.size(); ++p) cues(item, p);
    remarks(item);
    plan_.items.push_back(std::move(item));
  }

  void remarks(Item& item) const {
    if (passages_.size() == 1 && !passages_.front().given)
      item.remarks.push_back(
          "The score marks no dynamics, so one registration of middling strength serves throughout.");
    if (wants_two_ && !trio_)
      item.remarks.push_back(
          "A trio wants a manual for each hand; here both are on one, and where the voices cross they are not told "
          "apart.");
    if (tempo_.assumed()) {
      item.remarks.push_back(fmt::format("The score has no tempo: {:g} crotchets a minute are assumed.",
                                         piece_.fallback_quarters_per_minute));
    }
    if (role_used(Role::feet) && !pedalboard(organ_)) {
      item.remarks.push_back(
          "This organ has no pedals: the pedal part is not played, or the left hand takes what it can.");
    }
    if (passages_.size() > 1 && !shows_phrases(score_)) {
      item.remarks.push_back(
          "The score shows no phrases (no slurs, no breaths): whether a change falls within one is not "
          "known; changes stand where its marks are.");
    }
    for (std::size_t p = 1; p < passages_.size(); ++p) {
      if (passages_[p].change && idle_moves(shades_[path_[p - 1]].drawn, *passages_[p].change) > 0)
        item.remarks.push_back(
            fmt::format("{}: part of the change you fixed there has nothing to do.", item.sections[p].label));
      if (passages_[p].in_slur && !passages_[p].by_user() && !passages_[p].hairpin) {
        const bool after = p + 1 < passages_.size() && passages_[p + 1].waited;
        const char* then = steps_->heard(path_[p - 1], path_[p]) > 0
                               ? "no registration serves both manuals, and what is heard is moved there all the same"
                           : after ? "no stop that is heard is moved there, at the earliest where the slur ends"
                                   : "no stop that is heard is moved there";
        item.remarks.push_back(fmt::format("{}: {} is asked for within a slur; {}.", item.sections[p].label,
                                           passages_[p].mark.empty() ? "a change" : passages_[p].mark, then));
      }
      if (passages_[p].hairpin && path_[p] == path_[p - 1])
        item.remarks.push_back(fmt::format(
            "The hairpin before {} is left to your playing: {}.", words(score_, item.sections[p].from),
            chances_[p].foot.seconds < player_.foot_accessory.value ? "the right foot is on the pedals"
                                                                    : "the box can do nothing for it here"));
    }
    for (const Section& s : item.sections) {
      for (const CopyHeed& h : s.copy) {
        if (!h.followed)
          item.remarks.push_back(fmt::format("{}: the copy's \"{}\" ({}) is {}. {}", s.label, h.text, h.wanted,
                                             h.in_part ? "followed in part" : "not followed", h.instead));
      }
    }
    for (std::string& r : copy_not_here(organ_, score_, asks_)) item.remarks.push_back(std::move(r));
    for (const std::string& r : score_.remarks) item.remarks.push_back(r);
  }

  Plan& plan_;
  const Organ& organ_;
  const Score& score_;
  const Piece& piece_;
  const Player& player_;
  const Work& work_;
  Scales& scales_;
  Jambs jambs_;
  Tempo tempo_;
  VocabularyWish wish_;
  std::vector<CopyAsk> asks_;  // the copy's
  std::vector<Passage> passages_;
  std::vector<Press> presses_;
  bool wants_two_ = false;     // a trio
  bool trio_ = false;          // and played as one: there are two manuals for it
  std::vector<Shade> shades_;  // the vocabulary, then what is fixed
  std::size_t vocabulary_ = 0;
  std::vector<Heeded> heeded_;                          // by shade
  std::vector<std::optional<std::size_t>> fixed_at_;    // by passage
  std::vector<std::size_t> fixed_choices_;              // one, or a few pedals where the user leaves them open
  std::vector<std::optional<std::size_t>> changed_at_;  // by passage: where its shades begin, one for each before it
  std::vector<std::size_t> stages_;                     // of the search: the passage each begins with
  std::optional<ChangedShades> changed_;
  std::vector<Aim> aims_;
  std::vector<Window> windows_;
  std::vector<Chance> chances_;
  std::optional<PieceSteps> steps_;
  std::vector<std::size_t> path_;
  SearchNote search_;
};

}  // namespace

Result<void> plan_piece(Plan& plan, const Organ& organ, const Listening& listening, const Score& score,
                        const Piece& piece, const Player& player, const VocabularyWish& wish, const Work& work) {
  Scales scales(listening, sampled_chords(score, chords_weighed));
  if (scales.chords().empty()) return fail("There is nothing to play in this score.", piece.title);
  return PiecePlanner(plan, organ, score, piece, player, wish, work, scales).run();
}

}  // namespace calcant
