#include "jobs/kept_measurings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "files/pages/measuring_page.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

constexpr double recorder_cents_95 = 0.09;  // 50 ppm, as the plan of a run assumes
constexpr std::size_t least_pipes = 5;      // that all measurings of a rank must have

const Stop& stop_of(const OrganContext& context, const KeptRun& r) {
  return context.described.stops[static_cast<std::size_t>(r.stop)];
}

OneMeasuring one_measuring(const KeptRun& r) {
  OneMeasuring m;
  m.date = r.run.date;
  m.temperature = r.run.temperature;
  m.place = r.run.place;
  m.close = r.run.close;
  for (const RunNote& n : r.kept)
    m.pipes.push_back({n.key, n.state, n.cents, n.cents_95, n.cents_in_run, n.cents_in_run_95, n.level, n.level_95,
                       n.speech_ms, n.room_limited});
  return m;
}

// Each rank the stop draws on, from all measurings of the stop since its last visit: pipes that every one of them has.
Result<std::vector<RankWarmth>> learnt(const OrganContext& context, const Book& book, StopIndex stop_index) {
  const Organ& organ = context.described;
  const Stop& stop = organ.stops[static_cast<std::size_t>(stop_index)];
  const auto runs = book.runs();
  const auto visits = states_closed(book);
  if (!runs) return tl::unexpected(runs.error());
  if (!visits) return tl::unexpected(visits.error());
  struct OneDay {
    Celsius at;
    std::map<std::pair<std::string, int>, double> cents;  // from the pipe's own pitch at the organ's temperature
  };
  std::vector<OneDay> days;
  for (const Run& run : *runs) {
    if (run.stop != stop.id || !run.temperature || seen_to(*visits, stop.id, run.date, "")) continue;
    const auto notes = book.notes(run.id);
    if (!notes) return tl::unexpected(notes.error());
    OneDay day{*run.temperature, {}};
    for (const RunNote& n : *notes) {
      const auto rank = rank_by_id(organ, n.rank);
      if (n.state != "speaks" || !n.hz || n.sounds_at != 1.0 || !rank || n.pipe < 1 ||
          n.pipe > organ.ranks[static_cast<std::size_t>(*rank)].pipes)
        continue;
      const Hertz own = frequency(organ, {*rank, n.pipe}, organ.pitch.at.value);
      day.cents[{n.rank, n.pipe}] = interval(own, *n.hz).value();
    }
    days.push_back(std::move(day));
  }
  std::vector<RankWarmth> out;
  for (const Rank& rank : organ.ranks) {
    std::set<int> common;
    for (int pipe = 1; pipe <= rank.pipes; ++pipe)
      if (!days.empty() && std::ranges::all_of(days, [&](const OneDay& d) {
            return d.cents.contains({rank.id, pipe});
          }))
        common.insert(pipe);
    if (common.size() < least_pipes) continue;
    std::vector<WarmthPoint> points;
    for (const OneDay& d : days) {
      double sum = 0.0;
      for (const int pipe : common) sum += d.cents.at({rank.id, pipe});
      points.push_back({d.at, Cents{sum / static_cast<double>(common.size())}, Cents{recorder_cents_95}});
    }
    if (auto w = warmth(points)) out.push_back({rank.id, rank.name, *w});
  }
  return out;
}

std::string whole_words(const KeptRun& r) {
  std::vector<double> cents;
  std::vector<double> wide;
  for (const RunNote& n : r.kept)
    if (n.cents && n.cents_95 && n.state == "speaks" && n.sounds_at == 1.0) {
      cents.push_back(n.cents->value());
      wide.push_back(n.cents_95->value());
    }
  if (cents.empty()) return "No pitch could be had.";
  std::ranges::sort(cents);
  std::ranges::sort(wide);
  const double middle = std::round(cents[cents.size() / 2]) + 0.0;
  const double half = std::ceil(wide[wide.size() / 2]);
  if (!r.run.temperature)
    return "No temperature was written down: nothing is said of the organ's pitch, only of the notes among themselves.";
  return middle == 0.0 ? fmt::format(
                             "The whole stop stands at the organ's pitch for that temperature, give or take {:.0f} "
                             "cents.",
                             half)
                       : fmt::format(
                             "The whole stop stands {:.0f} cents {} the organ's pitch for that temperature, give or "
                             "take {:.0f}.",
                             std::fabs(middle), middle > 0 ? "above" : "below", half);
}

std::string conditions(const Run& run) {
  std::string out = run.temperature ? fmt::format("{:.4g} \u00b0C at the pipes", run.temperature->value())
                                    : std::string{"Temperature not written down"};
  if (!run.place.empty()) out += "; recorder: " + run.place;
  else if (run.close) out += "; recorder at the mouths";
  return out + ".";
}

