#include "engine/measuring/alignment.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/measuring/statistics.hpp"

namespace calcant {

std::string_view word(NoteState s) {
  switch (s) {
    case NoteState::speaks: return "speaks";
    case NoteState::dead: return "dead";
    case NoteState::cipher: return "cipher";
    case NoteState::wrong: return "wrong";
    case NoteState::unsure: break;
  }
  return "unsure";
}

std::optional<NoteState> note_state(std::string_view w) {
  for (const auto s : {NoteState::speaks, NoteState::dead, NoteState::cipher, NoteState::wrong, NoteState::unsure})
    if (word(s) == w) return s;
  return std::nullopt;
}

std::string_view word(Extra e) {
  switch (e) {
    case Extra::none: return "none";
    case Extra::repeat: return "repeat";
    case Extra::false_start: return "false start";
    case Extra::other: break;
  }
  return "other";
}

namespace measuring {

namespace {

constexpr double tolerance = 48.0;  // cents a line may lie off its place
// What each reading of the recording costs; the cheapest whole reading is taken.
constexpr double skip_key = 0.65;     // dead (or left out)
constexpr double in_a_hurry = 0.45;   // more, when the notes round it left no time for it
constexpr double wrong_note = 0.85;   // another note in its turn
constexpr double skip_repeat = 0.25;  // the same note once more
constexpr double skip_noise = 0.25;   // no steady note at all
constexpr double skip_note = 0.60;    // a steady note of no key in turn
constexpr double skip_cipher = 0.20;  // one that sounds on through others
constexpr double never = 1e6;

double cents_between(double low, double high) { return 1200.0 * std::log2(high / low); }

// A sound that goes on while others begin.
bool sounds_on(const Hearing& h, std::size_t i) {
  const Sound& s = h.sounds[i];
  if (s.seconds() < 3.0) return false;
  std::vector<double> lengths;
  for (const Sound& o : h.sounds) lengths.push_back(o.seconds());
  const double usual = median(std::move(lengths));
  for (std::size_t j = i + 1; j < h.sounds.size(); ++j) {
    const Sound& o = h.sounds[j];
    if (o.from > s.from + 1.0 && o.from < s.to - 0.7 && std::min(o.to, s.to) - o.from > 0.5 &&
        s.seconds() > usual + 1.5)
      return true;
  }
  return s.seconds() > 2.0 * usual + 3.0 && i + 1 == h.sounds.size();
}

// Talk and noise have few lines, or short ones.
bool steady_note(const Sound& s) { return s.seconds() > 0.9 && !s.lines.empty(); }

}  // namespace

Fit fit_of(const Sound& sound, const std::vector<double>& pipes, double offset_cents) {
  Fit best;
  double total = 0.0;
  for (const Strand& l : sound.lines) total += std::pow(10.0, l.db / 40.0);
  for (const double times : {1.0, 2.0, 3.0, 1.5}) {
    double explained = 0.0;
    std::vector<double> off;
    std::vector<bool> present(4, false);
    for (const Strand& l : sound.lines) {
      double nearest = 1e9;
      for (const double pipe : pipes) {
        const double f = pipe * times * std::exp2(offset_cents / 1200.0);
        const double n = std::max(1.0, std::round(l.hertz / f));
        if (n > 40.0) continue;
        const double c = cents_between(n * f, l.hertz);
        if (std::fabs(c) < std::fabs(nearest)) nearest = c;
        if (std::fabs(c) < tolerance && n < 4.0) present[static_cast<std::size_t>(n)] = true;
      }
      if (std::fabs(nearest) >= tolerance) continue;
      explained += std::pow(10.0, l.db / 40.0);
      if (off.size() < 5) off.push_back(nearest);
    }
    const double share = total > 0.0 ? explained / total : 0.0;
    const double there = present[1] ? 1.0 : present[2] && present[3] ? 0.85 : present[3] ? 0.5 : 0.3;
    double quality = share * there * (times == 1.0 ? 1.0 : 0.75);
    const double cents = median(off);
    quality *= 1.0 - 0.2 * (cents / tolerance) * (cents / tolerance);
    if (quality > best.quality) best = {quality, cents, times};
  }
  return best;
}

namespace {

struct Table {
  std::size_t keys = 0;
  std::size_t sounds = 0;
  std::vector<Fit> fits;
  [[nodiscard]] const Fit& at(std::size_t key, std::size_t sound) const { return fits[key * sounds + sound]; }
};

enum class Move : unsigned char { none, match, wrong, pass_key, pass_sound };

struct Path {
  double cost = 0.0;
  std::vector<std::pair<int, int>> pairs;  // (key, sound), -1 for none, in order
};

// What a person has decided: by key the sound that is its own (-1: none said), or that it has none; by sound the key, or
// that it belongs to none.
struct Forced {
  std::vector<int> sound;
  std::vector<bool> silent;
  std::vector<int> key;
  std::vector<bool> nothing;
};

Path cheapest(const Table& t, const Hearing& h, const std::vector<bool>& cipher, const Forced& forced) {
  // Between which sounds there was no time for a silent key.
  std::vector<bool> crowded(t.sounds + 1, false);
  {
    std::vector<double> starts;
    for (const Sound& o : h.sounds)
      if (steady_note(o)) starts.push_back(o.from);
    std::vector<double> steps;
    for (std::size_t i = 1; i < starts.size(); ++i) steps.push_back(starts[i] - starts[i - 1]);
    const double usual = median(steps);
    for (std::size_t s = 0; s < t.sounds; ++s) {
      const auto next = std::ranges::lower_bound(starts, h.sounds[s].from);
      if (next == starts.begin() || next == starts.end()) continue;
      crowded[s] = *next - *(next - 1) < 1.4 * usual;
    }
  }
  const std::size_t width = t.sounds + 1;
  std::vector<double> cost((t.keys + 1) * width, std::numeric_limits<double>::max());
  std::vector<Move> how(cost.size(), Move::none);
  cost[0] = 0.0;
  const auto offer = [&](std::size_t to, double c, Move m) {
    if (c < cost[to]) {
      cost[to] = c;
      how[to] = m;
    }
  };
  for (std::size_t k = 0; k <= t.keys; ++k) {
    for (std::size_t s = 0; s <= t.sounds; ++s) {
      const double here = cost[k * width + s];
      if (here >= std::numeric_limits<double>::max()) continue;
      const bool key_forced = k < t.keys && forced.sound[k] >= 0;
      const bool sound_forced = s < t.sounds && (forced.key[s] >= 0 || forced.nothing[s]);
      if (k < t.keys)
        offer((k + 1) * width + s,
              here + (key_forced         ? never
                      : forced.silent[k] ? 0.0
                                         : skip_key + (crowded[s] ? in_a_hurry : 0.0)),
              Move::pass_key);
      if (s < t.sounds) {
        const Sound& sound = h.sounds[s];
        const double again = std::max(k > 0 ? t.at(k - 1, s).quality : 0.0, k < t.keys ? t.at(k, s).quality : 0.0);
        double c = !steady_note(sound) ? skip_noise : cipher[s] ? skip_cipher : again > 0.6 ? skip_repeat : skip_note;
        if (sound_forced) c = forced.nothing[s] ? 0.0 : never;
        offer(k * width + s + 1, here + c, Move::pass_sound);
      }
      if (k < t.keys && s < t.sounds) {
        const Fit& f = t.at(k, s);
        const double brief = 0.3 * std::max(0.0, 1.0 - h.sounds[s].seconds() / 1.5);
        const bool bound = key_forced || sound_forced || forced.silent[k];
        const bool meant = key_forced && forced.sound[k] == static_cast<int>(s);
        if (meant) {
          offer((k + 1) * width + s + 1, here, Move::match);
        } else if (!bound) {
          if (f.quality > 0.35) offer((k + 1) * width + s + 1, here + (1.0 - f.quality) + brief, Move::match);
          if (steady_note(h.sounds[s]) && !cipher[s])
            offer((k + 1) * width + s + 1, here + wrong_note + brief, Move::wrong);
        }
      }
    }
  }
  Path path;
  path.cost = cost.back();
  std::size_t k = t.keys;
  std::size_t s = t.sounds;
  while (k > 0 || s > 0) {
    switch (how[k * width + s]) {
      case Move::pass_key: path.pairs.emplace_back(static_cast<int>(--k), -1); break;
      case Move::pass_sound: path.pairs.emplace_back(-1, static_cast<int>(--s)); break;
      case Move::wrong:
      case Move::match:
        --k;
        --s;
        path.pairs.emplace_back(static_cast<int>(k), static_cast<int>(s));
        break;
      case Move::none: k = s = 0; break;
    }
  }
  std::ranges::reverse(path.pairs);
  return path;
}

std::vector<double> plain(const PlannedKey& k) {
  std::vector<double> v;
  for (const Hertz f : k.pipes) v.push_back(f.value());
  return v;
}

// The key a sound is most like, over the plan's keys; -1 for none.
int likeliest_key(const Table& t, std::size_t sound) {
  int best = -1;
  double quality = 0.4;
  for (std::size_t k = 0; k < t.keys; ++k)
    if (t.at(k, sound).times == 1.0 && t.at(k, sound).quality > quality) {
      quality = t.at(k, sound).quality;
      best = static_cast<int>(k);
    }
  return best;
}

// Finds the sounds that are meant. A stretch given by hand becomes a sound of its own where none begins near it.
Forced forced_by(const Decisions& fixed, std::size_t keys, Hearing& h) {
  const auto has_place = [&](const Decision& d) {
    return d.fixed && d.place && *d.place >= 0 && *d.place < static_cast<int>(keys);
  };
  for (const Decision& d : fixed) {
    if (!has_place(d) || !d.from || !d.to) continue;
    const double from = d.from->value();
    const auto near = std::ranges::find_if(h.sounds, [&](const Sound& s) { return std::fabs(s.from - from) < 0.5; });
    if (near != h.sounds.end()) continue;
    const Sound own{from, d.to->value(), {}};
    h.sounds.insert(std::ranges::find_if(h.sounds, [&](const Sound& s) { return s.from > from; }), own);
  }
  Forced forced{std::vector<int>(keys, -1), std::vector<bool>(keys, false), std::vector<int>(h.sounds.size(), -1),
                std::vector<bool>(h.sounds.size(), false)};
  for (const Decision& d : fixed) {
    if (d.fixed && d.extra != Extra::none && d.from && d.to) {
      for (std::size_t s = 0; s < h.sounds.size(); ++s) {
        const double inside = std::min(h.sounds[s].to, d.to->value()) - std::max(h.sounds[s].from, d.from->value());
        if (inside > 0.5 * h.sounds[s].seconds()) forced.nothing[s] = true;
      }
    }
    if (!has_place(d)) continue;
    const auto place = static_cast<std::size_t>(*d.place);
    if (!d.from) {
      forced.silent[place] = true;
      continue;
    }
    if (h.sounds.empty()) continue;
    std::size_t best = 0;
    for (std::size_t s = 1; s < h.sounds.size(); ++s)
      if (std::fabs(h.sounds[s].from - d.from->value()) < std::fabs(h.sounds[best].from - d.from->value())) best = s;
    forced.sound[place] = static_cast<int>(best);
    forced.key[best] = *d.place;
  }
  return forced;
}

}  // namespace

Aligned aligned(const RunPlan& plan, const Hearing& given, const Decisions& fixed) {
  Hearing h = given;
  const std::size_t keys = plan.keys.size();
  const Forced forced = forced_by(fixed, keys, h);

  std::vector<bool> cipher(h.sounds.size());
  for (std::size_t s = 0; s < h.sounds.size(); ++s) cipher[s] = sounds_on(h, s);

  // The whole run may stand off the plan (pitch standard, temperature): the offset that reads cheapest, little ones first.
  Table table{keys, h.sounds.size(), {}};
  Path path;
  double offset = 0.0;
  const auto fill = [&](double by) {
    Table t{keys, h.sounds.size(), {}};
    t.fits.reserve(keys * h.sounds.size());
    for (const PlannedKey& k : plan.keys)
      for (const Sound& s : h.sounds) t.fits.push_back(fit_of(s, plain(k), by));
    return t;
  };
  bool first = true;
  for (const double by : {0.0, 25.0, -25.0, 50.0, -50.0, 75.0, -75.0, 100.0, -100.0}) {
    Table t = fill(by);
    Path p = cheapest(t, h, cipher, forced);
    const double price = p.cost + std::fabs(by) * 0.002 * static_cast<double>(keys) / 4.0;
    if (first || price < path.cost) {
      p.cost = price;
      path = std::move(p);
      table = std::move(t);
      offset = by;
      first = false;
    }
    // A run read without loss needs no other offset.
    if (path.cost < 0.12 * static_cast<double>(keys)) break;
  }
  std::vector<double> off;
  for (const auto& [k, s] : path.pairs)
    if (k >= 0 && s >= 0 && table.at(static_cast<std::size_t>(k), static_cast<std::size_t>(s)).quality > 0.6)
      off.push_back(table.at(static_cast<std::size_t>(k), static_cast<std::size_t>(s)).cents);
  if (const double rest = median(off); std::fabs(rest) > 4.0) {
    offset += rest;
    table = fill(offset);
    path = cheapest(table, h, cipher, forced);
  }

  Aligned out;
  out.offset_cents = offset;
  Decisions extras;
  const auto aim_of = [&](std::size_t key, std::size_t sound) {
    const Fit& f = table.at(key, sound);
    return plan.keys[key].pipes.front().value() * f.times * std::exp2((offset + f.cents) / 1200.0);
  };
  const auto stretch = [&](Decision& d, int s) {
    d.from = Seconds{h.sounds[static_cast<std::size_t>(s)].from};
    d.to = Seconds{h.sounds[static_cast<std::size_t>(s)].to};
  };
  for (const auto& [k, s] : path.pairs) {
    Decision d;
    if (k < 0) {
      const auto sound = static_cast<std::size_t>(s);
      if (forced.nothing[sound]) continue;  // the person's own line stands for it
      const int like = likeliest_key(table, sound);
      if (like >= 0) d.key = plan.keys[static_cast<std::size_t>(like)].key;
      stretch(d, s);
      if (cipher[sound] && like >= 0) d.state = NoteState::cipher;
      else d.extra = like < 0 ? Extra::other : h.sounds[sound].seconds() < 1.0 ? Extra::false_start : Extra::repeat;
      extras.push_back(d);
      continue;
    }
    const auto key = static_cast<std::size_t>(k);
    d.place = k;
    d.key = plan.keys[key].key;
    double times = 1.0;
    double aim = d.place ? plan.keys[key].pipes.front().value() * std::exp2(offset / 1200.0) : 0.0;
    if (s < 0) {
      d.state = NoteState::dead;
    } else {
      const auto sound = static_cast<std::size_t>(s);
      const Fit& f = table.at(key, sound);
      stretch(d, s);
      times = f.times;
      if (f.quality > 0.35) aim = aim_of(key, sound);
      if (forced.sound[key] < 0 && f.quality <= 0.35) {
        d.state = NoteState::wrong;
        if (const int like = likeliest_key(table, sound); like >= 0) {
          d.heard = plan.keys[static_cast<std::size_t>(like)].key;
          aim = aim_of(static_cast<std::size_t>(like), sound);
        }
      } else if (cipher[sound]) {
        d.state = NoteState::cipher;
      }
    }
    for (const Decision& given_by_hand : fixed)
      if (given_by_hand.fixed && given_by_hand.place == d.place) {
        d.state = given_by_hand.state;
        if (given_by_hand.from) d.from = given_by_hand.from;
        if (given_by_hand.to) d.to = given_by_hand.to;
        d.fixed = true;
      }
    out.decisions.push_back(d);
    out.aim.push_back(aim);
    out.times.push_back(times);
  }
  // Usual distance from one key's beginning to the next.
  std::vector<double> steps;
  for (std::size_t i = 1; i < out.decisions.size(); ++i)
    if (out.decisions[i].from && out.decisions[i - 1].from)
      steps.push_back(out.decisions[i].from->value() - out.decisions[i - 1].from->value());
  const double usual = median(steps);
  for (std::size_t i = 0; i < out.decisions.size(); ++i) {
    Decision& d = out.decisions[i];
    if (d.state != NoteState::dead || d.fixed) continue;
    // Between the last key that sounded and the next one: was there time for it?
    std::size_t before = i;
    while (before > 0 && !out.decisions[before - 1].from) --before;
    std::size_t after = i;
    while (after < out.decisions.size() && !out.decisions[after].from) ++after;
    const double n = static_cast<double>(after - before);
    const double start = before > 0 ? out.decisions[before - 1].from->value() : -1e9;
    const double end = after < out.decisions.size() ? out.decisions[after].from->value() : 1e9;
    if (start > -1e8 && end < 1e8 && usual > 0.0 && end - start < (0.5 * n + 1.0) * usual) d.state = NoteState::unsure;
    // A cipher of this very pipe takes its turn away.
    const double turn = start > -1e8 && end < 1e8
                            ? start + (end - start) * static_cast<double>(i - before + 1) / (n + 1.0)
                        : start > -1e8 ? start + usual * static_cast<double>(i - before + 1)
                                       : end - usual * static_cast<double>(after - i);
    for (std::size_t s = 0; s < h.sounds.size(); ++s) {
      const Sound& o = h.sounds[s];
      if (cipher[s] && o.from < turn + 0.5 && o.to > turn - 0.5 && table.at(i, s).quality > 0.5 &&
          table.at(i, s).times == 1.0) {
        d.state = NoteState::cipher;
        stretch(d, static_cast<int>(s));
        out.aim[i] = aim_of(i, s);
        std::erase_if(extras, [&](const Decision& e) { return e.state == NoteState::cipher && e.from == d.from; });
      }
    }
    // So does one that never stops.
    Sound standing{0.0, h.seconds, h.standing};
    std::ranges::sort(standing.lines, [](const Strand& a, const Strand& b) { return a.db > b.db; });
    if (!standing.lines.empty() && d.state != NoteState::cipher) {
      const auto pipes = plain(plan.keys[i]);
      const double f = pipes.front() * std::exp2(offset / 1200.0);
      const bool sounds = std::ranges::any_of(standing.lines, [&](const Strand& l) {
        return std::fabs(cents_between(f, l.hertz)) < 30.0 && !mains(l.hertz);
      });
      if (sounds) {
        d.state = NoteState::cipher;
        d.from = Seconds{0.0};
        d.to = Seconds{h.seconds};
      }
    }
  }
  for (const Decision& d : fixed)
    if (d.fixed && d.extra != Extra::none) extras.push_back(d);
  for (const Decision& extra : extras) {
    out.decisions.push_back(extra);
    out.aim.push_back(0.0);
    out.times.push_back(1.0);
  }
  return out;
}

}  // namespace measuring
}  // namespace calcant
