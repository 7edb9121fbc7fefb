#include "engine/measuring/measure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numbers>
#include <thread>

#include "engine/measuring/alignment.hpp"
#include "engine/measuring/sounds.hpp"
#include "engine/measuring/statistics.hpp"

namespace calcant {

namespace {

constexpr std::int64_t block = 1 << 16;
constexpr double most_seconds = 24.0 * 3600.0;
constexpr double longest_listened = 10.0;     // seconds of one note that are taken into account
constexpr std::size_t at_a_time = 16;         // notes held in memory
constexpr std::ptrdiff_t least_for_room = 4;  // notes by which a room is known
constexpr double hum_below = 26.0;  // dB under the note: steady lines so weak are kept away from, not taken out

Result<void> check(const Recording& r, const RunPlan& plan) {
  if (plan.keys.empty()) return fail("there is no key to measure; the plan must name at least one");
  if (plan.keys.size() > 512)
    return fail(fmt::format("the plan has {} keys; at most 512 are measured in one run", plan.keys.size()));
  if (r.rate < 8000 || r.rate > 384000)
    return fail(fmt::format("the recording has {} samples a second; 8000 to 384000 are read", r.rate));
  for (const auto& k : plan.keys) {
    if (k.pipes.empty()) return fail(fmt::format("the plan says no pitch for {}", name(k.key)));
    for (const Hertz f : k.pipes)
      if (!(f.value() >= 8.0 && f.value() <= 16000.0))
        return fail(fmt::format("the plan expects {} at {:.1f} Hz; pipes sound between 8 and 16000 Hz", name(k.key),
                                f.value()));
  }
  return {};
}

Result<measuring::Hearing> hear(const Recording& r, const Work& work) {
  measuring::Listener listener(r.rate);
  std::vector<float> x(block);
  std::int64_t at = 0;
  for (;;) {
    if (work.stop.stop_requested()) return fail("measuring was stopped");
    const auto got = r.read(at, x);
    if (!got) return tl::make_unexpected(got.error());
    for (std::int64_t i = 0; i < *got; ++i)
      if (!std::isfinite(x[static_cast<std::size_t>(i)])) x[static_cast<std::size_t>(i)] = 0.0F;
    listener.take(std::span<const float>(x).first(static_cast<std::size_t>(*got)));
    at += *got;
    if (*got < block) break;
    if (static_cast<double>(at) / r.rate > most_seconds)
      return fail("the recording goes on beyond 24 hours; cut it into shorter ones");
    work.tell(0.0, "listening through the recording");
  }
  if (static_cast<double>(at) / r.rate < 0.5)
    return fail("the recording is shorter than half a second; there is nothing to measure");
  auto h = listener.finish();
  if (*std::ranges::max_element(h.loudness) < 1e-12F)
    return fail("the recording is silent; was the recorder's microphone on?");
  return h;
}

// Onsets that keep a beat, or the noise of the key, tell how late each note is after it.
void tell_lateness(std::vector<MeasuredNote>& notes, const measuring::Hearing& h) {
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (notes[i].start && notes[i].state == NoteState::speaks) which.push_back(i);
  if (which.size() < 8) return;
  // Key noise: a burst at least 12 dB over what surrounds it, 0.03 to 0.6 s before the first sign, before most notes.
  std::vector<std::optional<double>> knock(notes.size());
  std::vector<double> gaps;
  for (const std::size_t i : which) {
    const auto from = static_cast<std::size_t>(std::max(0.0, (notes[i].start->value() - 0.6) / h.step));
    const auto to = static_cast<std::size_t>(std::max(0.0, (notes[i].start->value() - 0.03) / h.step));
    if (to >= h.loudness.size() || to < from + 20) continue;
    std::vector<double> round(h.loudness.begin() + static_cast<std::ptrdiff_t>(from),
                              h.loudness.begin() + static_cast<std::ptrdiff_t>(to));
    const double usual = measuring::median(round);
    const auto top = static_cast<std::size_t>(std::ranges::max_element(round) - round.begin());
    if (round[top] < 16.0 * usual) continue;
    // Its beginning: the first step within 6 dB of its top.
    std::size_t begin = top;
    while (begin > 0 && round[begin - 1] > 0.25 * round[top]) --begin;
    knock[i] = notes[i].start->value() - static_cast<double>(from + begin) * h.step;
    gaps.push_back(*knock[i]);
  }
  if (gaps.size() * 10 >= which.size() * 7) {
    const double usual = measuring::median(gaps);
    for (const std::size_t i : which)
      if (knock[i]) notes[i].late = Seconds{*knock[i] - usual};
    return;
  }
  // A played beat: starts lie on an even grid, keys without sound counted in. The median slope is blind to a few.
  std::vector<double> steps;
  for (std::size_t j = 1; j < which.size(); ++j)
    steps.push_back((notes[which[j]].start->value() - notes[which[j - 1]].start->value()) /
                    static_cast<double>(notes[which[j]].place - notes[which[j - 1]].place));
  const double beat = measuring::median(steps);
  std::vector<double> off;
  for (const std::size_t i : which) {
    std::vector<double> near;
    for (const std::size_t j : which)
      if (std::abs(notes[j].place - notes[i].place) <= 6)
        near.push_back(notes[j].start->value() - beat * static_cast<double>(notes[j].place - notes[i].place));
    off.push_back(notes[i].start->value() - measuring::median(near));
  }
  if (measuring::robust_spread(off) > 0.015) return;
  for (std::size_t j = 0; j < which.size(); ++j) notes[which[j]].late = Seconds{off[j]};
}

// What else sounds while the note does. True when it is a pipe, not only hum.
bool gather_foreign(const measuring::Hearing& h, measuring::NoteTask& t) {
  double level = -200.0;
  for (const auto& o : h.sounds)
    if (std::fabs(o.from - t.from) < 0.01 && !o.lines.empty()) level = std::max(level, o.lines.front().db);
  bool pipe = false;
  for (const auto& s : h.standing) {
    if (s.to < t.from || s.from > t.to) continue;
    if (s.db < level - hum_below) {
      t.disturbing.push_back(s.hertz);
    } else {
      t.foreign.push_back({s.hertz, s.from, s.to});
      pipe = true;
    }
  }
  // Ciphers: sounds that began well before it and go on into it (or till shortly before), or begin in it and outlast it.
  for (const auto& o : h.sounds) {
    if (std::fabs(o.from - t.from) < 0.5) continue;
    const double overlap = std::min(o.to, t.to) - std::max(o.from, t.from - 0.7);
    if (overlap < 0.4) continue;
    pipe = true;
    for (const auto& l : o.lines) t.foreign.push_back({l.hertz, l.from, l.to});
  }
  return pipe;
}

// One note's after-sound may die by chance as quickly as a pipe does; where a quarter of the notes sound on, all stand in
// the same room: their times of speech are the room's, and only plain beats are believed.
void allow_for_room(MeasuredRun& run) {
  std::ptrdiff_t all = 0;
  std::ptrdiff_t limited = 0;
  for (const MeasuredNote& n : run.notes) {
    if (!n.speech || n.state != NoteState::speaks || (n.beat && n.beat->plain)) continue;
    ++all;
    limited += n.speech->room_limited;
  }
  if (all < least_for_room || limited * 4 < all) return;
  run.remarks.emplace_back(
      "The room rules how notes begin and end here: times of speech are the room's, levels differ by where the "
      "recorder "
      "stood, and only what goes beyond the scatter of all notes is told. Nearer the pipes more can be.");
  for (MeasuredNote& n : run.notes) {
    if (n.speech) n.speech->room_limited = true;
    if (!n.beat || n.beat->plain) continue;
    n.beat.reset();
    n.pipes_heard = 1;
    n.remark = "wavers: a second pipe, or the room";
  }
}

// What sounds from end to end: hum, or a pipe that never stops.
void tell_standing(const measuring::Hearing& h, MeasuredRun& run) {
  const measuring::Strand* loudest = nullptr;
  for (const auto& s : h.standing)
    if (s.db > -80.0 && (loudest == nullptr || s.db > loudest->db)) loudest = &s;
  if (loudest == nullptr) return;
  const bool through_notes =
      std::ranges::any_of(run.notes, [](const MeasuredNote& n) { return n.disturbed && n.state == NoteState::speaks; });
  if (through_notes && !measuring::mains(loudest->hertz))
    run.remarks.push_back(
        fmt::format("A pipe near {:.0f} Hz sounds from the first second to the last (a cipher, or a key held down); it "
                    "was taken out of every note.",
                    loudest->hertz));
  else
    run.remarks.push_back(fmt::format(
        "A steady hum near {:.0f} Hz runs through the recording; what it touches was left out.", loudest->hertz));
}

}  // namespace

Result<MeasuredRun> measure_run(const Recording& recording, const RunPlan& plan, const Decisions& fixed,
                                const Work& work) {
  if (const auto ok = check(recording, plan); !ok) return tl::make_unexpected(ok.error());
  auto heard = hear(recording, work);
  if (!heard) return tl::make_unexpected(heard.error());
  const measuring::Hearing& h = *heard;
  const auto aligned = measuring::aligned(plan, h, fixed);

  MeasuredRun run;
  run.length = Seconds{h.seconds};
  run.decisions = aligned.decisions;
  std::vector<measuring::NoteTask> tasks(plan.keys.size());
  std::vector<std::size_t> order;  // notes with sound, by time
  run.notes.resize(plan.keys.size());
  for (std::size_t d = 0; d < aligned.decisions.size(); ++d) {
    const Decision& decision = aligned.decisions[d];
    if (!decision.place) continue;
    const auto i = static_cast<std::size_t>(*decision.place);
    MeasuredNote& n = run.notes[i];
    n.place = *decision.place;
    n.key = decision.key;
    n.state = decision.state;
    n.heard = decision.heard;
    if (!decision.from || !decision.to) continue;
    n.start = decision.from;
    n.end = decision.to;
    n.sounds_at = aligned.times[d];
    auto& t = tasks[i];
    t.from = decision.from->value();
    t.to = std::min(decision.to->value(), t.from + longest_listened);
    t.aim = aligned.aim[d];
    t.fundamental = t.aim / n.sounds_at;
    if (plan.keys[i].pipes.size() > 1)
      for (const Hertz f : plan.keys[i].pipes) t.mixture.push_back(f.value());
    n.disturbed = gather_foreign(h, t);
    for (const auto& [from, to] : h.clipped) n.clipped = n.clipped || (to >= t.from && from <= t.to);
    order.push_back(i);
  }
  std::ranges::stable_sort(order, {}, [&](std::size_t i) { return tasks[i].from; });

  const int threads = std::max(1, work.threads);
  std::vector<measuring::Bench> benches(static_cast<std::size_t>(threads));
  for (std::size_t at = 0; at < order.size(); at += at_a_time) {
    if (work.stop.stop_requested()) return fail("measuring was stopped");
    work.tell(0.3 + 0.7 * static_cast<double>(at) / static_cast<double>(order.size()), "measuring the notes");
    const std::size_t end = std::min(order.size(), at + at_a_time);
    for (std::size_t j = at; j < end; ++j) {
      auto& t = tasks[order[j]];
      const double from = std::max(0.0, t.from - 1.3);
      const double to = std::min(h.seconds, t.to + 1.2);
      t.rate = recording.rate;
      const auto first = static_cast<std::int64_t>(from * recording.rate);
      t.origin = static_cast<double>(first) / recording.rate;
      t.x.assign(static_cast<std::size_t>((to - from) * recording.rate), 0.0F);
      const auto got = recording.read(first, t.x);
      if (!got) return tl::make_unexpected(got.error());
      t.x.resize(static_cast<std::size_t>(*got));
      for (float& v : t.x)
        if (!std::isfinite(v)) v = 0.0F;
    }
    std::atomic<std::size_t> next{at};
    const auto work_off = [&](measuring::Bench& bench) {
      for (std::size_t j = next++; j < end; j = next++) {
        measuring::measure_note(tasks[order[j]], run.notes[order[j]], bench);
        tasks[order[j]].x = {};
      }
    };
    std::vector<std::jthread> crew;
    for (int n = 1; n < threads; ++n) crew.emplace_back(work_off, std::ref(benches[static_cast<std::size_t>(n)]));
    work_off(benches.front());
  }

  allow_for_room(run);

  // Pitch against the plan, and the run's own middle.
  std::vector<double> cents;
  std::vector<double> when;
  for (MeasuredNote& n : run.notes) {
    if (n.beat) {
      n.remark = "more than one pipe sounds: no single pitch";
    }
    if (!n.pitch || n.beat) continue;
    const auto& key = plan.keys[static_cast<std::size_t>(n.place)];
    n.cents = interval(Hertz{key.pipes.front().value() * n.sounds_at}, n.pitch->hertz);
    if (plan.full_scale && n.level) *n.level += *plan.full_scale;
    if (plan.full_scale && n.level_a) *n.level_a += *plan.full_scale;
    if (n.state == NoteState::speaks && n.sounds_at == 1.0) {
      cents.push_back(n.cents->value());
      when.push_back(n.start->value());
    }
  }
  const double middle = measuring::median(cents);
  run.off_plan = Cents{middle};
  // Drift of the whole: the same key played again later tells; else nothing is known of it.
  double drift = 0.0;
  double drift_per_second = 0.0;
  for (const auto& a : run.notes)
    for (const auto& b : run.notes)
      if (a.key == b.key && a.place < b.place && a.cents && b.cents && a.state == NoteState::speaks &&
          b.state == NoteState::speaks && b.start->value() - a.start->value() > 20.0) {
        drift_per_second = (b.cents->value() - a.cents->value()) / (b.start->value() - a.start->value());
        drift = drift_per_second * h.seconds;
      }
  run.drift = Cents{drift};
  const double temperature = 600.0 / std::numbers::ln2 / 288.0 * plan.temperature_95.value();
  const double recorder = 1200.0 / std::numbers::ln2 * plan.recorder_95;
  const double centre =
      cents.empty() ? 0.0
                    : measuring::robust_spread(cents) / std::sqrt(static_cast<double>(cents.size())) * 1.25 * 1.96;
  for (MeasuredNote& n : run.notes) {
    if (!n.cents) continue;
    const double own = n.pitch->half_width_95.value();
    const double drifted = std::fabs(drift) / 2.0;
    n.cents_95 = Cents{std::sqrt(own * own + temperature * temperature + recorder * recorder + drifted * drifted)};
    const double most = std::max({own, temperature, recorder, drifted});
    n.ruled_by = most == own           ? n.pitch->ruled_by
                 : most == temperature ? Ruling::temperature
                 : most == recorder    ? Ruling::recorder
                                       : Ruling::drift;
    n.in_run = *n.cents - Cents{middle};
    n.in_run_95 = Cents{std::hypot(own, centre)};
    if (n.state == NoteState::wrong) {
      n.cents.reset();
      n.cents_95.reset();
      n.in_run.reset();
      n.in_run_95.reset();
    }
  }
  tell_lateness(run.notes, h);
  run.findings = findings(run.notes);

  if (!h.clipped.empty())
    run.remarks.push_back(
        fmt::format("The recording is clipped in {} places, first at {:.1f} s: levels there are too low; record again "
                    "with less gain.",
                    h.clipped.size(), h.clipped.front().first));
  if (std::ranges::none_of(run.notes, [](const MeasuredNote& n) { return n.start.has_value(); }))
    run.remarks.emplace_back(
        "None of the expected keys was heard: is it the right stop, the right pitch and the right order?");
  if (std::fabs(aligned.offset_cents) > 40.0)
    run.remarks.push_back(fmt::format("The whole run stands {:.0f} cents {} of the stated pitch.",
                                      std::fabs(aligned.offset_cents), aligned.offset_cents > 0 ? "above" : "below"));
  tell_standing(h, run);
  if (std::ranges::any_of(run.notes, [](const MeasuredNote& n) { return n.pipes_heard == 1 && n.mixture.empty(); }))
    run.remarks.push_back(fmt::format(
        "Where one pipe is said: a second at most {:.0f} dB softer, beating {:.1f} to {:.0f} times a second with it, "
        "would have been told {:.0f} times in 100 (invented pairs, notes of {:.0f} s); one 30 dB softer never.",
        pair_limit.softer.value(), pair_limit.slowest.value(), pair_limit.fastest.value(), 100.0 * pair_limit.told,
        pair_limit.note.value()));
  work.tell(1.0, "measured");
  return run;
}

}  // namespace calcant
