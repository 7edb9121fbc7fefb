#include "engine/plan/hymn.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <limits>
#include <utility>

#include "engine/plan/hymn_parts.hpp"
#include "engine/plan/hymn_steps.hpp"
#include "engine/plan/hymn_told.hpp"
#include "engine/plan/lower_hand.hpp"
#include "engine/plan/objective.hpp"
#include "engine/plan/search.hpp"
#include "engine/plan/two_voices.hpp"

namespace calcant {
namespace {

constexpr double weighed_off = 0.3;  // phon: what the quick screen is off at most (docs/accuracy/plan.md)

class Planner {
 public:
  Planner(Plan& plan, const Organ& organ, const Hymn& hymn, const Player& player, const VocabularyWish& wish,
          const Work& work, Scales& scales)
      : plan_(plan),
        organ_(organ),
        hymn_(hymn),
        player_(player),
        wish_(wish),
        work_(work),
        scales_(scales),
        jambs_(organ) {}

  Result<void> run() {
    if (auto ready = shades(); !ready) return ready;
    range();
    lay_out();
    search();
    write();
    return {};
  }

 private:
  [[nodiscard]] bool any(VerseKind k) const {
    return std::any_of(hymn_.verses.begin(), hymn_.verses.end(), [&](const Verse& v) { return v.kind == k; });
  }

  Result<void> shades() {
    VocabularyWish with_feet = wish_;
    with_feet.feet = hymn_.bass != Bass::hands && pedalboard(organ_).has_value();
    work_.tell(0.1, "weighing registrations");
    auto full = vocabulary(organ_, scales_, with_feet, Placing::together, work_);
    if (!full) return fail(full.error().message, hymn_.tune);
    full_ = std::move(*full);
    if (any(VerseKind::no_pedal)) {
      // What is drawn for the feet stays drawn; they do not play.
      for (Shade shade : full_) {
        shade.on.feet.reset();
        shade.loudness = scales_.all(shade.drawn, shade.on);
        shade.pedal = Phons{0};
        manuals_.push_back(std::move(shade));
      }
    }
    if (any(VerseKind::solo)) {
      apart_.emplace(scales_.listening(), tune_apart(scales_.chords()));
      if (auto solos = vocabulary(organ_, *apart_, with_feet, Placing::solo, work_)) {
        two_manuals_ = true;
        // A little within, so that it holds when it is weighed in full.
        std::erase_if(*solos, [](const Shade& s) {
          return !s.solo_voice || s.solo_over < solo_margin + weighed_off || s.solo_over > solo_most - weighed_off;
        });
        solos_ = std::move(*solos);
      }
    }
    if (hymn_.kind != ItemKind::piece) singers_ = loudness(hymn_.singers, scales_);
    if (work_.stop.stop_requested()) return fail("Stopped before the plan was made.", hymn_.tune);
    return {};
  }

  // The range a hymn moves in: from the softest that is not under the low end of what the singers may be (where this
  // organ can be softer, it does not go there), to the loudest that practice has little against.
  void range() {
    range_ = {std::numeric_limits<double>::infinity(), 0, singers_.low};
    for (const Shade& s : full_) {
      if (s.against >= 1) continue;
      range_.high = std::max(range_.high, s.loudness.value());
      if (s.loudness >= singers_.low) range_.low = std::min(range_.low, s.loudness.value());
    }
    if (range_.high == 0) range_.high = full_.back().loudness.value();
    range_.low = std::min(range_.low, range_.high);
  }

  [[nodiscard]] const std::vector<Shade>& choices(const HymnPart& p) const {
    const VerseKind kind = p.over ? VerseKind::harmony : hymn_.verses[p.verse].kind;
    if (kind == VerseKind::no_pedal && !manuals_.empty()) return manuals_;
    return p.apart ? solos_ : full_;
  }

