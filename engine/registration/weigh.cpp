#include "engine/registration/weigh.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <thread>

#include "engine/registration/level_draws.hpp"

namespace calcant {
namespace {

constexpr double assumed_band_db = 5.0;   // hearing.md section 5, "suggest 5 dB and let the player's ear override"
constexpr double measured_band_db = 1.0;  // where a measurement does not say itself
constexpr double condense_cents = 5.0;    // lines nearer than this are weighed as one: under 0.1 % of loudness

Registration with(Registration r, Knob knob, bool drawn) {
  set_drawn(r, knob, drawn);
  return r;
}

PipeSet minus(const PipeSet& a, const PipeSet& b) {
  PipeSet out = a;
  for (std::size_t r = 0; r < out.ranks.size(); ++r) out.ranks[r] = a.ranks[r] - b.ranks[r];
  return out;
}

// Pipes of one rank that the same knobs bring and take away: their lines are condensed together and move together.
struct Bunch {
  RankIndex rank = 0;
  std::vector<bool> goes;  // by part: whether it goes with that knob
  PipeSet pipes;
};

struct Sound {
  Lines lines;
  std::vector<RankIndex> ranks;  // of each line
  std::vector<PartLines> parts;
};

// The lines of all pipes of `whole`, with for every part the lines of the pipes in it.
Sound sound_of(const Listening& listening, const Registration& drawn, const PipeSet& whole,
               const std::vector<PipeSet>& parts) {
  std::map<std::pair<RankIndex, std::vector<bool>>, PipeSet> bunches;
  for (std::size_t r = 0; r < whole.ranks.size(); ++r) {
    for (const int number : whole.ranks[r]) {
      std::vector<bool> goes;
      for (const PipeSet& p : parts) goes.push_back(p.ranks[r].contains(number));
      PipeSet& bunch = bunches[{static_cast<RankIndex>(r), goes}];
      if (bunch.ranks.empty()) bunch.ranks.resize(whole.ranks.size());
      bunch.ranks[r].insert(number);
    }
  }
  Sound out;
  out.parts.resize(parts.size());
  for (const auto& [key, pipes] : bunches) {
    for (const Line& line : condensed(listening.lines(pipes, drawn), Cents{condense_cents})) {
      for (std::size_t p = 0; p < parts.size(); ++p) {
        if (key.second[p]) out.parts[p].push_back(static_cast<std::uint32_t>(out.lines.size()));
      }
      out.lines.push_back(line);
      out.ranks.push_back(key.first);
    }
  }
  return out;
}

// One knob with the sound it is weighed in: for a drawn knob the sound as it is, for another that with it added.
struct Question {
  Knob knob;
  bool drawn = false;
  PipeSet pipes;  // that go with it
};

// What a verdict claims: not heard, heard in comparison, or heard (how much more is not held to); and as itself or not.
struct Answer {
  explicit Answer(const Audibility& a)
      : difference(std::min(a.drawn.difference, Difference::audible)), presence(a.presence) {}
  Difference difference;
  Presence presence;
  friend bool operator==(const Answer&, const Answer&) = default;
};

std::vector<Knob> all_knobs(const Organ& organ) {
  std::vector<Knob> out;
  for (std::size_t s = 0; s < organ.stops.size(); ++s) out.push_back({Knob::Kind::stop, static_cast<int>(s)});
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) out.push_back({Knob::Kind::coupler, static_cast<int>(c)});
  return out;
}

Lines shifted(const Sound& sound, const std::vector<Decibels>& by_rank) {
  Lines out = sound.lines;
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i].level += by_rank[static_cast<std::size_t>(sound.ranks[i])];
  }
  return out;
}

// Where a pipe's fundamental lies among the church's single resonances: below the Schroeder frequency, and below 80 Hz in
// any church (room.md).
Hertz modal_below(const Listening& listening, const PipeSet& whole) {
  const Hertz limit = std::max(listening.field().schroeder(), Hertz{80});
  for (std::size_t r = 0; r < whole.ranks.size(); ++r) {
    for (const int number : whole.ranks[r]) {
      if (listening.voice({static_cast<RankIndex>(r), number}).frequency < limit) return limit;
    }
  }
  return Hertz{0};
}

// A large organ's full chord has more lines than the ear model takes: neighbours within a cent become one then, at the
// cost of beats slower than about 0.6 a second at 1 kHz.
Lines within_what_can_be_weighed(Lines lines) {
  return lines.size() > most_lines ? condensed(std::move(lines), Cents{1}) : lines;
}

