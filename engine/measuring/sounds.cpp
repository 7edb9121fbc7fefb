#include "engine/measuring/sounds.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "engine/measuring/fft.hpp"
#include "engine/measuring/statistics.hpp"

namespace calcant::measuring {

namespace {

constexpr double listening_rate = 20000.0;  // at least, samples a second after thinning
constexpr double frame_seconds = 0.3;       // at least
constexpr std::size_t most_peaks = 32;      // of a frame
constexpr double over_background = 12.0;    // power; noise alone passes it once in a hundred frames
constexpr std::size_t gap_frames = 2;       // a line may fail for so long
constexpr double plateau_drop = 12.0;       // dB below its own level where a line is taken as ended
constexpr double least_seconds = 0.5;       // of a line that counts

struct Peak {
  float hertz;
  float db;
};

// A line being followed: levels from `first` frame on, -200 where it failed.
struct Track {
  std::size_t first = 0;
  std::size_t last = 0;
  double hertz = 0.0;  // running mean, leaning to the recent
  double sum = 0.0;    // of hertz by power
  double weight = 0.0;
  std::vector<float> db;
};

}  // namespace

bool mains(double hertz) {
  const auto off = [&](double base) { return std::fabs(hertz - base * std::round(hertz / base)); };
  return off(50.0) <= 0.4 || off(60.0) <= 0.4;
}

struct Listener::State {
  int rate;
  int factor;
  double thin_rate;
  Thinner thinner;
  Fft fft;
  std::size_t hop;
  std::vector<float> waiting;  // thinned samples not yet transformed
  std::vector<float> background;
  std::vector<Track> active;
  std::vector<Strand> strands;
  std::size_t frame = 0;
  std::int64_t samples = 0;
  // loudness every 5 ms
  std::size_t per_step;
  std::size_t in_step = 0;
  double step_power = 0.0;
  float before = 0.0F;
  Hearing heard;
  int flat = 0;  // samples at full scale in a row
  std::vector<Peak> peaks;
  std::vector<float> scratch;

  explicit State(int r)
      : rate(r),
        factor(std::max(1, static_cast<int>(r / listening_rate))),
        thin_rate(static_cast<double>(r) / factor),
        thinner(factor),
        fft(power_of_two_from(static_cast<std::size_t>(frame_seconds * thin_rate))),
        hop(fft.size() / 4),
        background(fft.size() / 2 + 1),
        per_step(static_cast<std::size_t>(std::lround(0.005 * r))) {}

  [[nodiscard]] double time(std::size_t f) const {
    return (static_cast<double>(f * hop) + static_cast<double>(fft.size()) / 2.0) / thin_rate;
  }
  [[nodiscard]] double frame_step() const { return static_cast<double>(hop) / thin_rate; }

  void transform(std::span<const float> x) {
    const auto power = fft.power(x);
    // Background: the median of the neighbourhood, an eighth of an octave or 24 bins wide at least.
    const std::size_t bins = power.size();
    for (std::size_t low = 1; low < bins;) {
      const std::size_t high = std::min(bins, low + std::max<std::size_t>(24, low / 11));
      // Some fifty bins spread over it tell the median well enough.
      scratch.clear();
      for (std::size_t i = low; i < high; i += 1 + (high - low) / 50) scratch.push_back(power[i]);
      const auto middle = scratch.begin() + static_cast<std::ptrdiff_t>(scratch.size() / 2);
      std::nth_element(scratch.begin(), middle, scratch.end());
      const auto level = static_cast<float>(static_cast<double>(*middle) / std::numbers::ln2 + 1e-13);
      for (std::size_t i = low; i < high; ++i) background[i] = level;
      low = high;
    }
    peaks.clear();
    const double bin = thin_rate / static_cast<double>(fft.size());
    const auto lowest = static_cast<std::size_t>(std::ceil(12.0 / bin));
    const auto highest = static_cast<std::size_t>(0.45 * static_cast<double>(fft.size()));
    for (std::size_t i = std::max<std::size_t>(2, lowest); i < highest; ++i) {
      const float p = power[i];
      if (p <= power[i - 1] || p < power[i + 1] ||
          static_cast<double>(p) < over_background * static_cast<double>(background[i]))
        continue;
      const double a = std::log(static_cast<double>(power[i - 1]) + 1e-30);
      const double b = std::log(static_cast<double>(p));
      const double c = std::log(static_cast<double>(power[i + 1]) + 1e-30);
      const double shift = 0.5 * (a - c) / (a - 2.0 * b + c);
      const double top = b - 0.25 * (a - c) * shift;
      peaks.push_back({static_cast<float>((static_cast<double>(i) + shift) * bin),
                       static_cast<float>(10.0 / std::numbers::ln10 * top)});
    }
    if (peaks.size() > most_peaks) {
      std::nth_element(peaks.begin(), peaks.begin() + most_peaks, peaks.end(),
                       [](Peak p, Peak q) { return p.db > q.db; });
      peaks.resize(most_peaks);
    }
    follow(bin);
    ++frame;
  }