  // Parts in the order they are played, and the stages of the search: a part without a registration of its own shares
  // that of its neighbour.
  void lay_out() {
    const auto add = [&](HymnPart p, bool own) {
      p.aim = aim_of(hymn_, p, range_, parts_.empty() ? nullptr : &parts_.back());
      if (own || stages_.empty()) stages_.push_back(parts_.size());
      p.stage = stages_.size() - 1;
      parts_.push_back(std::move(p));
    };
    const bool own_over = hymn_.over && (!hymn_.over->wish.empty() || hymn_.over->fixed);
    if (hymn_.play_over != PlayOver::none) {
      HymnPart over;
      over.over = true;
      over.label = "Play-over";
      const Verse& of = own_over ? *hymn_.over : hymn_.verses.front();
      over.wish = of.wish;
      over.stops = of.stops;
      if (own_over) over.note = of.note;
      over.fixed = of.fixed ? &*of.fixed : nullptr;
      add(over, true);
    }
    for (std::size_t v = 0; v < hymn_.verses.size(); ++v) {
      const Verse& verse = hymn_.verses[v];
      HymnPart p;
      p.verse = v;
      p.wish = verse.wish;
      p.stops = verse.stops;
      p.note = verse.note;
      p.label = verse.label.empty() ? fmt::format("Verse {}", v + 1) : verse.label;
      p.fixed = verse.fixed ? &*verse.fixed : nullptr;
      p.change = verse.change && !parts_.empty() ? &*verse.change : nullptr;
      p.sounding = verse.kind != VerseKind::unaccompanied;
      p.apart = verse.kind == VerseKind::solo && !solos_.empty();
      if (verse.kind == VerseKind::solo && !p.apart)
        p.note += fmt::format("{}the tune has no {}: it is led like other verses", p.note.empty() ? "" : "; ",
                              two_manuals_ ? "stop that stands clear of the other manual" : "second manual under it");
      // The play-over has verse 1's registration, where both can be played on the same.
      const bool shares =
          v == 0 && !parts_.empty() && !own_over && p.sounding && p.change == nullptr && &choices(p) == &full_;
      if (shares) {
        parts_.front().aim = aim_of(hymn_, p, range_, nullptr);
        parts_.front().fixed = p.fixed;
      }
      const bool halves = hymn_.kind == ItemKind::psalm && !verse.second.empty();
      p.half = halves ? 1 : 0;
      add(p, p.sounding && !shares && p.change == nullptr);
      if (!halves) continue;
      p.half = 2;
      p.change = nullptr;
      p.wish = verse.second;
      p.note = verse.second_note;
      p.label += ", second half";
      add(p, true);
    }
    for (const std::size_t lead : stages_) {
      const HymnPart& p = parts_[lead];
      if (p.fixed == nullptr) {
        options_.push_back(&choices(p));
        continue;
      }
      const bool feet = hymn_.bass != Bass::hands && hymn_.verses[p.verse].kind != VerseKind::no_pedal;
      const HandsAndFeet on = p.fixed->on.value_or(usual_hands(organ_, p.fixed->drawn, feet));
      fixed_.push_back(fixed_shades(organ_, scales_for(on), wish_, *p.fixed, feet));
      options_.push_back(&fixed_.back());
    }
  }

  // What is drawn when a stage is left: its own registration, and what the user moves at the ends of lines.
  [[nodiscard]] Registration leaving(std::size_t stage, Registration r) const {
    for (const HymnPart& p : parts_) {
      if (p.stage != stage) continue;
      if (p.change != nullptr) r = with(r, *p.change);
      if (p.over || p.half == 1) continue;
      for (const LineCue& c : hymn_.verses[p.verse].cues) r = with(r, c.change);
    }
    return r;
  }

  // Moves of the user's that have nothing to do where a stage is drawn so.
  [[nodiscard]] int idle(std::size_t stage, Registration r) const {
    int moves = 0;
    const auto replay = [&](const GivenChange& c) {
      moves += idle_moves(r, c);
      r = with(r, c);
    };
    for (const HymnPart& p : parts_) {
      if (p.stage != stage) continue;
      if (p.change != nullptr) replay(*p.change);
      if (p.over || p.half == 1) continue;
      for (const LineCue& c : hymn_.verses[p.verse].cues) replay(c.change);
    }
    return moves;
  }

  // Which part comes just before a stage, and what is free there.
  [[nodiscard]] HymnGap gap_to(std::size_t stage, const Shade& from) const {
    const std::size_t part = stages_[stage];
    Item item;
    item.kind = hymn_.kind;
    item.sections = {section_frame(parts_[part - 1]), section_frame(parts_[part])};
    if (parts_[part - 1].sounding) item.sections[0].keyboards = from.on;
    return gap_before(hymn_, item, 1, pedalboard(organ_).has_value());
  }

