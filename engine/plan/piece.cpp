#include "engine/plan/piece.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include "engine/plan/changes.hpp"
#include "engine/plan/moves.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/search.hpp"

namespace calcant {
namespace {

constexpr std::size_t chords_weighed = 6;
constexpr double without_window = 10.0;        // a knob for a helper who is not there
constexpr double without_window_helped = 0.4;  // where a helper stands by
constexpr double box_without_foot = 30.0;      // nobody else can reach the swell pedal
// Awkwardnesses (engine/playing/feet_cost.hpp) the pedal part may cost more so that the right foot has the box.
constexpr double awkward_for_the_box = 60;
constexpr double knob_in_hairpin = 0.5;  // a hairpin is the box's
constexpr double loud_share = 0.7;       // from here on, and where nothing is marked, a chorus of 8, 4 and more
constexpr double unmarked_share = 0.7;
constexpr Seconds at_leisure{3600};

class PiecePlanner {
 public:
  PiecePlanner(Plan& plan, const Organ& organ, const Score& score, const Piece& piece, const Player& player,
               const Work& work, Scales& scales)
      : plan_(plan),
        organ_(organ),
        score_(score),
        piece_(piece),
        player_(player),
        work_(work),
        scales_(scales),
        jambs_(organ),
        tempo_(score, piece.fallback_quarters_per_minute, piece.tempo),
        passages_(passages(score, organ, piece.wishes, piece.words)),
        presses_(presses(score)) {}

  Result<void> run(VocabularyWish wish) {
    wish.feet = role_used(Role::feet) && pedalboard(organ_).has_value();
    work_.tell(0.1, "weighing registrations");
    if (auto ready = shades(wish); !ready) return ready;
    work_.tell(0.6, "finding the cheapest way");
    fix(wish.feet);
    range();
    find_chances();
    search();
    write();
    return {};
  }

 private:
  [[nodiscard]] bool role_used(Role r) const {
    return std::any_of(presses_.begin(), presses_.end(), [&](const Press& p) { return p.role == r; });
  }

  Result<void> shades(const VocabularyWish& wish) {
    const bool sent_apart = std::any_of(passages_.begin(), passages_.end(),
                                        [](const Passage& p) { return p.right && p.left && p.right != p.left; });
    trio_ = is_trio(score_);
    if (trio_ || sent_apart) {
      auto two = vocabulary(organ_, scales_, wish, trio_ ? Placing::trio : Placing::solo, work_);
      if (two) shades_ = std::move(*two);
      else trio_ = false;
    }
    if (!trio_) {
      auto together = vocabulary(organ_, scales_, wish, Placing::together, work_);
      if (!together) return fail(together.error().message, piece_.title);
      shades_.insert(shades_.end(), together->begin(), together->end());
    }
    if (work_.stop.stop_requested()) return fail("Stopped before the plan was made.", piece_.title);
    return {};
  }

  // States the user has fixed stand behind the vocabulary, each for its own passage.
  void fix(bool feet) {
    vocabulary_ = shades_.size();
    fixed_at_.assign(passages_.size(), std::nullopt);
    for (std::size_t p = 0; p < passages_.size(); ++p) {
      if (passages_[p].fixed == nullptr) continue;
      const HandsAndFeet on = passages_[p].fixed->on.value_or(usual_hands(organ_, passages_[p].fixed->drawn, feet));
      fixed_at_[p] = shades_.size();
      shades_.push_back(shade_of(organ_, scales_, passages_[p].fixed->drawn, on));
    }
    for (const Shade& s : shades_) heeded_.push_back(heeded(organ_, s.drawn, s.on));
  }

