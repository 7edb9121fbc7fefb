#include "jobs/run_notes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace calcant {
namespace {

std::optional<Ruling> ruling(std::string_view text) {
  for (const Ruling r :
       {Ruling::noise, Ruling::wind, Ruling::room, Ruling::temperature, Ruling::drift, Ruling::recorder})
    if (word(r) == text) return r;
  return std::nullopt;
}

double median_level(const MeasuredRun& run) {
  std::vector<double> levels;
  for (const MeasuredNote& n : run.notes)
    if (n.level) levels.push_back(n.level->value());
  std::ranges::sort(levels);
  return levels.empty() ? 0.0 : levels[levels.size() / 2];
}

HeardSpeech speech_of(const RunNote& n, Hertz hz) {
  HeardSpeech s;
  s.rise = Seconds{n.rise_ms.value_or(0.0) / 1000.0};
  s.speech = Seconds{*n.speech_ms / 1000.0};
  s.rise_periods = s.rise.value() * hz.value();
  s.speech_periods = s.speech.value() * hz.value();
  s.room_limited = n.room_limited;
  s.resolution = Seconds{n.resolution_ms.value_or(0.0) / 1000.0};
  s.speaks_first = n.speaks_first;
  s.chiff = n.chiff;
  return s;
}

}  // namespace

std::vector<PipeId> pipes_at(const Organ& organ, const Stop& stop, int key) {
  std::vector<PipeId> out;
  for (const StopPart& part : stop.parts) {
    if (key < part.from.midi || key > part.to.midi) continue;
    const Rank& rank = organ.ranks[static_cast<std::size_t>(part.rank)];
    const int number = key + part.step - rank.low_key.midi + 1;
    if (number >= 1 && number <= rank.pipes) out.push_back({part.rank, number});
  }
  std::sort(out.begin(), out.end(),
            [&](PipeId a, PipeId b) { return sounding_note(organ, a) < sounding_note(organ, b); });
  return out;
}

std::vector<RunNote> run_notes(const Organ& organ, const Stop& stop, const MeasuredRun& run) {
  std::vector<RunNote> out;
  const Decibels median{median_level(run)};
  for (const MeasuredNote& n : run.notes) {
    RunNote r;
    r.key = n.key;
    if (const auto pipes = pipes_at(organ, stop, n.key.midi); pipes.size() == 1) {
      r.rank = organ.ranks[static_cast<std::size_t>(pipes[0].rank)].id;
      r.pipe = pipes[0].number;
    }
    r.state = word(n.state);
    if (n.start) r.start_s = n.start->value();
    r.cents = n.cents;
    r.cents_95 = n.cents_95;
    r.cents_in_run = n.in_run;
    r.cents_in_run_95 = n.in_run_95;
    r.ruled_by = word(n.ruled_by);
    if (n.speech) {
      r.rise_ms = 1000 * n.speech->rise.value();
      r.speech_ms = 1000 * n.speech->speech.value();
      r.room_limited = n.speech->room_limited;
      r.resolution_ms = 1000 * n.speech->resolution.value();
      r.speaks_first = n.speech->speaks_first;
      r.chiff = n.speech->chiff;
    }
    if (n.level) r.level = *n.level - median;
    r.level_95 = n.evenness;
    r.pipes_heard = n.pipes_heard;
    if (n.pitch) {
      r.hz = n.pitch->hertz;
      r.unsteady = n.pitch->unsteadiness;
      for (const Decibels d : n.pitch->harmonics) r.harmonics_db.push_back(d.value());
    }
    r.heard = n.heard;
    r.sounds_at = n.sounds_at;
    r.wind_noise = n.wind_noise;
    if (n.beat) {
      r.beat = n.beat->rate;
      r.beat_apart = n.beat->apart;
    }
    if (n.late) r.late_ms = 1000 * n.late->value();
    r.clipped = n.clipped;
    out.push_back(std::move(r));
  }
  return out;
}

MeasuredNote measured_note(const RunNote& n, int place) {
  MeasuredNote m;
  m.place = place;
  m.key = n.key;
  m.state = note_state(n.state).value_or(NoteState::unsure);
  m.heard = n.heard;
  if (n.start_s) m.start = Seconds{*n.start_s};
  if (n.hz) {
    Pitch p;
    p.hertz = *n.hz;
    p.half_width_95 = n.cents_in_run_95.value_or(Cents{0});
    p.unsteadiness = n.unsteady.value_or(Cents{0});
    for (const double d : n.harmonics_db) p.harmonics.push_back(Decibels{d});
    m.pitch = p;
    if (n.speech_ms) m.speech = speech_of(n, *n.hz);
  }
  m.cents = n.cents;
  m.cents_95 = n.cents_95;
  m.in_run = n.cents_in_run;
  m.in_run_95 = n.cents_in_run_95;
  m.ruled_by = ruling(n.ruled_by).value_or(Ruling::noise);
  m.level = n.level;
  m.evenness = n.level_95;
  m.wind_noise = n.wind_noise;
  m.sounds_at = n.sounds_at;
  m.pipes_heard = n.pipes_heard;
  if (n.beat && n.beat_apart) m.beat = HeardBeat{*n.beat, *n.beat_apart, Decibels{0}};
  if (n.late_ms) m.late = Seconds{*n.late_ms / 1000.0};
  m.clipped = n.clipped;
  return m;
}

bool played_through(const std::vector<RunNote>& notes) {
  return 4 * std::ranges::count(notes, "dead", &RunNote::state) < static_cast<std::ptrdiff_t>(notes.size());
}

namespace {
Result<KeptRun> with_notes(const Book& book, Run run, StopIndex stop) {
  KeptRun out;
  auto notes = book.notes(run.id);
  if (!notes) return tl::unexpected(notes.error());
  out.kept = std::move(*notes);
  out.run = std::move(run);
  out.stop = stop;
  int place = 0;
  for (const RunNote& n : out.kept) out.notes.push_back(measured_note(n, place++));
  out.findings = findings(out.notes);
  return out;
}
}  // namespace

Result<KeptRun> kept_run(const OrganContext& context, const Book& book, EntryId id) {
  auto runs = book.runs();
  if (!runs) return tl::unexpected(runs.error());
  const auto run = std::ranges::find(*runs, id, &Run::id);
  if (run == runs->end())
    return fail(fmt::format("the book has no run {}; 'calcant measure list' shows those there are", id));
  const auto stop = stop_by_id(context.described, run->stop);
  if (!stop) return fail(fmt::format("run {} is of the stop \"{}\", which this organ no longer has", id, run->stop));
  return with_notes(book, std::move(*run), *stop);
}

Result<std::vector<KeptRun>> newest_runs(const OrganContext& context, const Book& book, std::string_view on,
                                         std::vector<std::string>& orphans) {
  auto runs = book.runs();
  if (!runs) return tl::unexpected(runs.error());
  std::map<StopIndex, Run> newest;
  for (Run& r : *runs) {
    if (!on.empty() && r.date > on) continue;
    const auto stop = stop_by_id(context.described, r.stop);
    if (stop) newest[*stop] = std::move(r);  // runs come oldest first
    else orphans.push_back(fmt::format("Run {} is of the stop \"{}\", which this organ no longer has.", r.id, r.stop));
  }
  std::vector<KeptRun> out;
  for (auto& [stop, run] : newest) {
    auto kept = with_notes(book, std::move(run), stop);
    if (!kept) return tl::unexpected(kept.error());
    out.push_back(std::move(*kept));
  }
  return out;
}

}  // namespace calcant
