#include "engine/sound/render.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "engine/quantity/random.hpp"
#include "engine/sound/convolver.hpp"
#include "engine/sound/in_parallel.hpp"
#include "engine/sound/pipe_synth.hpp"
#include "engine/sound/quarter_rate.hpp"

namespace calcant {
namespace {

constexpr int block = 16384;        // samples rendered at a time, a third of a second
constexpr int group = 8;            // pipes added up by one thread before the groups are merged in order
constexpr double ln_10 = 2.302585;  // build-up to 90 %: 1 - exp(-t/tau) = 0.9
// What is left at 1 m in the free field of a sound power: 10 lg(1 / 4 pi), dB re (20 uPa)^2 and 1 pW.
constexpr double one_metre_db = -10.99;

// Assumed, no source: how far an old organ's wind lets a steady pipe's level swing, and how a tremulant
// shakes.
constexpr double swing_share = 0.015;
constexpr double tremulant_hz = 5.5;
constexpr double tremulant_level = 0.12;
constexpr double tremulant_cents = 9.0;
constexpr double untidy_cents = 1.5;
constexpr double least_pressure = 0.05;  // of the working pressure: under it nothing is known of pipes at all

float sample_amplitude(double level_db, const RenderSettings& s) {
  return static_cast<float>(std::sqrt(2.0) * std::pow(10.0, (level_db - s.full_scale.value() + s.gain.value()) / 20.0));
}
float sample_rms(double level_db, const RenderSettings& s) { return sample_amplitude(level_db, s) / std::sqrt(2.0F); }

std::int64_t to_samples(Seconds t) { return std::llround(t.value() * sample_rate_hz); }

const Division& division_of(const Organ& o, PipeId p) {
  return o.divisions[static_cast<std::size_t>(
      o.chests[static_cast<std::size_t>(o.ranks[static_cast<std::size_t>(p.rank)].chest)].division)];
}
int division_index(const Organ& o, PipeId p) {
  return o.chests[static_cast<std::size_t>(o.ranks[static_cast<std::size_t>(p.rank)].chest)].division;
}

// The opening of a box over time.
class BoxCurve {
 public:
  BoxCurve(const Performance& p, BoxIndex box) {
    for (const BoxPoint& point : p.boxes) {
      if (point.box == box) points_.push_back({point.at.value() * sample_rate_hz, std::clamp(point.opening, 0.0, 1.0)});
    }
  }
  [[nodiscard]] double at(std::int64_t sample) const {
    if (points_.empty()) return 1.0;
    const auto t = static_cast<double>(sample);
    if (t <= points_.front().first) return points_.front().second;
    for (std::size_t i = 1; i < points_.size(); ++i) {
      if (t <= points_[i].first) {
        const double span = points_[i].first - points_[i - 1].first;
        const double share = span > 0 ? (t - points_[i - 1].first) / span : 1.0;
        return points_[i - 1].second + share * (points_[i].second - points_[i - 1].second);
      }
    }
    return points_.back().second;
  }

 private:
  std::vector<std::pair<double, double>> points_;
};

struct Speaking {
  PipeSound sound;
  int bus = 0;
  std::optional<BoxIndex> box;
  std::vector<Hertz> frequencies;  // of the partials, for the box
  Hertz noise_centre;
  double opening = -1;  // of the box, at the end of the block before; -1: not set yet, or moving
};

class Renderer {
 public:
  Renderer(const Performance& p, const Listening& l, const RenderSettings& s)
      : p_(p), l_(l), s_(s), noise_(s.seed), merged_(s.dry || s.response != nullptr) {
    for (BoxIndex b = 0; b < static_cast<BoxIndex>(l.organ().boxes.size()); ++b) boxes_.emplace_back(p, b);
    for (const WindPoint& w : p.wind) wind_.add(w.at.value() * sample_rate_hz, std::max(w.pressure, least_pressure));
  }

