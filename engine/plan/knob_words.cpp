#include "engine/plan/knob_words.hpp"

namespace calcant {
namespace {

constexpr std::size_t bits = 64;

void set(KnobWords::Word& w, std::size_t i) { w[i / bits] |= std::uint64_t{1} << (i % bits); }

// Written out: without a processor's own instruction the library's way is a call and a table.
int ones(std::uint64_t v) {
  v -= (v >> 1) & 0x5555555555555555U;
  v = (v & 0x3333333333333333U) + ((v >> 2) & 0x3333333333333333U);
  v = (v + (v >> 4)) & 0x0F0F0F0F0F0F0F0FU;
  return static_cast<int>((v * 0x0101010101010101U) >> 56);
}

}  // namespace

KnobWords::KnobWords(const Organ& organ)
    : words_((organ.stops.size() + organ.couplers.size() + max_accessories + bits - 1) / bits),
      couplers_at_(organ.stops.size()),
      accessories_at_(organ.stops.size() + organ.couplers.size()) {
  const auto place = [this](std::size_t at, Jamb jamb) {
    if (jamb == Jamb::left) set(left_, at);
    if (jamb == Jamb::right) set(right_, at);
  };
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    set(stops_, s);
    place(s, organ.stops[s].place.jamb);
  }
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) place(couplers_at_ + c, organ.couplers[c].place.jamb);
  for (std::size_t a = 0; a < max_accessories; ++a) {
    set(accessories_, accessories_at_ + a);
    if (a < organ.accessories.size()) place(accessories_at_ + a, organ.accessories[a].place.jamb);
  }
}

KnobWords::Word KnobWords::drawn(const Registration& r) const {
  Word w{};
  for (std::size_t s = 0; s < couplers_at_; ++s) {
    if (r.stops[s]) set(w, s);
  }
  for (std::size_t c = 0; c < accessories_at_ - couplers_at_; ++c) {
    if (r.couplers[c]) set(w, couplers_at_ + c);
  }
  for (std::size_t a = 0; a < max_accessories; ++a) {
    if (r.accessories[a]) set(w, accessories_at_ + a);
  }
  return w;
}

KnobWords::Word KnobWords::heard(const Heeded& h) const {
  Registration r;
  r.stops = h.stops;
  r.couplers = h.couplers;
  Word w = drawn(r);
  for (std::size_t i = 0; i < words_; ++i) w[i] |= accessories_[i];
  return w;
}

int KnobWords::moved(const Word& from, const Word& to) const {
  int n = 0;
  for (std::size_t i = 0; i < words_; ++i) n += ones(from[i] ^ to[i]);
  return n;
}

KnobCount KnobWords::by_side(const Word& from, const Word& to) const {
  Word d{};
  for (std::size_t i = 0; i < words_; ++i) d[i] = from[i] ^ to[i];
  return among(d);
}

int KnobWords::stops_lost(const Word& from, const Word& to) const {
  int n = 0;
  for (std::size_t i = 0; i < words_; ++i) n += ones(stops_[i] & from[i] & ~to[i]);
  return n;
}

KnobCount KnobWords::among(const Word& knobs) const {
  KnobCount n;
  for (std::size_t i = 0; i < words_; ++i) {
    n.left += ones(knobs[i] & left_[i]);
    n.right += ones(knobs[i] & right_[i]);
    n.either += ones(knobs[i] & ~left_[i] & ~right_[i]);
  }
  return n;
}

Sorted KnobWords::sorted(const Word& from, const Word& then, const Word& to, const Word& next) const {
  Word heard{}, early{}, late{}, any{};
  for (std::size_t i = 0; i < words_; ++i) {
    const std::uint64_t d = from[i] ^ to[i];
    heard[i] = d & then[i] & next[i];
    early[i] = d & ~then[i] & next[i];
    late[i] = d & then[i] & ~next[i];
    any[i] = d & ~then[i] & ~next[i];
  }
  return {among(heard), among(early), among(late), among(any)};
}

std::size_t StateKinds::of(const KnobWords::Word& drawn, const HandsAndFeet& on) {
  const auto number = [](const std::optional<KeyboardIndex>& k) { return k ? static_cast<int>(*k) : -1; };
  return known_.try_emplace({drawn, number(on.right), number(on.left), number(on.feet)}, known_.size()).first->second;
}

}  // namespace calcant
