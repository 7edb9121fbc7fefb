#include "engine/plan/hymn.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <utility>

#include "engine/plan/moves.hpp"

namespace calcant {
namespace {

struct Wish {
  const char* word;
  double share;
};
// Where words lead, from the softest that still supports the singers to all there is. Ours; a player's wishes replace it.
constexpr Wish wishes[] = {{"soft", 0.0},     {"hushed", 0.0},    {"quiet", 0.05},  {"prayer", 0.05}, {"awe", 0.1},
                           {"gentle", 0.1},   {"dark", 0.15},     {"calm", 0.15},   {"warm", 0.3},    {"plain", 0.4},
                           {"ordinary", 0.4}, {"trust", 0.4},     {"firm", 0.55},   {"bright", 0.65}, {"bold", 0.7},
                           {"joy", 0.75},     {"praise", 0.75},   {"strong", 0.85}, {"glory", 0.85},  {"full", 1.0},
                           {"triumph", 1.0},  {"triumphant", 1.0}};

// Without a word: the first verse firm enough to lead, the middle ones by turns, one softer before the end, the last
// above them all. Leanings, not laws (R37, R39).
double leaning(std::size_t verse, std::size_t verses) {
  if (verses == 1) return 0.6;
  if (verse == 0) return 0.45;
  if (verse + 1 == verses) return 0.9;
  if (verses > 3 && verse + 2 == verses) return 0.25;
  return verse % 2 == 1 ? 0.35 : 0.55;
}

// What a difference costs, in the one currency of the search: 1 = a verse 1.2 phon off its level.
constexpr double phon_per_unit = 1.2;
constexpr double near_enough = 0.7;       // phon: nobody hears that from one verse to the next
constexpr double per_knob = 0.2;          // one knob moved between verses
constexpr double per_knob_before = 0.05;  // before a hymn begins there is time
constexpr double no_time = 25.0;          // a change that cannot be made in its window
constexpr double box_moved = 0.1;
constexpr double manual_changed = 0.05;
constexpr double under_the_singers = 1.5;  // for each phon
constexpr double last_not_loudest = 2.0;   // R39, for each phon

std::string lower(std::string_view s) {
  std::string out{s};
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

class Planner {
 public:
  Planner(Plan& plan, const Organ& organ, const Hymn& hymn, const Player& player, const PaletteWish& wish,
          const Work& work, Scales& scales)
      : plan_(plan), organ_(organ), hymn_(hymn), player_(player), wish_(wish), work_(work), scales_(scales) {
    const double quarter = 60 / hymn.quarters_per_minute;
    gap_ = Seconds{hymn.gap_quarters * quarter};
    with_chord_ = Seconds{(hymn.gap_quarters + hymn.last_chord_quarters) * quarter};
  }

  Result<void> run() {
    if (auto ready = shades(); !ready) return ready;
    search();
    write();
    return {};
  }

 private:
  Result<void> shades() {
    PaletteWish with_feet = wish_;
    with_feet.feet = hymn_.bass != Bass::hands && pedalboard(organ_).has_value();
    work_.tell(0.1, "weighing registrations");
    full_ = palette(organ_, scales_, with_feet);
    if (full_.empty()) return fail("No manual of this organ has a stop in use that could lead a hymn.", hymn_.tune);
    work_.tell(0.6, "weighing registrations");
    if (std::any_of(hymn_.verses.begin(), hymn_.verses.end(),
                    [](const Verse& v) { return v.kind == VerseKind::no_pedal; })) {
      // What is drawn for the feet stays drawn; they do not play.
      for (Shade shade : full_) {
        shade.on.feet.reset();
        shade.loudness = scales_.all(shade.drawn, shade.on);
        shade.pedal = Phons{0};
        manuals_.push_back(std::move(shade));
      }
    }
    if (std::any_of(hymn_.verses.begin(), hymn_.verses.end(),
                    [](const Verse& v) { return v.kind == VerseKind::solo; })) {
      solos_ = solo_palette(organ_, scales_, with_feet);
    }
    singers_ = loudness(hymn_.singers, scales_);
    if (work_.stop.stop_requested()) return fail("Stopped before the plan was made.", hymn_.tune);
    return {};
  }

  // The range a hymn moves in: from the softest that is not under the low end of what the singers may be (where this
  // organ can be softer, it does not go there), to the loudest that practice has nothing against.
  void range() {
    high_ = 0;
    low_ = std::numeric_limits<double>::infinity();
    for (const Shade& s : full_) {
      if (s.against >= 1) continue;
      high_ = std::max(high_, s.loudness.value());
      if (s.loudness >= singers_.low) low_ = std::min(low_, s.loudness.value());
    }
    if (high_ == 0) high_ = full_.back().loudness.value();
    if (low_ > high_) low_ = high_;
  }

  [[nodiscard]] double target(std::size_t v) const {
    const Verse& verse = hymn_.verses[v];
    double share = share_of(verse.wish).value_or(leaning(v, hymn_.verses.size()));
    if (hymn_.kind == ItemKind::psalm) share *= 0.6;  // a psalm is carried, not led
    if (verse.kind == VerseKind::unison && verse.wish.empty()) share = std::min(1.0, share + 0.1);
    if (verse.kind == VerseKind::descant && verse.wish.empty()) share = 0.8;  // full, but under the treble
    return low_ + share * (high_ - low_);
  }

  [[nodiscard]] const std::vector<Shade>& choices(std::size_t v) const {
    const VerseKind kind = hymn_.verses[v].kind;
    if (kind == VerseKind::no_pedal && !manuals_.empty()) return manuals_;
    if (kind == VerseKind::solo && !solos_.empty()) return solos_;
    return full_;
  }

  [[nodiscard]] double own_cost(std::size_t v, const Shade& s) const {
    const double off = std::max(0.0, std::abs(s.loudness.value() - target(v)) - near_enough) / phon_per_unit;
    const double under = std::max(0.0, singers_.low.value() - s.loudness.value());
    return off * off + s.against + (hymn_.verses[v].kind == VerseKind::solo ? 0 : under_the_singers * under);
  }

  [[nodiscard]] double step_cost(std::size_t to_verse, const Registration& from, const OnKeyboards& from_on,
                                 const Shade& to) const {
    double cost = (hymn_.kind == ItemKind::psalm ? 3 : 1) * per_knob * knobs_moved(from, to.drawn) +
                  (from_on == to.on ? 0 : manual_changed);
    cost += box_moved * static_cast<double>(box_moves(organ_, from, to.drawn).size());
    if (to_verse == 0) return cost * per_knob_before / per_knob;
    return cost + no_time * move(from, to.drawn, to_verse - 1).lacking().value();
  }

  // At a verse's last chord one hand takes the upper parts and the feet the bass, if the feet are playing.
  [[nodiscard]] bool hand_free(std::size_t verse) const {
    if (hymn_.verses[verse].kind == VerseKind::unaccompanied) return true;
    return hymn_.bass != Bass::hands && hymn_.verses[verse].kind != VerseKind::no_pedal &&
           hymn_.verses[verse].kind != VerseKind::solo && pedalboard(organ_).has_value();
  }

  // One hand goes on the last chord and has the gap too, the other has the gap alone: whichever way round suits the knobs.
  [[nodiscard]] Move move(const Registration& from, const Registration& to, std::size_t verse) const {
    const Seconds chord = hand_free(verse) ? with_chord_ : gap_;
    const Move a = move_for(organ_, from, to, player_, {chord, gap_, gap_});
    const Move b = move_for(organ_, from, to, player_, {gap_, chord, gap_});
    return b.lacking() < a.lacking() || (b.lacking() == a.lacking() && b.mover == Mover::right_hand) ? b : a;
  }

  // The cheapest way through the verses; an unaccompanied verse keeps the state of the one before it.
  void search() {
    range();
    const std::size_t n = hymn_.verses.size();
    const bool first = plan_.items.empty();
    const Registration before = first ? Registration{} : plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20);
    const OnKeyboards before_on = first ? OnKeyboards{} : plan_.items.back().sections.back().keyboards;

    std::vector<std::size_t> played;  // verses that are accompanied
    for (std::size_t v = 0; v < n; ++v) {
      if (hymn_.verses[v].kind != VerseKind::unaccompanied) played.push_back(v);
    }
    if (played.empty()) played.push_back(0);  // the play-over still needs something
    std::vector<std::size_t> sizes;
    for (const std::size_t v : played) sizes.push_back(choices(v).size());
    const auto own = [&](std::size_t stage, std::size_t i) {
      const Shade& s = choices(played[stage])[i];
      double cost = own_cost(played[stage], s);
      if (stage == 0 && !first) cost += step_cost(0, before, before_on, s);
      return cost;
    };
    const auto step = [&](std::size_t stage, std::size_t i, std::size_t j) {
      const Shade& from = choices(played[stage - 1])[i];
      const Shade& to = choices(played[stage])[j];
      double cost = step_cost(played[stage], from.drawn, from.on, to);
      if (played[stage] + 1 == n && hymn_.verses[n - 1].wish.empty()) {
        cost += last_not_loudest * std::max(0.0, from.loudness.value() - to.loudness.value());
      }
      return cost;
    };
    const auto path = cheapest_path(sizes, own, step);
    chosen_.assign(n, nullptr);
    for (std::size_t stage = 0; stage < played.size(); ++stage) {
      chosen_[played[stage]] = &choices(played[stage])[path[stage]];
    }
    chosen_play_over_ = chosen_[played.front()];
    if (hymn_.verses[played.front()].kind == VerseKind::unaccompanied) chosen_[played.front()] = nullptr;
  }

  [[nodiscard]] std::string label(std::size_t v) const {
    return hymn_.verses[v].label.empty() ? fmt::format("Verse {}", v + 1) : hymn_.verses[v].label;
  }

  [[nodiscard]] Moment moment(std::size_t verse, int line) const {
    Moment m = line == hymn_.lines ? hymn_.last_chord : Moment{};
    m.verse = static_cast<int>(verse) + 1;
    m.line = line;
    return m;
  }

  void add_section(Item& item, std::string label, const Shade& shade, std::size_t verse, bool sounding) {
    Section s;
    s.label = std::move(label);
    s.kind = std::string{word(hymn_.verses[verse].kind)};
    s.wish = hymn_.verses[verse].wish;
    s.from = moment(verse, 1);
    s.drawn = shade.drawn;
    if (sounding) {
      s.keyboards = shade.on;
      s.loudness = shade.loudness;
      if (shade.on.feet) s.pedal_loudness = shade.pedal;
      Occasion occasion;
      occasion.on = *shade.on.right;
      occasion.use = shade.on.right == shade.on.left ? Use::hymn : Use::solo;
      if (shade.on.feet) {
        occasion.manual = scales_.hands(shade.drawn, shade.on);
        occasion.pedal = shade.pedal;
      }
      s.advice = advise(organ_, shade.drawn, occasion);
      s.why.push_back(reason(verse, shade));
    } else {
      s.why.push_back("The singers alone; what is drawn stays drawn.");
    }
    item.sections.push_back(std::move(s));
  }

  [[nodiscard]] std::string reason(std::size_t v, const Shade& s) const {
    const Verse& verse = hymn_.verses[v];
    std::string why = s.what;
    const bool known = share_of(verse.wish).has_value();
    why += !verse.wish.empty() && !known
               ? fmt::format(" ('{}' is no word this program knows; the verse leans on its place)", verse.wish)
           : verse.wish.empty() ? " (no word was given for this verse; it leans on its place among the others)"
                                : fmt::format(" for '{}'", verse.wish);
    const int singers = hymn_.singers.count;
    if (verse.kind != VerseKind::solo) {
      if (s.loudness >= singers_.high) {
        why += fmt::format("; enough for {} singers, whatever they are taken for", singers);
      } else if (s.loudness >= singers_.low) {
        why += fmt::format("; enough for {} singers if they sing as softly as is assumed at least", singers);
      } else {
        why += fmt::format("; this may be under {} singers", singers);
      }
    }
    return why + ".";
  }

  void add_cue(int section, const Registration& from, const OnKeyboards& from_on, const Shade& to,
               std::optional<std::size_t> after_verse, std::string why) {
    Cue c;
    c.item = static_cast<int>(plan_.items.size());
    c.section = section;
    c.draw = newly_drawn(organ_, from, to.drawn);
    c.put_in = newly_drawn(organ_, to.drawn, from);
    c.boxes = box_moves(organ_, from, to.drawn);
    if (from_on != to.on) c.go_to = to.on;
    if (c.draw.empty() && c.put_in.empty() && c.boxes.empty() && !c.go_to) return;
    c.why = std::move(why);
    if (after_verse) {
      c.moment = moment(*after_verse, hymn_.lines);
      const Move m = move(from, to.drawn, *after_verse);
      c.mover = m.mover == Mover::nobody && !c.boxes.empty() ? Mover::foot : m.mover;
      c.window = ChangeWindow{c.moment, moment(*after_verse + 1, 1), m.needed, m.available};
      if (m.lacking() > Seconds{0}) {
        c.mover = Mover::helper;
        c.why +=
            fmt::format(" There is no time for it alone ({:.1f} s needed, {:.1f} s there): a helper, or a longer gap.",
                        m.needed.value(), m.available.value());
      }
    } else {
      c.moment = moment(0, 1);
      c.mover = move_for(organ_, from, to.drawn, player_, {Seconds{3600}, Seconds{3600}, Seconds{3600}}).mover;
    }
    cues_.push_back(std::move(c));
  }

  void write() {
    Item item;
    item.kind = hymn_.kind;
    item.number = hymn_.number;
    item.title = hymn_.tune;
    std::string about = hymn_.key;
    if (!hymn_.metre.empty()) about += (about.empty() ? "" : ", ") + hymn_.metre;
    item.subtitle = fmt::format("{}{}{} verse{}", about, about.empty() ? "" : ", ", hymn_.verses.size(),
                                hymn_.verses.size() == 1 ? "" : "s");
    const bool first = plan_.items.empty();
    const Shade& over = *chosen_play_over_;
    if (first) {
      plan_.initial = over.drawn;
      plan_.initial_keyboards = over.on;
    } else {
      add_cue(0, plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20),
              plan_.items.back().sections.back().keyboards, over, std::nullopt,
              fmt::format("Ready for {}.", hymn_.tune));
    }
    if (hymn_.play_over != PlayOver::none) {
      item.play_over.push_back(std::string{word(hymn_.play_over)});
      item.play_over.push_back("tempo and registration of verse 1, then one steady breath");
      add_section(item, "Play-over", over, 0, true);
      item.sections.back().why = {"As verse 1, so that it gives the tempo and the mood (R38)."};
      item.sections.back().from.verse = 0;
    }
    const Shade* now = &over;
    for (std::size_t v = 0; v < hymn_.verses.size(); ++v) {
      const Shade* next = chosen_[v];
      const bool sounding = next != nullptr;
      if (!sounding) next = now;
      if (v > 0) {
        add_cue(static_cast<int>(item.sections.size()), now->drawn, now->on, *next, v - 1,
                sounding ? fmt::format("{}: {}.", label(v), next->what) : std::string{});
      }
      add_section(item, label(v), *next, v, sounding);
      now = next;
    }
    remarks(item);
    for (Cue& c : cues_) plan_.cues.push_back(std::move(c));
    plan_.items.push_back(std::move(item));
  }

