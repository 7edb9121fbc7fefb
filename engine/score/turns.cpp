#include "engine/score/turns.hpp"

#include <algorithm>

namespace calcant {
namespace {

// A run of neighbouring bars under endings: how often its section is played, and which round is the last.
struct EndingGroup {
  std::size_t begin = 0;
  std::size_t end = 0;
  int rounds = 0;
  int last_round = 0;    // the highest number over any of its brackets
  bool repeats = false;  // one of its bars has a repeat at its right
};

std::vector<EndingGroup> ending_groups(const std::vector<BarSigns>& signs) {
  std::vector<EndingGroup> groups;
  for (std::size_t i = 0; i < signs.size(); ++i) {
    if (signs[i].endings.empty()) continue;
    EndingGroup g;
    g.begin = i;
    int brackets = 0;
    int times = 0;
    for (; i < signs.size() && !signs[i].endings.empty(); ++i) {
      // A first ending again: the next section's endings follow at once.
      if (i > g.begin && signs[i].ending_begins && g.last_round > 1 && signs[i].endings.front() == 1) break;
      brackets += signs[i].ending_begins || i == g.begin;
      g.last_round = std::max(g.last_round, *std::max_element(signs[i].endings.begin(), signs[i].endings.end()));
      g.repeats = g.repeats || signs[i].backward > 0;
      times = std::max(times, signs[i].backward);
    }
    g.end = i--;
    // A first ending alone: the second time goes on behind it.
    g.rounds = std::max(brackets == 1 ? g.last_round + 1 : g.last_round, times > 2 ? times : 0);
    groups.push_back(g);
  }
  return groups;
}

class Walk {
 public:
  Walk(const std::vector<Bar>& bars, const std::vector<BarSigns>& signs)
      : bars_(bars), signs_(signs), groups_(ending_groups(signs)), passes_(bars.size(), 0) {
    group_.resize(signs.size(), nullptr);
    for (const EndingGroup& g : groups_) {
      for (std::size_t i = g.begin; i < g.end; ++i) group_[i] = &g;
    }
  }

  std::vector<Turn> go(std::size_t limit, bool* cut) {
    std::size_t i = 0;
    std::size_t steps = 0;
    while (i < bars_.size()) {
      if (turns_.size() >= limit || ++steps > limit * 4 + bars_.size()) {
        if (cut != nullptr) *cut = true;
        break;
      }
      const EndingGroup* group = group_[i];
      leave_group(i, group);
      // A section that begins under an ending of the one before is not bound by it.
      if (group != nullptr && i != section_) {
        in_group_ = group;
        if (!plays(i, *group)) {
          ++i;
          continue;
        }
      }
      if (signs_[i].forward && !arrived_by_repeat_) {
        section_ = i;
        round_ = 1;
        in_group_ = nullptr;
      }
      arrived_by_repeat_ = false;
      play(i);
      if (jumped_ && signs_[i].fine) break;
      i = after(i, group);
    }
    return std::move(turns_);
  }

 private:
  // Behind its endings a section is done; what follows begins a new one.
  void leave_group(std::size_t i, const EndingGroup* now) {
    if (in_group_ == nullptr || in_group_ == now) return;
    if (in_group_->repeats) {
      section_ = i;
      round_ = 1;
    }
    in_group_ = nullptr;
  }

  [[nodiscard]] bool plays(std::size_t i, const EndingGroup& g) const {
    const int wanted = jumped_ ? g.rounds : round_;
    const auto& numbers = signs_[i].endings;
    return std::find(numbers.begin(), numbers.end(), wanted) != numbers.end();
  }

  void play(std::size_t i) {
    turns_.push_back({static_cast<int>(i), ++passes_[i], now_});
    now_ += bars_[i].length;
  }

  std::size_t after(std::size_t i, const EndingGroup* group) {
    const BarSigns& s = signs_[i];
    if (s.backward > 0 && !jumped_) {
      const int rounds = group != nullptr && i != section_ ? group->rounds : s.backward;
      if (round_ < rounds) {
        ++round_;
        in_group_ = nullptr;
        arrived_by_repeat_ = true;
        return section_;
      }
      if (group == nullptr) {
        section_ = i + 1;
        round_ = 1;
      }
    }
    if (jumped_ && !s.to_coda.empty()) {
      if (const auto to = find(&BarSigns::coda, s.to_coda, i + 1)) return jump(*to);
    }
    if (!jumped_ && s.da_capo) return jump(0);
    if (!jumped_ && !s.dal_segno.empty()) {
      if (const auto to = find(&BarSigns::segno, s.dal_segno, 0)) return jump(*to);
    }
    return i + 1;
  }

  std::size_t jump(std::size_t to) {
    jumped_ = true;
    section_ = to;
    round_ = 1;
    in_group_ = nullptr;
    return to;
  }

  // The bar whose sign bears the label, else the first from `from` on that bears any.
  [[nodiscard]] std::optional<std::size_t> find(std::string BarSigns::*sign, const std::string& label,
                                                std::size_t from) const {
    std::optional<std::size_t> any;
    for (std::size_t i = from; i < signs_.size(); ++i) {
      if (signs_[i].*sign == label) return i;
      if (!(signs_[i].*sign).empty() && !any) any = i;
    }
    return any;
  }

  const std::vector<Bar>& bars_;
  const std::vector<BarSigns>& signs_;
  std::vector<EndingGroup> groups_;
  std::vector<const EndingGroup*> group_;  // of each bar
  std::vector<int> passes_;
  std::vector<Turn> turns_;
  Rational now_;
  std::size_t section_ = 0;
  int round_ = 1;
  const EndingGroup* in_group_ = nullptr;
  bool arrived_by_repeat_ = false;
  bool jumped_ = false;
};

}  // namespace

std::vector<Turn> unfold(const std::vector<Bar>& bars, const std::vector<BarSigns>& signs, bool* cut,
                         std::size_t limit) {
  return Walk(bars, signs).go(limit, cut);
}

}  // namespace calcant