  void follow(double bin) {
    std::vector<bool> taken(peaks.size(), false);
    for (Track& t : active) {
      const double allowed = 0.4 * bin + 0.012 * t.hertz * std::min(1.0, 400.0 / t.hertz);
      std::size_t best = peaks.size();
      double least = allowed;
      for (std::size_t i = 0; i < peaks.size(); ++i) {
        const double off = std::fabs(static_cast<double>(peaks[i].hertz) - t.hertz);
        if (!taken[i] && off < least) {
          least = off;
          best = i;
        }
      }
      if (best == peaks.size()) {
        t.db.push_back(-200.0F);
        continue;
      }
      taken[best] = true;
      add(t, peaks[best]);
    }
    std::size_t kept = 0;
    for (Track& t : active) {
      if (frame - t.last > gap_frames) {
        close(t);
      } else {
        std::swap(active[kept++], t);
      }
    }
    active.resize(kept);
    for (std::size_t i = 0; i < peaks.size(); ++i) {
      if (taken[i]) continue;
      Track t;
      t.first = frame;
      t.hertz = static_cast<double>(peaks[i].hertz);
      add(t, peaks[i]);
      active.push_back(std::move(t));
    }
  }

  void add(Track& t, Peak p) {
    t.last = frame;
    t.hertz += (static_cast<double>(p.hertz) - t.hertz) * 0.25;
    const double w = std::pow(10.0, static_cast<double>(p.db) / 10.0);
    t.sum += w * static_cast<double>(p.hertz);
    t.weight += w;
    t.db.push_back(p.db);
  }

  // The stretches in which it stood near its own level.
  void close(const Track& t) {
    if (static_cast<double>(t.last - t.first + 1) * frame_step() < least_seconds) return;
    std::vector<float> sorted(t.db);
    const auto upper = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() * 3 / 4);
    std::nth_element(sorted.begin(), upper, sorted.end());
    const auto level = static_cast<double>(*upper);
    std::size_t i = 0;
    while (i < t.db.size()) {
      if (static_cast<double>(t.db[i]) < level - plateau_drop) {
        ++i;
        continue;
      }
      std::size_t end = i;
      for (std::size_t j = i; j < t.db.size() && j - end <= gap_frames; ++j)
        if (static_cast<double>(t.db[j]) >= level - plateau_drop) end = j;
      if (static_cast<double>(end - i + 1) * frame_step() >= least_seconds) {
        // A frame half filled shows a line 6 dB down: the line began near the first good frame's middle.
        strands.push_back({time(t.first + i), time(t.first + end), t.sum / t.weight, level});
      }
      i = end + 1;
    }
  }

  void drain() {
    std::size_t at = 0;
    for (; at + fft.size() <= waiting.size(); at += hop)
      transform(std::span<const float>(waiting).subspan(at, fft.size()));
    waiting.erase(waiting.begin(), waiting.begin() + static_cast<std::ptrdiff_t>(at));
  }
};

