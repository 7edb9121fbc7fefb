#include "engine/registration/buildup.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "engine/registration/buildup_series.hpp"

namespace calcant {
namespace {

constexpr double least_phons = 1.0;
// Phon by the screen. What is a step there may be none on other chords: then a little more is asked of every step.
constexpr std::array<double, 4> least_by_screen{1.05, 1.3, 1.6, 2.0};

// A box in which nothing speaks stands open, so that nothing is told of it.
Registration silent_boxes_open(ChordEar& ear, Registration drawn) {
  for (std::size_t b = 0; b < ear.listening().organ().boxes.size(); ++b) {
    Registration open = drawn;
    open.box[b] = 1;
    if (ear.hear(open).phons == ear.hear(drawn).phons) drawn = open;
  }
  return drawn;
}

// Stops drawn in `now` of divisions of which nothing was drawn in `before`: they came in with a coupler.
int made_ready(const Organ& organ, const Registration& before, const Registration& now) {
  const auto division = [&](std::size_t s) { return organ.stops[s].division; };
  int out = 0;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (!now.stops.test(s) || before.stops.test(s)) continue;
    bool silent = true;
    for (std::size_t o = 0; o < organ.stops.size(); ++o) {
      if (before.stops.test(o) && division(o) == division(s)) silent = false;
    }
    if (silent) ++out;
  }
  return out;
}

}  // namespace

BuildUp judge_series(ChordEar& proof, std::string name, const std::vector<Registration>& series) {
  BuildUp out;
  out.name = std::move(name);
  out.every_step_heard = series.size() > 1;
  double largest = 0;
  double smallest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < series.size(); ++i) {
    BuildUpStep s;
    s.drawn = silent_boxes_open(proof, series[i]);
    s.phons = proof.hear(series[i]).phons;
    if (i > 0) {
      s.ready = made_ready(proof.listening().organ(), series[i - 1], series[i]);
      s.moved = knobs_moved(series[i - 1], series[i]) - s.ready;
      s.louder = s.phons - out.steps.back().phons;
      s.difference = proof.least(series[i - 1], series[i]);
      largest = std::max(largest, s.louder);
      smallest = std::min(smallest, s.louder);
      out.knobs += static_cast<double>(s.moved) / static_cast<double>(series.size() - 1);
      if (s.louder < least_phons || s.difference < Difference::audible) out.every_step_heard = false;
    }
    out.steps.push_back(s);
  }
  out.evenness = smallest > 0 ? largest / smallest : std::numeric_limits<double>::infinity();
  return out;
}

Result<BuildUpReport> build_up(Chooser& chooser, const BuildUpFrame& frame, const BuildUpWish& wish, const Work& work) {
  if (wish.steps < 2 || wish.steps > 24) {
    return fail(fmt::format("{} steps are asked for; a build-up has 2 to 24", wish.steps));
  }
  if (wish.to.value() - wish.from.value() < least_phons) {
    return fail(
        fmt::format("the build-up would go from {:.0f} to {:.0f} phon; the second must be louder than the first",
                    wish.from.value(), wish.to.value()));
  }
  if (!chooser.mapped()) return fail("too many stops reach this keyboard for a build-up; forbid some");
  const std::string& board = chooser.organ().keyboards[static_cast<std::size_t>(chooser.on())].name;
  BuildUpSeries series{chooser, frame, wish};
  if (!series.possible()) {
    return fail(
        fmt::format("no build-up on the {} can have these: it begins with an 8 ft flue of its own, draws the rest "
                    "over it and has no celeste",
                    board));
  }
  const auto proof_keys = proof_chords(chooser.organ(), chooser.on());
  ChordEar proof{chooser.ear().listening(), proof_keys.empty() ? chooser.ear().chords() : proof_keys};
  BuildUpReport report;
  report.asked = wish.steps;
  report.from = series.from();
  report.to = series.to();
  const double range = report.to.value() - report.from.value();
  const int most = std::min(wish.steps, 1 + static_cast<int>(range / least_phons));
  std::vector<Registration> best;
  for (int steps = most; steps >= 2 && best.empty(); --steps) {
    for (const double least : least_by_screen) {
      const auto found = series.cheapest(steps, least, work);
      if (work.stop.stop_requested()) return fail("stopped before the build-up was found");
      if (found.empty()) break;
      BuildUp judged = judge_series(proof, "most even", found);
      if (!judged.every_step_heard) continue;
      if (best.empty() || judged.evenness < report.best.evenness) {
        report.best = std::move(judged);
        best = found;
      }
    }
  }
  if (best.empty()) {
    return fail(fmt::format(
        "from {:.0f} to {:.0f} phon no two registrations of the {} were found an audible step apart, the second drawn "
        "by adding to the first; what a build-up may draw there goes from {:.0f} to {:.0f} phon",
        wish.from.value(), wish.to.value(), board, series.softest(), series.loudest()));
  }
  for (const bool swell_first : {false, true}) {
    const auto order = usual_order(chooser.organ(), chooser.on(), swell_first, best.front(), best.back());
    if (order.size() < 2) continue;
    report.others.push_back(
        judge_series(proof, swell_first ? "Swell coupled from the start" : "the usual order (R4)", order));
  }
  return report;
}

}  // namespace calcant