  void range() {
    double low = std::numeric_limits<double>::infinity();
    double high = 0;
    for (std::size_t i = 0; i < vocabulary_; ++i) {
      if (shades_[i].against >= 1) continue;
      low = std::min(low, shades_[i].loudness.value());
      high = std::max(high, shades_[i].loudness.value());
    }
    if (high == 0) {
      low = shades_.front().loudness.value();
      high = shades_[vocabulary_ - 1].loudness.value();
    }
    for (const Passage& p : passages_) {
      Aim a;
      a.share = p.given ? p.share : unmarked_share;
      a.colour = p.colour;
      a.target = Phons{low + a.share * (high - low)} + piece_.correction;
      a.near_enough = 1.5;
      a.unit = 2.0;
      a.led = !trio_ && (!p.given || p.share >= loud_share) && (!p.right || p.right == p.left);
      a.right = p.right;
      a.left = p.left;
      aims_.push_back(a);
    }
  }

  void find_chances() {
    Playing playing;
    playing.page_turns = playing_of(score_, {}).page_turns;
    if (trio_) playing.apart = {{Rational{0}, performed_length(score_)}};
    else playing.apart = OnKeyboards(score_, organ_).apart(score_);
    std::vector<Span> foot{{Rational{0}, performed_length(score_)}};
    if (role_used(Role::feet) && pedalboard(organ_)) foot = right_foot();
    chances_ = chances(score_, passages_, windows(score_, player_, tempo_, playing), foot, player_, tempo_);
  }

  // When the right foot can be on the swell pedal: where the pedal part rests, or the left foot can take it alone.
  [[nodiscard]] std::vector<Span> right_foot() const {
    FeetWishes wishes;
    auto pedalling = solve_feet(score_, organ_, player_, tempo_, wishes);
    if (!pedalling) return {};
    const auto free = [&](const Pedalling& p, const Span& span) {
      const auto spans = free_feet(score_, p)[static_cast<std::size_t>(Foot::right)];
      return std::any_of(spans.begin(), spans.end(),
                         [&](const Span& s) { return s.first <= span.first && span.second <= s.second; });
    };
    const double at_ease = pedalling->cost;
    for (std::size_t p = 1; p < passages_.size() && !organ_.boxes.empty(); ++p) {
      const double quarters = player_.foot_accessory.value.value() * tempo_.quarters_per_minute(passages_[p].from) / 60;
      const Rational needed{static_cast<std::int64_t>(std::ceil(quarters * 4)), 4};
      const Rational from = passages_[p].hairpin.value_or(std::max(Rational{0}, passages_[p].from - needed));
      const Span span{from, passages_[p].from};
      if (free(*pedalling, span)) {
        wishes.busy.push_back({Foot::right, span.first, span.second});
        continue;
      }
      FeetWishes more = wishes;
      more.busy.push_back({Foot::right, span.first, span.second});
      auto other = solve_feet(score_, organ_, player_, tempo_, more);
      if (!other || other->cost > at_ease + awkward_for_the_box || !free(*other, span)) continue;
      wishes = std::move(more);
      pedalling = std::move(other);
    }
    return free_feet(score_, *pedalling)[static_cast<std::size_t>(Foot::right)];
  }

  [[nodiscard]] std::size_t choices(std::size_t p) const { return fixed_at_[p] ? 1 : vocabulary_; }
  [[nodiscard]] std::size_t shade(std::size_t p, std::size_t i) const { return fixed_at_[p] ? *fixed_at_[p] : i; }

  // Whether a box must be moved by a foot that is not free.
  [[nodiscard]] bool foot_lacks(std::size_t p, std::size_t from, std::size_t to) const {
    for (std::size_t b = 0; b < organ_.boxes.size(); ++b) {
      if (shades_[from].drawn.box[b] == shades_[to].drawn.box[b]) continue;
      if (chances_[p].foot.seconds < player_.foot_accessory.value) return true;
    }
    return false;
  }