Listener::Listener(int rate) : state_(std::make_unique<State>(rate)) {}
Listener::Listener(Listener&&) noexcept = default;
Listener& Listener::operator=(Listener&&) noexcept = default;
Listener::~Listener() = default;

void Listener::take(std::span<const float> x) {
  State& s = *state_;
  s.thinner.take(x, s.waiting);
  // First difference: knocks and onsets show, rumble does not.
  for (const float v : x) {
    const float d = v - s.before;
    s.before = v;
    s.step_power += static_cast<double>(d) * static_cast<double>(d);
    if (std::fabs(v) >= 0.9995F) {
      if (++s.flat == 3) {
        const double at = static_cast<double>(s.samples) / s.rate;
        if (!s.heard.clipped.empty() && at - s.heard.clipped.back().second < 0.5) s.heard.clipped.back().second = at;
        else s.heard.clipped.emplace_back(at, at);
      }
    } else {
      s.flat = 0;
    }
    ++s.samples;
    if (++s.in_step == s.per_step) {
      s.heard.loudness.push_back(static_cast<float>(s.step_power / static_cast<double>(s.per_step)));
      s.in_step = 0;
      s.step_power = 0.0;
    }
  }
  s.drain();
}

namespace {

// Two pipes close together beat: each of their lines comes and goes, and is heard as several. They are one where a line
// of the same note, an octave or twelfth or the like away, goes on through the gap; in a repeated note none does.
std::vector<Strand> joined(std::vector<Strand> strands) {
  constexpr double longest_gap = 1.6;  // s
  std::ranges::sort(
      strands, [](const Strand& a, const Strand& b) { return a.from != b.from ? a.from < b.from : a.hertz < b.hertz; });
  const auto bridges = [](const Strand& c, const Strand& a, const Strand& b) {
    if (c.from < a.from - 0.6 || c.from > a.to - 0.1 || c.to < b.from + 0.1 || c.db < a.db - 40.0) return false;
    const double ratio = std::max(c.hertz, a.hertz) / std::min(c.hertz, a.hertz);
    const double lowest = std::fabs(2.0 * ratio - std::round(2.0 * ratio));  // 3:2 is told as well
    return ratio > 1.2 && lowest < 0.01 * ratio;
  };
  for (bool again = true; again;) {
    again = false;
    std::size_t early = 0;  // strands before it have ended long ago
    for (std::size_t i = 0; i < strands.size(); ++i) {
      Strand& b = strands[i];
      while (early < i && strands[early].to < b.from - longest_gap) ++early;
      for (std::size_t j = early; j < i && b.to > 0.0; ++j) {
        Strand& a = strands[j];
        if (a.to <= 0.0 || a.to >= b.from || b.from - a.to > longest_gap) continue;
        if (std::fabs(a.hertz - b.hertz) > 0.6 + 0.003 * a.hertz) continue;
        bool bridged = false;
        for (std::size_t k = early; k < strands.size() && strands[k].from < a.to && !bridged; ++k)
          bridged = strands[k].to > 0.0 && bridges(strands[k], a, b);
        if (!bridged) continue;
        a.hertz = (a.hertz * (a.to - a.from) + b.hertz * (b.to - b.from)) / (a.to - a.from + b.to - b.from);
        a.to = b.to;
        a.db = std::max(a.db, b.db);
        b.to = -1.0;  // taken
        again = true;
      }
    }
    std::erase_if(strands, [](const Strand& s) { return s.to < 0.0; });
  }
  return strands;
}

std::vector<Sound> grouped(std::vector<Strand> strands) {
  // The strongest lines found the groups; weaker ones that begin with them and do not outlast them join.
  std::ranges::sort(strands,
                    [](const Strand& a, const Strand& b) { return a.db != b.db ? a.db > b.db : a.hertz < b.hertz; });
  std::vector<Sound> sounds;
  for (const Strand& s : strands) {
    Sound* home = nullptr;
    double least = 0.45;
    for (Sound& g : sounds) {
      const Strand& lead = g.lines.front();
      const double start = std::fabs(s.from - lead.from);
      const double end = s.to - lead.to;
      const bool ends_with = std::fabs(end) < 0.9;
      const bool inside = end < 0.0 && s.to - s.from > 0.5 * (lead.to - lead.from);
      if (start < least && (ends_with || inside)) {
        least = start;
        home = &g;
      }
    }
    if (home != nullptr) home->lines.push_back(s);
    else sounds.push_back({s.from, s.to, {s}});
  }
  // Short weak scraps that lie within a stronger sound (beating lines, transients) are no sounds of their own; a soft
  // note within a cipher is: it begins later, lasts, and is no harmonic of it.
  const auto note_within = [](const Strand& s, const Sound& other) {
    if (s.from < other.lines.front().from + 1.0 || s.to - s.from < 1.2) return false;
    return std::ranges::none_of(other.lines, [&](const Strand& l) {
      const double n = std::max(1.0, std::round(s.hertz / l.hertz));
      return std::fabs(s.hertz - n * l.hertz) < 0.015 * s.hertz;
    });
  };
  std::vector<Sound> out;
  for (const Sound& g : sounds) {
    const Strand& lead = g.lines.front();
    const bool scrap = std::ranges::any_of(sounds, [&](const Sound& o) {
      const Strand& other = o.lines.front();
      return &o != &g && other.db > lead.db + 6.0 && other.from - 0.5 < lead.from && other.to + 1.2 > lead.to &&
             o.lines.size() >= g.lines.size() && !note_within(lead, o) &&
             (lead.to - lead.from < 0.6 * (other.to - other.from) || g.lines.size() == 1);
    });
    if (!scrap) out.push_back(g);
  }
  for (Sound& g : out) {
    std::vector<double> from;
    std::vector<double> to;
    for (std::size_t i = 0; i < std::min<std::size_t>(g.lines.size(), 3); ++i) {
      from.push_back(g.lines[i].from);
      to.push_back(g.lines[i].to);
    }
    g.from = median(from);
    g.to = median(to);
  }
  std::ranges::sort(out, [](const Sound& a, const Sound& b) { return a.from < b.from; });
  return out;
}

}  // namespace