// Of each key by itself: its pipes should agree, the keys of a tempered chord need not.
Result<std::vector<Beat>> beats_of(const Ear& ear, const Listening& listening, const Registration& drawn,
                                   const KeysDown& down) {
  std::vector<Beat> out;
  Sounding sounding{listening.organ()};
  PipeSet pipes;
  for (std::size_t k = 0; k < listening.organ().keyboards.size(); ++k) {
    for (const int key : down.keys[k]) {
      KeysDown one;
      one.keys[k].insert(key);
      sounding.pipes(drawn, one, pipes);
      if (pipes.size() == 0) continue;
      auto rough = roughness(ear, within_what_can_be_weighed(listening.lines(pipes, drawn)));
      if (!rough) return tl::unexpected(rough.error());
      out.insert(out.end(), rough->beats.begin(), rough->beats.end());
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const Beat& a, const Beat& b) { return a.level > b.level; });
  if (out.size() > most_beats) out.resize(most_beats);
  return out;
}

// The answers with the levels drawn once more.
struct Redrawn {
  double phons = 0;
  std::vector<bool> agrees;  // by question: with the answers at the assumed levels
};

// Each draw by itself, in any order; progress is told by the calling thread.
template <class F>
void for_each_draw(std::size_t draws, const Work& work, F&& draw) {
  std::atomic<std::size_t> next{0};
  const auto take = [&](bool telling) {
    for (std::size_t d = next++; d < draws && !work.stop.stop_requested(); d = next++) {
      draw(d);
      if (telling)
        work.tell(static_cast<double>(d) / static_cast<double>(draws), "weighing with the assumed levels varied");
    }
  };
  std::vector<std::jthread> helpers;
  const auto wanted = std::min(static_cast<std::size_t>(std::max(work.threads, 1)), draws);
  for (std::size_t t = 1; t < wanted; ++t) helpers.emplace_back(take, false);
  take(true);
}

}  // namespace

double level_band(const Rank& rank) {
  if (rank.loudness.half_width_95) return *rank.loudness.half_width_95;
  return rank.loudness.source == Source::measured ? measured_band_db : assumed_band_db;
}

