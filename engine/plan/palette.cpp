#include "engine/plan/palette.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "engine/registration/rules.hpp"

namespace calcant {
namespace {

constexpr double pedal_left_behind = 0.8;
constexpr double pedal_margin_phon = 2;  // R16; start value, no source for the number

using Stops = std::vector<StopIndex>;

// The stops of one division by what they are for.
struct Chorus {
  Stops flute8, string8, principal8, flute4, principal4, twelfth, two, mixture, reed8, sixteen;
};

bool barred(const PaletteWish& wish, Knob k) {
  return std::find(wish.never.begin(), wish.never.end(), k) != wish.never.end();
}

Chorus chorus_of(const Organ& organ, DivisionIndex division, const PaletteWish& wish) {
  Chorus c;
  for (std::size_t i = 0; i < organ.stops.size(); ++i) {
    const Stop& s = organ.stops[i];
    const auto index = static_cast<StopIndex>(i);
    if (s.division != division || s.out_of_use || s.celeste || barred(wish, {Knob::Kind::stop, index})) continue;
    if (s.mixture_ranks > 0 || s.feet.empty()) {
      c.mixture.push_back(index);
      continue;
    }
    if (s.feet.size() > 1) continue;
    const bool flutish = s.family == Family::flute;
    switch (s.feet.front().semitones()) {
      case -12:
        if (s.family != Family::reed) c.sixteen.push_back(index);
        break;
      case 0:
        (s.family == Family::reed        ? c.reed8
         : s.family == Family::principal ? c.principal8
         : flutish                       ? c.flute8
                                         : c.string8)
            .push_back(index);
        break;
      case 12:
        if (s.family != Family::reed)
          (flutish || s.family == Family::string ? c.flute4 : c.principal4).push_back(index);
        break;
      case 19: c.twelfth.push_back(index); break;
      case 24: c.two.push_back(index); break;
      default: break;
    }
  }
  return c;
}

struct Step {
  Stops stops;
  std::string what;  // "8 and 4"
};

void add(Stops& to, const Stops& from, std::size_t count = 1) {
  for (std::size_t i = 0; i < std::min(count, from.size()); ++i) {
    if (std::find(to.begin(), to.end(), from[i]) == to.end()) to.push_back(from[i]);
  }
}

// The ladder of one division, each step a sensible registration of its own.
std::vector<Step> ladder(const Chorus& c) {
  std::vector<Step> steps;
  const auto step = [&](Stops s, std::string what) {
    if (s.empty()) return;
    std::sort(s.begin(), s.end());
    const bool known = std::any_of(steps.begin(), steps.end(), [&](const Step& t) { return t.stops == s; });
    if (!known) steps.push_back({std::move(s), std::move(what)});
  };
  const Stops& soft8 = !c.flute8.empty() ? c.flute8 : !c.string8.empty() ? c.string8 : c.principal8;
  Stops s;
  if (!c.string8.empty()) step({c.string8.front()}, "soft 8");
  add(s, soft8);
  step(s, "soft 8");
  if (!s.empty() && !c.flute4.empty()) {
    add(s, c.flute4);
    step(s, "flutes 8 and 4");
  }
  Stops p;
  add(p, c.principal8);
  step(p, "8");
  if (!p.empty()) {
    Stops silvery = p;
    add(silvery, c.flute8);
    add(silvery, c.flute4);
    step(silvery, "8 with the 4 ft flute");
  }
  const Stops& four = !c.principal4.empty() ? c.principal4 : c.flute4;
  Stops chorus = !p.empty() ? p : soft8.empty() ? Stops{} : Stops{soft8.front()};
  if (chorus.empty()) return steps;
  add(chorus, four);
  step(chorus, "8 and 4");
  add(chorus, c.flute8);
  step(chorus, "8s and 4");
  if (!four.empty() && !c.two.empty()) {
    add(chorus, c.two);
    step(chorus, "8, 4 and 2");
    if (!c.twelfth.empty()) {
      add(chorus, c.twelfth);
      step(chorus, "8, 4, 2 2/3 and 2");
    }
  }
  if (!four.empty() && !c.mixture.empty()) {
    add(chorus, c.mixture);
    step(chorus, "chorus to the mixture");
  }
  if (!c.reed8.empty()) {
    add(chorus, c.reed8, 2);
    step(chorus, "chorus with the reed");
  }
  if (!c.sixteen.empty()) {
    add(chorus, c.sixteen);
    step(chorus, "everything with the 16");
  }
  return steps;
}

// The unison coupler by which a keyboard plays another division.
std::optional<CouplerIndex> unison_coupler(const Organ& organ, KeyboardIndex from, DivisionIndex to,
                                           const PaletteWish& wish) {
  for (std::size_t i = 0; i < organ.couplers.size(); ++i) {
    const Coupler& c = organ.couplers[i];
    if (c.from == from && c.to == to && c.semitones == 0 && !c.unison_off &&
        !barred(wish, {Knob::Kind::coupler, static_cast<CouplerIndex>(i)})) {
      return static_cast<CouplerIndex>(i);
    }
  }
  return std::nullopt;
}

void draw(Registration& r, const Stops& stops) {
  for (const StopIndex s : stops) r.stops.set(static_cast<std::size_t>(s));
}

// Where a box can be left: shut and open, and for a balanced pedal half way.
std::vector<std::pair<float, std::string>> rests(const Organ& organ, std::optional<BoxIndex> box) {
  if (!box) return {{1.0F, ""}};
  const SwellBox& b = organ.boxes[static_cast<std::size_t>(*box)];
  if (b.pedal == SwellPedal::lever && !b.hitches.empty()) {
    std::vector<std::pair<float, std::string>> out;
    for (const double h : b.hitches) {
      out.emplace_back(static_cast<float>(h), h <= 0 ? "box shut" : h >= 1 ? "box open" : "box on the notch");
    }
    return out;
  }
  return {{0.0F, "box shut"}, {0.5F, "box half open"}, {1.0F, "box open"}};
}

// Rules of practice as a cost: what published practice is plainly against weighs most.
double cost_of(const std::vector<Advice>& advice) {
  double cost = 0;
  for (const Advice& a : advice) {
    cost += a.weight == Weight::against ? 3.0 : a.weight == Weight::warning ? 1.0 : 0.1;
  }
  return cost;
}

class Painter {
 public:
  Painter(const Organ& organ, Scales& scales, const PaletteWish& wish)
      : organ_(organ), scales_(scales), wish_(wish), lead_(leading_manual(organ)), pedal_(pedalboard(organ)) {
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      if (!organ.keyboards[k].pedal) manuals_.push_back(static_cast<KeyboardIndex>(k));
    }
    if (pedal_) pedal_steps();
  }

