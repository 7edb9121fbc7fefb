#include "jobs/room.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"

namespace calcant::cli {
namespace {

std::string row_of_bands(const std::string& name, const Bands& bands, int places) {
  std::string out = fmt::format("  {:<22}", name);
  for (const double v : bands) out += fmt::format("{:7.{}f}", v, places);
  return out + "\n";
}

std::string model_text(const OrganContext& context, const RoomModel& m) {
  std::string out = fmt::format("{}\n{}{:.0f} cubic metres; {}.\n\n", context.organ.name, invented_line(context.organ),
                                m.volume.value(), m.from);
  out += row_of_bands("Hz", octave_bands_hz, 0);
  out += "Reverberation, seconds\n";
  for (const RoomWith& w : m.with) {
    const std::string people = w.people == People::empty  ? "empty"
                               : w.people == People::half ? fmt::format("half full ({:.0f})", w.persons)
                                                          : fmt::format("full ({:.0f})", w.persons);
    out += row_of_bands(people, w.reverberation, 2);
  }
  out += "Strength: dB against the same source 10 m off in the open (G of ISO 3382-1)\n";
  for (const RoomWith& w : m.with) {
    for (const RoomWith::At& a : w.at) {
      out += row_of_bands(fmt::format("{}, {} ({:.0f} m)", a.place == PlaceKind::bench ? "bench" : "nave",
                                      w.people == People::empty  ? "empty"
                                      : w.people == People::half ? "half full"
                                                                 : "full",
                                      a.distance.value()),
                          a.strength, 1);
    }
  }
  return out + fmt::format("Direct and reverberant sound are equal {:.1f} m from a pipe when the church is empty.\n",
                           m.with.front().critical.value());
}

std::string recording_text(const RoomRecording& r) {
  std::string out = fmt::format("{}, after ISO 3382-1\n", r.file);
  out += fmt::format("  {:<8}{:>8}{:>8}{:>8}{:>9}{:>8}{:>9}{:>11}\n", "Hz", "EDT s", "T20 s", "T30 s", "C80 dB", "D50",
                     "Ts ms", "range dB");
  const auto row = [](const std::string& name, const Decay& d) {
    const auto time = [](const std::optional<Seconds>& s) { return s ? fmt::format("{:.2f}", s->value()) : "-"; };
    return fmt::format("  {:<8}{:>8}{:>8}{:>8}{:>9.1f}{:>8.2f}{:>9.0f}{:>11.0f}\n", name, time(d.early), time(d.t20),
                       time(d.t30), d.clarity.value(), d.definition, 1000 * d.centre_time.value(), d.range.value());
  };
  for (std::size_t b = 0; b < octave_bands_hz.size(); ++b) {
    if (r.measures.bands[b]) out += row(fmt::format("{:.0f}", octave_bands_hz[b]), *r.measures.bands[b]);
  }
  return out + row("whole", r.measures.whole);
}

}  // namespace

Command room_command() {
  Command c;
  c.name = "room";
  c.summary = "Tell how the church sounds: as modelled, and as a recorded response measures it.";
  c.about =
      "Of an organ's church: reverberation and strength per octave band at the bench and in the nave, empty, half full "
      "and full, as everything else here reckons with them. Of a recorded impulse response (a balloon burst, two "
      "boards "
      "clapped together, a swept tone unfolded): EDT, T20, T30, C80, D50 and Ts per octave band after ISO 3382-1. "
      "Either may be "
      "left out. T30 of the bands, put into the organ file as reverberation_s, replaces what was computed.";
  c.arguments = {{"ORGAN", "an organ folder, or its organ.toml", true}};
  c.options = {{"--response", "FILE", "a recorded impulse response: WAV, FLAC or Ogg, 30 s at most", ""}};
  c.options = joined({c.options, day_options()});
  c.examples = {{"calcant room demo/village", "What the model takes this church to be."},
                {"calcant room --response nave.wav --json", "The measures of a recording alone."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    if (!given.has("ORGAN") && !given.has("--response")) {
      return fail("Name an organ (its folder), a recording (--response FILE), or both.");
    }
    std::optional<RoomModel> model;
    std::optional<RoomRecording> recording;
    std::string text;
    if (given.has("ORGAN")) {
      const auto context = open_organ(given);
      if (!context) return tl::unexpected<Error>(context.error());
      model = room_model(*context);
      text += model_text(*context, *model);
    }
    if (const auto file = given.text("--response")) {
      auto measured = measure_room(*file);
      if (!measured) return tl::unexpected<Error>(measured.error());
      recording = std::move(*measured);
      text += (text.empty() ? "" : "\n") + recording_text(*recording);
    }
    const RoomModel* const m = model ? &*model : nullptr;
    const RoomRecording* const r = recording ? &*recording : nullptr;
    for (const std::string& note : notes_on(m, r)) text += "\n" + wrapped(note, 0);
    return shown(std::move(text), json_text(m, r));
  };
  return c;
}

}  // namespace calcant::cli
