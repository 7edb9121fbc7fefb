#include "engine/registration/solo.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

constexpr double condense_cents = 5.0;

void join(Registration& into, const Registration& more) {
  into.stops |= more.stops;
  into.couplers |= more.couplers;
  into.accessories |= more.accessories;
}

// Where the boxes of what the tune is played on can stand: only the positions that differ for it.
std::vector<BoxPositions> positions_for(const Listening& listening, const Registration& solo,
                                        const std::vector<KeysDown>& keys) {
  Sounding sounding{listening.organ()};
  std::set<BoxIndex> used;
  PipeSet pipes;
  for (const KeysDown& down : keys) {
    sounding.pipes(solo, down, pipes);
    for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
      const auto box = listening.box_of(static_cast<RankIndex>(r));
      if (box && !pipes.ranks[r].empty()) used.insert(*box);
    }
  }
  std::vector<BoxPositions> out;
  for (const BoxPositions& p : box_positions(listening.organ())) {
    const bool told = std::any_of(out.begin(), out.end(), [&](const BoxPositions& o) {
      return std::all_of(used.begin(), used.end(),
                         [&](BoxIndex b) { return o[static_cast<std::size_t>(b)] == p[static_cast<std::size_t>(b)]; });
    });
    if (!told) out.push_back(p);
  }
  return out;
}

}  // namespace

Registration shared_couplers(const Organ& organ, KeyboardIndex solo_on) {
  Registration out;
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(solo_on)].division;
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    const Coupler& x = organ.couplers[c];
    if (organ.keyboards[static_cast<std::size_t>(x.from)].pedal) continue;
    const bool to_solo = x.to == home && x.from != solo_on;
    const bool to_accompaniment = x.from == solo_on && x.to != home;
    if (to_solo || to_accompaniment) out.couplers.set(c);
  }
  return out;
}

Result<SoloMoments> solo_moments(const Organ& organ, KeyboardIndex solo_on, KeyboardIndex under) {
  const auto name = [&](KeyboardIndex k) { return organ.keyboards[static_cast<std::size_t>(k)].name; };
  if (solo_on == under) {
    return fail(fmt::format("solo and accompaniment cannot both be on the {}: name another manual", name(under)));
  }
  SoloMoments out;
  constexpr int chords[3][3] = {{48, 55, 64}, {53, 60, 69}, {55, 62, 71}};
  constexpr int tune[3] = {72, 77, 79};
  for (std::size_t i = 0; i < 3; ++i) {
    KeysDown chord;
    KeysDown note;
    for (const int key : chords[i]) chord.keys[static_cast<std::size_t>(under)].insert(key);
    note.keys[static_cast<std::size_t>(solo_on)].insert(tune[i]);
    for (const int key : chords[i]) {
      if (!organ.keyboards[static_cast<std::size_t>(under)].keys.contains(key)) {
        return fail(fmt::format("the {} lacks keys that an accompaniment is weighed on (C3 to B4)", name(under)));
      }
    }
    if (!organ.keyboards[static_cast<std::size_t>(solo_on)].keys.contains(tune[i])) {
      return fail(fmt::format("the {} lacks keys that a tune is weighed on (C5 to G5)", name(solo_on)));
    }
    out.accompaniment.push_back(chord);
    out.solo.push_back(note);
  }
  return out;
}

namespace {

std::vector<KeysDown> at_once(const SoloMoments& moments, KeyboardIndex solo_on) {
  std::vector<KeysDown> out = moments.accompaniment;
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i].keys[static_cast<std::size_t>(solo_on)] = moments.solo[i].keys[static_cast<std::size_t>(solo_on)];
  }
  return out;
}

}  // namespace

SoloChooser::SoloChooser(const Listening& listening, KeyboardIndex solo_on, SoloMoments moments, Chooser chooser)
    : listening_(&listening),
      solo_on_(solo_on),
      moments_(std::move(moments)),
      chooser_(std::move(chooser)),
      tune_(listening, moments_.solo),
      both_(listening, at_once(moments_, solo_on)) {}

Result<SoloChooser> SoloChooser::prepare(const Listening& listening, KeyboardIndex solo_on, KeyboardIndex under,
                                         const Work& work) {
  auto moments = solo_moments(listening.organ(), solo_on, under);
  if (!moments) return tl::unexpected(moments.error());
  const Registration forbidden = shared_couplers(listening.organ(), solo_on);
  auto chooser = Chooser::prepare(listening, under, moments->accompaniment, forbidden, work);
  if (!chooser) return tl::unexpected(chooser.error());
  return SoloChooser{listening, solo_on, std::move(*moments), std::move(*chooser)};
}