  void search() {
    const bool first = plan_.items.empty();
    const Registration before = first ? Registration{} : plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20);
    const HandsAndFeet before_on = first ? HandsAndFeet{} : plan_.items.back().sections.back().keyboards;
    std::vector<std::size_t> sizes;
    for (std::size_t p = 0; p < passages_.size(); ++p) sizes.push_back(choices(p));
    const auto own = [&](std::size_t p, std::size_t i) {
      const Shade& s = shades_[shade(p, i)];
      double cost = fixed_at_[p] ? 0 : own_cost(aims_[p], s);
      if (p == 0 && !first) cost += step_cost(jambs_.moved(before, s.drawn), Step::between_items, before_on != s.on);
      return cost;
    };
    const auto step = [&](std::size_t p, std::size_t i, std::size_t j) {
      const std::size_t a = shade(p - 1, i);
      const std::size_t b = shade(p, j);
      const Shade& from = shades_[a];
      const Shade& to = shades_[b];
      const KnobCount knobs = jambs_.moved(from.drawn, to.drawn);
      double cost = step_cost(knobs, Step::between_sections, from.on != to.on) +
                    crossways_cost(from.drawn, to.drawn, (aims_[p].target - aims_[p - 1].target).value());
      cost += contrast_cost((aims_[p].target - aims_[p - 1].target).value(), (to.loudness - from.loudness).value());
      if (knobs.all() > 0) {
        const int over =
            without_a_window(sorted_knobs(jambs_, from.drawn, heeded_[a], to.drawn, heeded_[b]), chances_[p]);
        cost += (player_.helper ? without_window_helped : without_window) * over;
        if (chances_[p].hairpin) cost += knob_in_hairpin * knobs.all();
      }
      if (knobs.boxes > 0 && foot_lacks(p, a, b)) cost += box_without_foot;
      return cost;
    };
    const Cheapest found = cheapest_path(sizes, own, step);
    for (std::size_t p = 0; p < passages_.size(); ++p) path_.push_back(shade(p, found.path[p]));
    search_ = {vocabulary_, found.cost};
  }

