#include "jobs/organ_text.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "files/organfile/organfile.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr std::size_t pipe_table_limit = std::size_t{8} << 20;
constexpr const char* file_name = "organ.toml";

// How each kind of figure is bettered: by the organist where it can be, by the builder where the case would have to be
// opened.
constexpr const char* by_fork =
    "Measure a stop of the Great with the temperature at the pipes noted (The pipes, or calcant measure).";
constexpr const char* by_measuring =
    "Record the stop played through (The pipes, or calcant measure); kept in the book, it replaces this.";
constexpr const char* by_tape = "Measure the church with a tape, wall to wall and floor to ceiling.";
constexpr const char* by_thermometer = "Hang a thermometer where the air is that of the pipes, outside the case.";
constexpr const char* by_clap = "Record a balloon or a clap in the empty church, and measure how it dies away.";
constexpr const char* by_builder = "The builder knows it, or can measure it at the next visit.";

class Figures {
 public:
  template <class Q>
  void add(std::string of, std::string what, const Sourced<Q>& figure, std::string value, const char* better) {
    const bool poor = figure.source == Source::assumed || figure.source == Source::computed;
    list.push_back({std::move(of), std::move(what), std::move(value), figure.source, figure.date, figure.basis,
                    poor ? better : ""});
  }
  std::vector<OrganFigure> list;
};

std::string times_normal(double half_tones) {
  if (half_tones == 0) return "normal scale";
  return fmt::format("{:g} half tones {} than normal scale", std::abs(half_tones),
                     half_tones > 0 ? "wider" : "narrower");
}

}  // namespace

OrganTextChecked check_organ_text(const std::filesystem::path& folder, std::string_view text) {
  OrganTextChecked out;
  auto read = read_organ(text, file_name);
  if (read && !read->pipe_figures.empty()) {
    const auto table = read_text_file(folder / read->pipe_figures, pipe_table_limit);
    if (!table) {
      out.faults.push_back(
          {file_name, 0, 0, "", 0,
           fmt::format("It names {} for its pipe_figures: {}", read->pipe_figures, table.error().message)});
      return out;
    }
    const NamedText named{read->pipe_figures, *table};
    read = read_organ(text, file_name, &named);
  }
  if (read) out.notes = std::move(read->notes);
  else out.faults = std::move(read.error());
  return out;
}

Json fault_json(const Fault& f) {
  return {{"file", std::filesystem::path{f.file}.filename().string()},
          {"line", f.line},
          {"column", f.column},
          {"text", f.text},
          {"caret", f.caret},
          {"message", f.message}};
}

std::string json_text(const OrganTextChecked& checked) {
  Json j;
  j["faults"] = Json::array();
  for (const Fault& f : checked.faults) j["faults"].push_back(fault_json(f));
  j["notes"] = checked.notes;
  return dump(j);
}

std::vector<OrganFigure> organ_figures(const Organ& o) {
  Figures f;
  f.add("The organ", "pitch", o.pitch.a, fmt::format("A = {:g} Hz", o.pitch.a.value.value()), by_fork);
  f.add("The organ", "temperature it is tuned at", o.pitch.at, fmt::format("{:g} °C", o.pitch.at.value.value()),
        by_fork);
  f.add("The room", "volume", o.room.volume, fmt::format("{:g} cubic metres", o.room.volume.value.value()), by_tape);
  f.add("The room", "temperature", o.room.temperature, fmt::format("{:g} °C", o.room.temperature.value.value()),
        by_thermometer);
  f.add("The room", "people when full", o.room.seats, fmt::format("{}", o.room.seats.value), "Count the seats.");
  if (o.room.reverberation) {
    f.add("The room", "reverberation", *o.room.reverberation,
          fmt::format("{:.1f} s at 500 Hz", o.room.reverberation->value[3]), by_clap);
  } else {
    f.list.push_back(
        {"The room", "reverberation", "from volume and surfaces", Source::computed, "", "Sabine", by_clap});
  }
  f.add("The wind", "blower", o.wind.blower, fmt::format("{:g} litres a second", o.wind.blower.value.value()),
        by_builder);
  for (const Chest& c : o.chests) {
    f.add(c.name, "wind pressure", c.wind, fmt::format("{:.0f} Pa", c.wind.value.value()), by_builder);
  }
  f.add("The action", "repeats", o.action.repeats_per_second,
        fmt::format("{:g} a second", o.action.repeats_per_second.value),
        "Repeat one note as fast as it will speak, and count ten seconds.");
  for (const SwellBox& b : o.boxes) {
    f.add(b.name, "what it takes away when shut", b.attenuation,
          fmt::format("{:.0f} dB at 1 kHz", b.attenuation.value[4]),
          "Record one chord with the box open and shut from the same place.");
  }
  for (const Rank& r : o.ranks) {
    const auto division = o.chests[static_cast<std::size_t>(r.chest)].division;
    const std::string of = fmt::format("{}: {}", o.divisions[static_cast<std::size_t>(division)].name, r.name);
    if (r.scale.empty()) f.add(of, "width of the pipes", r.half_tones, times_normal(r.half_tones.value), by_builder);
    f.add(of, "loudness against what its kind and scale predict", r.loudness,
          fmt::format("{:+g} dB", r.loudness.value.value() + 0.0), by_measuring);
  }
  return std::move(f.list);
}

std::string json_text(const std::vector<OrganFigure>& figures) {
  Json j;
  j["figures"] = Json::array();
  for (const OrganFigure& f : figures) {
    Json o;
    o["of"] = f.of;
    o["what"] = f.what;
    o["value"] = f.value;
    o["source"] = std::string{word(f.source)};
    if (!f.date.empty()) o["date"] = f.date;
    o["basis"] = f.basis;
    o["better"] = f.better;
    j["figures"].push_back(std::move(o));
  }
  return dump(j);
}

}  // namespace calcant