  // Whether the last registration is not to be softer than the one before it: of a hymn's last verse, where nothing was said
  // of it (R39), and of the Gloria, where its word does not say so.
  [[nodiscard]] bool last_leads() const {
    const Verse& last = hymn_.verses.back();
    if (hymn_.kind == ItemKind::hymn) return last.wish.empty();
    if (hymn_.kind != ItemKind::psalm || last.label.empty() || !last.second.empty() || stages_.size() < 2) return false;
    return parts_[stages_.back()].aim.target >= parts_[stages_[stages_.size() - 2]].aim.target;
  }

  void search() {
    const bool first = plan_.items.empty();
    const Registration before = first ? Registration{} : plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20);
    const HandsAndFeet before_on = first ? HandsAndFeet{} : plan_.items.back().sections.back().keyboards;
    std::vector<HymnStage> stages(options_.size());
    Stages c;
    for (std::size_t s = 0; s < options_.size(); ++s) {
      HymnStage& stage = stages[s];
      stage.options = options_[s];
      for (const Shade& shade : *options_[s]) stage.left.push_back(leaving(s, shade.drawn));
      stage.aim = parts_[stages_[s]].aim;
      Shade choir;
      choir.on = {0, 0, 0};
      Shade apart;
      apart.on = {0, 1, 0};
      if (s > 0) stage.gaps = {gap_to(s, Shade{}), gap_to(s, choir), gap_to(s, apart)};
      stage.answers = s > 0 && answers(hymn_, parts_[stages_[s]]);
      c.sizes.push_back(options_[s]->size());
    }
    const HymnSteps steps(organ_, player_, stages,
                          hymn_.kind == ItemKind::psalm   ? Step::between_verses
                          : hymn_.kind == ItemKind::piece ? Step::at_rests
                                                          : Step::between_sections,
                          last_leads());
    c.own = [&](std::size_t s, std::size_t i) {
      const Shade& shade = (*options_[s])[i];
      const HymnPart& p = parts_[stages_[s]];
      double cost = p.fixed != nullptr ? shade.against : own_cost(stages[s].aim, shade) + unasked_stops(p.stops, shade);
      cost += idle_change * idle(s, shade.drawn);
      if (s == 0 && !first)
        cost += step_cost(jambs_.moved(before, shade.drawn), Step::between_items, before_on != shade.on);
      return cost;
    };
    c.kind = [&](std::size_t s, std::size_t i) { return steps.kind(s, i); };
    c.between = [&](std::size_t s, std::size_t a, std::size_t b, double enough) {
      return steps.between(s, a, b, enough);
    };
    c.step = [&](std::size_t s, std::size_t i, std::size_t j) { return steps.step(s, i, j); };
    const Cheapest found = cheapest_path(c);
    search_ = {full_.size(), found.cost};
    for (std::size_t s = 0; s < found.path.size(); ++s) chosen_.push_back(&(*options_[s])[found.path[s]]);
  }

  [[nodiscard]] Moment moment(std::size_t verse, int line) const {
    Moment m = line == hymn_.lines ? hymn_.last_chord : Moment{};
    m.verse = static_cast<int>(verse) + 1;
    m.line = line;
    return m;
  }

  [[nodiscard]] Section section_frame(const HymnPart& p) const {
    Section s;
    s.label = p.label;
    const VerseKind kind = p.over ? VerseKind::harmony : hymn_.verses[p.verse].kind;
    s.kind = std::string{word(kind == VerseKind::solo && !p.apart ? VerseKind::harmony : kind)};
    s.wish = p.wish;
    s.note = p.note;
    s.from = moment(p.verse, p.half == 2 ? hymn_.lines / 2 + 1 : 1);
    if (p.over) s.from.verse = 0;
    s.fixed = p.fixed != nullptr || p.change != nullptr;
    return s;
  }

  // Hands on two manuals play the tune against all else.
  [[nodiscard]] Scales& scales_for(const HandsAndFeet& on) {
    return apart_ && on.right && on.left && on.right != on.left ? *apart_ : scales_;
  }

  void weighed(Section& s, const Registration& drawn, const HandsAndFeet& on) {
    Scales& scales = scales_for(on);
    s.drawn = drawn;
    s.keyboards = on;
    s.loudness = scales.all(drawn, on);
    if (on.feet) s.pedal_loudness = scales.feet(drawn, on);
    const Use together = hymn_.kind == ItemKind::hymn ? Use::hymn : Use::chorus;
    s.advice = advice_on(organ_, scales, drawn, on, together);
  }