  void section(Item& item, std::size_t p) {
    const Shade& shade = shades_[path_[p]];
    Section s;
    s.from = moment_at(score_, passages_[p].from);
    s.wish = passages_[p].mark;
    s.fixed = fixed_at_[p].has_value();
    s.label = passages_.size() == 1 ? "Throughout" : words(score_, s.from);
    if (!s.label.empty() && s.label[0] >= 'a' && s.label[0] <= 'z')
      s.label[0] = static_cast<char>(s.label[0] - 'a' + 'A');
    s.drawn = shade.drawn;
    s.keyboards = shade.on;
    s.loudness = scales_.all(shade.drawn, shade.on);
    Occasion occasion;
    occasion.on = shade.on.right.value_or(0);
    occasion.use = shade.on.right == shade.on.left ? Use::chorus : Use::solo;
    if (shade.on.feet) {
      s.pedal_loudness = scales_.feet(shade.drawn, shade.on);
      occasion.manual = scales_.hands(shade.drawn, shade.on);
      occasion.pedal = s.pedal_loudness;
    }
    s.advice = advise(organ_, shade.drawn, occasion);
    s.why.push_back(s.fixed               ? "Fixed by you: " + shade.what + "."
                    : !passages_[p].given ? shade.what + "; the score marks no dynamic here."
                                          : fmt::format("{} for {}.", shade.what, passages_[p].mark));
    item.sections.push_back(std::move(s));
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
    for (const HandTrip& t : trips(organ_, from.drawn, heeded_[a], to.drawn, heeded_[b], chances_[p])) {
      Cue c = cue();
      c.draw = t.draw;
      c.put_in = t.put_in;
      c.mover = t.mover;
      const int knobs = static_cast<int>(t.draw.size() + t.put_in.size());
      if (t.mover == Mover::helper) {
        c.why += fmt::format(" No window here has room for {}: a helper.", knobs == 1 ? "this knob" : "these knobs");
      } else {
        const Seconds needed = seconds_for(player_, knobs);
        c.window = ChangeWindow{moment_at(score_, t.time.from), moment_at(score_, t.time.to), needed, t.time.seconds};
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
      if (foot_lacks(p, a, b)) {
        c.mover = Mover::helper;
        c.why += " The right foot is on the pedals: a helper, or the box as it was.";
      } else {
        c.window = ChangeWindow{moment_at(score_, foot.from), moment_at(score_, foot.to), player_.foot_accessory.value,
                                foot.seconds};
        c.moment = chances_[p].hairpin ? c.window->from : latest(foot, player_.foot_accessory.value);
        if (chances_[p].hairpin) c.why += " Gradually, over the hairpin.";
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
      if (passages_[p].in_slur && shades_[path_[p]].drawn.stops != shades_[path_[p - 1]].drawn.stops)
        item.remarks.push_back(
            fmt::format("{}: what is asked for there stands within a slur.", item.sections[p].label));
      if (passages_[p].hairpin && path_[p] == path_[p - 1])
        item.remarks.push_back(fmt::format(
            "The hairpin before {} is left to your playing: {}.", words(score_, item.sections[p].from),
            chances_[p].foot.seconds < player_.foot_accessory.value ? "the right foot is on the pedals"
                                                                    : "the box can do nothing for it here"));
    }
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
  std::vector<Passage> passages_;
  std::vector<Press> presses_;
  bool trio_ = false;
  std::vector<Shade> shades_;  // the vocabulary, then what is fixed
  std::size_t vocabulary_ = 0;
  std::vector<Heeded> heeded_;                        // by shade
  std::vector<std::optional<std::size_t>> fixed_at_;  // by passage
  std::vector<Aim> aims_;
  std::vector<Chance> chances_;
  std::vector<std::size_t> path_;
  SearchNote search_;
};

}  // namespace

std::vector<Chord> sampled_chords(const Score& score, std::size_t count) {
  const auto all = presses(score);
  std::set<Rational> starts;
  for (const Press& p : all) {
    if (p.role != Role::not_played) starts.insert(p.start);
  }
  const std::vector<Rational> times(starts.begin(), starts.end());
  std::vector<Chord> chords;
  const std::size_t n = std::min(count, times.size());
  for (std::size_t i = 0; i < n; ++i) {
    const Rational t = times[(2 * i + 1) * times.size() / (2 * n)];
    Chord c;
    for (const Press& p : all) {
      if (p.start > t) break;
      if (p.end <= t) continue;
      if (p.role == Role::feet) c.feet.insert(p.key.midi);
      else if (p.role == Role::left_hand) c.left.insert(p.key.midi);
      else if (p.role != Role::not_played) c.right.insert(p.key.midi);
    }
    chords.push_back(c);
  }
  return chords;
}

bool is_trio(const Score& score) {
  std::array<Rational, 2> until{};
  std::array<bool, 3> used{};
  for (const Press& p : presses(score)) {
    if (p.role == Role::feet) used[2] = true;
    if (p.role == Role::either_hand) return false;
    if (p.role != Role::left_hand && p.role != Role::right_hand) continue;
    const std::size_t h = p.role == Role::left_hand ? 0 : 1;
    used[h] = true;
    // A little overlap is legato, not a second voice.
    if (p.start < until[h]) return false;
    until[h] = p.end;
  }
  return used[0] && used[1] && used[2];
}

Playing playing_of(const Score& score, const Item& item) {
  Playing playing;
  for (const Turn& t : score.turns) {
    if (t.bar > 0 && score.bars[static_cast<std::size_t>(t.bar)].new_page) playing.page_turns.push_back(t.start);
  }
  for (std::size_t s = 0; s < item.sections.size(); ++s) {
    const HandsAndFeet& on = item.sections[s].keyboards;
    if (!on.right || !on.left || on.right == on.left) continue;
    const Rational from = performed_at(score, item.sections[s].from).value_or(Rational{0});
    const Rational to = s + 1 < item.sections.size()
                            ? performed_at(score, item.sections[s + 1].from).value_or(performed_length(score))
                            : performed_length(score);
    if (from < to) playing.apart.emplace_back(from, to);
  }
  return playing;
}

Result<void> plan_piece(Plan& plan, const Organ& organ, const Listening& listening, const Score& score,
                        const Piece& piece, const Player& player, const VocabularyWish& wish, const Work& work) {
  Scales scales(listening, sampled_chords(score, chords_weighed));
  if (scales.chords().empty()) return fail("There is nothing to play in this score.", piece.title);
  return PiecePlanner(plan, organ, score, piece, player, work, scales).run(wish);
}

}  // namespace calcant
