// How loud and how bright very many registrations of one organ are, nearly right and quickly: what the vocabulary of a
// plan is gathered with. What people are told is weighed again in full (scales.hpp).
#pragma once

#include <array>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <tuple>
#include <unordered_map>
#include <vector>

#include "engine/hearing/screen.hpp"
#include "engine/plan/plan.hpp"
#include "engine/plan/scales.hpp"
#include "engine/quantity/result.hpp"
#include "engine/registration/map.hpp"
#include "engine/registration/space.hpp"

namespace calcant {

// One arrangement of hands and feet on the keyboards, over some chords. The additive screen of the registration map: a
// group of pipes that always speak together is listened to once. Not thread-safe. The listening must outlive it.
class QuickScales {
 public:
  // forbidden: knobs no registration asked about will have drawn; couplers left out keep it quick. Refuses what
  // Space::make refuses (no key of the chords is on these keyboards, no stop reaches them).
  [[nodiscard]] static Result<QuickScales> make(const Listening& listening, std::span<const Chord> chords,
                                                const HandsAndFeet& on, const Registration& forbidden, const Ear& ear);

  struct Figures {
    Phons loudness;  // mean over the chords; 0 where nothing sounds
    Acums brightness;
  };
  [[nodiscard]] Figures all(const Registration& drawn) { return mean(drawn, 0); }
  [[nodiscard]] Figures hands(const Registration& drawn) { return feet_ ? mean(drawn, 1) : mean(drawn, 0); }
  [[nodiscard]] Figures feet(const Registration& drawn) { return feet_ ? mean(drawn, 2) : Figures{}; }

 private:
  QuickScales() = default;
  Figures mean(const Registration& drawn, std::size_t part);
  // What the groups of one coupling sound like with the boxes so, and what was already put together from them.
  struct Heard {
    std::vector<std::vector<Pattern>> patterns;  // by chord, group
    std::array<StopMask, 3> counts{};            // by part: the stops that make a difference
    std::array<std::unordered_map<StopMask, Figures>, 3> known;
  };
  using Key = std::pair<std::size_t, BoxPositions>;  // linking, boxes
  Heard& heard(std::size_t linking, const BoxPositions& boxes);
  const Pattern& pattern_of(const Group& group, std::size_t chord, const Registration& box);
  [[nodiscard]] Figures weighed(const Heard& heard, const Linking& linking, StopMask stops, std::size_t part) const;

  const Listening* listening_ = nullptr;
  bool feet_ = false;
  std::size_t chords_ = 0;
  std::vector<KeysDown> down_;  // all of every chord, then the hands of every chord, then the feet
  std::unique_ptr<Space> space_;
  std::vector<Screen> screens_;                                        // by chord
  std::map<unsigned long long, std::optional<std::size_t>> linkings_;  // by couplers drawn; nothing: forbidden
  std::map<Key, Heard> heard_;
  std::map<std::tuple<std::size_t, float, std::vector<PipeId>>, Pattern> patterns_;  // by chord, box, pipes
};

}  // namespace calcant
