#include "engine/plan/plan.hpp"

namespace calcant {

std::string full_name(const Organ& organ, Knob k) {
  const auto i = static_cast<std::size_t>(k.index);
  switch (k.kind) {
    case Knob::Kind::stop: return full_name(organ.stops[i]);
    case Knob::Kind::coupler: return organ.couplers[i].name;
    case Knob::Kind::accessory: break;
  }
  return organ.accessories[i].name;
}

KnobPlace place(const Organ& organ, Knob k) {
  const auto i = static_cast<std::size_t>(k.index);
  switch (k.kind) {
    case Knob::Kind::stop: return organ.stops[i].place;
    case Knob::Kind::coupler: return organ.couplers[i].place;
    case Knob::Kind::accessory: break;
  }
  return organ.accessories[i].place;
}

bool is_drawn(const Registration& r, Knob k) {
  const auto i = static_cast<std::size_t>(k.index);
  switch (k.kind) {
    case Knob::Kind::stop: return r.stops[i];
    case Knob::Kind::coupler: return r.couplers[i];
    case Knob::Kind::accessory: break;
  }
  return r.accessories[i];
}

void set_drawn(Registration& r, Knob k, bool drawn) {
  const auto i = static_cast<std::size_t>(k.index);
  switch (k.kind) {
    case Knob::Kind::stop: r.stops[i] = drawn; return;
    case Knob::Kind::coupler: r.couplers[i] = drawn; return;
    case Knob::Kind::accessory: r.accessories[i] = drawn; return;
  }
}

std::vector<Knob> newly_drawn(const Organ& organ, const Registration& from, const Registration& to) {
  std::vector<Knob> out;
  const auto add = [&](Knob::Kind kind, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) {
      const Knob k{kind, static_cast<int>(i)};
      if (is_drawn(to, k) && !is_drawn(from, k)) out.push_back(k);
    }
  };
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      const Knob k{Knob::Kind::stop, static_cast<int>(s)};
      if (organ.stops[s].division == static_cast<DivisionIndex>(d) && is_drawn(to, k) && !is_drawn(from, k)) {
        out.push_back(k);
      }
    }
  }
  add(Knob::Kind::coupler, organ.couplers.size());
  add(Knob::Kind::accessory, organ.accessories.size());
  return out;
}

std::vector<Knob> knobs(const Organ& organ, const Registration& r) { return newly_drawn(organ, Registration{}, r); }

std::string_view word(Mover m) {
  switch (m) {
    case Mover::left_hand: return "left hand";
    case Mover::right_hand: return "right hand";
    case Mover::both_hands: return "both hands";
    case Mover::foot: return "foot";
    case Mover::helper: return "helper";
    case Mover::nobody: break;
  }
  return "nobody";
}

std::string_view word(ItemKind k) {
  switch (k) {
    case ItemKind::hymn: return "hymn";
    case ItemKind::psalm: return "psalm";
    case ItemKind::piece: break;
  }
  return "piece";
}

Registration after(const Registration& before, const Cue& cue) {
  Registration r = before;
  for (const Knob k : cue.draw) set_drawn(r, k, true);
  for (const Knob k : cue.put_in) set_drawn(r, k, false);
  for (const BoxSetting b : cue.boxes) r.box[static_cast<std::size_t>(b.box)] = b.opening;
  return r;
}

Registration Plan::state(int item, int section) const {
  Registration r = initial;
  for (const Cue& c : cues) {
    if (c.item > item || (c.item == item && c.section > section)) break;
    r = after(r, c);
  }
  return r;
}

}  // namespace calcant