  // A section that has what is drawn before it, changed as the user says.
  void changed(Section& s, const HymnPart& p, const Registration& now, const HandsAndFeet& now_on) {
    s.why = {told(organ_, *p.change)};
    s.drawn = with(now, *p.change);
    if (!p.sounding) return;
    HandsAndFeet on = now_on;
    const bool feet = hymn_.bass != Bass::hands && hymn_.verses[p.verse].kind != VerseKind::no_pedal;
    if (!feet) on.feet.reset();
    else if (!on.feet) on.feet = usual_hands(organ_, s.drawn, true).feet;
    weighed(s, s.drawn, p.change->on.value_or(on));
  }

  // The cue that leads to the section about to be added.
  void add_cue(const Item& item, const Section& to, const Registration& from, const HandsAndFeet& from_on,
               std::string why, bool fixed) {
    Cue c;
    c.item = static_cast<int>(plan_.items.size());
    c.section = static_cast<int>(item.sections.size());
    c.draw = newly_drawn(organ_, from, to.drawn);
    c.put_in = newly_drawn(organ_, to.drawn, from);
    c.boxes = box_moves(organ_, from, to.drawn);
    const bool sounding = to.keyboards.right || to.keyboards.left;
    if (sounding && from_on != to.keyboards) c.go_to = to.keyboards;
    if (c.draw.empty() && c.put_in.empty() && c.boxes.empty() && !c.go_to) return;
    c.why = std::move(why);
    c.fixed = fixed;
    const KnobCount knobs = jambs_.moved(from, to.drawn);
    if (item.sections.empty()) {
      c.moment = moment(0, 1);
      c.mover = move_for(knobs, player_, {at_leisure, at_leisure, at_leisure}).mover;
      cues_.push_back(std::move(c));
      return;
    }
    Item pair = item;
    pair.sections.push_back(to);
    const HymnGap gap = gap_before(hymn_, pair, pair.sections.size() - 1, pedalboard(organ_).has_value());
    const Section& last = item.sections.back();
    c.moment = before(last, to);
    const Move m = move_in(knobs, player_, gap);
    c.mover = m.mover == Mover::nobody && !c.boxes.empty() ? Mover::foot : m.mover;
    if (gap.gap < at_leisure) {
      c.window = ChangeWindow{c.moment, to.from, m.needed, m.available};
      if (m.lacking() > Seconds{0}) {
        c.mover = Mover::helper;
        c.why +=
            fmt::format(" There is no time for it alone ({:.1f} s needed, {:.1f} s there): a helper, or a longer gap.",
                        m.needed.value(), m.available.value());
      }
    }
    cues_.push_back(std::move(c));
  }

  // The last chord before a section: of a verse, of half a verse, of a line.
  [[nodiscard]] Moment before(const Section& last, const Section& to) const {
    if (hymn_.kind == ItemKind::piece) return to.from;
    if (last.from.verse == 0) {
      Moment m = moment(0, 0);
      m.verse = 0;
      return m;
    }
    if (last.from.verse == to.from.verse) return moment(static_cast<std::size_t>(to.from.verse) - 1, to.from.line - 1);
    return moment(static_cast<std::size_t>(last.from.verse) - 1, hymn_.lines);
  }

