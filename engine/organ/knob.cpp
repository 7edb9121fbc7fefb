#include "engine/organ/knob.hpp"

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

const std::string& id(const Organ& organ, Knob k) {
  const auto i = static_cast<std::size_t>(k.index);
  switch (k.kind) {
    case Knob::Kind::stop: return organ.stops[i].id;
    case Knob::Kind::coupler: return organ.couplers[i].id;
    case Knob::Kind::accessory: break;
  }
  return organ.accessories[i].id;
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

}  // namespace calcant
