// An organ's worth of pipes sounding together, for timing only: made up in code, so that no file is read.
#pragma once

#include <algorithm>
#include <string>
#include <utility>

#include "engine/listening/listening.hpp"
#include "engine/sound/render.hpp"

namespace calcant {

inline constexpr double many_pipes_seconds = 20;

// An empty church of 6000 m3 that rings so long in every band.
inline Field field_of(double seconds) {
  RoomDescription room;
  room.volume = CubicMetres{6000};
  room.reverberation_measured = true;
  room.reverberation.fill(seconds);
  return Field{room};
}

// Principals and reeds of 16 to 4 ft in three divisions; pipes of fewer than 16 partials are passed over.
class ManyPipes {
 public:
  ManyPipes(int pipes, double reverberation)
      : organ_(organ(reverberation)), listening_(organ_, usual_condition(organ_)) {
    int n = 0;
    for (int key = 0; key < 56 && n < pipes; ++key) {
      for (RankIndex rank = 0; rank < 12 && n < pipes; ++rank) {
        const PipeId pipe{rank, key + 1};
        const std::size_t partials = listening_.voice(pipe).partials.size();
        if (partials < 16) continue;
        partials_ += static_cast<double>(partials);
        // Each speaks four times, for four seconds of five, and not all at once.
        for (int again = 0; again < 4; ++again) {
          const double on = 5.0 * again + 0.005 * n;
          performance_.events.push_back({pipe, Seconds{on}, Seconds{on + 4}});
        }
        ++n;
      }
    }
    partials_ /= n;
    std::sort(performance_.events.begin(), performance_.events.end(),
              [](const PipeEvent& a, const PipeEvent& b) { return std::pair(a.on, a.pipe) < std::pair(b.on, b.pipe); });
    performance_.length = Seconds{many_pipes_seconds};
  }
  ManyPipes(const ManyPipes&) = delete;
  ManyPipes& operator=(const ManyPipes&) = delete;

  [[nodiscard]] double partials_a_pipe() const { return partials_; }
  // Seconds of sound made, the room's decay among them.
  [[nodiscard]] double render_seconds(int threads, bool dry) const {
    RenderSettings s;
    s.dry = dry;
    s.full_scale = Decibels{150};
    const auto done = render(
        performance_, listening_, s, [](std::span<const float>) -> Result<void> { return {}; }, Work{threads});
    return done ? done->length.value() : 0;
  }

 private:
  static Organ organ(double reverberation) {
    Organ o;
    o.pitch = {given(Hertz{440}, "bench"), given(Celsius{15}, "bench")};
    o.divisions.resize(3);
    o.chests.resize(3);
    for (int i = 0; i < 3; ++i) o.chests[static_cast<std::size_t>(i)].division = i;
    for (int i = 0; i < 12; ++i) {
      Rank r;
      r.id = std::string(1, static_cast<char>('a' + i));
      r.chest = i % 3;
      r.family = i % 4 == 3 ? Family::reed : Family::principal;
      r.form = i % 4 == 3 ? Form::reed_full : Form::open;
      r.pitch = {{Note{36}, Feet{Rational{i < 4 ? 16 : i < 9 ? 8 : 4}}}};
      o.ranks.push_back(r);
    }
    o.room.volume = given(CubicMetres{6000}, "bench");
    Bands bands{};
    bands.fill(reverberation);
    o.room.reverberation = given(bands, "bench");
    return o;
  }

  Organ organ_;
  Listening listening_;
  Performance performance_;
  double partials_ = 0;
};

}  // namespace calcant
