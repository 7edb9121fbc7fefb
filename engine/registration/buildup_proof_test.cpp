// Every series there is, on small organs, against the cheapest that was found.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "engine/registration/buildup_series.hpp"
#include "engine/registration/buildup_test.hpp"
#include "engine/registration/choose_test.hpp"

namespace calcant {
namespace {

constexpr double nothing = std::numeric_limits<double>::infinity();

// One manual with at most one box and no coupler to it.
class Book {
 public:
  Book(const ChurchOrgan& church, Chooser& chooser, const BuildUpFrame& frame, Phons from, Phons to)
      : church_(church), frame_(frame), from_(from.value()), to_(to.value()) {
    chooser.map()->for_each([&](const MapState& s) {
      Registration boxes;
      boxes.box = s.box;
      const Registration drawn = chooser.space().registration(s.linking, s.stops, boxes);
      if ((drawn.stops & ~frame.knobs.stops).any() || drawn.couplers.any()) return;
      if (!unfounded(church.organ, frame, drawn, church.on).empty()) return;
      if (makeshifts_by_the_book(church.organ, drawn, church.on, 0) > 0) return;
      if (!chooser.practice().allows(s.linking, s.stops, Manner::chorus)) return;
      states_.push_back({drawn, s.figures.phons,
                         0.5 * chooser.practice().warnings(s.linking, s.stops) +
                             1.0 * too_early(church.organ, frame, drawn, church.on)});
    });
  }
  [[nodiscard]] double cost(const std::vector<Registration>& series, double least) const {
    double out = 0;
    for (std::size_t i = 0; i < series.size(); ++i) {
      const State& now = known(series[i]);
      out += i == 0 ? begin(now) : step(known(series[i - 1]), now, static_cast<int>(series.size()), i, least);
    }
    return out;
  }
  // Of all series of so many.
  [[nodiscard]] double best(int steps, double least) {
    tried = 0;
    double out = nothing;
    for (const State& s : states_) {
      if (begin(s) < nothing) extend(s, begin(s), 1, steps, least, out);
    }
    return out;
  }
  double tried = 0;

 private:
  struct State {
    Registration drawn;
    double phons = 0;
    double against = 0;
  };
  [[nodiscard]] const State& known(const Registration& r) const {
    for (const State& s : states_) {
      if (s.drawn.stops == r.stops && (church_.organ.boxes.empty() || s.drawn.box[0] == r.box[0] || !enclosed()))
        return s;
    }
    ADD_FAILURE() << registration_text(church_.organ, r);
    return states_.front();
  }
  [[nodiscard]] bool enclosed() const {
    const auto home = church_.organ.keyboards[static_cast<std::size_t>(church_.on)].division;
    return church_.organ.divisions[static_cast<std::size_t>(home)].box.has_value();
  }
  [[nodiscard]] double begin(const State& s) const {
    if (std::abs(s.phons - from_) > 1) return nothing;
    return 0.3 * static_cast<double>(s.drawn.stops.count()) + std::abs(s.phons - from_) + s.against;
  }
  [[nodiscard]] double step(const State& a, const State& b, int steps, std::size_t k, double least) const {
    const double even = (to_ - from_) / (steps - 1);
    const bool last = static_cast<int>(k) + 1 == steps;
    const double louder = b.phons - a.phons;
    if ((a.drawn.stops & ~b.drawn.stops).any() || louder < least) return nothing;
    if (std::abs(b.phons - (from_ + static_cast<double>(k) * even)) > (last ? 1.0 : 2 * even)) return nothing;
    const bool closes = enclosed() && b.drawn.box[0] < a.drawn.box[0];
    const bool opens = enclosed() && b.drawn.box[0] > a.drawn.box[0];
    bool big = false;
    for (std::size_t s = 0; s < church_.organ.stops.size(); ++s) {
      const Stop& stop = church_.organ.stops[s];
      const bool is_new = b.drawn.stops.test(s) && !a.drawn.stops.test(s);
      big = big || (is_new && (stop.mixture_ranks != 0 || stop.family == Family::reed));
    }
    if (closes && !big) return nothing;
    if (last && ((frame_.full.stops & ~b.drawn.stops).any() || (enclosed() && b.drawn.box[0] != 1))) return nothing;
    const auto knobs = static_cast<double>((b.drawn.stops & ~a.drawn.stops).count());
    const double share = louder / even - 1;
    return 20 * share * share + 0.15 * knobs * std::max(0.0, knobs - 1) + (closes ? 1.5 : opens ? 0.2 : 0) + b.against;
  }
  void extend(const State& s, double so_far, int k, int steps, double least, double& out) {
    if (k == steps) {
      ++tried;
      out = std::min(out, so_far);
      return;
    }
    for (const State& next : states_) {
      const double more = step(s, next, steps, static_cast<std::size_t>(k), least);
      if (more < nothing) extend(next, so_far + more, k + 1, steps, least, out);
    }
  }

  const ChurchOrgan& church_;
  const BuildUpFrame& frame_;
  double from_;
  double to_;
  std::vector<State> states_;
};

TEST(BuildUpSeries, NoSeriesIsCheaper) {
  double tried = 0;
  int found_some = 0;
  for (const auto& [folder, board] : {std::pair{"demo/chapel", "manual"}, std::pair{"demo/village", "swell"}}) {
    SCOPED_TRACE(folder);
    const ChurchOrgan church{folder, board};
    auto chooser = Chooser::prepare(church.nave, church.on, {}, {}, Work{2});
    ASSERT_TRUE(chooser);
    const auto frame = build_up_frame(*chooser, {}, {}, Work{2});
    ASSERT_TRUE(frame);
    const auto range = chooser->range(Manner::free, Work{2});
    ASSERT_TRUE(range);
    for (const double share : {0.0, 0.3}) {
      BuildUpWish wish;
      wish.from = Phons{range->low.value() + share * (range->high - range->low).value()};
      wish.to = Phons{chooser->ear().hear(frame->full).phons};
      wish.to_full = true;
      const BuildUpSeries series{*chooser, *frame, wish};
      Book book{church, *chooser, *frame, series.from(), series.to()};
      for (const int steps : {2, 3, 4, 5}) {
        for (const double least : {1.05, 1.6}) {
          SCOPED_TRACE(testing::Message() << steps << " from " << wish.from.value() << ", " << least);
          const auto found = series.cheapest(steps, least, Work{});
          const double best = book.best(steps, least);
          tried += book.tried;
          ASSERT_EQ(found.empty(), best == nothing);
          if (found.empty()) continue;
          ++found_some;
          EXPECT_EQ(found.size(), static_cast<std::size_t>(steps));
          EXPECT_NEAR(book.cost(found, least), best, 1e-4);
        }
      }
    }
  }
  EXPECT_GT(found_some, 16);
  EXPECT_GT(tried, 5'000);
}

}  // namespace
}  // namespace calcant