// In which plot a finding shows: 0 pitch (and what has no figure of its own), 1 speech, 2 level.
std::size_t plot_of(FindingKind kind) {
  switch (kind) {
    case FindingKind::slow_speech:
    case FindingKind::late: return 1;
    case FindingKind::too_loud:
    case FindingKind::too_soft:
    case FindingKind::pipe_missing:
    case FindingKind::noisy:
    case FindingKind::uneven: return 2;
    case FindingKind::dead:
    case FindingKind::cipher:
    case FindingKind::wrong_note:
    case FindingKind::off_speech:
    case FindingKind::out_of_tune:
    case FindingKind::unsteady:
    case FindingKind::beats: break;
  }
  return 0;
}

MeasuringPage::StopMeasured on_page(const OrganContext& context, const KeptRun& r) {
  MeasuringPage::StopMeasured s;
  s.name = full_name(stop_of(context, r));
  s.date = r.run.date;
  s.conditions = conditions(r.run);
  s.whole = whole_words(r);
  std::set<Note> out_by[3];  // pitch, speech, level
  for (const Finding& f : r.findings) out_by[plot_of(f.kind)].insert(f.keys.begin(), f.keys.end());
  int limited = 0;
  int spoke = 0;
  for (const MeasuredNote& n : r.notes) {
    MeasuringPage::Point p;
    p.midi = n.key.midi;
    p.name = name(n.key);
    p.state = word(n.state);
    p.pitch_out = out_by[0].contains(n.key);
    p.speech_out = out_by[1].contains(n.key);
    p.level_out = out_by[2].contains(n.key);
    if (n.in_run) p.cents = n.in_run->value();
    if (n.in_run_95) p.cents_95 = n.in_run_95->value();
    if (n.speech && n.state == NoteState::speaks) {
      p.speech_ms = 1000.0 * n.speech->speech.value();
      p.resolution_ms = 1000.0 * n.speech->resolution.value();
      limited += n.speech->room_limited;
      ++spoke;
    }
    if (n.level) p.level = n.level->value();
    if (n.evenness) p.level_sd = n.evenness->value();
    s.points.push_back(std::move(p));
  }
  s.room_limited = 2 * limited > spoke;
  return s;
}

template <class F>
MeasuringPage::Trouble trouble(const F& f) {
  MeasuringPage::Trouble t;
  t.sentence = f.sentence;
  t.causes = f.causes;
  for (const SeparatingTest& test : f.tests) (test.who == Who::organist ? t.organist : t.builder).push_back(test.what);
  return t;
}

Json change_json(const std::optional<MeasuredChange>& c, int places) {
  if (!c) return nullptr;
  return {{"by", rounded(c->by, places)}, {"half_width_95", rounded(c->half_width, places)}, {"sure", c->sure}};
}

template <class F>
Json tests_json(const F& f) {
  Json tests = Json::array();
  for (const SeparatingTest& t : f.tests) tests.push_back({{"what", t.what}, {"who", word(t.who)}});
  return tests;
}

Json run_json(const OrganContext& context, const Run& r) {
  Json j;
  j["run"] = r.id;
  j["stop"] = r.stop;
  const auto stop = stop_by_id(context.described, r.stop);
  j["name"] = stop ? Json(full_name(context.described.stops[static_cast<std::size_t>(*stop)])) : Json(nullptr);
  j["date"] = r.date;
  j["celsius"] = r.temperature ? Json(r.temperature->value()) : Json(nullptr);
  j["place"] = r.place;
  j["close"] = r.close;
  j["recording"] = r.recording;
  return j;
}

}  // namespace

Result<MeasuringsCompared> compare_runs(const OrganContext& context, EntryId before, EntryId after) {
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  auto a = kept_run(context, *book, before);
  if (!a) return tl::unexpected(a.error());
  auto b = kept_run(context, *book, after);
  if (!b) return tl::unexpected(b.error());
  if (a->stop != b->stop)
    return fail(fmt::format("run {} is of {}, run {} of {}; two measurings of one stop are compared", before,
                            full_name(stop_of(context, *a)), after, full_name(stop_of(context, *b))));
  auto comparison = compare(one_measuring(*a), one_measuring(*b));
  if (!comparison) return tl::unexpected(comparison.error());
  auto ranks = learnt(context, *book, a->stop);
  if (!ranks) return tl::unexpected(ranks.error());
  return MeasuringsCompared{std::move(*a), std::move(*b), std::move(*comparison), std::move(*ranks)};
}