  [[nodiscard]] Speaking start(const PipeEvent& e) const {
    const Organ& organ = l_.organ();
    const Voice& v = l_.voice(e.pipe);
    const auto key = static_cast<std::uint64_t>(e.pipe.rank) << 8 | static_cast<std::uint64_t>(e.pipe.number);
    Random own{s_.seed, key};
    PipeSoundFigures f;
    f.on = to_samples(e.on);
    // No two strokes of a pipe begin alike: their phases and noise are not its own.
    Random stroke{own.bits() + static_cast<std::uint64_t>(f.on), key};
    std::vector<PartialSound> partials;
    std::vector<Hertz> frequencies;
    partials_of(e.pipe, stroke, partials, frequencies);
    f.off = std::max(to_samples(e.off), f.on + 1);
    if (s_.noise) {
      // Noise reaches the place as the lines beside it do; its own level at the source is the voice's.
      const Lines& lines = l_.lines_open(e.pipe);
      const double at_place =
          s_.dry && !lines.empty() ? lines[0].level.value() - v.partials[0].power.value() : one_metre_db;
      f.noise = &noise_.nearest(v.noise_centre.value());
      f.noise_offset = static_cast<std::uint32_t>(stroke.bits());
      f.noise_amplitude = sample_rms(v.wind_noise.value() + at_place, s_);
      f.chiff_amplitude = sample_rms(power(v).value() + v.speech.chiff.value() + at_place, s_);
    }
    for (std::size_t i = 0; i < 2; ++i) {
      f.swing_speed[i] = own.uniform(0.4, 2.2) / sample_rate_hz;
      f.swing_phase[i] = own.uniform();
      f.swing_depth[i] = s_.irregular ? static_cast<float>(own.uniform(0.3, 1.0) * swing_share) : 0.0F;
    }
    if (s_.untidy) f.wander_cents = static_cast<float>(untidy_cents * own.uniform(0.5, 1.5));
    if (!p_.wind.empty()) f.wind = &wind_;
    return {PipeSound{f, partials, shakes(e)}, merged_ ? 0 : division_index(organ, e.pipe),
            division_of(organ, e.pipe).box, std::move(frequencies), v.noise_centre};
  }

  // Sets the box gains of a pipe for the block that begins at `from`.
  void open_box(Speaking& pipe, std::int64_t from) const {
    if (!pipe.box) return;
    const BoxCurve& curve = boxes_[static_cast<std::size_t>(*pipe.box)];
    const double opening_from = curve.at(from);
    const double opening_to = curve.at(from + block);
    if (opening_from == pipe.opening && opening_to == pipe.opening) return;
    const auto gain = [&](double opening, Hertz f) {
      return static_cast<float>(std::pow(10.0, -l_.box_loss(*pipe.box, opening, f).value() / 20.0));
    };
    std::vector<float> gains_from;
    std::vector<float> gains_to;
    for (const Hertz f : pipe.frequencies) {
      gains_from.push_back(gain(opening_from, f));
      gains_to.push_back(gain(opening_to, f));
    }
    pipe.sound.set_box(gains_from, gains_to, gain(opening_from, pipe.noise_centre),
                       gain(opening_to, pipe.noise_centre));
    pipe.opening = opening_from == opening_to ? opening_to : -1;
  }

 private:
  const Performance& p_;
  const Listening& l_;
  const RenderSettings& s_;
  void partials_of(PipeId pipe, Random& random, std::vector<PartialSound>& partials,
                   std::vector<Hertz>& frequencies) const {
    const Voice& v = l_.voice(pipe);
    const Lines& lines = l_.lines_open(pipe);
    const double fundamental = moved(v.frequency, s_.detuned).value();
    for (std::size_t i = 0; i < v.partials.size(); ++i) {
      const double hz = fundamental * v.partials[i].harmonic;
      PartialSound partial;
      partial.phase = random.uniform();
      if (hz >= 0.45 * sample_rate_hz) continue;
      partial.cycles_per_sample = hz / sample_rate_hz;
      const double level = s_.dry ? lines[i].level.value() : v.partials[i].power.value() + one_metre_db;
      partial.amplitude = sample_amplitude(level, s_);
      const double rise_periods =
          i < v.speech.partial_rise_periods.size() ? v.speech.partial_rise_periods[i] : v.speech.rise_periods;
      partial.rise_samples = static_cast<float>(std::max(rise_periods / fundamental * sample_rate_hz / ln_10, 16.0));
      partial.fall_samples = static_cast<float>(std::max(v.speech.release.value() * sample_rate_hz, 48.0));
      if (v.partials[i].harmonic == v.speech.transient_harmonic) {
        partial.surplus = static_cast<float>(std::max(std::pow(10.0, v.speech.transient.value() / 20.0) - 1.0, 0.0));
      }
      partials.push_back(partial);
      frequencies.emplace_back(hz);
    }
  }