// Tune and accompaniment heard together; nothing where the tune does not stand over what is under it.
Result<std::optional<SoloAnswer>> SoloChooser::together(const SoloWish& wish, const BoxPositions& box, Chosen under) {
  const Organ& organ = listening_->organ();
  Registration solo = wish.solo;
  solo.box = box;
  SoloAnswer a;
  a.drawn = under.drawn;
  join(a.drawn, solo);
  // The boxes of the tune stand as it needs them; the accompaniment is told as it is then.
  a.drawn.box = box;
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    Registration moved = under.drawn;
    moved.box[b] = box[b] > 0.5F ? 0.0F : 1.0F;
    if (chooser_.ear().hear(moved).phons != under.heard.phons) a.drawn.box[b] = under.drawn.box[b];
  }
  Registration accompaniment = under.drawn;
  accompaniment.box = a.drawn.box;
  solo.box = a.drawn.box;
  a.solo_phons = tune_.hear(solo).phons;
  a.accompaniment_phons = chooser_.ear().hear(accompaniment).phons;
  a.together_phons = both_.hear(a.drawn).phons;
  if (std::abs(a.solo_phons - a.accompaniment_phons - wish.above) > wish.band + 0.01) return std::nullopt;
  a.presence = Presence::heard;
  a.partial = Sones{1e9};
  Sounding sounding{organ};
  PipeSet under_pipes;
  PipeSet tune_pipes;
  for (std::size_t i = 0; i < moments_.solo.size(); ++i) {
    sounding.pipes(accompaniment, moments_.accompaniment[i], under_pipes);
    sounding.pipes(solo, moments_.solo[i], tune_pipes);
    Lines whole = condensed(listening_->lines(under_pipes, a.drawn), Cents{condense_cents});
    PartLines part;
    for (const Line& l : condensed(listening_->lines(tune_pipes, a.drawn), Cents{condense_cents})) {
      part.push_back(static_cast<std::uint32_t>(whole.size()));
      whole.push_back(l);
    }
    const auto heard = audibility(both_.ear(), whole, std::vector<PartLines>{part});
    if (!heard) return tl::unexpected(heard.error());
    a.presence = std::min(a.presence, heard->parts[0].presence);
    a.partial = std::min(a.partial, heard->parts[0].partial);
  }
  if (a.presence != Presence::heard) return std::nullopt;
  a.points = under.points.sum();
  a.accompaniment = std::move(under);
  return a;
}

Result<SoloChoice> SoloChooser::ask(const SoloWish& wish, const Work& work) {
  const Organ& organ = listening_->organ();
  const auto name = [&](KeyboardIndex k) { return organ.keyboards[static_cast<std::size_t>(k)].name; };
  Wish under;
  under.band = wish.band;
  under.colour = wish.colour;
  under.must = wish.must;
  under.must_not = wish.must_not;
  // What the tune is played on is no part of what goes under it.
  under.must_not.stops |= wish.solo.stops;
  under.limit = 24;

  SoloChoice out;
  std::optional<Error> refused;
  for (const BoxPositions& box : positions_for(*listening_, wish.solo, moments_.solo)) {
    Registration solo = wish.solo;
    solo.box = box;
    const HeardOn& alone = tune_.hear(solo);
    if (!(alone.pipes > 0)) {
      return fail(fmt::format("what the solo is to be played on does not sound on the {}", name(solo_on_)));
    }
    under.level = Phons{alone.phons - wish.above};
    auto found = chooser_.ask(under, work);
    if (!found) {
      if (work.stop.stop_requested()) return tl::unexpected(found.error());
      refused = found.error();
      continue;
    }
    out.considered = found->considered;
    for (Chosen& c : found->answers) {
      auto a = together(wish, box, std::move(c));
      if (!a) return tl::unexpected(a.error());
      if (*a) out.answers.push_back(std::move(**a));
    }
  }
  std::stable_sort(out.answers.begin(), out.answers.end(),
                   [](const SoloAnswer& a, const SoloAnswer& b) { return a.points < b.points; });
  // One box position of each accompaniment is enough.
  std::vector<SoloAnswer> apart;
  for (SoloAnswer& a : out.answers) {
    const bool told = std::any_of(apart.begin(), apart.end(), [&](const SoloAnswer& o) {
      return o.drawn.stops == a.drawn.stops && o.drawn.couplers == a.drawn.couplers;
    });
    if (!told && static_cast<int>(apart.size()) < wish.limit) apart.push_back(std::move(a));
  }
  out.answers = std::move(apart);
  if (out.answers.empty()) {
    return tl::unexpected(
        refused.value_or(Error{fmt::format("nothing on the {} lets this solo be heard as itself, {:.0f} phon over it",
                                           name(this->under()), wish.above),
                               {}}));
  }
  return out;
}

}  // namespace calcant
