#include "engine/organ/overlay.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace calcant {
namespace {

// "+2.5 dB, measured 2026-03-01 (bench microphone)".
template <class T>
std::string shown(const Sourced<T>& s, double value, std::string_view unit) {
  std::string out = fmt::format("{:+.4g} {}, {}", value, unit, word(s.source));
  if (!s.date.empty()) out += " " + s.date;
  if (!s.basis.empty()) out += " (" + s.basis + ")";
  return out;
}

template <class Q>
Sourced<Q> as(const Sourced<double>& s) {
  return {Q{s.value}, s.source, s.half_width_95, s.date, s.basis, s.conditions};
}

class Laying {
 public:
  explicit Laying(const Organ& organ) { done_.organ = organ; }

  Applied lay(const Overlay& overlay) {
    Organ& o = done_.organ;
    for (const Overlay::DeadPipe& d : overlay.dead) {
      const auto pipe = find_pipe(d.rank, d.number, "a dead pipe");
      if (!pipe) continue;
      if (o.dead.empty()) o.dead.resize(o.ranks.size());
      o.dead[static_cast<std::size_t>(pipe->rank)].insert(pipe->number);
    }
    for (const std::string& id : overlay.stops_out_of_use) {
      if (const auto stop = stop_by_id(o, id)) o.stops[static_cast<std::size_t>(*stop)].out_of_use = true;
      else orphan(fmt::format("a stop out of use: this organ has no stop \"{}\"", id));
    }
    for (const Overlay::RankFigure& f : overlay.rank_loudness) {
      const auto rank = rank_by_id(o, f.rank);
      if (!rank) {
        orphan(fmt::format("a loudness: this organ has no rank \"{}\"", f.rank));
        continue;
      }
      decide(o.ranks[static_cast<std::size_t>(*rank)].loudness, as<Decibels>(f.value), "rank " + f.rank + ", loudness",
             "dB");
    }
    for (const Overlay::PipeFigure& f : overlay.pipe_level) {
      const auto pipe = find_pipe(f.rank, f.number, "a level");
      if (!pipe) continue;
      decide(figures(*pipe).level, as<Decibels>(f.value), fmt::format("pipe {}/{}, level", f.rank, f.number), "dB");
    }
    for (const Overlay::PipeFigure& f : overlay.pipe_cents) {
      const auto pipe = find_pipe(f.rank, f.number, "a tuning");
      if (!pipe) continue;
      decide(figures(*pipe).cents, as<Cents>(f.value), fmt::format("pipe {}/{}, tuning", f.rank, f.number), "cents");
    }
    for (const Overlay::PipeSpectrum& f : overlay.pipe_spectrum) {
      const auto pipe = find_pipe(f.rank, f.number, "a spectrum");
      if (!pipe || f.partials.value.empty()) continue;
      auto& holder = figures(*pipe).spectrum;
      if (holder) {
        const bool wins = replaces(f.partials, *holder);
        const auto told = [](const auto& s) {
          return fmt::format("{} partials, {} {}", s.value.size(), word(s.source), s.date);
        };
        done_.overruled.push_back({fmt::format("pipe {}/{}, spectrum", f.rank, f.number),
                                   told(wins ? f.partials : *holder), told(wins ? *holder : f.partials)});
        if (!wins) continue;
      }
      holder = f.partials;
    }
    for (const Overlay::CouplerHeard& h : overlay.couplers) heard(h);
    if (overlay.temperature) decide(o.room.temperature, *overlay.temperature, "temperature at the pipes", "C");
    return std::move(done_);
  }

 private:
  void orphan(std::string what) { done_.orphans.push_back(std::move(what)); }

  void heard(const Overlay::CouplerHeard& h) {
    Organ& o = done_.organ;
    const auto first = coupler_by_id(o, h.through);
    const auto second = coupler_by_id(o, h.carried);
    if (!first || !second) {
      orphan(fmt::format("a coupler that was tried: this organ has no coupler \"{}\"", first ? h.carried : h.through));
      return;
    }
    Coupler& c = o.couplers[static_cast<std::size_t>(*first)];
    if (c.tried && c.tried_on > h.date) return;
    const auto there = std::lower_bound(c.carries.begin(), c.carries.end(), *second);
    const bool carried = there != c.carries.end() && *there == *second;
    if (h.carries && !carried) c.carries.insert(there, *second);
    if (!h.carries && carried) c.carries.erase(there);
    c.heard.push_back(*second);
  }

  std::optional<PipeId> find_pipe(const std::string& id, int number, std::string_view of) {
    const auto rank = rank_by_id(done_.organ, id);
    if (!rank) {
      orphan(fmt::format("{}: this organ has no rank \"{}\"", of, id));
      return std::nullopt;
    }
    const int pipes = done_.organ.ranks[static_cast<std::size_t>(*rank)].pipes;
    if (number < 1 || number > pipes) {
      orphan(fmt::format("{}: rank \"{}\" has pipes 1 to {}, not {}", of, id, pipes, number));
      return std::nullopt;
    }
    return PipeId{*rank, number};
  }

  Organ::PipeFigures& figures(PipeId p) {
    auto& all = done_.organ.pipe_figures;
    const auto at =
        std::lower_bound(all.begin(), all.end(), p, [](const Organ::PipeFigures& f, PipeId id) { return f.pipe < id; });
    if (at != all.end() && at->pipe == p) return *at;
    return *all.insert(at, Organ::PipeFigures{p, std::nullopt, std::nullopt, std::nullopt});
  }

  template <class Q>
  void decide(Sourced<Q>& holder, const Sourced<Q>& challenger, std::string of, std::string_view unit) {
    const std::string held = shown(holder, holder.value.value(), unit);
    const std::string came = shown(challenger, challenger.value.value(), unit);
    const bool wins = replaces(challenger, holder);
    done_.overruled.push_back({std::move(of), wins ? came : held, wins ? held : came});
    if (wins) holder = challenger;
  }
  template <class Q>
  void decide(std::optional<Sourced<Q>>& holder, const Sourced<Q>& challenger, std::string of, std::string_view unit) {
    if (holder) decide(*holder, challenger, std::move(of), unit);
    else holder = challenger;
  }

  Applied done_;
};

}  // namespace

Applied apply(const Organ& organ, const Overlay& overlay) { return Laying{organ}.lay(overlay); }

}  // namespace calcant
