// The organ a job works on: the folder read, the day laid over it, and the conditions asked for. Every job starts here.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/listening/listening.hpp"
#include "engine/organ/organ.hpp"
#include "engine/organ/overlay.hpp"
#include "engine/playing/player.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// What a user may say beside the organ itself; what is left out is as the organ file has it.
struct Asked {
  std::optional<std::string> on;       // ISO date: the organ of that day; empty: today's as the folder holds it
  std::optional<Celsius> temperature;  // at the pipes
  PlaceKind place = PlaceKind::nave;
  People people = People::empty;
  bool as_found = false;  // out-of-tune notes laid over too
};

struct OrganContext {
  std::filesystem::path folder;
  Organ described;  // as the file has it
  Organ organ;      // the day laid over it: what jobs compute with
  Overlay day;      // what was laid over
  std::vector<Overruled> overruled;
  std::vector<std::string> allowed_for;  // faults and reeds of the day, in sentences: the foot of the cue sheet
  std::vector<std::string> notes;  // what the file leaves open and was assumed, orphans of the day: whole sentences
  // What the blind ear trial says of everything computed here: "not yet heard here", or "agreed with your ear in 8 of 10
  // (20 November 2026)"; and the levels it laid over assumed ones.
  std::string heard;
  std::vector<Overlay::RankFigure> by_ear;
  Condition condition;  // place, people, and the air at the pipes
  std::string on;       // the day that was asked for (Asked::on); empty: none was
};

// `path` is an organ folder or its organ.toml. Every fault of the files comes back in one Error.
[[nodiscard]] Result<OrganContext> open_organ(const std::filesystem::path& path, const Asked& asked = {});

// The player of this organ folder (player.toml), or the documented defaults where it has none.
[[nodiscard]] Result<Player> player_of(const OrganContext& context);

// "2026-11-29" as a real day of the calendar, or an error that says so.
[[nodiscard]] Result<std::string> parse_date(const std::string& text);

}  // namespace calcant
