#include "engine/registration/chord_ear.hpp"

#include <algorithm>
#include <atomic>
#include <thread>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

constexpr double condense_cents = 5.0;     // lines nearer than this are heard as one: under 0.1 % of loudness
constexpr std::size_t most_known = 20000;  // 7 kB each

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
    : listening_(&listening), chords_(std::move(chords)), ear_(quarter_cam()) {}

HeardOn ChordEar::heard(const Registration& drawn) const {
  HeardOn out;
  Sounding sounding{listening_->organ()};
  PipeSet pipes;
  const double n = static_cast<double>(chords_.size());
  for (const KeysDown& down : chords_) {
    sounding.pipes(drawn, down, pipes);
    // Lines of the engine's own making are never refused; silence stands for the impossible.
    Heard h = ear_.hear(condensed(listening_->lines(pipes, drawn), Cents{condense_cents})).value_or(Heard{});
    if (h.excitation.empty()) h = *ear_.hear({});
    out.phons += h.loudness.phons.value() / n;
    out.acums += h.brightness.value() / n;
    out.wind += listening_->wind(pipes).value() / n;
    out.pipes += pipes.size() / n;
    out.chords.push_back(std::move(h));
  }
  return out;
}

const HeardOn& ChordEar::hear(const Registration& drawn) {
  if (const auto it = known_.find(drawn); it != known_.end()) return it->second;
  return known_.emplace(drawn, heard(drawn)).first->second;
}

void ChordEar::hear_all(std::span<const Registration> drawn, const Work& work) {
  if (known_.size() > most_known) known_.clear();
  std::vector<const Registration*> wanted;
  for (const Registration& r : drawn) {
    if (!known_.contains(r)) wanted.push_back(&r);
  }
  std::vector<HeardOn> made(wanted.size());
  std::atomic<std::size_t> next{0};
  const auto listen = [&] {
    for (std::size_t i = next.fetch_add(1); i < wanted.size(); i = next.fetch_add(1)) {
      if (work.stop.stop_requested()) return;
      made[i] = heard(*wanted[i]);
    }
  };
  {
    std::vector<std::jthread> helpers;
    const auto threads = std::min<std::size_t>(static_cast<std::size_t>(std::max(work.threads, 1)), wanted.size());
    for (std::size_t t = 1; t < threads; ++t) helpers.emplace_back(listen);
    listen();
  }
  if (work.stop.stop_requested()) return;
  for (std::size_t i = 0; i < wanted.size(); ++i) known_.emplace(*wanted[i], std::move(made[i]));
}

Difference ChordEar::most(const Registration& a, const Registration& b) {
  const std::vector<Heard>& before = hear(a).chords;
  const std::vector<Heard>& after = hear(b).chords;
  Difference out = Difference::none;
  for (std::size_t c = 0; c < before.size(); ++c) out = std::max(out, change(ear_, before[c], after[c]).difference);
  return out;
}

Difference ChordEar::least(const Registration& a, const Registration& b) {
  const std::vector<Heard>& before = hear(a).chords;
  const std::vector<Heard>& after = hear(b).chords;
  Difference out = Difference::twofold;
  for (std::size_t c = 0; c < before.size(); ++c) out = std::min(out, change(ear_, before[c], after[c]).difference);
  return out;
}

}  // namespace calcant
