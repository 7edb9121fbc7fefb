#include "engine/registration/search.hpp"

#include <algorithm>
#include <array>
#include <atomic>
#include <bit>
#include <mutex>
#include <set>
#include <string_view>
#include <thread>
#include <tuple>

#include "engine/quantity/random.hpp"

namespace calcant {
namespace {

constexpr std::string_view searching = "searching registrations";

// A setting of couplers and boxes on one chord: the pattern of every group, and the groups of every stop.
struct Setting {
  std::vector<const Pattern*> patterns;
  std::vector<std::vector<std::uint32_t>> of_stop;
};

bool before(const SearchState& a, const SearchState& b) {
  if (a.points != b.points) return a.points < b.points;
  if (a.state.linking != b.state.linking) return a.state.linking < b.state.linking;
  if (a.box != b.box) return a.box < b.box;
  return a.state.stops < b.state.stops;
}
bool same(const SearchState& a, const SearchState& b) { return a.state == b.state && a.box == b.box; }

// States that walks have stood at. What follows from one is the same whoever stands there: the second need not go on, and
// all walks together see the same on any number of threads.
class Trodden {
 public:
  bool first_at(const SearchState& s) {
    const std::lock_guard lock{writing_};
    return states_.emplace(s.state.linking, s.box, s.state.stops).second;
  }

 private:
  std::mutex writing_;
  std::set<std::tuple<std::size_t, std::size_t, StopMask>> states_;
};

// The best states seen so far, each standing for all equal to it, a few at a time put in order.
class Kept {
 public:
  Kept(const Space& space, const SearchSettings& settings)
      : space_(space), equals_(settings.equals), most_(settings.keep) {}
  void add(const SearchState& s) {
    if (s.points >= unfit || s.points > worst_ || !stands(s.state)) return;
    states_.push_back(s);
    if (states_.size() >= 4 * most_) settle();
  }
  void settle() {
    std::sort(states_.begin(), states_.end(), before);
    states_.erase(std::unique(states_.begin(), states_.end(), same), states_.end());
    if (states_.size() > most_) states_.resize(most_);
    if (states_.size() == most_) worst_ = states_.back().points;
  }
  [[nodiscard]] std::vector<SearchState>& states() { return states_; }

 private:
  [[nodiscard]] bool stands(const Space::State& s) const {
    return equals_ != nullptr ? equals_->stands(s) : space_.canonical(s.linking, s.stops);
  }
  const Space& space_;
  const Equals* equals_;
  std::size_t most_;
  double worst_ = unfit;
  std::vector<SearchState> states_;
};

}  // namespace

struct Search::Bench {
  std::vector<Patterns> patterns;                               // by chord
  std::vector<std::unique_ptr<std::vector<Setting>>> settings;  // by linking x boxes + box; chords
  std::mutex making;

  const std::vector<Setting>& setting(const Space& space, const std::vector<BoxPositions>& boxes, std::size_t linking,
                                      std::size_t box) {
    const std::lock_guard lock{making};
    auto& slot = settings[linking * boxes.size() + box];
    if (!slot) {
      slot = std::make_unique<std::vector<Setting>>();
      for (std::size_t c = 0; c < patterns.size(); ++c) {
        Setting s;
        // Patterns::make has heard all these pipes together: a part of them is not refused.
        s.patterns = patterns[c].groups(linking, boxes[box]).value_or(std::vector<const Pattern*>{});
        s.of_stop.resize(space.stops().size());
        const auto& groups = space.linkings()[linking].groups[c];
        for (std::size_t g = 0; g < groups.size(); ++g) {
          for (StopMask left = groups[g].stops; left != 0; left &= left - 1) {
            s.of_stop[static_cast<std::size_t>(std::countr_zero(left))].push_back(static_cast<std::uint32_t>(g));
          }
        }
        slot->push_back(std::move(s));
      }
    }
    return *slot;
  }
};

namespace {

// One walk from one start.
class Walk {
 public:
  using SettingOf = std::function<const std::vector<Setting>&(std::size_t linking, std::size_t box)>;
  Walk(const Space& space, const std::vector<const Screen*>& screens, std::size_t boxes, SettingOf setting_of,
       const PointsOf& points, const SearchSettings& settings)
      : space_(space),
        screens_(screens),
        boxes_(boxes),
        setting_of_(std::move(setting_of)),
        points_(points),
        kept_(space, settings),
        totals_(screens.size()) {}

