#include "engine/organ/organ.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace calcant {
namespace {

template <class Vector>
std::optional<int> by_id(const Vector& things, std::string_view id) {
  for (std::size_t i = 0; i < things.size(); ++i) {
    if (things[i].id == id) return static_cast<int>(i);
  }
  return std::nullopt;
}

// How much of a flue pipe's movement with temperature a reed makes, by resonator. Assumed (reference figures
// are rules of thumb): the tongue holds the pitch, and the more of the sound is the resonator's, the more it
// follows.
double temperature_share(Form form) {
  switch (form) {
    case Form::reed_full: return 0.35;
    case Form::reed_half: return 0.15;
    case Form::reed_short: return 0.05;
    default: return 1.0;
  }
}

std::string roman(int n) {
  static constexpr std::array<std::string_view, 13> numerals{"",    "I",    "II", "III", "IV", "V",  "VI",
                                                             "VII", "VIII", "IX", "X",   "XI", "XII"};
  return n > 0 && n <= 12 ? std::string{numerals[static_cast<std::size_t>(n)]} : fmt::format("{}", n);
}

}  // namespace

std::string_view word(Family f) {
  switch (f) {
    case Family::principal: return "principal";
    case Family::flute: return "flute";
    case Family::string: return "string";
    case Family::reed: break;
  }
  return "reed";
}

std::string_view word(Form f) {
  switch (f) {
    case Form::open: return "open";
    case Form::stopped: return "stopped";
    case Form::tapered: return "tapered";
    case Form::chimney: return "chimney";
    case Form::harmonic: return "harmonic";
    case Form::reed_full: return "reed, full length";
    case Form::reed_half: return "reed, half length";
    case Form::reed_short: break;
  }
  return "reed, short";
}

std::string_view word(Material m) {
  switch (m) {
    case Material::metal: return "metal";
    case Material::tin: return "tin";
    case Material::zinc: return "zinc";
    case Material::wood: break;
  }
  return "wood";
}

Feet Rank::feet_at(Note key) const {
  Feet feet = pitch.front().feet;
  for (const Break& b : pitch) {
    if (b.from > key) break;
    feet = b.feet;
  }
  return feet;
}

Note Stop::low_own() const {
  int low = highest_midi;
  bool own = false;
  for (const StopPart& p : parts) {
    if (p.borrowed) continue;
    low = own ? std::min(low, p.from.midi) : p.from.midi;
    own = true;
  }
  return own ? Note{low} : this->low();
}

Note Stop::low() const {
  int low = highest_midi;
  for (const StopPart& p : parts) low = std::min(low, p.from.midi);
  return Note{low};
}

std::string full_name(const Stop& s) {
  std::string out = s.name;
  for (std::size_t i = 0; i < s.feet.size(); ++i) {
    out += i == 0 ? " " : " & ";
    out += to_string(s.feet[i]);
  }
  if (s.mixture_ranks > 0) out += " " + roman(s.mixture_ranks);
  return out;
}

std::optional<StopIndex> stop_by_id(const Organ& o, std::string_view id) { return by_id(o.stops, id); }
std::optional<RankIndex> rank_by_id(const Organ& o, std::string_view id) { return by_id(o.ranks, id); }
std::optional<CouplerIndex> coupler_by_id(const Organ& o, std::string_view id) { return by_id(o.couplers, id); }
std::optional<DivisionIndex> division_by_id(const Organ& o, std::string_view id) { return by_id(o.divisions, id); }
std::optional<KeyboardIndex> keyboard_by_id(const Organ& o, std::string_view id) { return by_id(o.keyboards, id); }

Note key_of(const Organ& o, PipeId p) {
  return Note{o.ranks[static_cast<std::size_t>(p.rank)].low_key.midi + p.number - 1};
}

Note sounding_note(const Organ& o, PipeId p) {
  const Note key = key_of(o, p);
  const int midi = key.midi + o.ranks[static_cast<std::size_t>(p.rank)].feet_at(key).semitones();
  return Note{std::clamp(midi, 0, highest_midi)};
}

const Organ::PipeFigures* pipe_figures(const Organ& o, PipeId p) {
  const auto at = std::lower_bound(o.pipe_figures.begin(), o.pipe_figures.end(), p,
                                   [](const Organ::PipeFigures& f, PipeId id) { return f.pipe < id; });
  return at != o.pipe_figures.end() && at->pipe == p ? &*at : nullptr;
}

Hertz frequency(const Organ& o, PipeId p, Celsius now) {
  const Rank& rank = o.ranks[static_cast<std::size_t>(p.rank)];
  const Note key = key_of(o, p);
  // A mutation is tuned pure to the note of its key; whole octaves come out the same either way.
  const Hertz at_eight_feet = frequency(o.temperament, o.pitch.a.value, key);
  const Hertz nominal = at_eight_feet * rank.feet_at(key).harmonic().to_double();
  Cents by = rank.offset.value + flue_shift(o.pitch.at.value, now) * temperature_share(rank.form);
  if (const Organ::PipeFigures* figures = pipe_figures(o, p); figures != nullptr && figures->cents) {
    by += figures->cents->value;
  }
  return moved(nominal, by);
}

}  // namespace calcant
