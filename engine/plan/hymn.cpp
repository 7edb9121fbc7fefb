#include "engine/plan/hymn.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <limits>
#include <utility>

namespace calcant {
namespace {

struct Wish {
  const char* word;
  double share;
};
// Where words lead, from the softest that still supports the singers to all there is. Ours; a player's wishes replace it.
constexpr Wish wishes[] = {{"soft", 0.0},     {"quiet", 0.05}, {"prayer", 0.05}, {"gentle", 0.1},  {"plain", 0.4},
                           {"ordinary", 0.4}, {"firm", 0.55},  {"bright", 0.65}, {"praise", 0.75}, {"glory", 0.85},
                           {"strong", 0.85},  {"full", 1.0},   {"triumph", 1.0}};

// Without a word: the first verse firm enough to lead, the middle ones by turns, one softer before the end, the last
// above them all. Leanings, not laws (R37, R39).
double leaning(std::size_t verse, std::size_t verses) {
  if (verses == 1) return 0.6;
  if (verse == 0) return 0.45;
  if (verse + 1 == verses) return 0.9;
  if (verses > 3 && verse + 2 == verses) return 0.25;
  return verse % 2 == 1 ? 0.35 : 0.55;
}

// What a difference costs, in the one currency of the search: 1 = a verse 2 phon off its level.
constexpr double phon_per_unit = 2.0;
constexpr double per_knob = 0.12;         // one knob moved between verses
constexpr double per_knob_before = 0.02;  // before a hymn begins there is time
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

struct Times {
  double gap;         // seconds between verses: both hands are free
  double with_chord;  // from the last chord on: one hand is free where the other and the feet can hold it
};

// Whether a change can be made, how much too long it is, and by whom.
struct Fitted {
  Hands hands;
  Seconds needed;
  Seconds available;
  [[nodiscard]] double lacking() const { return std::max(0.0, needed.value() - available.value()); }
};

Fitted fitted(const Organ& organ, const Registration& from, const Registration& to, const KnobTimes& times,
              const Times& window, bool hand_free_on_chord) {
  Fitted f;
  f.hands = hands_for(organ, newly_drawn(organ, from, to), newly_drawn(organ, to, from), times);
  const double chord = hand_free_on_chord ? window.with_chord : window.gap;
  // The hand with most to do goes on the chord, the other in the gap; the tighter of the two is what is told.
  const double slack = chord - f.hands.needed.value();
  const double other = window.gap - f.hands.needed_by_other.value();
  if (f.hands.mover == Mover::both_hands && other < slack) {
    f.needed = f.hands.needed_by_other;
    f.available = Seconds{window.gap};
  } else {
    f.needed = f.hands.needed;
    f.available = Seconds{chord};
  }
  return f;
}

std::vector<BoxMove> box_moves(const Organ& organ, const Registration& from, const Registration& to) {
  std::vector<BoxMove> moves;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    if (from.box[b] != to.box[b]) moves.push_back({static_cast<BoxIndex>(b), to.box[b]});
  }
  return moves;
}

class Planner {
 public:
  Planner(Plan& plan, const Organ& organ, const Hymn& hymn, const KnobTimes& times, const PaletteWish& wish,
          const Work& work, Scales& scales)
      : plan_(plan), organ_(organ), hymn_(hymn), times_(times), wish_(wish), work_(work), scales_(scales) {
    const double quarter = 60 / hymn.quarters_per_minute;
    window_ = {hymn.gap_quarters * quarter, (hymn.gap_quarters + hymn.last_chord_quarters) * quarter};
  }

  Result<void> run() {
    if (auto ready = shades(); !ready) return ready;
    search();
    write();
    return {};
  }

 private:
  struct Candidate {
    const Shade* shade = nullptr;  // nothing: unaccompanied, the state before goes on
  };