Result<WeighedRegistration> weigh(const Listening& listening, const Registration& drawn, const KeysDown& down,
                                  const WeighSettings& settings, const Work& work) {
  if (settings.draws < 0 || settings.draws > 2000) {
    return fail(fmt::format("{} draws are asked for; between 0 and 2000 can be made", settings.draws));
  }
  const Organ& organ = listening.organ();
  Sounding sounding{organ};
  PipeSet whole;
  sounding.pipes(drawn, down, whole);
  if (whole.size() == 0) {
    return fail("nothing sounds: no drawn stop reaches these keys; draw a stop of their division, or a coupler to one");
  }

  std::vector<Question> questions;
  for (const Knob knob : all_knobs(organ)) {
    Question q{knob, is_drawn(drawn, knob), {}};
    if (!q.drawn && !settings.others) continue;
    PipeSet other;
    sounding.pipes(with(drawn, knob, !q.drawn), down, other);
    q.pipes = q.drawn ? minus(whole, other) : minus(other, whole);
    if (q.pipes.size() == 0 && !q.drawn) continue;
    // A drawn knob whose pipes all sound by another way as well is told; one that never reaches these keys is not.
    if (q.pipes.size() == 0) {
      Registration only = knob.kind == Knob::Kind::stop ? drawn : Registration{};
      only.stops.reset();
      if (knob.kind == Knob::Kind::stop) only = with(only, knob, true);
      PipeSet alone;
      sounding.pipes(only, down, alone);
      if (alone.size() == 0) continue;
    }
    questions.push_back(std::move(q));
  }
  std::stable_sort(questions.begin(), questions.end(),
                   [](const Question& a, const Question& b) { return a.drawn && !b.drawn; });

  // The sound as it is, with a part for every drawn knob; and for every other knob a sound of its own with one part.
  std::vector<PipeSet> drawn_parts;
  for (const Question& q : questions) {
    if (q.drawn) drawn_parts.push_back(q.pipes);
  }
  const Sound as_it_is = sound_of(listening, drawn, whole, drawn_parts);
  std::vector<Sound> with_one_more;
  for (const Question& q : questions) {
    if (q.drawn) continue;
    PipeSet more = whole;
    for (std::size_t r = 0; r < more.ranks.size(); ++r) more.ranks[r] |= q.pipes.ranks[r];
    with_one_more.push_back(sound_of(listening, drawn, more, {q.pipes}));
  }

  const auto answers =
      [&](const Ear& ear, const std::vector<Decibels>& by_rank) -> Result<std::pair<Weighed, std::vector<Audibility>>> {
    auto now = audibility(ear, shifted(as_it_is, by_rank), as_it_is.parts);
    if (!now) return tl::unexpected(now.error());
    std::vector<Audibility> all = now->parts;
    for (const Sound& s : with_one_more) {
      auto one = audibility(ear, shifted(s, by_rank), s.parts);
      if (!one) return tl::unexpected(one.error());
      all.push_back(one->parts[0]);
    }
    return std::pair{std::move(*now), std::move(all)};
  };

  const Ear fine{};
  const std::vector<Decibels> unmoved(organ.ranks.size());
  const auto nominal = answers(fine, unmoved);
  if (!nominal) return tl::unexpected(nominal.error());

  WeighedRegistration out;
  out.loudness = nominal->first.whole.loudness;
  out.brightness = nominal->first.whole.brightness;
  out.pipes = whole.size();
  out.wind = judge(listening.wind(whole), organ.wind.blower.value,
                   organ.wind.reservoir.value.value() > 0 ? std::optional{organ.wind.reservoir.value} : std::nullopt);
  const auto rough = roughness(fine, within_what_can_be_weighed(listening.lines(whole, drawn)));
  if (!rough) return tl::unexpected(rough.error());
  out.roughness = rough->index;
  auto beats = beats_of(fine, listening, drawn, down);
  if (!beats) return tl::unexpected(beats.error());
  out.beats = std::move(*beats);
  for (std::size_t r = 0; r < whole.ranks.size(); ++r) {
    if (!whole.ranks[r].empty() && organ.ranks[r].loudness.source >= Source::given) out.all_assumed = false;
  }
  for (std::size_t i = 0; i < questions.size(); ++i) {
    const Audibility& a = nominal->second[i];
    KnobWeight k;
    k.knob = questions[i].knob;
    k.drawn = questions[i].drawn;
    k.change = a.drawn;
    k.presence = a.presence;
    k.alone = a.alone.sones;
    k.partial = a.partial;
    k.pipes = questions[i].pipes.size();
    out.knobs.push_back(k);
  }
  out.modal_below = modal_below(listening, whole);
  if (settings.draws == 0) return out;

  EarSettings quick;
  quick.grid = Grid::coarse;
  const Ear coarse{quick};
  const auto nominal_coarse = answers(coarse, unmoved);
  if (!nominal_coarse) return tl::unexpected(nominal_coarse.error());
  std::vector<Redrawn> redrawn(static_cast<std::size_t>(settings.draws));
  for_each_draw(redrawn.size(), work, [&](std::size_t d) {
    const auto drawn_again = answers(coarse, redrawn_levels(organ, settings.seed, d));
    if (!drawn_again) return;  // lines that could be weighed can be weighed with other levels
    redrawn[d].phons = drawn_again->first.whole.loudness.phons.value();
    for (std::size_t i = 0; i < questions.size(); ++i)
      redrawn[d].agrees.push_back(Answer{nominal_coarse->second[i]} == Answer{drawn_again->second[i]});
  });
  if (work.stop.stop_requested()) return fail("stopped before the registration was weighed");
  std::vector<int> agree(questions.size());
  std::vector<double> phons;
  for (const Redrawn& one : redrawn) {
    phons.push_back(one.phons);
    for (std::size_t i = 0; i < one.agrees.size(); ++i) agree[i] += one.agrees[i] ? 1 : 0;
  }
  std::sort(phons.begin(), phons.end());
  const auto at = [&](double share) {
    return phons[static_cast<std::size_t>(std::lround(share * static_cast<double>(phons.size() - 1)))];
  };
  out.phon_95 = Phons{(at(0.975) - at(0.025)) / 2};
  for (std::size_t i = 0; i < questions.size(); ++i) {
    out.knobs[i].verdict_holds = static_cast<double>(agree[i]) / settings.draws;
  }
  return out;
}

std::string verdict(const KnobWeight& k) {
  if (k.verdict_holds < holds) return "depends on assumed levels";
  if (k.drawn && !std::isfinite(k.change.loudness)) return "without it nothing sounds";
  return fmt::format("{}, {}", word(k.change.difference), word(k.presence));
}

}  // namespace calcant