  void remarks(Item& item) const {
    if (hymn_.tempo_assumed) {
      item.remarks.push_back(
          fmt::format("No tempo was given: {:g} crotchets a minute are assumed, with {:g} beats on a verse's "
                      "last chord and {:g} between verses.",
                      hymn_.quarters_per_minute, hymn_.last_chord_quarters, hymn_.gap_quarters));
    }
    if (hymn_.chords.empty()) {
      item.remarks.push_back(fmt::format("Without a score, loudness is judged on three chords of {}.",
                                         hymn_.key.empty() ? "G major (no key was given)" : hymn_.key));
    }
    item.remarks.push_back(
        fmt::format("{} singers are taken for {:.0f} to {:.0f} phon in the nave (assumed: {:g} dB of sound power "
                    "each, give or take {:g}).",
                    hymn_.singers.count, singers_.low.value(), singers_.high.value(), hymn_.singers.each.value(),
                    hymn_.singers.band));
    if (full_.back().loudness < singers_.low) {
      item.remarks.push_back("This organ at its fullest may stand under so many singers.");
    }
    for (std::size_t v = 0; v < hymn_.verses.size(); ++v) {
      if (hymn_.verses[v].kind == VerseKind::solo && solos_.empty()) {
        item.remarks.push_back(
            fmt::format("Verse {} asks for the tune on a solo stop; this organ has no second manual for the "
                        "harmony, so it is planned like the others.",
                        v + 1));
      }
    }
    if (hymn_.bass != Bass::hands && !pedalboard(organ_)) {
      item.remarks.push_back("This organ has no pedals: the bass is for the left hand.");
    }
  }