Hearing Listener::finish() {
  State& s = *state_;
  s.thinner.end(s.waiting);
  s.waiting.resize(s.waiting.size() + s.fft.size(), 0.0F);
  s.drain();
  for (const Track& t : s.active) s.close(t);
  s.active.clear();

  Hearing h = std::move(s.heard);
  h.seconds = static_cast<double>(s.samples) / s.rate;
  h.step = static_cast<double>(s.per_step) / s.rate;
  std::vector<float> sorted(h.loudness);
  if (!sorted.empty()) {
    const auto tenth = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 10);
    std::nth_element(sorted.begin(), tenth, sorted.end());
    h.quiet = static_cast<double>(*tenth);
  }
  // A line of mains hum drops out now and then: what one frequency adds up to over the recording decides.
  std::vector<Strand> passing;
  std::ranges::sort(s.strands, {}, &Strand::hertz);
  std::vector<double> heard_till(s.strands.size() + 1);
  for (std::size_t i = 0; i < s.strands.size(); ++i)
    heard_till[i + 1] = heard_till[i] + s.strands[i].to - s.strands[i].from;
  for (const Strand& a : s.strands) {
    const auto low = std::ranges::lower_bound(s.strands, a.hertz - 0.6, {}, &Strand::hertz) - s.strands.begin();
    const auto high = std::ranges::lower_bound(s.strands, a.hertz + 0.6, {}, &Strand::hertz) - s.strands.begin();
    const double sum = heard_till[static_cast<std::size_t>(high)] - heard_till[static_cast<std::size_t>(low)];
    const bool all_along = h.seconds > 12.0 && sum > 0.75 * h.seconds && a.to - a.from > 8.0;
    (all_along ? h.standing : passing).push_back(a);
  }
  h.sounds = grouped(joined(std::move(passing)));
  return h;
}

}  // namespace calcant::measuring
