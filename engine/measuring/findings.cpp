#include "engine/measuring/findings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>

#include "engine/measuring/statistics.hpp"

namespace calcant {

std::string_view word(FindingKind k) {
  switch (k) {
    case FindingKind::dead: return "dead";
    case FindingKind::cipher: return "cipher";
    case FindingKind::wrong_note: return "wrong note";
    case FindingKind::pipe_missing: return "pipe missing";
    case FindingKind::off_speech: return "off speech";
    case FindingKind::out_of_tune: return "out of tune";
    case FindingKind::too_loud: return "too loud";
    case FindingKind::too_soft: return "too soft";
    case FindingKind::slow_speech: return "slow to speak";
    case FindingKind::late: return "late";
    case FindingKind::unsteady: return "unsteady";
    case FindingKind::beats: return "beats";
    case FindingKind::noisy: return "noisy";
    case FindingKind::uneven: break;
  }
  return "uneven";
}

std::string_view word(Who w) { return w == Who::organist ? "organist" : "builder"; }

std::vector<double> smooth_course(std::span<const double> key, std::span<const double> value, double reach) {
  const std::size_t n = key.size();
  if (n < 5) return std::vector<double>(n, measuring::median({value.begin(), value.end()}));
  std::vector<double> trust(n, 1.0);
  std::vector<double> course(n, 0.0);
  for (int round = 0; round < 5; ++round) {
    for (std::size_t i = 0; i < n; ++i) {
      // At the ends the reach grows until enough neighbours are in it.
      double r = reach;
      const auto within = [&] {
        return std::ranges::count_if(key, [&](double k) { return std::fabs(k - key[i]) < r; });
      };
      while (within() < std::min<std::ptrdiff_t>(10, static_cast<std::ptrdiff_t>(n))) r *= 1.25;
      double sw = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
      for (std::size_t j = 0; j < n; ++j) {
        const double d = (key[j] - key[i]) / r;
        if (std::fabs(d) >= 1.0) continue;
        const double near = 1.0 - std::fabs(d * d * d);
        const double w = near * near * near * trust[j];
        sw += w;
        sx += w * d;
        sy += w * value[j];
        sxx += w * d * d;
        sxy += w * d * value[j];
      }
      const double det = sw * sxx - sx * sx;
      if (sw <= 1e-9) continue;
      course[i] = det > 1e-6 * sw * sw ? (sxx * sy - sx * sxy) / det : sy / sw;
    }
    std::vector<double> away(n);
    for (std::size_t i = 0; i < n; ++i) away[i] = std::fabs(value[i] - course[i]);
    // First round by medians of neighbours: a line through an outlier must not hide it.
    const double scale = std::max(6.0 * measuring::median(away), 1e-9);
    for (std::size_t i = 0; i < n; ++i) {
      const double u = away[i] / scale;
      trust[i] = u < 1.0 ? (1.0 - u * u) * (1.0 - u * u) : 0.0;
    }
  }
  return course;
}

namespace {

constexpr double stands_out = 4.0;  // times the scatter of all notes about the rank's course

struct Cause {
  std::vector<std::string> causes;
  std::vector<SeparatingTest> tests;
  Who who = Who::builder;
};

// After the fault table of the reference (trade.md 3.4; practice.md): common practice. Only what is listed as the
// organist's is to be tried by the organist.
Cause cause_of(FindingKind k, bool shared) {
  const SeparatingTest other_stops{
      "Draw the other stops of this keyboard singly, couplers off, and play the same key: the same "
      "on all of them points to the action, on this stop alone to the pipe or its slider.",
      Who::organist};
  const SeparatingTest again{
      "Repeat the key ten times, and again after ten minutes of wind: what comes and goes is the action.",
      Who::organist};
  const SeparatingTest warm{"Measure again when the church has been at an even temperature for a day.", Who::organist};
  const SeparatingTest chord{
      "Hold the note and add full chords low down on the same keyboard: if it sags, the wind is short.", Who::organist};
  const SeparatingTest inside{
      "Compare the pipe on a neighbour's wind: a fault that stays is the wind or action, one that moves is the pipe.",
      Who::builder};
  switch (k) {
    case FindingKind::dead:
      return {{shared ? "action or wind of what they share" : "split motor leather, leaking primary or a blocked tube",
               "the slider not fully drawn, or a blocked foot hole"},
              {other_stops, again, inside},
              Who::builder};
    case FindingKind::cipher:
      return {
          {"dirt on the pallet", "weak spring or swollen guide", "a primary valve held off its seat"},
          {{"Put the stop in: if all stops of the note sound, it is the action; if it falls silent, this stop alone.",
            Who::organist},
           {"Couplers off, then repeat the key briskly; wind off and on.", Who::organist},
           inside},
          Who::builder};
    case FindingKind::wrong_note:
      return {{"another key was played", "a running between channels, or a coupler left drawn"},
              {{"All couplers off, play the key alone and record it again.", Who::organist}, inside},
              Who::builder};
    case FindingKind::pipe_missing:
      return {{"one pipe of the key silent: foot hole or groove blocked, or the pipe lifted out of its place"},
              {again, inside},
              Who::builder};
    case FindingKind::off_speech:
      return {
          {"languid, lip or windway out of place, or dust in it", "wind too strong for this pipe", "a loose stopper"},
          {again,
           {"Play it alone and with several other stops drawn: if it comes right with more drawn, the wind is too "
            "strong for it.",
            Who::organist},
           inside},
          Who::builder};
    case FindingKind::out_of_tune:
      return {{shared ? "temperature or wind of what they share differs" : "tuning slide, cone or stopper moved",
               "temperature uneven at the pipes", "wind robbed or leaking at this note"},
              {warm, chord, inside},
              Who::builder};
    case FindingKind::too_loud:
      return {{"a second pipe sounds with it", "regulation of the foot hole", "a standing wave at the recorder"},
              {{"Record it again with the recorder two metres away: a standing wave moves, a loud pipe stays.",
                Who::organist},
               inside},
              Who::builder};
    case FindingKind::too_soft:
      return {{"slider not fully drawn, or foot hole partly blocked", "pallet opening too little",
               "a standing wave at the recorder"},
              {{"Work the knob in and out slowly: level or pitch that changes at the end of its travel points to the "
                "slider.",
                Who::organist},
               {"Record it again with the recorder two metres away: a standing wave moves, a soft pipe stays.",
                Who::organist},
               other_stops,
               inside},
              Who::builder};
    case FindingKind::slow_speech:
      return {{"low wind at the groove, or a pallet opening too little",
               "dust in the windway, languid or lip out of place"},
              {other_stops, again, inside},
              Who::builder};
    case FindingKind::late:
      return {{"stiff or leaking motor, bleed or exhaust dusted up", "a tube kinked or half off", "action wind low"},
              {other_stops, again, inside},
              Who::builder};
    case FindingKind::unsteady:
      return {{"wind unsteady at this note", "the pipe near the edge of its speech"},
              {chord, other_stops, inside},
              Who::builder};
    case FindingKind::beats:
      return {{"a second stop or a coupler was drawn", "a running lets the neighbour speak",
               "two pipes of this stop on one note"},
              {{"All other stops and couplers off, and record the note again.", Who::organist}, inside},
              Who::builder};
    case FindingKind::noisy:
      return {{"windway or languid rough or dusty", "wind leaking at the foot or groove"},
              {other_stops, inside},
              Who::builder};
    case FindingKind::uneven: break;
  }
  return {{"wind unsteady", "a tremulant left on"},
          {{"Tremulant off; record again.", Who::organist}, inside},
          Who::builder};
}

std::string names(const std::vector<Note>& keys) {
  std::string s;
  for (std::size_t i = 0; i < keys.size(); ++i) {
    if (i > 0) s += i + 1 == keys.size() ? " and " : ", ";
    s += name(keys[i]);
  }
  return s;
}

// What several faulty keys have in common that the rest have not: a side of the chest, one octave.
std::string common(const std::vector<Note>& faulty, std::span<const MeasuredNote> all) {
  if (faulty.size() < 3) return {};
  const auto share = [&](const std::function<bool(Note)>& in) {
    const auto inside = std::ranges::count_if(faulty, in);
    const auto there = std::ranges::count_if(all, [&](const MeasuredNote& n) { return in(n.key); });
    return inside == static_cast<std::ptrdiff_t>(faulty.size()) && there > 0 && inside * 2 >= there;
  };
  for (int octave = 0; octave <= 10; ++octave)
    if (share([&](Note n) { return n.midi / 12 == octave; })) return "one octave";
  if (share([](Note n) { return n.midi % 2 == 0; })) return "C side";
  if (share([](Note n) { return n.midi % 2 == 1; })) return "C sharp side";
  return {};
}

struct Deviation {
  std::size_t note = 0;
  double amount = 0.0;
  double width = 0.0;
};

// Deviation of a figure from the rank's course, for every note that has it.
std::vector<Deviation> deviations(std::span<const MeasuredNote> notes,
                                  const std::function<std::optional<double>(const MeasuredNote&)>& figure,
                                  const std::function<double(const MeasuredNote&)>& width) {
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (figure(notes[i])) which.push_back(i);
  std::ranges::stable_sort(which, [&](std::size_t a, std::size_t b) { return notes[a].key < notes[b].key; });
  std::vector<double> key;
  std::vector<double> value;
  for (const std::size_t i : which) {
    key.push_back(notes[i].key.midi);
    value.push_back(*figure(notes[i]));
  }
  const auto course = smooth_course(key, value);
  std::vector<Deviation> out;
  for (std::size_t i = 0; i < which.size(); ++i)
    out.push_back({which[i], value[i] - course[i], width ? width(notes[which[i]]) : 0.0});
  std::ranges::sort(out, [](const Deviation& a, const Deviation& b) { return a.note < b.note; });
  return out;
}

class Collector {
 public:
  explicit Collector(std::span<const MeasuredNote> notes) : notes_(notes) {}