std::string json_text(const OrganContext& context, const MeasuringsCompared& c) {
  Json j;
  j["organ"] = context.described.id;
  j["invented"] = context.described.invented;
  j["before"] = run_json(context, c.before.run);
  j["after"] = run_json(context, c.after.run);
  j["whole_cents"] = change_json(c.comparison.whole, 2);
  j["notes"] = Json::array();
  for (const ComparedNote& n : c.comparison.notes)
    j["notes"].push_back({{"midi", n.key.midi},
                          {"note", name(n.key)},
                          {"before", n.before},
                          {"after", n.after},
                          {"changed", n.changed()},
                          {"cents", change_json(n.pitch, 3)},
                          {"level_db", change_json(n.level, 2)},
                          {"speech_times", change_json(n.speech, 2)}});
  j["temperature"] = Json::array();
  for (const RankWarmth& r : c.learnt)
    j["temperature"].push_back({{"rank", r.rank},
                                {"name", r.name},
                                {"cents_per_kelvin", rounded(r.warmth.per_kelvin.value(), 3)},
                                {"cents_per_kelvin_95", rounded(r.warmth.per_kelvin_95.value(), 3)},
                                {"share_of_a_flue", rounded(r.warmth.flue_share, 3)},
                                {"measurings", r.warmth.measurings},
                                {"coldest_celsius", r.warmth.coldest.value()},
                                {"warmest_celsius", r.warmth.warmest.value()}});
  j["remarks"] = c.comparison.remarks;
  return dump(j);
}

Result<MeasuringsOnPage> page_of_runs(const OrganContext& context, const std::vector<EntryId>& runs,
                                      std::string_view on) {
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  MeasuringsOnPage out;
  MeasuringPage page;
  if (runs.empty()) {
    auto newest = newest_runs(context, *book, on, page.remarks);
    if (!newest) return tl::unexpected(newest.error());
    out.runs = std::move(*newest);
  }
  for (const EntryId id : runs) {
    auto run = kept_run(context, *book, id);
    if (!run) return tl::unexpected(run.error());
    out.runs.push_back(std::move(*run));
  }
  if (out.runs.empty()) return fail("the book holds no measuring yet; 'calcant measure ... --keep' writes one into it");
  std::vector<std::string> names;
  for (const KeptRun& r : out.runs) names.push_back(full_name(stop_of(context, r)));
  std::vector<StopFindings> stops;
  for (std::size_t i = 0; i < out.runs.size(); ++i) {
    const KeptRun& r = out.runs[i];
    const Rank& rank = context.described.ranks[static_cast<std::size_t>(stop_of(context, r).parts.front().rank)];
    const Chest& chest = context.described.chests[static_cast<std::size_t>(rank.chest)];
    stops.push_back({names[i], chest.id, chest.grooved, r.notes, r.findings});
  }
  out.shared = shared_findings(stops);

  page.organ = context.described.name;
  page.invented = context.described.invented;
  MeasuringPage::TroublesOf several{"Several stops together", {}};
  for (const SharedFinding& f : out.shared) several.troubles.push_back(trouble(f));
  page.troubles.push_back(std::move(several));
  for (std::size_t i = 0; i < out.runs.size(); ++i) {
    page.stops.push_back(on_page(context, out.runs[i]));
    MeasuringPage::TroublesOf own{names[i], {}};
    for (const Finding& f : out.runs[i].findings) own.troubles.push_back(trouble(f));
    page.troubles.push_back(std::move(own));
  }
  out.html = measuring_page(page);
  return out;
}

std::string json_text(const OrganContext& context, const MeasuringsOnPage& p) {
  Json j;
  j["organ"] = context.described.id;
  j["invented"] = context.described.invented;
  j["runs"] = Json::array();
  for (const KeptRun& r : p.runs) {
    Json one = run_json(context, r.run);
    one["findings"] = r.findings.size();
    j["runs"].push_back(std::move(one));
  }
  j["shared"] = Json::array();
  for (const SharedFinding& f : p.shared) {
    Json keys = Json::array();
    for (const Note key : f.keys) keys.push_back(key.midi);
    j["shared"].push_back({{"kind", word(f.kind)},
                           {"keys", std::move(keys)},
                           {"stops", f.stops},
                           {"shared", f.shared},
                           {"sentence", f.sentence},
                           {"causes", f.causes},
                           {"tests", tests_json(f)},
                           {"who", word(f.who)}});
  }
  return dump(j);
}

std::string runs_json(const OrganContext& context, const std::vector<Run>& runs) {
  Json j;
  j["runs"] = Json::array();
  for (const Run& r : runs) j["runs"].push_back(run_json(context, r));
  return dump(j);
}

}  // namespace calcant
