#include "engine/registration/chord_ear.hpp"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <thread>

#include "engine/hearing/among.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_known = 20000;
constexpr std::uint32_t unknown = ~std::uint32_t{0};
// Twice the steps from which on a difference is audible (audibility.hpp); the factor is ours.
constexpr double surely_loudness = 0.12;
constexpr Decibels surely_excitation{2};

std::vector<KeysDown> chords_on(const Organ& organ, KeyboardIndex on, int played,
                                std::initializer_list<std::initializer_list<int>> chords) {
  std::vector<KeysDown> out;
  const NoteSet keys = organ.keyboards[static_cast<std::size_t>(on)].keys;
  for (const auto& chord : chords) {
    KeysDown down;
    for (const int key : chord) {
      if (!keys.contains(key + played)) return {};
      down.keys[static_cast<std::size_t>(on)].insert(key + played);
    }
    out.push_back(down);
  }
  return out;
}

EarSettings quarter_cam() {
  EarSettings s;
  s.grid = Grid::coarse;
  return s;
}

}  // namespace

std::vector<KeysDown> stated_chords(const Organ& organ, KeyboardIndex on, int played) {
  return chords_on(organ, on, played, {{48, 55, 60, 64}, {60, 64, 67, 72}, {67, 72, 76, 79}});
}

std::vector<KeysDown> proof_chords(const Organ& organ, KeyboardIndex on) {
  return chords_on(organ, on, 0, {{52, 59, 64, 68}, {53, 60, 65, 69}, {57, 64, 69, 73}, {65, 69, 72, 77}});
}

ChordEar::ChordEar(const Listening& listening, std::vector<KeysDown> chords)
    : listening_(&listening), chords_(std::move(chords)), sounding_(listening.organ()), sources_(Ear{quarter_cam()}) {}

std::uint32_t ChordEar::source(PipeId pipe, float opening) {
  auto& ranks = numbers_[opening];
  if (ranks.empty()) {
    for (const Rank& r : listening_->organ().ranks) {
      ranks.emplace_back(static_cast<std::size_t>(std::max(r.pipes, 0)), unknown);
    }
  }
  auto& pipes = ranks[static_cast<std::size_t>(pipe.rank)];
  std::uint32_t& number = pipes[static_cast<std::size_t>(pipe.number - 1)];
  if (number == unknown) {
    number = static_cast<std::uint32_t>(sources_.size() + new_sources_.size());
    PipeSet alone;
    alone.ranks.resize(ranks.size());
    alone.ranks[static_cast<std::size_t>(pipe.rank)].insert(pipe.number);
    Registration boxes;
    boxes.box.fill(opening);
    new_sources_.push_back(listening_->lines(alone, boxes));
  }
  return number;
}

ChordEar::Asked ChordEar::ask(const Registration& drawn) {
  Asked out;
  PipeSet pipes;
  const double n = static_cast<double>(chords_.size());
  for (const KeysDown& down : chords_) {
    sounding_.pipes(drawn, down, pipes);
    const std::size_t before = out.sound.size();
    out.chords.push_back(before);
    out.sound.push_back(0);
    for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
      if (pipes.ranks[r].empty()) continue;
      const auto rank = static_cast<RankIndex>(r);
      const auto box = listening_->box_of(rank);
      const float opening = box ? drawn.box[static_cast<std::size_t>(*box)] : 1.0F;
      for (const int number : pipes.ranks[r]) out.sound.push_back(source({rank, number}, opening));
    }
    out.sound[before] = static_cast<std::uint32_t>(out.sound.size() - before - 1);
    out.wind += listening_->wind(pipes).value() / n;
    out.pipes += pipes.size() / n;
  }
  return out;
}

void ChordEar::learn_new_sources() {
  if (new_sources_.empty()) return;
  // Lines of the engine's own making are never refused.
  [[maybe_unused]] const auto learnt = sources_.add(new_sources_);
  assert(learnt);
  new_sources_.clear();
}

Heard ChordEar::heard(const Asked& asked, std::size_t chord) const {
  const std::size_t at = asked.chords[chord];
  return sources_.hear(std::span{asked.sound}.subspan(at + 1, asked.sound[at]));
}

HeardOn ChordEar::together(const Asked& asked, std::vector<Heard> chords) {
  HeardOn out;
  out.wind = asked.wind;
  out.pipes = asked.pipes;
  const double n = static_cast<double>(chords.size());
  for (const Heard& h : chords) {
    out.phons += h.loudness.phons.value() / n;
    out.acums += h.brightness.value() / n;
  }
  out.chords = std::move(chords);
  return out;
}