  void from(const Space::State& start, std::size_t box, Trodden& trodden) {
    go(start, box);
    while (trodden.first_at(here_) && (one_stop() || one_exchange() || one_setting())) {
    }
  }
  [[nodiscard]] MapFigures at(const Space::State& state, std::size_t box) {
    go(state, box);
    return here_.figures;
  }
  std::vector<SearchState>& kept() {
    kept_.settle();
    return kept_.states();
  }

 private:
  // Everything that sounds with these stops in the present setting, by chord.
  void sum(StopMask stops) {
    const Linking& linking = space_.linkings()[here_.state.linking];
    for (std::size_t c = 0; c < totals_.size(); ++c) {
      totals_[c] = Pattern{};
      const auto& groups = linking.groups[c];
      for (std::size_t g = 0; g < groups.size(); ++g) {
        if ((groups[g].stops & stops) != 0) totals_[c] += *(*setting_)[c].patterns[g];
      }
    }
    summed_ = stops;
  }
  // Of the stops summed and one more.
  [[nodiscard]] MapFigures with(int stop) const {
    MapFigures out;
    const auto chords = static_cast<float>(totals_.size());
    const Linking& linking = space_.linkings()[here_.state.linking];
    for (std::size_t c = 0; c < totals_.size(); ++c) {
      const Setting& s = (*setting_)[c];
      const Pattern* first = nullptr;
      Pattern more;
      for (const std::uint32_t g : s.of_stop[static_cast<std::size_t>(stop)]) {
        if ((linking.groups[c][g].stops & summed_) != 0) continue;
        if (first == nullptr) {
          first = s.patterns[g];
          continue;
        }
        if (first != &more) more = *first;
        more += *s.patterns[g];
        first = &more;
      }
      const Screened heard =
          first == nullptr ? screens_[c]->screen(totals_[c]) : screens_[c]->screen(totals_[c], *first);
      out.phons += heard.phons / chords;
      out.acums += heard.acums / chords;
    }
    return out;
  }
  [[nodiscard]] MapFigures summed() const {
    MapFigures out;
    const auto chords = static_cast<float>(totals_.size());
    for (std::size_t c = 0; c < totals_.size(); ++c) {
      const Screened heard = screens_[c]->screen(totals_[c]);
      out.phons += heard.phons / chords;
      out.acums += heard.acums / chords;
    }
    return out;
  }
  SearchState weighed(const Space::State& state, std::size_t box, const MapFigures& figures) {
    SearchState s{state, box, figures, points_(state, box, figures)};
    kept_.add(s);
    return s;
  }
  void go(const Space::State& state, std::size_t box) {
    setting_ = &setting_of_(state.linking, box);
    here_ = SearchState{state, box, {}, 0};
    sum(state.stops);
    here_ = weighed(state, box, summed());
  }
  bool take(const SearchState& best) {
    if (!before(best, here_) || best.points >= here_.points) return false;
    go(best.state, best.box);
    return true;
  }
  [[nodiscard]] StopMask sounding() const { return space_.linkings()[here_.state.linking].sounding; }

  bool one_stop() {
    const SearchState at = here_;
    SearchState best = here_;
    sum(at.state.stops);
    for (StopMask left = sounding() & ~at.state.stops; left != 0; left &= left - 1) {
      const int stop = std::countr_zero(left);
      best =
          std::min(best, weighed({at.state.linking, at.state.stops | StopMask{1} << stop}, at.box, with(stop)), before);
    }
    for (StopMask left = at.state.stops; left != 0; left &= left - 1) {
      const StopMask rest = at.state.stops & ~(left & (~left + 1));
      if (rest == 0) continue;
      sum(rest);
      best = std::min(best, weighed({at.state.linking, rest}, at.box, summed()), before);
    }
    return take(best);
  }
  bool one_exchange() {
    const SearchState at = here_;
    SearchState best = here_;
    for (StopMask left = at.state.stops; left != 0; left &= left - 1) {
      const StopMask rest = at.state.stops & ~(left & (~left + 1));
      sum(rest);
      for (StopMask in = sounding() & ~at.state.stops; in != 0; in &= in - 1) {
        const int stop = std::countr_zero(in);
        best = std::min(best, weighed({at.state.linking, rest | StopMask{1} << stop}, at.box, with(stop)), before);
      }
    }
    return take(best);
  }
  bool one_setting() {
    const SearchState at = here_;
    SearchState best = here_;
    const auto look = [&](std::size_t linking, std::size_t box) {
      const StopMask stops = at.state.stops & space_.linkings()[linking].sounding;
      if (stops == 0) return;
      go({linking, stops}, box);
      best = std::min(best, here_, before);
    };
    for (std::size_t l = 0; l < space_.linkings().size(); ++l) {
      if (l != at.state.linking) look(l, at.box);
    }
    for (std::size_t b = 0; b < boxes_; ++b) {
      if (b != at.box) look(at.state.linking, b);
    }
    const bool better = best.points < at.points;
    go(better ? best.state : at.state, better ? best.box : at.box);
    return better;
  }

