#include "engine/plan/vocabulary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <set>
#include <tuple>

#include "engine/organ/sounding.hpp"
#include "engine/plan/quick_scales.hpp"

namespace calcant {
namespace {

// In the currency of the search (docs/design/plan.md); rules of docs/reference/rules.md; figures ours.
constexpr double pedal_margin = 2;             // R16, phon above the hands
constexpr double pedal_over = 0.5;             // for each phon beyond
constexpr double pedal_buried = 10;            // phon under the hands beyond which a bass is lost
constexpr double pedal_under = 0.3;            // for each phon beyond
constexpr double pedal_without_coupler = 0.5;  // R17
constexpr double pedal_of_another = 0.8;       // R17: a coupler from where the hands are not
constexpr double pedal_without_eight = 0.5;    // R15
constexpr double pedal_without_sixteen = 1.0;  // R15
constexpr double coupled_string = 0.25;        // R7
constexpr double no_gain = 0.25;               // a stop that does not change the sound
constexpr double audible_phon = 0.3;           // what is heard in direct comparison (docs/accuracy/hearing.md)
constexpr double audible_acum = 0.02;          // share of the brightness
constexpr double lost_note = 0.4;              // one note the music wants that does not speak
constexpr int lost_counted = 4;
constexpr double solo_margin = 4;   // phon a solo stands above its accompaniment at least
constexpr double solo_most = 14;    // and at most
constexpr double solo_off = 1.0;    // for each phon outside
constexpr double trio_apart = 0.3;  // for each phon between two voices of a trio
constexpr double trio_alike = 0.8;  // the two voices of one colour

constexpr double cell_phon = 0.75;
constexpr double cell_acum = 0.12;
constexpr std::size_t kept_in_cell = 2;
constexpr std::size_t kept_alone = 48;    // voicings of a manual
constexpr std::size_t kept_coupled = 20;  // of a manual coupled to another
constexpr std::size_t kept_pedals = 2;    // for each state of the hands

struct Candidate {
  Registration drawn;  // hands only
  HandsAndFeet on;
  QuickScales::Figures figures;
  double against = 0;
  std::string what;
};

// Of states that sound alike (a cell of level and colour) the few with the least against them.
template <class T, class Cell>
void thin(std::vector<T>& list, std::size_t in_cell, const Cell& cell) {
  std::stable_sort(list.begin(), list.end(), [](const T& a, const T& b) { return a.against < b.against; });
  std::map<std::decay_t<decltype(cell(list.front()))>, std::size_t> kept;
  std::erase_if(list, [&](const T& t) { return ++kept[cell(t)] > in_cell; });
}

class Gatherer {
 public:
  Gatherer(const Organ& organ, Scales& scales, const VocabularyWish& wish, const Work& work)
      : organ_(organ), scales_(scales), wish_(wish), work_(work), lead_(leading_manual(organ)) {
    if (wish.feet) pedal_ = pedalboard(organ);
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      if (!organ.keyboards[k].pedal) manuals_.push_back(static_cast<KeyboardIndex>(k));
    }
    if (pedal_ && !pedal_speaks()) pedal_.reset();
    forbidden_.couplers.set();
    for (const KeyboardIndex k : all_keyboards()) {
      for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
        if (const auto c = unison_coupler(organ, k, static_cast<DivisionIndex>(d), wish.never))
          forbidden_.couplers.reset(static_cast<std::size_t>(*c));
      }
    }
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      if (chorus_part(organ.stops[s]) == ChorusPart::other || organ.stops[s].out_of_use) forbidden_.stops.set(s);
    }
    for (const Knob k : wish.never) {
      if (k.kind == Knob::Kind::stop) forbidden_.stops.set(static_cast<std::size_t>(k.index));
    }
    for (const Knob k : wish.must) {
      if (k.kind == Knob::Kind::stop) forbidden_.stops.reset(static_cast<std::size_t>(k.index));
      if (k.kind == Knob::Kind::coupler) forbidden_.couplers.reset(static_cast<std::size_t>(k.index));
    }
  }

  std::vector<Shade> together() {
    for (const KeyboardIndex k : manuals_) {
      if (work_.stop.stop_requested()) return {};
      auto candidates = on_one_manual(k);
      thin(candidates, kept_in_cell, [](const Candidate& c) {
        return std::pair{cell(c.figures.loudness.value(), cell_phon), cell(c.figures.brightness.value(), cell_acum)};
      });
      for (const Candidate& c : candidates) {
        for (const Registration& r : with_pedals(c, k)) {
          keep(r, c.on, c.what, c.against);
          other_manuals(r, k);
        }
      }
    }
    prepared();
    return sorted();
  }

  std::vector<Shade> apart(Placing placing) {
    for (const KeyboardIndex right : manuals_) {
      for (const KeyboardIndex left : manuals_) {
        if (right != left) two_manuals(right, left, placing);
      }
    }
    return sorted();
  }

 private:
  // Whether anything could sound under the feet: a stop of the pedal's own, or a coupler from it.
  [[nodiscard]] bool pedal_speaks() const {
    Registration everything;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s)
      everything.stops.set(s, std::find(wish_.never.begin(), wish_.never.end(),
                                        Knob{Knob::Kind::stop, static_cast<int>(s)}) == wish_.never.end());
    for (std::size_t d = 0; d < organ_.divisions.size(); ++d) {
      if (const auto c = unison_coupler(organ_, *pedal_, static_cast<DivisionIndex>(d), wish_.never))
        everything.couplers.set(static_cast<std::size_t>(*c));
    }
    return sounds_under(everything, *pedal_);
  }
  [[nodiscard]] bool sounds_under(const Registration& drawn, KeyboardIndex k) const {
    KeysDown down;
    down.keys[static_cast<std::size_t>(k)] = organ_.keyboards[static_cast<std::size_t>(k)].keys;
    PipeSet pipes;
    Sounding(organ_).pipes(drawn, down, pipes);
    return pipes.size() > 0;
  }

  static int cell(double v, double width) { return static_cast<int>(std::floor(v / width)); }
  [[nodiscard]] std::vector<KeyboardIndex> all_keyboards() const {
    std::vector<KeyboardIndex> all = manuals_;
    if (pedal_) all.push_back(*pedal_);
    return all;
  }
  [[nodiscard]] DivisionIndex home(KeyboardIndex k) const {
    return organ_.keyboards[static_cast<std::size_t>(k)].division;
  }
  [[nodiscard]] const std::string& name(KeyboardIndex k) const {
    return organ_.keyboards[static_cast<std::size_t>(k)].name;
  }
  [[nodiscard]] std::optional<BoxIndex> box_of(KeyboardIndex k) const {
    return organ_.divisions[static_cast<std::size_t>(home(k))].box;
  }
  [[nodiscard]] Registration open() const {
    Registration r;
    r.box.fill(1.0F);
    for (const Knob k : wish_.must) set_drawn(r, k, true);
    return r;
  }
  static void draw(Registration& r, const Voicing& v) {
    for (const StopIndex s : v.stops) r.stops.set(static_cast<std::size_t>(s));
  }

  [[nodiscard]] bool has_part(const Voicing& v, ChorusPart p) const {
    return std::any_of(v.stops.begin(), v.stops.end(),
                       [&](StopIndex s) { return chorus_part(organ_.stops[static_cast<std::size_t>(s)]) == p; });
  }
  [[nodiscard]] bool stringy(const Voicing& v) const { return has_part(v, ChorusPart::string8); }
  [[nodiscard]] bool has_open(const Voicing& v) const { return has_part(v, ChorusPart::principal8); }

  QuickScales* quick(const HandsAndFeet& on) {
    for (auto& [where, scales] : quick_) {
      if (where == on) return scales.get();
    }
    auto made = QuickScales::make(scales_.listening(), scales_.chords(), on, forbidden_, scales_.ear());
    quick_.emplace_back(on, made ? std::make_unique<QuickScales>(std::move(*made)) : nullptr);
    return quick_.back().second.get();
  }

  // The voicings of a manual, thinned by how they sound alone.
  const std::vector<Voicing>& voices(KeyboardIndex k, std::size_t most) {
    const auto key = std::pair{k, most};
    const auto known = voices_.find(key);
    if (known != voices_.end()) return known->second;
    auto all = voicings(organ_, home(k), wish_.never);
    if (QuickScales* q = quick({k, k, pedal_}); q != nullptr && all.size() > most) {
      double width = cell_phon / 2;
      std::vector<std::pair<int, int>> cells(all.size());
      // The cells are made wider until few enough are left.
      std::vector<std::pair<Voicing, QuickScales::Figures>> heard;
      for (Voicing& v : all) {
        Registration r;
        r.box.fill(1.0F);
        draw(r, v);
        heard.emplace_back(v, q->hands(r));
      }
      struct Heard : Voicing {
        QuickScales::Figures figures;
      };
      std::vector<Heard> left;
      for (auto& [v, f] : heard) left.push_back({v, f});
      for (; left.size() > most; width *= 1.3) {
        thin(left, 2, [&](const Heard& h) {
          return std::pair{cell(h.figures.loudness.value(), width),
                           cell(h.figures.brightness.value(), width * cell_acum / cell_phon)};
        });
      }
      all.assign(left.begin(), left.end());
    }
    return voices_.emplace(key, std::move(all)).first->second;
  }

  std::vector<Candidate> on_one_manual(KeyboardIndex k) {
    std::vector<Candidate> out;
    const HandsAndFeet on{k, k, pedal_};
    QuickScales* q = quick(on);
    if (q == nullptr) return out;
    const auto add = [&](const Registration& r, double against, std::string what) {
      out.push_back({r, on, q->hands(r), against, std::move(what)});
      if (out.back().figures.loudness.value() <= 0) out.pop_back();
    };
    for (const Voicing& v : voices(k, kept_alone)) {
      for (const float opening : box_rests(organ_, box_of(k))) {
        Registration r = open();
        draw(r, v);
        std::string what = fmt::format("{} {}", name(k), v.what);
        if (const auto box = box_of(k)) {
          r.box[static_cast<std::size_t>(*box)] = opening;
          what += ", " + box_words(organ_, box, opening);
        }
        add(r, v.against, what);
        for (const KeyboardIndex other : manuals_) {
          const auto coupler = other == k ? std::nullopt : unison_coupler(organ_, k, home(other), wish_.never);
          if (!coupler) continue;
          for (const Voicing& u : voices(other, kept_coupled)) {
            for (const float shutters :
                 box_of(other) == box_of(k) ? std::vector<float>{opening} : box_rests(organ_, box_of(other))) {
              Registration both = r;
              draw(both, u);
              both.couplers.set(static_cast<std::size_t>(*coupler));
              std::string words = fmt::format("{} with {} {} coupled", what, name(other), u.what);
              if (const auto box = box_of(other); box && box != box_of(k)) {
                both.box[static_cast<std::size_t>(*box)] = shutters;
                words += ", " + box_words(organ_, box, shutters);
              }
              add(both, v.against + u.against + (stringy(u) && has_open(v) ? coupled_string : 0), std::move(words));
            }
          }
        }
      }
    }
    return out;
  }

  // The pedals that carry these hands best, R15 to R17.
  std::vector<Registration> with_pedals(const Candidate& c, KeyboardIndex bass_from) {
    if (!pedal_) return {c.drawn};
    QuickScales* q = quick(c.on);
    if (pedals_.empty()) pedals_ = pedal_voicings(organ_, home(*pedal_), wish_.never);
    const auto coupler = unison_coupler(organ_, *pedal_, home(bass_from), wish_.never);
    std::vector<std::pair<double, Registration>> ways;
    for (const Voicing& p : pedals_) {
      for (const bool coupled : {true, false}) {
        if (coupled && !coupler) continue;
        Registration r = c.drawn;
        draw(r, p);
        if (coupled) r.couplers.set(static_cast<std::size_t>(*coupler));
        const double feet = q->feet(r).loudness.value();
        if (feet <= 0) continue;
        ways.emplace_back(p.against + balance(feet, c.figures.loudness.value()) + completeness(r, c, coupled), r);
      }
    }
    std::stable_sort(ways.begin(), ways.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<Registration> out;
    for (const auto& [cost, r] : ways) {
      if (out.size() == kept_pedals) break;
      out.push_back(r);
    }
    if (out.empty()) out.push_back(c.drawn);
    return out;
  }

  static double balance(double feet, double hands) {
    return pedal_over * std::max(0.0, feet - hands - pedal_margin) +
           pedal_under * std::max(0.0, hands - pedal_buried - feet);
  }

  // What the pedal lacks: 16 ft, 8 ft (its own or by the coupler), the coupler that follows the hands.
  [[nodiscard]] double completeness(const Registration& r, const Candidate& c, bool coupled) const {
    bool sixteen = false;
    bool eight = false;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (!r.stops[s]) continue;
      const Stop& stop = organ_.stops[s];
      const ChorusPart p = chorus_part(stop);
      const bool own = stop.division == home(*pedal_);
      const bool brought = coupled && stop.division == home(*c.on.right);
      sixteen = sixteen || ((own || brought) && p == ChorusPart::sixteen);
      eight = eight || ((own || brought) && !stop.feet.empty() && stop.feet.front().semitones() == 0);
    }
    const bool has_sixteen =
        std::any_of(pedals_.begin(), pedals_.end(), [](const Voicing& v) { return !v.stops.empty(); });
    const bool has_coupler = unison_coupler(organ_, *pedal_, home(*c.on.right), wish_.never).has_value();
    double other = 0;
    for (std::size_t i = 0; i < organ_.couplers.size(); ++i) {
      const Coupler& coupler = organ_.couplers[i];
      if (r.couplers[i] && coupler.from == *pedal_ && coupler.to != home(*c.on.right) && coupler.to != home(*pedal_))
        other = pedal_of_another;
    }
    return other + (sixteen || !has_sixteen ? 0 : pedal_without_sixteen) + (eight ? 0 : pedal_without_eight) +
           (coupled || !has_coupler ? 0 : pedal_without_coupler);
  }

  [[nodiscard]] double pedal_cost(const Registration& r, const HandsAndFeet& on, const QuickScales::Figures& hands,
                                  Phons feet) const {
    if (!on.feet) return 0;
    const auto coupler = unison_coupler(organ_, *on.feet, home(*on.right), wish_.never);
    const bool coupled = coupler && r.couplers[static_cast<std::size_t>(*coupler)];
    const Candidate c{r, on, hands, 0, {}};
    return feet.value() <= 0 ? pedal_without_sixteen + pedal_without_eight
                             : balance(feet.value(), hands.loudness.value()) + completeness(r, c, coupled);
  }

  // Stops that change nothing, and notes of the day that are missing.
  double idle_and_lost(QuickScales& q, const Registration& r, const QuickScales::Figures& hands) {
    double cost = 0;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (!r.stops[s]) continue;
      if (s < wish_.lost.size()) cost += lost_note * std::min(wish_.lost[s], lost_counted);
      if (pedal_ && organ_.stops[s].division == home(*pedal_)) continue;
      Registration without = r;
      without.stops.reset(s);
      const auto f = q.hands(without);
      const double phon = std::abs(hands.loudness.value() - f.loudness.value());
      if (phon == 0) continue;  // of a manual that is not heard: prepared for later
      const double acum = std::abs(hands.brightness.value() - f.brightness.value());
      if (phon < audible_phon && acum < audible_acum * hands.brightness.value()) cost += no_gain;
    }
    return cost;
  }

  void keep(const Registration& r, const HandsAndFeet& on, std::string what, double against) {
    if (!seen_.insert(std::tuple{r.stops.to_string(), r.couplers.to_ullong(), r.box, on.right, on.left}).second) return;
    QuickScales* q = quick(on);
    if (q == nullptr) return;
    const auto all = q->all(r);
    const auto hands = q->hands(r);
    if (hands.loudness.value() <= 0 || (on.feet && !sounds_under(r, *on.feet))) return;
    Shade s;
    s.drawn = r;
    s.on = on;
    s.loudness = all.loudness;
    if (on.feet) s.pedal = q->feet(r).loudness;
    s.brightness = all.brightness;
    s.what = std::move(what);
    s.against = against + idle_and_lost(*q, r, hands) + pedal_cost(r, on, hands, s.pedal);
    under_the_hand(s);
    shades_.push_back(std::move(s));
  }

  // The same knobs serve on another manual: going there draws nothing.
  void other_manuals(const Registration& r, KeyboardIndex from) {
    for (const KeyboardIndex k : manuals_) {
      if (k == from) continue;
      const Voicing* v = voicing_in(r, k);
      if (v == nullptr) continue;
      std::string what = fmt::format("{} {}", name(k), v->what);
      if (const auto box = box_of(k)) what += ", " + box_words(organ_, box, r.box[static_cast<std::size_t>(*box)]);
      keep(r, {k, k, pedal_}, what, v->against);
      // With the pedal's coupler following.
      if (!pedal_) continue;
      const auto here = unison_coupler(organ_, *pedal_, home(k), wish_.never);
      const auto there = unison_coupler(organ_, *pedal_, home(from), wish_.never);
      if (!here || !there || !r.couplers[static_cast<std::size_t>(*there)]) continue;
      Registration follows = r;
      follows.couplers.reset(static_cast<std::size_t>(*there));
      follows.couplers.set(static_cast<std::size_t>(*here));
      keep(follows, {k, k, pedal_}, what, v->against);
    }
  }

  const Voicing* voicing_in(const Registration& r, KeyboardIndex k) {
    std::vector<StopIndex> drawn;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (r.stops[s] && organ_.stops[s].division == home(k)) drawn.push_back(static_cast<StopIndex>(s));
    }
    for (const std::size_t most : {kept_alone, kept_coupled}) {
      for (const Voicing& v : voices(k, most)) {
        if (v.stops == drawn) return &v;
      }
    }
    return nullptr;
  }

  // Two manuals uncoupled, one played and the other ready: a contrast that moves nothing.
  void prepared() {
    for (const KeyboardIndex k : manuals_) {
      for (const KeyboardIndex other : manuals_) {
        if (other == k) continue;
        for (const Voicing& v : voices(k, kept_coupled)) {
          for (const Voicing& u : voices(other, kept_coupled)) {
            if (v.against > 0.3 || u.against > 0.3) continue;
            for (const float opening : box_rests(organ_, box_of(other) ? box_of(other) : box_of(k))) {
              Candidate c;
              c.drawn = open();
              draw(c.drawn, v);
              draw(c.drawn, u);
              for (const KeyboardIndex m : {k, other}) {
                if (const auto box = box_of(m)) c.drawn.box[static_cast<std::size_t>(*box)] = opening;
              }
              c.on = {k, k, pedal_};
              QuickScales* q = quick(c.on);
              if (q == nullptr) continue;
              c.figures = q->hands(c.drawn);
              c.what = fmt::format("{} {}", name(k), v.what);
              if (const auto box = box_of(k)) c.what += ", " + box_words(organ_, box, opening);
              c.against = v.against;
              const auto ways = with_pedals(c, k);
              keep(ways.front(), c.on, c.what, c.against);
              other_manuals(ways.front(), k);
            }
          }
        }
      }
    }
  }

  void two_manuals(KeyboardIndex right, KeyboardIndex left, Placing placing) {
    const HandsAndFeet on{right, left, pedal_};
    QuickScales* q = quick(on);
    if (q == nullptr) return;
    QuickScales* r_alone = quick({right, {}, {}});
    QuickScales* l_alone = quick({{}, left, {}});
    if (r_alone == nullptr || l_alone == nullptr) return;
    const auto boxes = box_rests(organ_, box_of(right) ? box_of(right) : box_of(left));
    for (const Voicing& tune : voices(right, kept_alone)) {
      if (tune.stops.size() > 3) continue;
      for (const Voicing& under : voices(left, kept_coupled)) {
        if (under.stops.size() > 2) continue;
        for (const float opening : boxes) {
          Candidate c;
          c.drawn = open();
          draw(c.drawn, tune);
          draw(c.drawn, under);
          for (const KeyboardIndex m : {right, left}) {
            if (const auto box = box_of(m)) c.drawn.box[static_cast<std::size_t>(*box)] = opening;
          }
          c.on = on;
          const auto a = r_alone->all(c.drawn);
          const auto b = l_alone->all(c.drawn);
          if (a.loudness.value() <= 0 || b.loudness.value() <= 0) continue;
          c.figures = b;  // the pedal carries the accompaniment
          c.against = tune.against + under.against + two_voices(a, b, placing) + voice_kind(tune, placing);
          const auto box = box_of(right) ? box_of(right) : box_of(left);
          c.what = fmt::format("{} {} against {} {}{}{}", name(right), tune.what, name(left), under.what,
                               box ? ", " : "", box_words(organ_, box, opening));
          for (const Registration& r : with_pedals(c, left)) keep(r, on, c.what, c.against);
        }
      }
    }
  }

  static double two_voices(const QuickScales::Figures& a, const QuickScales::Figures& b, Placing placing) {
    const double above = a.loudness.value() - b.loudness.value();
    if (placing == Placing::solo)
      return solo_off * (std::max(0.0, solo_margin - above) + std::max(0.0, above - solo_most));
    const double unlike =
        std::abs(std::log(std::max(a.brightness.value(), 1e-3) / std::max(b.brightness.value(), 1e-3)));
    return trio_apart * std::max(0.0, std::abs(above) - 1) + (unlike < 0.1 ? trio_alike : 0);
  }

  // A solo is one voice with a character: an imitative stop or a reed before a diapason, that before a flute.
  [[nodiscard]] double voice_kind(const Voicing& tune, Placing placing) const {
    if (placing != Placing::solo) return 0;
    double best = 0.6;
    for (const StopIndex s : tune.stops) {
      const Stop& stop = organ_.stops[static_cast<std::size_t>(s)];
      if (stop.tremulous_solo || stop.family == Family::reed) best = std::min(best, 0.0);
      else if (stop.family == Family::principal) best = std::min(best, 0.3);
    }
    return best;
  }

  // How bright each is for its level, among those within 2 phon.
  void tones() {
    for (Shade& s : shades_) {
      std::vector<double> near;
      for (const Shade& other : shades_) {
        if (std::abs((other.loudness - s.loudness).value()) <= 2) near.push_back(other.brightness.value());
      }
      const auto middle = near.begin() + static_cast<long>(near.size() / 2);
      std::nth_element(near.begin(), middle, near.end());
      s.tone = *middle > 0 && s.brightness.value() > 0 ? std::log(s.brightness.value() / *middle) : 0;
    }
  }

  [[nodiscard]] bool has_own_open(KeyboardIndex k) const {
    return std::any_of(organ_.stops.begin(), organ_.stops.end(), [&](const Stop& s) {
      return s.division == home(k) && !s.out_of_use && chorus_part(s) == ChorusPart::principal8;
    });
  }

  // What is heard under the right hand, by its own division and those coupled to it.
  void under_the_hand(Shade& s) const {
    s.leading = s.on.right == lead_;
    for (std::size_t i = 0; i < organ_.stops.size(); ++i) {
      if (!s.drawn.stops[i]) continue;
      const Stop& stop = organ_.stops[i];
      const auto coupler = unison_coupler(organ_, *s.on.right, stop.division, {});
      if (stop.division != home(*s.on.right) && !(coupler && s.drawn.couplers[static_cast<std::size_t>(*coupler)]))
        continue;
      const ChorusPart p = chorus_part(stop);
      // A manual that has a diapason of its own is not led from on another's.
      const bool own = stop.division == home(*s.on.right);
      s.open8 = s.open8 || (p == ChorusPart::principal8 && (own || !has_own_open(*s.on.right)));
      s.four = s.four || p == ChorusPart::principal4 || p == ChorusPart::flute4;
      s.two = s.two || p == ChorusPart::two || p == ChorusPart::mixture;
    }
  }

  std::vector<Shade> sorted() {
    tones();
    std::stable_sort(shades_.begin(), shades_.end(), [](const Shade& a, const Shade& b) {
      return std::pair(a.loudness, a.against) < std::pair(b.loudness, b.against);
    });
    return std::move(shades_);
  }

  const Organ& organ_;
  Scales& scales_;
  const VocabularyWish& wish_;
  const Work& work_;
  std::optional<KeyboardIndex> lead_;
  std::optional<KeyboardIndex> pedal_;
  std::vector<KeyboardIndex> manuals_;
  Registration forbidden_;
  std::vector<std::pair<HandsAndFeet, std::unique_ptr<QuickScales>>> quick_;
  std::map<std::pair<KeyboardIndex, std::size_t>, std::vector<Voicing>> voices_;
  std::vector<Voicing> pedals_;
  std::set<std::tuple<std::string, unsigned long long, BoxPositions, std::optional<KeyboardIndex>,
                      std::optional<KeyboardIndex>>>
      seen_;
  std::vector<Shade> shades_;
};

}  // namespace