  Plan& plan_;
  const Organ& organ_;
  const Hymn& hymn_;
  const Player& player_;
  const PaletteWish& wish_;
  const Work& work_;
  Scales& scales_;
  Seconds gap_;         // between verses: both hands are free
  Seconds with_chord_;  // from the last chord on: one hand is free where the other and the feet can hold it
  std::vector<Shade> full_;
  std::vector<Shade> manuals_;
  std::vector<Shade> solos_;
  SingersLevel singers_;
  double low_ = 0;
  double high_ = 0;
  std::vector<const Shade*> chosen_;
  const Shade* chosen_play_over_ = nullptr;
  std::vector<Cue> cues_;
};

}  // namespace

std::string_view word(VerseKind k) {
  switch (k) {
    case VerseKind::harmony: return "harmony";
    case VerseKind::unison: return "unison";
    case VerseKind::descant: return "descant";
    case VerseKind::solo: return "tune on a solo stop";
    case VerseKind::no_pedal: return "no pedal";
    case VerseKind::unaccompanied: break;
  }
  return "unaccompanied";
}

std::string_view word(PlayOver p) {
  switch (p) {
    case PlayOver::first_line: return "first line";
    case PlayOver::last_line: return "last line";
    case PlayOver::first_and_last: return "first line and last line";
    case PlayOver::whole: return "the whole tune";
    case PlayOver::none: break;
  }
  return "none";
}