  const Space& space_;
  const std::vector<const Screen*>& screens_;
  std::size_t boxes_;
  SettingOf setting_of_;
  const PointsOf& points_;
  Kept kept_;
  std::vector<Pattern> totals_;  // by chord
  StopMask summed_ = 0;
  const std::vector<Setting>* setting_ = nullptr;
  SearchState here_;
};

}  // namespace

Search::Search(const Space& space, std::vector<BoxPositions> boxes, std::unique_ptr<Bench> bench)
    : space_(&space), boxes_(std::move(boxes)), bench_(std::move(bench)) {}
Search::~Search() = default;
Search::Search(Search&&) noexcept = default;
Search& Search::operator=(Search&&) noexcept = default;

Result<Search> Search::make(const Space& space, const Listening& listening, std::vector<BoxPositions> boxes) {
  if (boxes.empty()) return fail("no position of the swell boxes is given");
  auto bench = std::make_unique<Bench>();
  for (std::size_t c = 0; c < space.chords().size(); ++c) {
    auto p = Patterns::make(space, listening, c);
    if (!p) return tl::unexpected(p.error());
    bench->patterns.push_back(std::move(*p));
  }
  bench->settings.resize(space.linkings().size() * boxes.size());
  return Search{space, std::move(boxes), std::move(bench)};
}

Result<std::vector<SearchState>> Search::best(const PointsOf& points, const SearchSettings& settings,
                                              const Work& work) {
  std::vector<const Screen*> screens;
  for (const Patterns& p : bench_->patterns) screens.push_back(&p.screen());
  const auto setting_of = [this](std::size_t linking, std::size_t box) -> const std::vector<Setting>& {
    return bench_->setting(*space_, boxes_, linking, box);
  };
  std::vector<std::vector<SearchState>> found(static_cast<std::size_t>(std::max(settings.starts, 1)));
  std::atomic<std::size_t> next{0};
  Trodden trodden;
  const auto walk = [&](bool telling) {
    for (std::size_t i = next.fetch_add(1); i < found.size(); i = next.fetch_add(1)) {
      if (work.stop.stop_requested()) return;
      Random random{settings.seed, i};
      Space::State start;
      const auto draw_linking = [&] {
        return static_cast<std::size_t>(random.below(static_cast<int>(space_->linkings().size())));
      };
      start.linking = i % 3 == 0 ? 0 : draw_linking();
      const StopMask sounding = space_->linkings()[start.linking].sounding;
      const int stops = 1 + random.below(6);
      for (int s = 0; s < stops; ++s)
        start.stops |= StopMask{1} << random.below(static_cast<int>(space_->stops().size()));
      start.stops &= sounding;
      if (start.stops == 0) start.stops = sounding & (~sounding + 1);
      if (start.stops == 0) continue;
      Walk one{*space_, screens, boxes_.size(), setting_of, points, settings};
      one.from(start, static_cast<std::size_t>(random.below(static_cast<int>(boxes_.size()))), trodden);
      found[i] = std::move(one.kept());
      if (telling) work.tell(static_cast<double>(i) / static_cast<double>(found.size()), searching);
    }
  };
  {
    std::vector<std::jthread> helpers;
    for (int t = 1; t < work.threads; ++t) helpers.emplace_back(walk, false);
    walk(true);
  }
  if (work.stop.stop_requested()) return fail("stopped before the search was over");
  Kept all{*space_, settings};
  for (const auto& of_walk : found) {
    for (const SearchState& s : of_walk) all.add(s);
  }
  all.settle();
  work.tell(1, searching);
  return std::move(all.states());
}

MapFigures Search::figures(const Space::State& state, std::size_t box) {
  std::vector<const Screen*> screens;
  for (const Patterns& p : bench_->patterns) screens.push_back(&p.screen());
  SearchSettings one_kept;
  one_kept.keep = 1;
  const PointsOf nothing = [](const Space::State&, std::size_t, const MapFigures&) { return 0.0; };
  Walk one{*space_,
           screens,
           boxes_.size(),
           [this](std::size_t linking, std::size_t b) -> const std::vector<Setting>& {
             return bench_->setting(*space_, boxes_, linking, b);
           },
           nothing,
           one_kept};
  return one.at(state, box);
}

}  // namespace calcant
