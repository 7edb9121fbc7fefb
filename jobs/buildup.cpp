#include "jobs/buildup.hpp"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "jobs/drawn_json.hpp"
#include "jobs/knobs_asked.hpp"
#include "jobs/level_words.hpp"
#include "jobs/registrant.hpp"

namespace calcant {
namespace {

Json series_json(const Organ& organ, const BuildUp& b) {
  Json steps = Json::array();
  for (const BuildUpStep& s : b.steps) {
    steps.push_back({{"draw", draw_json(organ, s.drawn)},
                     {"box", box_json(organ, s.drawn)},
                     {"phon", rounded(s.phons, 2)},
                     {"louder_phon", rounded(s.louder, 2)},
                     {"knobs_moved", s.moved}});
  }
  return steps;
}
Json evenness_json(const BuildUp& b) {
  return std::isfinite(b.evenness) ? Json(rounded(b.evenness, 2)) : Json(nullptr);
}

}  // namespace

Result<BuiltUp> Registrant::build_up(const BuildUpRequest& request, const Work& work) {
  const Organ& organ = context_->organ;
  const auto asked = knobs_asked(organ, request.must, request.must_not);
  if (!asked) return tl::unexpected(asked.error());
  const auto on = manual_asked(organ, request.on, "--on");
  if (!on) return tl::unexpected(on.error());
  const Registration spared = fewer_stops(organ, *on, asked->must);
  const auto chords = chords_asked(*context_, request.heard_on, *on);
  if (!chords) return tl::unexpected(chords.error());
  const auto kept = chooser(*on, spared, *chords, work);
  if (!kept) return tl::unexpected(kept.error());
  // A level that is no level, or knobs with which nothing can be built up.
  const auto blamed = [&](const Error& e, const char* end) {
    return e.where == "--level" || (request.must.empty() && request.must_not.empty()) ? end
           : request.must.empty()                                                     ? "--not"
                                                                                      : "--must";
  };
  const auto from = level_asked(*context_, **kept, request.from, {}, Manner::chorus, *asked, work);
  if (!from) return fail(from.error().message, blamed(from.error(), "--from"));
  const auto to = level_asked(*context_, **kept, request.to, {}, Manner::chorus, *asked, work);
  if (!to) return fail(to.error().message, blamed(to.error(), "--to"));
  BuildUpWish wish;
  wish.from = from->level;
  wish.to = to->level;
  wish.steps = request.steps;
  wish.must = asked->must;
  wish.must_not = asked->must_not;
  auto report = calcant::build_up(**kept, wish, work);
  if (!report) return tl::unexpected(report.error());
  std::string range = fmt::format("from {:.0f} to {:.0f} phon", report->from.value(), report->to.value());
  if (report->from != from->level || report->to != to->level)
    range += fmt::format(" (the nearest there is to {:.0f} and {:.0f})", from->level.value(), to->level.value());
  BuiltUp out{std::move(*report), std::move(range)};
  if (spared.stops.any()) {
    out.report.left_out =
        "The organ is large: one stop of each family and pitch was considered in the first two divisions, "
        "no octave couplers.";
    Registration all;
    all.box.fill(1);
    for (std::size_t s = 0; s < organ.stops.size(); ++s) {
      all.stops.set(s, !organ.stops[s].celeste && !organ.stops[s].out_of_use && !asked->must_not.stops.test(s));
    }
    for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
      const Coupler& x = organ.couplers[c];
      if (x.from == *on && x.semitones == 0 && !x.unison_off) all.couplers.set(c);
    }
    const double short_of =
        (*kept)->ear().hear(all).phons - (*kept)->ear().hear(out.report.best.steps.back().drawn).phons;
    if (short_of >= 1) {
      out.report.left_out +=
          fmt::format(" Everything that the {} reaches at pitch is {:.0f} phon louder than the last step.",
                      organ.keyboards[static_cast<std::size_t>(*on)].name, short_of);
    }
  }
  return out;
}

std::string json_text(const OrganContext& context, const BuiltUp& b) {
  const Organ& organ = context.organ;
  Json j;
  j["purpose"] = b.purpose;
  j["heard"] = context.heard;
  j["asked"] = b.report.asked;
  j["steps"] = series_json(organ, b.report.best);
  j["evenness"] = evenness_json(b.report.best);
  j["knobs_a_step"] = rounded(b.report.best.knobs, 2);
  j["others"] = Json::array();
  for (const BuildUp& o : b.report.others) {
    j["others"].push_back({{"name", o.name},
                           {"evenness", evenness_json(o)},
                           {"every_step_heard", o.every_step_heard},
                           {"knobs_a_step", rounded(o.knobs, 2)},
                           {"steps", series_json(organ, o)}});
  }
  if (!b.report.left_out.empty()) j["left_out"] = b.report.left_out;
  return dump(j);
}

}  // namespace calcant
