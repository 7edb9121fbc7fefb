#include "jobs/ear.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "files/lines/lines.hpp"
#include "jobs/json.hpp"
#include "jobs/text_file.hpp"

namespace calcant {

Result<TableHeard> ear(const std::filesystem::path& table, const EarSettings& settings) {
  const auto text = read_text_file(table, lines_file_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  const auto lines = read_lines(*text, table.string());
  if (!lines) return tl::unexpected<Error>(lines.error());
  auto heard = Ear{settings}.hear(*lines);
  if (!heard) return tl::unexpected<Error>(heard.error());
  return TableHeard{std::move(*heard), settings, lines->size()};
}

std::string words(const EarSettings& s) {
  return fmt::format("{}, {}, {}", s.set == NumberSet::iso ? "ISO 532-2:2017" : "ANSI S3.4-2007",
                     s.field == SoundField::diffuse ? "diffuse field"
                     : s.field == SoundField::free  ? "free field, from the front"
                                                    : "at the eardrum",
                     s.ears == Ears::both ? "both ears" : "one ear");
}

std::string json_text(const TableHeard& a) {
  Json j;
  j["sone"] = a.heard.loudness.sones.value();
  j["phon"] = a.heard.loudness.phons.value();
  j["brightness_acum"] = a.heard.brightness.value();
  j["lines"] = a.lines;
  j["left_out"] = a.heard.left_out;
  j["basis"] = words(a.settings);
  return dump(j);
}

}  // namespace calcant