  // The tremulants that shake a pipe's division while it speaks.
  [[nodiscard]] std::vector<Shake> shakes(const PipeEvent& e) const {
    std::vector<Shake> out;
    for (const TremulantSpan& t : p_.tremulants) {
      if (t.division != division_index(l_.organ(), e.pipe) || t.from >= e.off || t.to <= e.on) continue;
      out.push_back({to_samples(t.from), to_samples(t.to), tremulant_hz / sample_rate_hz, 0.0,
                     static_cast<float>(tremulant_level), static_cast<float>(tremulant_cents)});
    }
    return out;
  }

  NoiseTables noise_;
  std::vector<BoxCurve> boxes_;
  PressureCurve wind_;
  bool merged_ = false;  // one bus for all divisions
};

// The responses from each division to the place; one for all where a measured one is given.
std::vector<StereoResponse> responses(const Listening& l, const RenderSettings& s, int threads) {
  const Organ& organ = l.organ();
  if (s.response != nullptr) return {*s.response};
  std::vector<StereoResponse> out(organ.divisions.size());
  const auto count = static_cast<double>(organ.divisions.size());
  in_parallel(out.size(), threads, [&](std::size_t d) {
    ResponseRequest request;
    request.size = organ.room.size;
    request.distance = distance_to(organ, l.condition().place, static_cast<DivisionIndex>(d));
    request.sideways = Metres{1.5 * (static_cast<double>(d) - (count - 1) / 2.0)};  // divisions stand side by side
    request.seed = s.seed + d;
    out[d] = synthesise_response(l.field(), request);
  });
  return out;
}

// The pipes that speak, added up block by block into their buses.
class Stage {
 public:
  Stage(const Renderer& renderer, std::span<const PipeEvent> events, std::size_t buses)
      : renderer_(renderer),
        events_(events),
        bus_(buses, std::vector<float>(block)),
        joined_(buses),
        sums_(buses, Part{std::vector<float>(block), std::vector<float>(block / 4)}) {}

  // Blocks are asked for in order; each comes late by QuarterRate::late.
  const std::vector<std::vector<float>>& add_up(std::int64_t from, int threads) {
    for (; next_ < events_.size() && to_samples(events_[next_].on) < from + block; ++next_) {
      speaking_.push_back(renderer_.start(events_[next_]));
    }
    // Groups hold pipes of one bus, in the order they came: what is added to what never depends on threads.
    std::stable_sort(speaking_.begin(), speaking_.end(),
                     [](const Speaking& a, const Speaking& b) { return a.bus < b.bus; });
    std::vector<std::pair<std::size_t, std::size_t>> groups;
    for (std::size_t i = 0; i < speaking_.size();) {
      std::size_t j = i;
      while (j < speaking_.size() && j - i < group && speaking_[j].bus == speaking_[i].bus) ++j;
      groups.emplace_back(i, j);
      i = j;
    }
    if (parts_.size() < groups.size()) {
      parts_.resize(groups.size(), Part{std::vector<float>(block), std::vector<float>(block / 4)});
    }
    in_parallel(groups.size(), threads, [&](std::size_t g) {
      parts_[g].clear();
      for (std::size_t i = groups[g].first; i < groups[g].second; ++i) {
        renderer_.open_box(speaking_[i], from);
        speaking_[i].sound.add(from, parts_[g].full, parts_[g].quarter);
      }
    });
    for (Part& sum : sums_) sum.clear();
    for (std::size_t g = 0; g < groups.size(); ++g) {
      Part& to = sums_[static_cast<std::size_t>(speaking_[groups[g].first].bus)];
      for (std::size_t i = 0; i < to.full.size(); ++i) to.full[i] += parts_[g].full[i];
      for (std::size_t i = 0; i < to.quarter.size(); ++i) to.quarter[i] += parts_[g].quarter[i];
    }
    in_parallel(bus_.size(), threads,
                [&](std::size_t b) { joined_[b].join(sums_[b].quarter, sums_[b].full, bus_[b]); });
    std::erase_if(speaking_, [&](const Speaking& pipe) { return pipe.sound.end() <= from + block; });
    return bus_;
  }