  // `rest(amount)` ends a sentence that begins with the keys.
  void add(FindingKind kind, const std::vector<Deviation>& faulty,
           const std::function<std::string(const Deviation&)>& rest) {
    if (faulty.empty()) return;
    std::vector<Note> keys;
    for (const auto& d : faulty) keys.push_back(notes_[d.note].key);
    if (const std::string shared = common(keys, notes_); !shared.empty()) {
      put(kind, faulty, shared, rest);
      return;
    }
    for (const auto& d : faulty) put(kind, {d}, {}, rest);
  }

  void put(FindingKind kind, const std::vector<Deviation>& faulty, const std::string& shared,
           const std::function<std::string(const Deviation&)>& rest) {
    Finding f;
    f.kind = kind;
    const auto worst = *std::ranges::max_element(faulty, {}, [](const Deviation& d) { return std::fabs(d.amount); });
    for (const auto& d : faulty) f.keys.push_back(notes_[d.note].key);
    f.shared = shared;
    f.amount = worst.amount;
    f.amount_95 = worst.width;
    f.sentence = names(f.keys) + (shared.empty() ? "" : " (" + shared + ")") + " " +
                 (faulty.size() > 1 ? "up to: " : "") + rest(worst);
    const Cause c = cause_of(kind, !shared.empty());
    f.causes = c.causes;
    f.tests = c.tests;
    f.who = c.who;
    found_.push_back(std::move(f));
  }

