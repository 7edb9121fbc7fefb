#include "jobs/corrected_run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "files/decisions/decisions.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"
#include "jobs/sha256.hpp"

namespace calcant {
namespace {

constexpr double longest = 24.0 * 3600.0;  // as measure_run

std::string version_of(std::string_view decisions) { return sha256(decisions).substr(0, 16); }

// Times are written to a thousandth of a second; what is sent finer would otherwise never be found unchanged.
std::optional<Seconds> to_thousandths(std::optional<Seconds> t) {
  if (!t) return std::nullopt;
  return Seconds{std::round(t->value() * 1000.0) / 1000.0};
}

Result<void> times_right(const Decision& d, const std::string& what) {
  const bool silent = d.extra == Extra::none && (d.state == NoteState::dead || d.state == NoteState::unsure);
  if (silent) {
    if (d.from || d.to) return fail(fmt::format("{}: a key that gave no sound has no times", what));
    return {};
  }
  if (!d.from || !d.to) return fail(fmt::format("{}: from when to when does it sound?", what));
  if (d.from->value() < 0.0 || d.to->value() > longest || *d.to <= *d.from)
    return fail(fmt::format("{}: it must end after it begins, and lie within the recording", what));
  return {};
}

// Each in its place of the plan, or the first thing that is wrong.
Result<Decisions> placed(const std::vector<Note>& keys, Decisions decisions) {
  if (decisions.size() > most_decisions)
    return fail(fmt::format("a recording is cut into at most {} pieces", most_decisions));
  std::vector<bool> taken(keys.size(), false);
  for (Decision& d : decisions) {
    d.fixed = true;
    d.from = to_thousandths(d.from);
    d.to = to_thousandths(d.to);
    d.place.reset();
    const std::string what = d.extra == Extra::none ? name(d.key) : std::string{"what belongs to no key"};
    if (const auto right = times_right(d, what); !right) return tl::unexpected(right.error());
    if (d.extra != Extra::none) continue;
    const auto key = std::ranges::find(keys, d.key);
    if (key == keys.end()) return fail(fmt::format("{} is no key of this stop", what));
    const auto place = static_cast<std::size_t>(key - keys.begin());
    if (taken[place]) return fail(fmt::format("{} is decided twice; a key is played once in a run", what));
    taken[place] = true;
    d.place = static_cast<int>(place);
  }
  return decisions;
}

std::string_view what(const Decision& d) {
  if (d.extra == Extra::other) return "nothing";
  return d.extra == Extra::none ? word(d.state) : word(d.extra);
}

}  // namespace

Result<CutUp> cut_up(const OrganContext& context, const Book& book, EntryId id) {
  auto kept = kept_run(context, book, id);
  if (!kept) return tl::unexpected(kept.error());
  CutUp out;
  out.run = std::move(kept->run);
  out.stop = kept->stop;
  const auto plan = plan_of_stop(context, out.run.stop, context.described.pitch.at.value, out.run.sides);
  if (!plan) return tl::unexpected(plan.error());
  for (const PlannedKey& k : plan->keys) out.keys.push_back(k.key);
  out.version = version_of(out.run.decisions);
  if (out.run.decisions.empty()) return out;
  auto file = read_decisions(out.run.decisions, fmt::format("the decisions of run {}", id), out.keys);
  if (!file) return tl::unexpected(file.error());
  out.decisions = std::move(file->decisions);
  return out;
}

Decisions by_hand(const Decisions& decisions) {
  Decisions out;
  std::ranges::copy_if(decisions, std::back_inserter(out), &Decision::fixed);
  return out;
}

Result<void> still_there(const Run& run, const std::filesystem::path& recording) {
  const std::string now = fingerprint(recording);
  if (now.empty())
    return fail(
        fmt::format("the recording {} of this run is no longer there; put it back to correct its notes", run.recording),
        recording.string());
  if (!run.fingerprint.empty() && run.fingerprint != now)
    return fail(fmt::format("{} is another recording than the one this run was measured from", run.recording),
                recording.string());
  return {};
}

Json decision_json(const Decision& d) {
  Json j;
  j["what"] = what(d);
  if (d.extra != Extra::other) j["midi"] = d.key.midi;
  if (d.from) j["from_s"] = rounded(d.from->value(), 3);
  if (d.to) j["to_s"] = rounded(d.to->value(), 3);
  if (d.heard) j["heard_midi"] = d.heard->midi;
  return j;
}

std::string json_text(const OrganContext& context, const CutUp& c, bool recording_here) {
  const Stop& stop = context.described.stops[static_cast<std::size_t>(c.stop)];
  Json j;
  j["run"] = c.run.id;
  j["stop"] = stop.id;
  j["name"] = full_name(stop);
  j["recording"] = c.run.recording;
  j["recording_here"] = recording_here;
  j["version"] = c.version;
  j["keys"] = Json::array();
  for (const Note key : c.keys) j["keys"].push_back({{"midi", key.midi}, {"note", name(key)}});
  j["decisions"] = Json::array();
  for (const Decision& d : c.decisions) {
    Json one = decision_json(d);
    one["by_hand"] = d.fixed;
    j["decisions"].push_back(std::move(one));
  }
  return dump(j);
}

Result<CutUp> correctable(const OrganContext& context, const Book& book, Correction& correction) {
  auto before = cut_up(context, book, correction.run);
  if (!before) return before;
  if (before->version != correction.version)
    return fail(fmt::format("run {} was corrected elsewhere meanwhile; look at it again", correction.run));
  if (auto here = still_there(before->run, correction.recording); !here) return tl::unexpected(here.error());
  auto decisions = placed(before->keys, std::move(correction.by_hand));
  if (!decisions) return tl::unexpected(decisions.error());
  correction.by_hand = std::move(*decisions);
  return before;
}

Result<StopMeasured> correct_run(const OrganContext& context, Correction correction, const Work& work) {
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  const auto before = correctable(context, *book, correction);
  if (!before) return tl::unexpected(before.error());
  const Stop& stop = context.described.stops[static_cast<std::size_t>(before->stop)];
  MeasureRequest request;
  request.recording = std::move(correction.recording);
  request.stop = stop.id;
  request.sides = before->run.sides;
  request.close = before->run.close;
  request.place = before->run.place;
  request.by_hand = std::move(correction.by_hand);
  auto measured = measure_stop(context, request, before->run.temperature, work);
  if (!measured) return measured;
  Run now = run_of(context, request, *measured);
  now.id = correction.run;
  const auto written = book->correct_run(now, run_notes(context.described, stop, measured->run), before->run.decisions);
  if (!written) return tl::unexpected(written.error());
  measured->kept = correction.run;
  return measured;
}

}  // namespace calcant