  Result<void> shades() {
    PaletteWish with_feet = wish_;
    with_feet.feet = hymn_.bass != Bass::hands && pedalboard(organ_).has_value();
    PaletteWish without = wish_;
    without.feet = false;
    work_.tell(0.1, "weighing registrations");
    full_ = palette(organ_, scales_, with_feet);
    if (full_.empty()) return fail("No manual of this organ has a stop in use that could lead a hymn.", hymn_.tune);
    work_.tell(0.6, "weighing registrations");
    if (std::any_of(hymn_.verses.begin(), hymn_.verses.end(),
                    [](const Verse& v) { return v.kind == VerseKind::no_pedal; })) {
      manuals_ = palette(organ_, scales_, without);
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
    const double off = (s.loudness.value() - target(v)) / phon_per_unit;
    const double under = std::max(0.0, singers_.low.value() - s.loudness.value());
    return off * off + s.against + (hymn_.verses[v].kind == VerseKind::solo ? 0 : under_the_singers * under);
  }

  [[nodiscard]] double step_cost(std::size_t to_verse, const Registration& from, const OnKeyboards& from_on,
                                 const Shade& to) const {
    double cost = per_knob * knobs_moved(from, to.drawn) + (from_on == to.on ? 0 : manual_changed);
    cost += box_moved * static_cast<double>(box_moves(organ_, from, to.drawn).size());
    if (to_verse == 0) return cost * per_knob_before / per_knob;
    return cost + no_time * fitted(organ_, from, to.drawn, times_, window_, hand_free(to_verse - 1)).lacking();
  }

  // At a verse's last chord one hand takes the upper parts and the feet the bass, if the feet are playing.
  [[nodiscard]] bool hand_free(std::size_t verse) const {
    if (hymn_.verses[verse].kind == VerseKind::unaccompanied) return true;
    return hymn_.bass != Bass::hands && hymn_.verses[verse].kind != VerseKind::no_pedal &&
           hymn_.verses[verse].kind != VerseKind::solo && pedalboard(organ_).has_value();
  }

  // Dynamic programme over verses; an unaccompanied verse keeps the state of the one before it.
  void search() {
    range();
    const std::size_t n = hymn_.verses.size();
    const bool first = plan_.items.empty();
    const Registration before = first ? Registration{} : plan_.state(static_cast<int>(plan_.items.size()) - 1, 1 << 20);
    const OnKeyboards before_on = first ? OnKeyboards{} : plan_.items.back().sections.back().keyboards;

    std::vector<std::vector<double>> best(n);
    std::vector<std::vector<std::size_t>> came(n);
    std::vector<std::size_t> verse_before(n, n);  // the last accompanied verse before each
    std::size_t last = n;
    for (std::size_t v = 0; v < n; ++v) {
      if (hymn_.verses[v].kind == VerseKind::unaccompanied) continue;
      const auto& now = choices(v);
      best[v].assign(now.size(), std::numeric_limits<double>::infinity());
      came[v].assign(now.size(), 0);
      for (std::size_t i = 0; i < now.size(); ++i) {
        if (last == n) {
          best[v][i] = first ? 0 : step_cost(0, before, before_on, now[i]);
        } else {
          const auto& then = choices(last);
          for (std::size_t j = 0; j < then.size(); ++j) {
            double c = best[last][j] + step_cost(v, then[j].drawn, then[j].on, now[i]);
            if (v + 1 == n && hymn_.verses[v].wish.empty()) {
              c += last_not_loudest * std::max(0.0, then[j].loudness.value() - now[i].loudness.value());
            }
            if (c < best[v][i]) {
              best[v][i] = c;
              came[v][i] = j;
            }
          }
        }
        best[v][i] += own_cost(v, now[i]);
      }
      verse_before[v] = last;
      last = v;
    }
    chosen_.assign(n, nullptr);
    if (last == n) {  // nothing accompanied: the play-over still needs something
      chosen_play_over_ = &*std::min_element(
          full_.begin(), full_.end(), [&](const Shade& a, const Shade& b) { return own_cost(0, a) < own_cost(0, b); });
      return;
    }
    std::size_t at =
        static_cast<std::size_t>(std::min_element(best[last].begin(), best[last].end()) - best[last].begin());
    for (std::size_t v = last; v != n; v = verse_before[v]) {
      chosen_[v] = &choices(v)[at];
      at = came[v][at];
    }
    for (const Shade* s : chosen_) {
      if (s != nullptr) {
        chosen_play_over_ = s;
        break;
      }
    }
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
      Playing playing;
      playing.on = *shade.on.right;
      playing.use = shade.on.right == shade.on.left ? Use::hymn : Use::solo;
      if (shade.on.feet) {
        playing.manual = scales_.hands(shade.drawn, shade.on);
        playing.pedal = shade.pedal;
      }
      s.advice = advise(organ_, shade.drawn, playing);
      s.why.push_back(reason(verse, shade));
    } else {
      s.why.push_back("The singers alone; what is drawn stays drawn.");
    }
    item.sections.push_back(std::move(s));
  }