std::optional<double> share_of(std::string_view wish) {
  for (const Wish& w : wishes) {
    if (wish == w.word) return w.share;
  }
  return std::nullopt;
}

const std::vector<std::string>& known_wishes() {
  static const std::vector<std::string> words = [] {
    std::vector<std::string> all;
    for (const Wish& w : wishes) all.emplace_back(w.word);
    return all;
  }();
  return words;
}

Verse parse_verse(std::string_view text) {
  Verse v;
  std::string rest = lower(text);
  for (char& c : rest) {
    if (c == ',' || c == ';' || c == '/') c = ' ';
  }
  const auto take = [&](std::string_view what) {
    const std::string padded = " " + rest + " ";
    const auto at = padded.find(" " + std::string{what} + " ");
    if (at == std::string::npos) return false;
    rest.replace(at, what.size(), std::string(what.size(), ' '));
    return true;
  };
  if (take("no pedal") || take("manuals only")) v.kind = VerseKind::no_pedal;
  if (take("unaccompanied")) v.kind = VerseKind::unaccompanied;
  if (take("descant")) v.kind = VerseKind::descant;
  if (take("unison")) v.kind = VerseKind::unison;
  if (take("tune on a solo stop") || take("solo")) v.kind = VerseKind::solo;
  take("harmony");
  for (const Wish& w : wishes) {
    if (take(w.word)) v.wish = w.word;
  }
  if (!v.wish.empty()) return v;
  for (std::size_t at = 0; at < rest.size();) {
    const std::size_t end = std::min(rest.find(' ', at), rest.size());
    if (end > at) v.wish += (v.wish.empty() ? "" : " ") + rest.substr(at, end - at);
    at = end + 1;
  }
  return v;
}

Result<void> plan_hymn(Plan& plan, const Organ& organ, const Listening& listening, const Hymn& hymn,
                       const Player& player, const PaletteWish& wish, const Work& work) {
  const bool feet = hymn.bass != Bass::hands && pedalboard(organ).has_value();
  Scales scales(listening, !hymn.chords.empty() ? hymn.chords
                                                : hymn_chords(hymn.tonic, hymn.minor, feet, hymn.bass == Bass::both));
  return Planner(plan, organ, hymn, player, wish, work, scales).run();
}

}  // namespace calcant