  std::vector<Finding> take() { return std::move(found_); }

 private:
  std::span<const MeasuredNote> notes_;
  std::vector<Finding> found_;
};

}  // namespace

std::vector<Finding> findings(std::span<const MeasuredNote> notes, const FindingSizes& sizes) {
  Collector out(notes);
  const auto all_in = [&](NoteState s) {
    std::vector<Deviation> v;
    for (std::size_t i = 0; i < notes.size(); ++i)
      if (notes[i].state == s) v.push_back({i, 0.0, 0.0});
    return v;
  };
  const auto sounds = [](const MeasuredNote& n) { return n.state == NoteState::speaks && n.pitch.has_value(); };
  const auto plain = [&](const MeasuredNote& n) { return sounds(n) && n.sounds_at == 1.0; };

  out.add(FindingKind::dead, all_in(NoteState::dead), [](const auto&) { return std::string("gave no sound"); });
  out.add(FindingKind::cipher, all_in(NoteState::cipher),
          [](const auto&) { return std::string("sounded on when the key was up"); });
  for (const auto& d : all_in(NoteState::wrong))
    out.put(FindingKind::wrong_note, {d}, {}, [&](const auto&) {
      const auto& n = notes[d.note];
      return n.heard ? "was expected, " + name(*n.heard) + " was heard"
                     : std::string("was expected, something else was heard");
    });

  std::vector<Deviation> missing;
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (notes[i].state == NoteState::speaks && notes[i].pipes_heard < static_cast<int>(notes[i].mixture.size()))
      missing.push_back({i, static_cast<double>(notes[i].mixture.size()) - notes[i].pipes_heard, 0.0});
  out.add(FindingKind::pipe_missing, missing, [](const Deviation& d) {
    return d.amount == 1.0 ? std::string("lacks one of its pipes") : fmt::format("lacks {:.0f} of its pipes", d.amount);
  });

  std::vector<Deviation> off;
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (sounds(notes[i]) && notes[i].sounds_at != 1.0) off.push_back({i, notes[i].sounds_at, 0.0});
  out.add(FindingKind::off_speech, off, [](const Deviation& d) {
    return d.amount == 2.0   ? std::string("speaks the octave")
           : d.amount == 3.0 ? std::string("speaks the twelfth")
                             : std::string("speaks the fifth");
  });
  off.clear();
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (plain(notes[i]) && notes[i].speech && notes[i].speech->speaks_first)
      off.push_back({i, static_cast<double>(*notes[i].speech->speaks_first), 0.0});
  out.add(FindingKind::off_speech, off, [](const Deviation& d) {
    return std::string(d.amount == 2.0 ? "speaks the octave first" : "speaks the twelfth first");
  });

  off.clear();
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (sounds(notes[i]) && notes[i].beat) off.push_back({i, notes[i].beat->apart.value(), 0.0});
  out.add(FindingKind::beats, off, [](const Deviation& d) {
    return fmt::format("beats: a second pipe about {:.0f} cents away", std::fabs(d.amount));
  });

  // A note stands out from the scatter of all as well: in a church a standing wave alone lifts or sinks a note by several
  // decibels, and the room's build-up hides the pipes' own.
  const auto beyond = [](const std::vector<Deviation>& all, double size, int sign) {
    std::vector<Deviation> v;
    std::vector<double> amounts;
    for (const auto& d : all) amounts.push_back(d.amount);
    size = std::max(size, stands_out * measuring::robust_spread(amounts));
    for (const auto& d : all)
      if (std::fabs(d.amount) > size && std::fabs(d.amount) > d.width && (sign == 0 || d.amount * sign > 0.0))
        v.push_back(d);
    return v;
  };
  const auto pitch = deviations(
      notes,
      [&](const MeasuredNote& n) -> std::optional<double> {
        if (!plain(n) || !n.cents || n.beat) return std::nullopt;
        return n.cents->value();
      },
      [](const MeasuredNote& n) { return n.pitch->half_width_95.value(); });
  for (const int sign : {-1, 1})
    out.add(FindingKind::out_of_tune, beyond(pitch, sizes.pitch.value(), sign), [](const Deviation& d) {
      return fmt::format("stands {:.0f} cents {} against its neighbours", std::fabs(d.amount),
                         d.amount > 0 ? "sharp" : "flat");
    });
  // One side of the chest against the other: single notes do not stand out, the side does.
  std::vector<double> side[2];
  for (const auto& d : pitch) side[notes[d.note].key.midi % 2].push_back(d.amount);
  if (side[0].size() >= 8 && side[1].size() >= 8) {
    const double gap = measuring::median(side[1]) - measuring::median(side[0]);
    const double scatter = std::max(measuring::robust_spread(side[0]), measuring::robust_spread(side[1]));
    if (std::fabs(gap) > std::max(2.0, 5.0 * scatter / std::sqrt(8.0))) {
      std::vector<Deviation> sharps;
      for (const auto& d : pitch)
        if (notes[d.note].key.midi % 2 == 1) sharps.push_back({d.note, gap, scatter});
      out.put(FindingKind::out_of_tune, sharps, "C sharp side", [](const Deviation& d) {
        return fmt::format("stands {:.0f} cents {} against the C side", std::fabs(d.amount),
                           d.amount > 0 ? "sharp" : "flat");
      });
    }
  }

  const auto level = deviations(
      notes,
      [&](const MeasuredNote& n) -> std::optional<double> {
        if ((!plain(n) && n.mixture.empty()) || !n.level || n.clipped) return std::nullopt;
        return n.level->value();
      },
      nullptr);
  out.add(FindingKind::too_soft, beyond(level, sizes.level.value(), -1),
          [](const Deviation& d) { return fmt::format("is {:.0f} dB softer than its neighbours", -d.amount); });
  out.add(FindingKind::too_loud, beyond(level, sizes.level.value(), 1),
          [](const Deviation& d) { return fmt::format("is {:.0f} dB louder than its neighbours", d.amount); });

  const auto speech = deviations(
      notes,
      [&](const MeasuredNote& n) -> std::optional<double> {
        if (!plain(n) || !n.speech) return std::nullopt;
        // Below what can be told apart all speak at once.
        return std::log2(std::max(n.speech->speech.value(), n.speech->resolution.value()) * n.pitch->hertz.value());
      },
      nullptr);
  const auto rise = deviations(
      notes,
      [&](const MeasuredNote& n) -> std::optional<double> {
        if (!plain(n) || !n.speech) return std::nullopt;
        return std::log2(std::max(n.speech->rise.value(), n.speech->resolution.value()) * n.pitch->hertz.value());
      },
      nullptr);
  std::vector<Deviation> slow;
  for (const auto& d : beyond(speech, std::log2(sizes.speech), 1)) {
    const MeasuredNote& n = notes[d.note];
    if (n.speech->speech <= 1.5 * n.speech->resolution) continue;
    // What is left of a cipher may look like a first sign: the rise must be slow as well.
    const auto risen = std::ranges::find(rise, d.note, &Deviation::note);
    if (n.disturbed && risen->amount < std::log2(sizes.speech)) continue;
    slow.push_back({d.note, std::exp2(n.disturbed ? std::min(d.amount, risen->amount) : d.amount), 0.0});
  }
  out.add(FindingKind::slow_speech, slow, [](const Deviation& d) {
    return fmt::format("takes {:.1f} times as long to speak as its neighbours", d.amount);
  });

  std::vector<Deviation> late;
  for (std::size_t i = 0; i < notes.size(); ++i)
    if (notes[i].late && *notes[i].late > sizes.late) late.push_back({i, notes[i].late->value(), 0.0});
  out.add(FindingKind::late, late,
          [](const Deviation& d) { return fmt::format("comes {:.0f} ms after its time", 1000.0 * d.amount); });

  const auto wander = deviations(
      notes,
      [&](const MeasuredNote& n) -> std::optional<double> {
        if (!plain(n) || n.beat) return std::nullopt;
        return n.pitch->unsteadiness.value();
      },
      nullptr);
  out.add(FindingKind::unsteady, beyond(wander, sizes.unsteadiness.value(), 1),
          [](const Deviation& d) { return fmt::format("wavers by {:.0f} cents more than its neighbours", d.amount); });
  const auto noise = deviations(
      notes,
      [&](const MeasuredNote& n) -> std::optional<double> {
        if (!plain(n) || !n.wind_noise) return std::nullopt;
        return n.wind_noise->value();
      },
      nullptr);
  out.add(FindingKind::noisy, beyond(noise, sizes.noise.value(), 1), [](const Deviation& d) {
    return fmt::format("has {:.0f} dB more wind noise than its neighbours", d.amount);
  });
  return out.take();
}

}  // namespace calcant