  std::vector<Shade> choruses() {
    if (!lead_) return {};
    const auto great = ladder(chorus_of(organ_, home(*lead_), wish_));
    Registration open;
    open.box.fill(1.0F);
    for (const Step& g : great) {
      Registration r = open;
      draw(r, g.stops);
      finish(r, *lead_, fmt::format("{} {}", name(*lead_), g.what));
    }
    for (const KeyboardIndex other : manuals_) {
      if (other == *lead_) continue;
      auto upper = ladder(chorus_of(organ_, home(other), wish_));
      // Coupled, four of its registrations are enough of a choice: what lies between is heard in the lower manual.
      std::erase_if(upper, [](const Step& u) {
        return u.what != "soft 8" && u.what != "flutes 8 and 4" && u.what != "8 and 4" &&
               u.what != "chorus to the mixture" && u.what != "chorus with the reed";
      });
      const auto box = organ_.divisions[static_cast<std::size_t>(home(other))].box;
      const auto coupler = unison_coupler(organ_, *lead_, home(other), wish_);
      for (const Step& u : upper) {
        for (const auto& [opening, words] : rests(organ_, box)) {
          Registration r = open;
          draw(r, u.stops);
          if (box) r.box[static_cast<std::size_t>(*box)] = opening;
          const std::string tail = words.empty() ? "" : ", " + words;
          if (coupler) r.couplers.set(static_cast<std::size_t>(*coupler));
          for (const Step& g : great) {
            Registration both = r;
            draw(both, g.stops);
            // The same knobs serve on either manual: going to the other one draws nothing.
            const std::string up = fmt::format("{} {}{}", name(other), u.what, tail);
            const Registration from_above = finish(both, other, up);
            if (!coupler) continue;
            const std::string down =
                fmt::format("{} {} with {} {} coupled{}", name(*lead_), g.what, name(other), u.what, tail);
            const Registration from_below = finish(both, *lead_, down);
            keep(from_below, hands_on(other), up);
            keep(from_above, hands_on(*lead_), down);
          }
        }
      }
    }
    return sorted();
  }

