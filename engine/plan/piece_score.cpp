#include "engine/plan/piece_score.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "engine/playing/feet_cost.hpp"

namespace calcant {
std::vector<Chord> sampled_chords(const Score& score, std::size_t count) {
  const auto all = presses(score);
  std::set<Rational> starts;
  for (const Press& p : all) {
    if (p.role != Role::not_played) starts.insert(p.start);
  }
  const std::vector<Rational> times(starts.begin(), starts.end());
  std::vector<Chord> chords;
  const std::size_t n = std::min(count, times.size());
  for (std::size_t i = 0; i < n; ++i) {
    const Rational t = times[(2 * i + 1) * times.size() / (2 * n)];
    Chord c;
    for (const Press& p : all) {
      if (p.start > t) break;
      if (p.end <= t) continue;
      if (p.role == Role::feet) c.feet.insert(p.key.midi);
      else if (p.role == Role::left_hand) c.left.insert(p.key.midi);
      else if (p.role != Role::not_played) c.right.insert(p.key.midi);
    }
    chords.push_back(c);
  }
  return chords;
}

bool is_trio(const Score& score) {
  std::array<Rational, 2> until{};
  std::array<bool, 3> used{};
  for (const Press& p : presses(score)) {
    if (p.role == Role::feet) used[2] = true;
    if (p.role == Role::either_hand) return false;
    if (p.role != Role::left_hand && p.role != Role::right_hand) continue;
    const std::size_t h = p.role == Role::left_hand ? 0 : 1;
    used[h] = true;
    // A little overlap is legato, not a second voice.
    if (p.start < until[h]) return false;
    until[h] = p.end;
  }
  return used[0] && used[1] && used[2];
}

Playing playing_of(const Score& score, const Item& item) {
  Playing playing;
  for (const Turn& t : score.turns) {
    if (t.bar > 0 && score.bars[static_cast<std::size_t>(t.bar)].new_page) playing.page_turns.push_back(t.start);
  }
  for (std::size_t s = 0; s < item.sections.size(); ++s) {
    const HandsAndFeet& on = item.sections[s].keyboards;
    if (!on.right || !on.left || on.right == on.left) continue;
    const Rational from = performed_at(score, item.sections[s].from).value_or(Rational{0});
    const Rational to = s + 1 < item.sections.size()
                            ? performed_at(score, item.sections[s + 1].from).value_or(performed_length(score))
                            : performed_length(score);
    if (from < to) playing.apart.emplace_back(from, to);
  }
  return playing;
}

std::vector<Span> right_foot_for_the_box(const Score& score, const Organ& organ, const Player& player,
                                         const Tempo& tempo, const std::vector<Passage>& passages,
                                         const std::vector<FixedFoot>& marks) {
  FeetWishes wishes;
  wishes.fixed = marks;
  auto pedalling = solve_feet(score, organ, player, tempo, wishes);
  if (!pedalling) return {};
  const auto free = [&](const Pedalling& p, const Span& span) {
    const auto spans = free_feet(score, p)[static_cast<std::size_t>(Foot::right)];
    return std::any_of(spans.begin(), spans.end(),
                       [&](const Span& s) { return s.first <= span.first && span.second <= s.second; });
  };
  const double at_ease = pedalling->cost;
  for (std::size_t p = 1; p < passages.size() && !organ.boxes.empty(); ++p) {
    const double quarters = player.foot_accessory.value.value() * tempo.quarters_per_minute(passages[p].from) / 60;
    const Rational needed{static_cast<std::int64_t>(std::ceil(quarters * 4)), 4};
    const Rational from = passages[p].hairpin.value_or(std::max(Rational{0}, passages[p].from - needed));
    const Span span{from, passages[p].from};
    if (free(*pedalling, span)) {
      wishes.busy.push_back({Foot::right, span.first, span.second});
      continue;
    }
    FeetWishes more = wishes;
    more.busy.push_back({Foot::right, span.first, span.second});
    auto other = solve_feet(score, organ, player, tempo, more);
    if (!other || other->cost > at_ease + awkward_for_the_box || !free(*other, span)) continue;
    wishes = std::move(more);
    pedalling = std::move(other);
  }
  return free_feet(score, *pedalling)[static_cast<std::size_t>(Foot::right)];
}

}  // namespace calcant