  [[nodiscard]] std::string reason(std::size_t v, const Shade& s) const {
    const Verse& verse = hymn_.verses[v];
    std::string why = s.what;
    why += verse.wish.empty() ? " (no word was given for this verse; it leans on its place among the others)"
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
      const Fitted f = fitted(organ_, from, to.drawn, times_, window_, hand_free(*after_verse));
      c.mover = f.hands.mover;
      c.window = ChangeWindow{c.moment, moment(*after_verse + 1, 1), f.needed, f.available};
      if (f.lacking() > 0) {
        c.mover = Mover::helper;
        c.why +=
            fmt::format(" There is no time for it alone ({:.1f} s needed, {:.1f} s there): a helper, or a longer gap.",
                        f.needed.value(), f.available.value());
      }
    } else {
      c.moment = moment(0, 1);
      c.mover = hands_for(organ_, c.draw, c.put_in, times_).mover;
    }
    cues_.push_back(std::move(c));
  }

  void write() {
    Item item;
    item.kind = ItemKind::hymn;
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
                sounding ? fmt::format("Verse {}: {}.", v + 1, next->what) : std::string{});
      }
      add_section(item, fmt::format("Verse {}", v + 1), *next, v, sounding);
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
  const KnobTimes& times_;
  const PaletteWish& wish_;
  const Work& work_;
  Scales& scales_;
  Times window_{};
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

Result<Verse> parse_verse(std::string_view text) {
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
  if (take("solo") || take("tune on a solo stop")) v.kind = VerseKind::solo;
  take("harmony");
  for (const Wish& w : wishes) {
    if (take(w.word)) v.wish = w.word;
  }
  const auto left = rest.find_first_not_of(' ');
  if (left != std::string::npos) {
    return fail(fmt::format(
        "'{}' is no word for a verse. Known are harmony, unison, descant, solo, no pedal, unaccompanied; {}.",
        rest.substr(left, rest.find(' ', left) - left), fmt::join(known_wishes(), ", ")));
  }
  return v;
}

Hands hands_for(const Organ& organ, const std::vector<Knob>& draw, const std::vector<Knob>& put_in,
                const KnobTimes& times) {
  Hands h;
  for (const auto* list : {&draw, &put_in}) {
    for (const Knob k : *list) {
      const Jamb jamb = place(organ, k).jamb;
      (jamb == Jamb::left ? h.left : jamb == Jamb::right ? h.right : h.either) += 1;
    }
  }
  const auto seconds = [&](int n) { return n == 0 ? Seconds{0} : times.one + times.further * (n - 1); };
  if (h.left > 0 && h.right > 0) {
    h.mover = Mover::both_hands;
    int left = h.left;
    int right = h.right;
    for (int i = 0; i < h.either; ++i) (left <= right ? left : right) += 1;
    h.needed = seconds(std::max(left, right));
    h.needed_by_other = seconds(std::min(left, right));
  } else {
    const int all = h.left + h.right + h.either;
    h.mover = all == 0      ? Mover::nobody
              : h.left > 0  ? Mover::left_hand
              : h.right > 0 ? Mover::right_hand
                            : Mover::left_hand;
    h.needed = seconds(all);
  }
  return h;
}

Result<void> plan_hymn(Plan& plan, const Organ& organ, const Listening& listening, const Hymn& hymn,
                       const KnobTimes& times, const PaletteWish& wish, const Work& work) {
  const bool feet = hymn.bass != Bass::hands && pedalboard(organ).has_value();
  Scales scales(listening, !hymn.chords.empty() ? hymn.chords
                                                : hymn_chords(hymn.tonic, hymn.minor, feet, hymn.bass == Bass::both));
  return Planner(plan, organ, hymn, times, wish, work, scales).run();
}

}  // namespace calcant
