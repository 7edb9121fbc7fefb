#include "engine/listening/listening.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/pipe/usual.hpp"

namespace calcant {
namespace {

double share_present(People people) {
  switch (people) {
    case People::half: return 0.5;
    case People::full: return 1.0;
    case People::empty: break;
  }
  return 0.0;
}

DivisionIndex division_of(const Organ& o, RankIndex rank) {
  return o.chests[static_cast<std::size_t>(o.ranks[static_cast<std::size_t>(rank)].chest)].division;
}

}  // namespace

Condition usual_condition(const Organ& organ) {
  Condition c;
  if (known(organ.room.temperature)) c.air.temperature = organ.room.temperature.value;
  if (known(organ.room.humidity)) c.air.humidity = std::clamp(organ.room.humidity.value, 0.0, 1.0);
  return c;
}

RoomDescription describe(const Room& room, People people, const Air& air) {
  RoomDescription d;
  d.volume = room.volume.value;
  if (!(d.volume.value() > 0))
    d.volume = CubicMetres{room.size[0].value() * room.size[1].value() * room.size[2].value()};
  for (const Surface& s : room.surfaces) d.surfaces.push_back({s.area, s.absorption});
  d.persons = share_present(people) * room.seats.value;
  if (room.reverberation) {
    d.reverberation_measured = true;
    d.reverberation = room.reverberation->value;
  }
  d.air = air;
  return d;
}

Metres distance_to(const Organ& organ, PlaceKind place, DivisionIndex division) {
  for (const Place& p : organ.places)
    if (p.kind == place && static_cast<std::size_t>(division) < p.from_division.size() &&
        p.from_division[static_cast<std::size_t>(division)].value() > 0)
      return p.from_division[static_cast<std::size_t>(division)];
  return Metres{place == PlaceKind::bench ? 3.0 : 12.0};
}

Bands box_loss(const SwellBox& box, double opening) {
  static constexpr Bands assumed_shut{3, 4, 6, 9, 12, 14, 16, 17};
  const Bands& shut = known(box.attenuation) ? box.attenuation.value : assumed_shut;
  const double gap = std::sin(std::clamp(opening, 0.0, 1.0) * std::numbers::pi / 2);
  Bands loss{};
  for (std::size_t i = 0; i < loss.size(); ++i) {
    const double leak = std::pow(10.0, -std::max(0.0, shut[i]) / 10);
    loss[i] = std::max(0.0, -10 * std::log10(leak + (1 - leak) * gap));
  }
  return loss;
}

Listening::Listening(const Organ& organ, const Condition& condition)
    : organ_(&organ), condition_(condition), field_(describe(organ.room, condition.people, condition.air)) {
  voices_.resize(organ.ranks.size());
  open_.resize(organ.ranks.size());
  for (std::size_t r = 0; r < organ.ranks.size(); ++r) {
    const auto rank = static_cast<RankIndex>(r);
    const Metres distance = distance_to(organ, condition.place, division_of(organ, rank));
    const int pipes = organ.ranks[r].pipes;
    voices_[r].reserve(static_cast<std::size_t>(std::max(0, pipes)));
    open_[r].reserve(voices_[r].capacity());
    for (int number = 1; number <= pipes; ++number) {
      voices_[r].push_back(calcant::voice(organ, {rank, number}, condition.air));
      const Voice& v = voices_[r].back();
      Lines lines;
      lines.reserve(v.partials.size());
      for (const Partial& p : v.partials) {
        const Hertz f = v.frequency * p.harmonic;
        lines.push_back({f, p.power + field_.transfer(f, distance)});
      }
      open_[r].push_back(std::move(lines));
    }
  }
}

const Voice& Listening::voice(PipeId pipe) const {
  return voices_.at(static_cast<std::size_t>(pipe.rank)).at(static_cast<std::size_t>(pipe.number - 1));
}

const Lines& Listening::lines_open(PipeId pipe) const {
  return open_.at(static_cast<std::size_t>(pipe.rank)).at(static_cast<std::size_t>(pipe.number - 1));
}

std::optional<BoxIndex> Listening::box_of(RankIndex rank) const {
  return organ_->divisions[static_cast<std::size_t>(division_of(*organ_, rank))].box;
}

Decibels Listening::box_loss(BoxIndex box, double opening, Hertz f) const {
  return Decibels{at_frequency(calcant::box_loss(organ_->boxes[static_cast<std::size_t>(box)], opening), f.value())};
}

Lines Listening::lines(const PipeSet& pipes, const Registration& drawn) const {
  Lines out;
  for (std::size_t r = 0; r < std::min(open_.size(), pipes.ranks.size()); ++r) {
    if (pipes.ranks[r].empty()) continue;
    const auto box = box_of(static_cast<RankIndex>(r));
    const double opening = box ? drawn.box[static_cast<std::size_t>(*box)] : 1.0;
    const Bands loss =
        opening < 1 ? calcant::box_loss(organ_->boxes[static_cast<std::size_t>(*box)], opening) : Bands{};
    for (int number : pipes.ranks[r]) {
      if (number < 1 || static_cast<std::size_t>(number) > open_[r].size()) continue;
      const Lines& open = open_[r][static_cast<std::size_t>(number - 1)];
      if (opening >= 1) {
        out.insert(out.end(), open.begin(), open.end());
      } else {
        for (const Line& l : open)
          out.push_back({l.frequency, l.level - Decibels{at_frequency(loss, l.frequency.value())}});
      }
    }
  }
  return out;
}

LitresPerSecond Listening::wind(const PipeSet& pipes) const {
  LitresPerSecond sum;
  for (std::size_t r = 0; r < std::min(voices_.size(), pipes.ranks.size()); ++r)
    for (int number : pipes.ranks[r])
      if (number >= 1 && static_cast<std::size_t>(number) <= voices_[r].size())
        sum += voices_[r][static_cast<std::size_t>(number - 1)].wind;
  return sum;
}

Lines condensed(Lines lines, Cents width) {
  std::sort(lines.begin(), lines.end(), [](const Line& a, const Line& b) {
    return a.frequency != b.frequency ? a.frequency < b.frequency : a.level < b.level;
  });
  const double ratio = std::exp2(std::max(0.0, width.value()) / 1200);
  Lines out;
  for (std::size_t i = 0; i < lines.size();) {
    const double limit = lines[i].frequency.value() * ratio;
    double power = 0, moment = 0;
    std::size_t end = i;
    for (; end < lines.size() && lines[end].frequency.value() <= limit; ++end) {
      const double p = decibels_to_power(lines[end].level);
      power += p;
      moment += p * lines[end].frequency.value();
    }
    if (end == i + 1 || power <= 0) out.push_back(lines[end - 1]);
    else out.push_back({Hertz{moment / power}, power_to_decibels(power)});
    i = end;
  }
  return out;
}

}  // namespace calcant