  void write() {
    Item item;
    item.kind = hymn_.kind;
    item.number = hymn_.number;
    item.title = hymn_.tune;
    item.notes = hymn_.notes;
    std::string about = hymn_.key;
    if (!hymn_.metre.empty()) about += (about.empty() ? "" : ", ") + hymn_.metre;
    item.subtitle = about;
    if (hymn_.kind != ItemKind::piece) {
      // A Gloria is sung after the verses, and is none of them.
      const auto verses =
          std::count_if(hymn_.verses.begin(), hymn_.verses.end(), [](const Verse& v) { return v.label.empty(); });
      item.subtitle += fmt::format("{}{} verse{}", about.empty() ? "" : ", ", verses, verses == 1 ? "" : "s");
      for (const Verse& v : hymn_.verses) item.subtitle += v.label.empty() ? "" : " and " + v.label;
    }
    item.search = search_;
    if (hymn_.play_over != PlayOver::none) {
      item.play_over.push_back(std::string{word(hymn_.play_over)});
      item.play_over.push_back(parts_.size() > 1 && parts_[0].stage == parts_[1].stage
                                   ? "tempo and registration of verse 1, then one steady breath"
                                   : "in the tempo of verse 1, then one steady breath");
    }
    const bool first = plan_.items.empty();
    Registration now = first ? chosen_.front()->drawn : plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20);
    HandsAndFeet now_on = first ? chosen_.front()->on : plan_.items.back().sections.back().keyboards;
    if (first) {
      plan_.initial = now;
      plan_.initial_keyboards = now_on;
    }
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      const HymnPart& p = parts_[i];
      const Shade& shade = *chosen_[p.stage];
      Section s = section_frame(p);
      if (p.change != nullptr) {
        changed(s, p, now, now_on);
      } else if (p.sounding) {
        weighed(s, shade.drawn, shade.on);
        tell_stops(s, p, shade);
        s.why = {p.over && parts_.size() > 1 && parts_[1].stage == p.stage
                     ? std::string{"As verse 1, so that it gives the tempo and the mood (R38)."}
                     : reason(hymn_, p, shade, *s.loudness, singers_)};
      } else {
        s.drawn = i == 0 ? shade.drawn : now;
        s.why = {"The singers alone; what is drawn stays drawn."};
      }
      if (!p.wish.empty() && p.sounding && p.fixed == nullptr && p.change == nullptr && i > 0 &&
          parts_[i - 1].stage != p.stage)
        told_if_unheard(s, hymn_, p, parts_[i - 1], *chosen_[parts_[i - 1].stage], shade);
      add_cue(item, s, now, now_on,
              i == 0                ? fmt::format("Ready for {}.", hymn_.tune)
              : p.change != nullptr ? s.why.front()
                                    : fmt::format("{}: {}.", p.label, shade.what),
              s.fixed);
      now = s.drawn;
      if (p.sounding) now_on = s.keyboards;
      item.sections.push_back(std::move(s));
      if (p.over || p.half == 1) continue;
      for (const LineCue& line : hymn_.verses[p.verse].cues) {
        Section after = item.sections.back();
        after.label = fmt::format("{}, line {}", p.label, line.after_line + 1);
        after.from = moment(p.verse, line.after_line + 1);
        after.fixed = true;
        weighed(after, with(now, line.change), line.change.on.value_or(now_on));
        after.why = {told(organ_, line.change)};
        add_cue(item, after, now, now_on, after.why.front(), true);
        now = after.drawn;
        now_on = after.keyboards;
        item.sections.push_back(std::move(after));
      }
    }
    item.remarks = remarks_of(
        hymn_, {singers_, full_.back().loudness, pedalboard(organ_).has_value(), pedals_have_sixteen(organ_)});
    for (Cue& c : cues_) plan_.cues.push_back(std::move(c));
    plan_.items.push_back(std::move(item));
  }

  Plan& plan_;
  const Organ& organ_;
  const Hymn& hymn_;
  const Player& player_;
  const VocabularyWish& wish_;
  const Work& work_;
  Scales& scales_;
  std::optional<Scales> apart_;  // where a verse has its tune on a solo stop
  bool two_manuals_ = false;     // for that
  Jambs jambs_;
  std::vector<Shade> full_;
  std::vector<Shade> manuals_;  // without feet
  std::vector<Shade> solos_;
  std::deque<std::vector<Shade>> fixed_;
  SingersLevel singers_{};
  HymnRange range_;
  std::vector<HymnPart> parts_;
  std::vector<std::size_t> stages_;                 // the part each stage is weighed for
  std::vector<const std::vector<Shade>*> options_;  // by stage
  std::vector<const Shade*> chosen_;                // by stage
  SearchNote search_;
  std::vector<Cue> cues_;
};

}  // namespace

Result<void> plan_hymn(Plan& plan, const Organ& organ, const Listening& listening, const Hymn& hymn,
                       const Player& player, const VocabularyWish& wish, const Work& work) {
  const bool feet = hymn.bass != Bass::hands && pedalboard(organ).has_value();
  Scales scales(listening, !hymn.chords.empty() ? hymn.chords
                                                : hymn_chords(hymn.tonic, hymn.minor, feet, hymn.bass == Bass::both));
  return Planner(plan, organ, hymn, player, wish, work, scales).run();
}

}  // namespace calcant