Result<std::vector<Shade>> vocabulary(const Organ& organ, Scales& scales, const VocabularyWish& wish, Placing placing,
                                      const Work& work) {
  Gatherer g(organ, scales, wish, work);
  auto out = placing == Placing::together ? g.together() : g.apart(placing);
  if (work.stop.stop_requested()) return fail("Stopped before the plan was made.");
  if (!out.empty()) return out;
  return placing == Placing::together ? fail("No manual of this organ has a stop in use that could lead.")
                                      : fail("This organ has no second manual with stops in use for the other hand.");
}

HandsAndFeet usual_hands(const Organ& organ, const Registration& drawn, bool feet) {
  HandsAndFeet on{leading_manual(organ), leading_manual(organ), std::nullopt};
  const auto pedals = pedalboard(organ);
  if (!feet || !pedals) return on;
  KeysDown down;
  down.keys[static_cast<std::size_t>(*pedals)] = organ.keyboards[static_cast<std::size_t>(*pedals)].keys;
  Sounding sounding(organ);
  PipeSet pipes;
  sounding.pipes(drawn, down, pipes);
  if (pipes.size() > 0) on.feet = pedals;
  return on;
}

Shade shade_of(const Organ& organ, Scales& scales, const Registration& drawn, const HandsAndFeet& on) {
  Shade s;
  s.drawn = drawn;
  for (std::size_t b = organ.boxes.size(); b < max_boxes; ++b) s.drawn.box[b] = 1;  // of boxes there are none of
  s.on = on;
  s.loudness = scales.all(drawn, on);
  s.pedal = on.feet ? scales.feet(drawn, on) : Phons{0};
  for (const Knob k : knobs(organ, drawn)) s.what += (s.what.empty() ? "" : ", ") + full_name(organ, k);
  return s;
}

}  // namespace calcant
