#include "jobs/buildup.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "jobs/drawn_json.hpp"
#include "jobs/knobs_asked.hpp"
#include "jobs/level_words.hpp"
#include "jobs/registrant.hpp"

namespace calcant {
namespace {

constexpr int a_handful = 3;

Json series_json(const Organ& organ, const BuildUp& b) {
  Json steps = Json::array();
  for (const BuildUpStep& s : b.steps) {
    steps.push_back({{"draw", draw_json(organ, s.drawn)},
                     {"box", box_json(organ, s.drawn)},
                     {"phon", rounded(s.phons, 2)},
                     {"louder_phon", rounded(s.louder, 2)},
                     {"knobs_moved", s.moved},
                     {"made_ready", s.ready}});
  }
  return steps;
}
Json evenness_json(const BuildUp& b) {
  return std::isfinite(b.evenness) ? Json(rounded(b.evenness, 2)) : Json(nullptr);
}

// What the figures do not say by themselves.
std::string remarks(const BuildUpFrame& frame, const BuildUpReport& report) {
  std::string out;  // sentences, each with a space after it
  const std::vector<BuildUpStep>& steps = report.best.steps;
  if (static_cast<int>(steps.size()) < report.asked) {
    out += fmt::format("{} were asked for; none was found with more than {} in which every step is heard. ",
                       report.asked, steps.size());
  }
  const auto most = std::max_element(steps.begin(), steps.end(),
                                     [](const BuildUpStep& a, const BuildUpStep& b) { return a.moved < b.moved; });
  if (most->moved > a_handful) {
    out += fmt::format("Step {} moves {} knobs at once: that wants a helper or a composition pedal. ",
                       most - steps.begin() + 1, most->moved);
  }
  if (frame.left_out) {
    out += fmt::format("The organ is large: {} stops were considered, of a full organ's and of what begins it. ",
                       frame.knobs.stops.count());
  }
  if (!out.empty()) out.pop_back();
  return out;
}

}  // namespace

Result<BuiltUp> Registrant::build_up(const BuildUpRequest& request, const Work& work) {
  const Organ& organ = context_->organ;
  const auto asked = knobs_asked(organ, request.must, request.must_not);
  if (!asked) return tl::unexpected(asked.error());
  const auto on = manual_asked(organ, request.on, "--on");
  if (!on) return tl::unexpected(on.error());
  const auto chords = chords_asked(*context_, request.heard_on, *on);
  if (!chords) return tl::unexpected(chords.error());
  // Levels mean what they mean where one registration is chosen.
  const auto whole = chooser(*on, {}, *chords, work);
  if (!whole) return tl::unexpected(whole.error());
  // A level that is no level, or knobs with which nothing can be built up.
  const auto blamed = [&](const Error& e, const char* end) {
    return e.where == "--level" || (request.must.empty() && request.must_not.empty()) ? end
           : request.must.empty()                                                     ? "--not"
                                                                                      : "--must";
  };
  const auto from = level_asked(*context_, **whole, request.from, {}, Manner::free, *asked, work);
  if (!from) return fail(from.error().message, blamed(from.error(), "--from"));
  const auto to = level_asked(*context_, **whole, request.to, {}, Manner::free, *asked, work);
  if (!to) return fail(to.error().message, blamed(to.error(), "--to"));
  const auto frame = build_up_frame(**whole, asked->must, asked->must_not, work);
  if (!frame) return tl::unexpected(frame.error());
  // Full is everything that is heard, as it is there.
  const bool has_full = frame->full.stops.any();
  const auto level = [&](const LevelAsked& l) {
    return l.full && has_full ? Phons{std::min(l.level.value(), (*whole)->ear().hear(frame->full).phons)} : l.level;
  };
  BuildUpWish wish;
  wish.from = level(*from);
  wish.to = level(*to);
  wish.to_full = to->full && has_full;
  wish.steps = request.steps;
  wish.must = asked->must;
  // The whole may be too many for a map.
  const auto kept = (*whole)->mapped() ? whole : chooser(*on, all_but(organ, *frame), *chords, work);
  if (!kept) return tl::unexpected(kept.error());
  auto report = calcant::build_up(**kept, *frame, wish, work);
  if (!report) return fail(report.error().message, wish.to > wish.from ? blamed(report.error(), "--to") : "--to");
  BuiltUp out;
  out.purpose = fmt::format("from {:.0f} to {:.0f} phon", report->from.value(), report->to.value());
  if (report->from != wish.from || report->to != wish.to)
    out.purpose += fmt::format(" (the nearest there is to {:.0f} and {:.0f})", wish.from.value(), wish.to.value());
  out.remarks = remarks(*frame, *report);
  out.report = std::move(*report);
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
  if (!b.remarks.empty()) j["remarks"] = b.remarks;
  return dump(j);
}

}  // namespace calcant
