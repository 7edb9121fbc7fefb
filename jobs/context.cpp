#include "jobs/context.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <utility>

#include "engine/organ/coupler_trial.hpp"
#include "files/organfile/organfile.hpp"
#include "files/playerfile/playerfile.hpp"
#include "jobs/ear_trial.hpp"
#include "jobs/faults.hpp"
#include "jobs/text_file.hpp"

namespace calcant {

Result<std::string> parse_date(const std::string& text) {
  int year = 0;
  unsigned month = 0;
  unsigned day = 0;
  char more = 0;
  const bool read = text.size() == 10 && std::sscanf(text.c_str(), "%4d-%2u-%2u%c", &year, &month, &day, &more) == 3;
  const std::chrono::year_month_day date{std::chrono::year{year}, std::chrono::month{month}, std::chrono::day{day}};
  if (!read || !date.ok()) return fail(fmt::format("'{}' is no date; one is written 2026-11-29.", text), "date");
  return text;
}

namespace {

// What the book says comes after what day.toml says.
void lay_over(Overlay& day, const Overlay& book) {
  const auto append = [](auto& to, const auto& from) { to.insert(to.end(), from.begin(), from.end()); };
  append(day.dead, book.dead);
  append(day.stops_out_of_use, book.stops_out_of_use);
  append(day.rank_loudness, book.rank_loudness);
  append(day.pipe_level, book.pipe_level);
  append(day.pipe_cents, book.pipe_cents);
  append(day.couplers, book.couplers);
  if (book.temperature) day.temperature = book.temperature;
  if (day.origin.empty()) day.origin = book.origin;
}

}  // namespace

Result<OrganContext> open_organ(const std::filesystem::path& path, const Asked& asked) {
  auto folder = read_organ_folder(path);
  if (!folder) return tl::unexpected<Error>(as_error(folder.error()));

  OrganContext context;
  context.folder = folder->folder;
  context.described = std::move(folder->organ);
  context.notes = std::move(folder->notes);
  context.day = std::move(folder->day);
  if (asked.on) {
    const auto date = parse_date(*asked.on);
    if (!date) return tl::unexpected<Error>(date.error());
    context.on = *date;
    if (!context.day.day.empty() && context.day.day != *date) {
      context.notes.push_back(fmt::format("{} speaks of {}, not of {}, and was left out of account.",
                                          context.day.origin, context.day.day, *date));
      context.day = Overlay{};
      context.day.day = *date;
    }
  }
  const auto book =
      day_from_book(context.folder, context.described, {asked.on.value_or(""), asked.temperature, asked.as_found});
  if (!book) return tl::unexpected<Error>(book.error());
  if (*book) {
    context.allowed_for = (*book)->allowed_for;
    lay_over(context.day, (*book)->overlay);
  }
  Overlay in_order = context.day;  // the trial was heard on pipes that spoke
  in_order.dead.clear();
  in_order.stops_out_of_use.clear();
  in_order.pipe_cents.clear();
  auto trial = known_by_trial(context.folder, apply(context.described, in_order).organ, asked.on.value_or(""));
  if (!trial) return tl::unexpected<Error>(trial.error());
  context.heard = std::move(trial->heard);
  context.by_ear = std::move(trial->levels);
  for (auto& note : trial->notes) context.notes.push_back(std::move(note));
  context.day.rank_loudness.insert(context.day.rank_loudness.end(), context.by_ear.begin(), context.by_ear.end());

  Applied applied = apply(context.described, context.day);
  context.organ = std::move(applied.organ);
  context.overruled = std::move(applied.overruled);
  const auto trials = coupler_trials(context.organ);
  if (std::all_of(trials.begin(), trials.end(), [](const CouplerTrial& t) { return t.tried; }))
    std::erase(context.notes, couplers_untried);
  for (auto& orphan : applied.orphans) context.notes.push_back(std::move(orphan));

  context.condition.place = asked.place;
  context.condition.people = asked.people;
  context.condition.air.temperature = asked.temperature.value_or(context.organ.room.temperature.value);
  context.condition.air.humidity = context.organ.room.humidity.value;
  return context;
}

Result<Player> player_of(const OrganContext& context) {
  const auto path = context.folder / "player.toml";
  std::error_code fault;
  if (!std::filesystem::exists(path, fault)) return default_player();
  const auto text = read_text_file(path, player_file_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  return read_player(*text, path.string());
}

}  // namespace calcant