  std::vector<Shade> solos() {
    for (const KeyboardIndex solo : manuals_) {
      for (const KeyboardIndex under : manuals_) {
        if (solo == under) continue;
        const Chorus s = chorus_of(organ_, home(solo), wish_);
        const Chorus u = chorus_of(organ_, home(under), wish_);
        std::vector<Step> voices;
        for (const StopIndex r : s.reed8) voices.push_back({{r}, full_name(organ_.stops[static_cast<std::size_t>(r)])});
        if (voices.empty() && !s.principal8.empty()) voices.push_back({{s.principal8.front()}, "8"});
        Stops soft;
        add(soft, !u.flute8.empty() ? u.flute8 : !u.string8.empty() ? u.string8 : u.principal8);
        if (soft.empty()) continue;
        for (const Step& v : voices) {
          Registration r;
          r.box.fill(1.0F);
          draw(r, v.stops);
          draw(r, soft);
          OnKeyboards on{solo, under, {}};
          paint(r, on, under, fmt::format("tune on {} {}, harmony on {}", name(solo), v.what, name(under)));
        }
      }
    }
    return sorted();
  }

 private:
  [[nodiscard]] DivisionIndex home(KeyboardIndex k) const {
    return organ_.keyboards[static_cast<std::size_t>(k)].division;
  }
  [[nodiscard]] const std::string& name(KeyboardIndex k) const {
    return organ_.keyboards[static_cast<std::size_t>(k)].name;
  }

  void pedal_steps() {
    const Chorus c = chorus_of(organ_, home(*pedal_), wish_);
    OnKeyboards on;
    on.feet = pedal_;
    const auto level = [&](StopIndex s) {
      Registration r;
      r.box.fill(1.0F);
      draw(r, {s});
      return scales_.feet(r, on).value();
    };
    Stops sixteens = c.sixteen;
    Stops eights;
    for (const Stops* from : {&c.flute8, &c.principal8, &c.string8})
      eights.insert(eights.end(), from->begin(), from->end());
    std::sort(sixteens.begin(), sixteens.end(), [&](auto a, auto b) { return level(a) < level(b); });
    Stops s;
    if (!sixteens.empty()) s.push_back(sixteens.front());
    if (!s.empty()) pedals_.push_back(s);
    for (const StopIndex e : eights) {
      s.push_back(e);
      pedals_.push_back(s);
    }
    for (std::size_t i = 1; i < sixteens.size(); ++i) {
      s.push_back(sixteens[i]);
      pedals_.push_back(s);
    }
  }

  // Adds the pedal that suits, weighs it and keeps it.
  Registration finish(const Registration& r, KeyboardIndex hands, std::string what) {
    return paint(r, {hands, hands, {}}, hands, std::move(what));
  }
  [[nodiscard]] OnKeyboards hands_on(KeyboardIndex k) const { return {k, k, wish_.feet ? pedal_ : std::nullopt}; }