 private:
  struct Part {
    std::vector<float> full;
    std::vector<float> quarter;  // what lies under 5 kHz
    void clear() {
      std::fill(full.begin(), full.end(), 0.0F);
      std::fill(quarter.begin(), quarter.end(), 0.0F);
    }
  };
  const Renderer& renderer_;
  std::span<const PipeEvent> events_;
  std::size_t next_ = 0;
  std::vector<Speaking> speaking_;
  std::vector<std::vector<float>> bus_;
  std::vector<QuarterRate> joined_;
  std::vector<Part> sums_;   // one a bus
  std::vector<Part> parts_;  // one a group of pipes
};

}  // namespace

Decibels predicted_peak(const Performance& p, const Listening& l, const RenderSettings& s) {
  // Powers of all pipes that speak at once, swept over time by their ons and offs.
  struct Change {
    double at;
    double power;
  };
  std::vector<Change> changes;
  for (const PipeEvent& e : p.events) {
    double power = 0;
    for (const Line& line : l.lines_open(e.pipe)) power += decibels_to_power(line.level);
    changes.push_back({e.on.value(), power});
    changes.push_back({e.off.value() + 0.2, -power});
  }
  std::sort(changes.begin(), changes.end(), [](const Change& a, const Change& b) { return a.at < b.at; });
  double now = 0;
  double most = 1e-12;
  for (const Change& c : changes) {
    now += c.power;
    most = std::max(most, now);
  }
  constexpr double crest_db = 12.0;  // of many partials in random phase
  return Decibels{10.0 * std::log10(most) + crest_db - s.full_scale.value() + s.gain.value()};
}

Result<Rendered> render(const Performance& p, const Listening& l, const RenderSettings& s, const Sink& sink,
                        const Work& work) {
  if (p.events.empty()) return fail("nothing sounds: no pipe speaks in this music with these stops");
  const Decibels peak = predicted_peak(p, l, s);
  if (peak.value() > 0) {
    return fail(
        fmt::format("this could reach {:.0f} dB above what the file can hold; take the listening gain down by "
                    "{:.0f} dB, or give a full scale of {:.0f} dB SPL",
                    peak.value(), std::ceil(peak.value()), std::ceil(s.full_scale.value() + peak.value())));
  }
  const int threads = std::clamp(work.threads, 1, 16);
  const Renderer renderer{p, l, s};
  std::optional<Convolver> room;
  std::size_t buses = 1;
  int tail = static_cast<int>(sample_rate_hz);  // for what dies away in the pipes
  if (!s.dry) {
    const std::vector<StereoResponse> all = responses(l, s, threads);
    room.emplace(all, block);
    buses = all.size();
    tail = room->tail();
  }
  Stage stage{renderer, p.events, buses};
  std::int64_t music_end = to_samples(p.length);
  for (const PipeEvent& e : p.events) music_end = std::max(music_end, to_samples(e.off));
  const std::int64_t end = music_end + tail;

  std::vector<float> left(block);
  std::vector<float> right(block);
  std::vector<float> interleaved(2 * block);
  float loudest = 0;
  constexpr int late = QuarterRate::late;  // taken off at the beginning
  for (std::int64_t from = 0; from < end + late; from += block) {
    if (work.stop.stop_requested()) return fail("stopped before the sound was finished");
    const auto& bus = stage.add_up(from, threads);
    if (room) {
      room->process(bus, left, right, threads);
    } else {
      left = bus[0];
      right = bus[0];
    }
    const std::size_t first = from == 0 ? late : 0;
    const std::size_t count = static_cast<std::size_t>(std::min<std::int64_t>(block, end + late - from)) - first;
    for (std::size_t at = 0; at < count; ++at) {
      const std::size_t i = first + at;
      interleaved[2 * at] = left[i];
      interleaved[2 * at + 1] = right[i];
      loudest = std::max({loudest, std::abs(left[i]), std::abs(right[i])});
    }
    if (auto written = sink(std::span{interleaved}.first(2 * count)); !written) return tl::unexpected(written.error());
    work.tell(static_cast<double>(std::min(from + block, end)) / static_cast<double>(end), "making the sound");
  }
  return Rendered{Decibels{20.0 * std::log10(std::max(loudest, 1e-9F))},
                  Seconds{static_cast<double>(end) / sample_rate_hz}};
}

}  // namespace calcant
