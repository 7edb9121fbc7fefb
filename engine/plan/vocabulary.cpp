#include "engine/plan/vocabulary.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <numeric>
#include <tuple>

#include "engine/plan/tones.hpp"
#include "engine/plan/two_voices.hpp"
#include "engine/plan/weighed_shades.hpp"

namespace calcant {
namespace {

// In the currency of the search (docs/design/plan.md); figures ours.
constexpr double cell_phon = 0.75;
constexpr std::size_t kept_in_cell = 2;
constexpr std::size_t kept_alone = 48;    // voicings of a manual
constexpr std::size_t kept_coupled = 20;  // of a manual coupled to another
constexpr int become_kept = 12;           // of what a copy asks for, for each way of hands, boxes and couplers
constexpr double ready_against = 0.3;     // a manual made ready beside the one that is played
constexpr double led_without_eight = 6;   // R1: hands on a manual where nothing sounds at 8 ft, and something could

struct Candidate {
  Registration drawn;  // hands only
  HandsAndFeet on;
  QuickScales::Figures figures;
  double against = 0;
  std::string what;
};

class Gatherer {
 public:
  Gatherer(const Organ& organ, Scales& scales, const VocabularyWish& wish, Placing placing, const Work& work)
      : organ_(organ),
        wish_(wish),
        placing_(placing),
        work_(work),
        shades_(organ, scales, wish, placing),
        pedal_(shades_.pedal()) {
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      if (!organ.keyboards[k].pedal) manuals_.push_back(static_cast<KeyboardIndex>(k));
    }
  }

  std::vector<Shade> together() {
    for (const KeyboardIndex k : manuals_) {
      if (work_.stop.stop_requested()) return {};
      auto candidates = on_one_manual(k);
      thin(candidates, kept_in_cell,
           [&](const Candidate& c) { return std::pair(cell_of(c.figures, cell_phon), crowned(organ_, c.drawn)); });
      for (const Candidate& c : candidates) {
        for (const Registration& r : with_pedals(c)) {
          keep(r, c.on, c.what, c.against);
          other_manuals(r, k);
        }
      }
    }
    prepared();
    become();
    return sorted();
  }

  std::vector<Shade> apart() {
    for (const KeyboardIndex right : manuals_) {
      for (const KeyboardIndex left : manuals_) {
        if (right != left) two_manuals(right, left);
      }
    }
    become();
    return sorted();
  }

 private:
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

  // What is against hands together on a manual, besides its voicing.
  [[nodiscard]] double led(const Registration& r, KeyboardIndex k) const {
    bool could = false;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      const Stop& stop = organ_.stops[s];
      const ChorusPart part = chorus_part(stop);
      if (part != ChorusPart::principal8 && part != ChorusPart::flute8 && part != ChorusPart::string8 &&
          part != ChorusPart::reed8)
        continue;
      const auto coupler = unison_coupler(organ_, k, stop.division, wish_.never);
      const bool here = stop.division == home(k);
      if (r.stops[s] && (here || (coupler && r.couplers[static_cast<std::size_t>(*coupler)]))) return 0;
      could =
          could || (here && !stop.out_of_use &&
                    std::ranges::find(wish_.never, Knob{Knob::Kind::stop, static_cast<int>(s)}) == wish_.never.end());
    }
    return could ? led_without_eight : 0;
  }

  QuickScales* quick(const HandsAndFeet& on) { return shades_.heard(on); }
  std::vector<Registration> with_pedals(const Candidate& c) {
    return shades_.with_pedals(c.drawn, c.on, c.figures.loudness);
  }
  void keep(const Registration& r, const HandsAndFeet& on, std::string what, double against) {
    shades_.keep(r, on, std::move(what), against);
  }

  std::vector<Candidate> on_one_manual(KeyboardIndex k) {
    std::vector<Candidate> out;
    const HandsAndFeet on{k, k, pedal_};
    QuickScales* q = quick(on);
    if (q == nullptr) return out;
    const auto add = [&](const Registration& r, double against, std::string what) {
      out.push_back({r, on, q->hands(r), against + led(r, k), std::move(what)});
      if (out.back().figures.loudness.value() <= 0) out.pop_back();
    };
    for (const Voicing& v : shades_.voicings_of(k, kept_alone)) {
      for (const float opening : box_rests(organ_, box_of(k))) {
        Registration r = open();
        draw(r, v);
        std::string what = fmt::format("{} {}", name(k), v.what);
        if (const auto box = box_of(k)) {
          r.box[static_cast<std::size_t>(*box)] = opening;
          what += ", " + box_words(box, opening);
        }
        add(r, v.against, what);
        for (const KeyboardIndex other : manuals_) {
          const auto coupler = other == k ? std::nullopt : unison_coupler(organ_, k, home(other), wish_.never);
          if (!coupler) continue;
          for (const Voicing& u : shades_.voicings_of(other, kept_coupled)) {
            for (const float shutters :
                 box_of(other) == box_of(k) ? std::vector<float>{opening} : box_rests(organ_, box_of(other))) {
              Registration both = r;
              draw(both, u);
              both.couplers.set(static_cast<std::size_t>(*coupler));
              std::string words = fmt::format("{} with {} {} coupled", what, name(other), u.what);
              if (const auto box = box_of(other); box && box != box_of(k)) {
                both.box[static_cast<std::size_t>(*box)] = shutters;
                words += ", " + box_words(box, shutters);
              }
              add(both, v.against + u.against + against_coupling(organ_, v, u), std::move(words));
            }
          }
        }
      }
    }
    return out;
  }