const HeardOn& ChordEar::hear(const Registration& drawn) {
  if (const auto it = known_.find(drawn); it != known_.end()) return *it->second;
  const Asked asked = ask(drawn);
  learn_new_sources();
  auto& sound = sounds_[asked.sound];
  if (!sound) {
    std::vector<Heard> chords;
    for (std::size_t c = 0; c < chords_.size(); ++c) chords.push_back(heard(asked, c));
    sound = std::make_shared<const HeardOn>(together(asked, std::move(chords)));
  }
  return *known_.emplace(drawn, sound).first->second;
}

void ChordEar::hear_all(std::span<const Registration> drawn, const Work& work) {
  if (known_.size() > most_known) {
    known_.clear();
    sounds_.clear();
  }
  std::vector<Asked> wanted;
  std::vector<std::shared_ptr<const HeardOn>*> answers;
  std::vector<std::pair<const Registration*, std::shared_ptr<const HeardOn>*>> asking;
  for (const Registration& r : drawn) {
    if (known_.contains(r)) continue;
    Asked asked = ask(r);
    const auto [sound, is_new] = sounds_.try_emplace(asked.sound);
    asking.emplace_back(&r, &sound->second);
    if (!is_new) continue;
    wanted.push_back(std::move(asked));
    answers.push_back(&sound->second);
  }
  learn_new_sources();
  // A chord at a time, so that one registration keeps two threads busy as well.
  const std::size_t each = chords_.size();
  std::vector<std::vector<Heard>> heards(wanted.size(), std::vector<Heard>(each));
  std::atomic<std::size_t> next{0};
  const auto listen = [&] {
    for (std::size_t i = next.fetch_add(1); i < wanted.size() * each; i = next.fetch_add(1)) {
      if (work.stop.stop_requested()) return;
      heards[i / each][i % each] = heard(wanted[i / each], i % each);
    }
  };
  {
    std::vector<std::jthread> helpers;
    const auto threads =
        std::min<std::size_t>(static_cast<std::size_t>(std::max(work.threads, 1)), wanted.size() * each);
    for (std::size_t t = 1; t < threads; ++t) helpers.emplace_back(listen);
    listen();
  }
  // Of stopped work some are not heard: those are asked for again.
  const bool stopped = work.stop.stop_requested();
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (stopped) sounds_.erase(wanted[i].sound);
    else *answers[i] = std::make_shared<const HeardOn>(together(wanted[i], std::move(heards[i])));
  }
  if (stopped) return;
  for (const auto& [registration, sound] : asking) known_.emplace(*registration, *sound);
}

double ChordEar::about(const Registration& drawn, const Registration& a, const Registration& b) {
  const HeardOn& common = hear(drawn);
  const HeardOn& one = hear(a);
  const HeardOn& other = hear(b);
  double phons = 0;
  for (std::size_t c = 0; c < chords_.size(); ++c) {
    std::vector<double> excitation = one.chords[c].excitation;
    for (std::size_t i = 0; i < excitation.size(); ++i) {
      excitation[i] += other.chords[c].excitation[i] - common.chords[c].excitation[i];
      excitation[i] = std::max(excitation[i], 0.0);
    }
    phons += heard_of(ear(), std::move(excitation)).loudness.phons.value();
  }
  return phons / static_cast<double>(chords_.size());
}

Difference ChordEar::most(const Registration& a, const Registration& b) {
  const std::vector<Heard>& before = hear(a).chords;
  const std::vector<Heard>& after = hear(b).chords;
  Difference out = Difference::none;
  for (std::size_t c = 0; c < before.size(); ++c) out = std::max(out, change(ear(), before[c], after[c]).difference);
  return out;
}

bool ChordEar::surely(const Registration& a, const Registration& b) {
  const std::vector<Heard>& before = hear(a).chords;
  const std::vector<Heard>& after = hear(b).chords;
  for (std::size_t c = 0; c < before.size(); ++c) {
    const Change here = change(ear(), before[c], after[c]);
    if (here.loudness >= surely_loudness || here.excitation >= surely_excitation) return true;
  }
  return false;
}

Difference ChordEar::least(const Registration& a, const Registration& b) {
  const std::vector<Heard>& before = hear(a).chords;
  const std::vector<Heard>& after = hear(b).chords;
  Difference out = Difference::twofold;
  for (std::size_t c = 0; c < before.size(); ++c) out = std::min(out, change(ear(), before[c], after[c]).difference);
  return out;
}

}  // namespace calcant
