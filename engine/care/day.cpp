#include "engine/care/day.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "engine/quantity/day_words.hpp"
#include "engine/tuning/temperament.hpp"

namespace calcant {
namespace {

constexpr double standing_wave_db = 5.0;  // one place in a church, a low pure tone (from memory)

// The newest record of each pipe, up to the date, that says what is asked for.
template <class Says>
std::map<std::pair<std::string, int>, PipeRecord> newest(const std::vector<PipeRecord>& records,
                                                         const std::string& date, Says says) {
  std::map<std::pair<std::string, int>, PipeRecord> out;
  for (const PipeRecord& r : records) {
    if (!says(r) || (!date.empty() && r.date > date)) continue;
    auto [it, is_new] = out.try_emplace({r.rank, r.pipe}, r);
    if (!is_new && r.date >= it->second.date) it->second = r;
  }
  return out;
}

void lay_faults(const Organ& organ, const std::vector<OpenFault>& faults, Day& day) {
  for (const OpenFault& f : faults) {
    const std::string since =
        f.reported.empty() ? std::string{} : fmt::format(", in the book since {}", date_in_words(f.reported));
    if (f.out_of_use && !f.stop.empty()) {
      day.overlay.stops_out_of_use.push_back(f.stop);
      const auto stop = stop_by_id(organ, f.stop);
      const std::string name = stop ? full_name(organ.stops[static_cast<std::size_t>(*stop)]) : f.stop;
      day.allowed_for.push_back(fmt::format("{} is out of use{}", name, since));
    } else if (f.dead && f.pipe > 0) {
      day.overlay.dead.push_back({f.rank, f.pipe, f.words});
      day.allowed_for.push_back(fmt::format("{}{}{}", f.words, f.when.empty() ? "" : " (" + f.when + ")", since));
    }
  }
}

void lay_levels(const std::vector<PipeRecord>& records, const std::string& date, Day& day) {
  const auto levels = newest(records, date, [](const PipeRecord& r) { return r.level.has_value(); });
  std::map<std::string, std::pair<double, int>> sums;
  for (const auto& [pipe, r] : levels) {
    auto& [sum, count] = sums[pipe.first];
    sum += r.level->value();
    ++count;
  }
  for (const auto& [pipe, r] : levels) {
    const auto& [sum, count] = sums[pipe.first];
    const double own = r.level_95 ? r.level_95->value() : 1.0;
    Sourced<double> figure;
    figure.value = r.level->value() - sum / count;
    figure.source = Source::measured;
    figure.half_width_95 = r.close ? own : std::max(own, standing_wave_db);
    figure.date = r.date;
    figure.basis = "recording, level against the rank's own mean";
    figure.conditions = r.close ? "microphone at the mouths" : "one place in the church";
    day.overlay.pipe_level.push_back({pipe.first, pipe.second, figure});
  }
}

// Records whose state still holds on the day: no visit has come since.
std::vector<PipeRecord> still_so(const std::vector<PipeRecord>& records, const std::vector<StateClosed>& visits,
                                 const std::string& date) {
  std::vector<PipeRecord> out;
  for (const PipeRecord& r : records)
    if (!seen_to(visits, r.stop, r.date, date)) out.push_back(r);
  return out;
}

void lay_dead(const Organ& organ, const std::vector<PipeRecord>& records, const std::string& date, Day& day) {
  for (const auto& [pipe, r] :
       newest(records, date, [](const PipeRecord& p) { return p.dead || p.cents.has_value(); })) {
    if (!r.dead) continue;
    const bool told = std::ranges::any_of(day.overlay.dead, [&, id = pipe](const Overlay::DeadPipe& d) {
      return d.rank == id.first && d.number == id.second;
    });
    if (told) continue;  // in the book as a fault already
    const auto rank = rank_by_id(organ, r.rank);
    std::string key;
    if (rank && r.pipe >= 1 && r.pipe <= organ.ranks[static_cast<std::size_t>(*rank)].pipes)
      key = organ.ranks[static_cast<std::size_t>(*rank)].name + ", " + name(key_of(organ, {*rank, r.pipe}));
    else key = fmt::format("{}/{}", r.rank, r.pipe);
    const std::string words = fmt::format("{}: gave no sound when it was measured", key);
    day.overlay.dead.push_back({r.rank, r.pipe, words});
    day.allowed_for.push_back(fmt::format("{} on {}", words, r.date));
  }
}

void lay_pitches(const std::vector<PipeRecord>& records, const std::string& date, Day& day) {
  for (const auto& [pipe, r] : newest(records, date, [](const PipeRecord& p) { return p.cents.has_value(); })) {
    Sourced<double> figure;
    figure.value = r.cents->value();
    figure.source = Source::measured;
    if (r.cents_95) figure.half_width_95 = r.cents_95->value();
    figure.date = r.date;
    figure.basis = "recording";
    if (r.temperature) figure.conditions = fmt::format("{:.1f} °C at the pipes", r.temperature->value());
    day.overlay.pipe_cents.push_back({pipe.first, pipe.second, figure});
  }
}

void tell_reeds(const Organ& organ, Celsius now, Day& day) {
  const Celsius tuned_at = organ.pitch.at.value;
  const Cents flues = flue_shift(tuned_at, now);
  for (std::size_t i = 0; i < organ.ranks.size(); ++i) {
    const Rank& rank = organ.ranks[i];
    if (rank.family != Family::reed) continue;
    const PipeId middle{static_cast<RankIndex>(i), (rank.pipes + 1) / 2};
    const Cents moved_by = interval(frequency(organ, middle, tuned_at), frequency(organ, middle, now));
    const Cents apart = moved_by - flues;
    if (std::abs(apart.value()) < reed_apart_cents) continue;
    day.reeds_apart.push_back({rank.id, apart});
    day.allowed_for.push_back(
        fmt::format("at {:.0f} °C the {} stands about {:.0f} cents {} the flues (assumed behaviour of its reeds): "
                    "better left out of the "
                    "chorus, and the wires left alone",
                    now.value(), rank.name, std::abs(apart.value()), apart.value() > 0 ? "above" : "below"));
  }
}

}  // namespace

bool seen_to(const std::vector<StateClosed>& visits, std::string_view stop, std::string_view found,
             std::string_view on) {
  return std::ranges::any_of(visits, [&](const StateClosed& v) {
    return v.date > found && (on.empty() || v.date <= on) && (v.stop.empty() || v.stop == stop);
  });
}

Day organ_of_day(const Organ& organ, const std::vector<OpenFault>& faults, const std::vector<PipeRecord>& records,
                 const DayRequest& request, const std::vector<StateClosed>& visits) {
  Day day;
  day.overlay.day = request.date;
  day.overlay.origin = "the organ's book";
  lay_faults(organ, faults, day);
  lay_levels(records, request.date, day);
  const auto state = still_so(records, visits, request.date);
  lay_dead(organ, state, request.date, day);
  if (request.as_found) lay_pitches(state, request.date, day);
  if (request.temperature) {
    day.overlay.temperature =
        Sourced<Celsius>{*request.temperature, Source::given, std::nullopt, request.date, "asked for", {}};
    tell_reeds(organ, *request.temperature, day);
  }
  return day;
}

}  // namespace calcant