  // The same knobs serve on another manual: going there draws nothing.
  void other_manuals(const Registration& r, KeyboardIndex from) {
    for (const KeyboardIndex k : manuals_) {
      if (k == from) continue;
      const Voicing* v = voicing_in(r, k);
      if (v == nullptr) continue;
      std::string what = fmt::format("{} {}", name(k), v->what);
      if (const auto box = box_of(k)) what += ", " + box_words(box, r.box[static_cast<std::size_t>(*box)]);
      keep(r, {k, k, pedal_}, what, v->against + led(r, k));
      // With the pedal's coupler following.
      if (!pedal_) continue;
      const auto here = unison_coupler(organ_, *pedal_, home(k), wish_.never);
      const auto there = unison_coupler(organ_, *pedal_, home(from), wish_.never);
      if (!here || !there || !r.couplers[static_cast<std::size_t>(*there)]) continue;
      Registration follows = r;
      follows.couplers.reset(static_cast<std::size_t>(*there));
      follows.couplers.set(static_cast<std::size_t>(*here));
      keep(follows, {k, k, pedal_}, what, v->against + led(r, k));
    }
  }

  const Voicing* voicing_in(const Registration& r, KeyboardIndex k) {
    std::vector<StopIndex> drawn;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (r.stops[s] && organ_.stops[s].division == home(k)) drawn.push_back(static_cast<StopIndex>(s));
    }
    for (const std::size_t most : {kept_alone, kept_coupled}) {
      for (const Voicing& v : shades_.voicings_of(k, most)) {
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
        for (const Voicing& v : shades_.voicings_of(k, kept_coupled)) {
          for (const Voicing& u : shades_.voicings_of(other, kept_coupled)) {
            if (v.against > ready_against || u.against > ready_against) continue;
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
              if (const auto box = box_of(k)) c.what += ", " + box_words(box, opening);
              c.against = v.against + led(c.drawn, k);
              // The pedal that carries these hands best, and the one that serves whichever manual is played.
              const auto ways = with_pedals(c);
              for (std::size_t w = 0; w < ways.size(); ++w) {
                if (w > 0 && ways[w].couplers != c.drawn.couplers) continue;
                keep(ways[w], c.on, c.what, c.against);
                other_manuals(ways[w], k);
              }
            }
          }
        }
      }
    }
  }

  void two_manuals(KeyboardIndex right, KeyboardIndex left) {
    const HandsAndFeet on{right, left, pedal_};
    QuickScales* r_alone = quick({right, {}, {}});
    QuickScales* l_alone = quick({{}, left, {}});
    if (quick(on) == nullptr || r_alone == nullptr || l_alone == nullptr) return;
    const auto box = box_of(right) ? box_of(right) : box_of(left);
    for (const Voicing& tune : shades_.voicings_of(right, kept_alone)) {
      if (tune.stops.size() > most_stops(placing_, false)) continue;
      for (const Voicing& under : shades_.voicings_of(left, kept_coupled)) {
        if (under.stops.size() > most_stops(placing_, true)) continue;
        for (const float opening : box_rests(organ_, box)) {
          Candidate c;
          c.drawn = open();
          draw(c.drawn, tune);
          draw(c.drawn, under);
          for (const KeyboardIndex m : {right, left}) {
            if (const auto b = box_of(m)) c.drawn.box[static_cast<std::size_t>(*b)] = opening;
          }
          c.on = on;
          const auto a = r_alone->all(c.drawn);
          const auto b = l_alone->all(c.drawn);
          if (a.loudness.value() <= 0 || b.loudness.value() <= 0) continue;
          c.figures = b;  // the pedal carries the accompaniment
          c.against = tune.against + under.against + against_voices(organ_, placing_, tune, under, a, b);
          c.what = fmt::format("{} {} against {} {}{}{}", name(right), tune.what, name(left), under.what,
                               box ? ", " : "", box_words(box, opening));
          for (const Registration& r : with_pedals(c)) {
            Shade* kept = shades_.keep(r, on, c.what, c.against);
            if (kept == nullptr) continue;
            kept->solo_over = (a.loudness - b.loudness).value();
            kept->solo_voice = is_solo_voice(organ_, tune);
          }
        }
      }
    }
  }

  // What the copy asks for, or a composition pedal does, done to what has the least against it, by hands, boxes and couplers.
  void become() {
    for (const VocabularyWish::Becoming& b : wish_.become) {
      const std::vector<Shade>& all = shades_.shades();
      std::vector<std::size_t> order(all.size());
      std::iota(order.begin(), order.end(), std::size_t{0});
      std::stable_sort(order.begin(), order.end(),
                       [&](std::size_t x, std::size_t y) { return all[x].against < all[y].against; });
      Kept kept;
      for (const std::size_t i : order) {
        const Shade s = all[i];
        if ((b.right && b.right != s.on.right) || (b.left && b.left != s.on.left)) continue;
        Registration r = b.how(s.drawn);
        for (const Knob k : wish_.must) set_drawn(r, k, true);
        if (r == s.drawn) continue;
        become(b, r, s.on, kept);
        // A foot may press it as the hands come together after a solo, on what that leaves drawn.
        if (placing_ != Placing::solo || b.right || b.left) continue;
        for (const KeyboardIndex k : manuals_) become(b, r, {k, k, s.on.feet}, kept);
      }
    }
  }
  using Kept = std::map<std::tuple<KeyboardIndex, KeyboardIndex, BoxPositions, unsigned long long>, int>;
  void become(const VocabularyWish::Becoming& b, const Registration& r, const HandsAndFeet& on, Kept& kept) {
    if (shades_.has(r, on)) return;
    if (++kept[{*on.right, *on.left, r.box, r.couplers.to_ullong()}] > become_kept) return;
    const double excused = shades_.fit() != nullptr ? shades_.fit()->against_asked(r, on, b.said) : 0;
    if (const auto against = against_hands(r, on, b.named)) keep(r, on, described(organ_, r, on), *against - excused);
  }

  [[nodiscard]] Voicing voicing_of(const Registration& r, KeyboardIndex k) const {
    Voicing v;
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (r.stops[s] && organ_.stops[s].division == home(k)) v.stops.push_back(static_cast<StopIndex>(s));
    }
    return v;
  }

  // What practice has against the hands' manuals; not where the copy names the stops.
  std::optional<double> against_hands(const Registration& r, const HandsAndFeet& on,
                                      const std::vector<DivisionIndex>& named) {
    const auto by_copy = [&](KeyboardIndex k) { return std::find(named.begin(), named.end(), home(k)) != named.end(); };
    double cost = 0;
    for (const KeyboardIndex k : manuals_) {
      const auto coupler = k == *on.right ? std::nullopt : unison_coupler(organ_, *on.right, home(k), wish_.never);
      const bool coupled = coupler && r.couplers[static_cast<std::size_t>(*coupler)];
      if ((k != on.right && k != on.left && !coupled) || by_copy(k)) continue;
      const Voicing v = voicing_of(r, k);
      const auto own = against_drawing(organ_, home(k), v.stops);
      if (!own) return std::nullopt;
      cost += *own;
      if (coupled && on.right == on.left && !by_copy(*on.right))
        cost += against_coupling(organ_, voicing_of(r, *on.right), v);
    }
    if (on.right == on.left || by_copy(*on.right)) return cost;
    QuickScales* right = quick({on.right, {}, {}});
    QuickScales* left = quick({{}, on.left, {}});
    if (right == nullptr || left == nullptr) return std::nullopt;
    return cost + against_voices(organ_, placing_, voicing_of(r, *on.right), voicing_of(r, *on.left), right->all(r),
                                 left->all(r));
  }

  std::vector<Shade> sorted() {
    std::vector<Shade>& all = shades_.shades();
    set_tones(all);
    std::stable_sort(all.begin(), all.end(), [](const Shade& a, const Shade& b) {
      return std::pair(a.loudness, a.against) < std::pair(b.loudness, b.against);
    });
    return std::move(all);
  }

  const Organ& organ_;
  const VocabularyWish& wish_;
  Placing placing_;
  const Work& work_;
  WeighedShades shades_;
  std::optional<KeyboardIndex> pedal_;
  std::vector<KeyboardIndex> manuals_;
};

}  // namespace

Result<std::vector<Shade>> vocabulary(const Organ& organ, Scales& scales, const VocabularyWish& wish, Placing placing,
                                      const Work& work) {
  Gatherer g(organ, scales, wish, placing, work);
  auto out = placing == Placing::together ? g.together() : g.apart();
  if (work.stop.stop_requested()) return fail("Stopped before the plan was made.");
  if (!out.empty()) return out;
  return placing == Placing::together ? fail("No manual of this organ has a stop in use that could lead.")
                                      : fail("This organ has no second manual with stops in use for the other hand.");
}

}  // namespace calcant