  Registration paint(Registration r, OnKeyboards on, KeyboardIndex bass_from, std::string what) {
    if (wish_.feet && pedal_) {
      on.feet = pedal_;
      const Registration without = r;
      if (const auto c = unison_coupler(organ_, *pedal_, home(bass_from), wish_))
        r.couplers.set(static_cast<std::size_t>(*c));
      const double most = scales_.hands(r, on).value() + pedal_margin_phon;
      // The strongest pedal that does not stand above the hands; where the coupler alone is too much, without it.
      const Stops* chosen = nullptr;
      for (const Registration& base : {r, without}) {
        for (const Stops& p : pedals_) {
          Registration with = base;
          draw(with, p);
          if (scales_.feet(with, on).value() <= most) chosen = &p;
        }
        if (chosen != nullptr || base == without) {
          r = base;
          break;
        }
      }
      if (chosen == nullptr && !pedals_.empty()) chosen = &pedals_.front();
      if (chosen != nullptr) draw(r, *chosen);
    }
    keep(r, on, std::move(what));
    return r;
  }

  void keep(const Registration& r, const OnKeyboards& on, std::string what) {
    const bool known =
        std::any_of(shades_.begin(), shades_.end(), [&](const Shade& s) { return s.drawn == r && s.on == on; });
    if (known) return;
    Shade s{r, on, scales_.all(r, on), on.feet ? scales_.feet(r, on) : Phons{0}, 0, std::move(what)};
    Occasion occasion;
    occasion.on = *on.right;
    occasion.use = *on.right == *on.left ? Use::hymn : Use::solo;
    if (on.feet) {
      occasion.manual = scales_.hands(r, on);
      occasion.pedal = s.pedal;
    }
    s.against = cost_of(advise(organ_, r, occasion)) + (pedal_follows(r, on) ? 0 : pedal_left_behind);
    shades_.push_back(std::move(s));
  }

  // R17: the pedal's coupler is that of the manual the hands are on, where there is one.
  [[nodiscard]] bool pedal_follows(const Registration& r, const OnKeyboards& on) const {
    if (!on.feet) return true;
    const auto c = unison_coupler(organ_, *on.feet, home(*on.right), wish_);
    return !c || r.couplers[static_cast<std::size_t>(*c)];
  }

  std::vector<Shade> sorted() {
    std::stable_sort(shades_.begin(), shades_.end(),
                     [](const Shade& a, const Shade& b) { return a.loudness < b.loudness; });
    return std::move(shades_);
  }

  const Organ& organ_;
  Scales& scales_;
  const PaletteWish& wish_;
  std::optional<KeyboardIndex> lead_;
  std::optional<KeyboardIndex> pedal_;
  std::vector<KeyboardIndex> manuals_;
  std::vector<Stops> pedals_;
  std::vector<Shade> shades_;
};

}  // namespace

std::optional<KeyboardIndex> pedalboard(const Organ& organ) {
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) return static_cast<KeyboardIndex>(k);
  }
  return std::nullopt;
}

std::optional<KeyboardIndex> leading_manual(const Organ& organ) {
  std::optional<KeyboardIndex> any;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].pedal) continue;
    const Chorus c = chorus_of(organ, organ.keyboards[k].division, {});
    if (!c.principal8.empty()) return static_cast<KeyboardIndex>(k);
    if (!any && !(c.flute8.empty() && c.string8.empty())) any = static_cast<KeyboardIndex>(k);
  }
  return any;
}

std::vector<Shade> palette(const Organ& organ, Scales& scales, const PaletteWish& wish) {
  return Painter(organ, scales, wish).choruses();
}

std::vector<Shade> solo_palette(const Organ& organ, Scales& scales, const PaletteWish& wish) {
  return Painter(organ, scales, wish).solos();
}

}  // namespace calcant
