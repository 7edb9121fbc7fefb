#include "jobs/ear.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/shared.hpp"

namespace calcant::cli {

Command ear_command() {
  Command c;
  c.name = "ear";
  c.summary = "Say how loud a table of spectral lines is, in sone and phon.";
  c.about =
      "Reads frequency and level (dB SPL), one line of sound a row, with or without a header, and gives the loudness "
      "of "
      "the whole by ISO 532-2:2017 (or ANSI S3.4-2007). Noise is given as lines close together.";
  c.arguments = {{"LINES.csv", "a table: hz,db"}};
  c.options = {{"--field",
                "FIELD",
                "where the levels hold: all round the listener, from the front, at the eardrum",
                "",
                {"diffuse", "free", "eardrum"},
                true},
               {"--ears", "EARS", "with how many ears it is heard", "both", {"one", "both"}},
               {"--set", "SET", "whose figures", "iso", {"iso", "ansi"}}};
  c.examples = {{"calcant ear tone.csv --field free", "A row '1000,40' gives 1 sone and 40 phon."},
                {"calcant ear chord.csv --field diffuse --ears one --json", "A chord in a nave, heard with one ear."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    EarSettings settings;
    settings.field = given.text("--field") == "free"      ? SoundField::free
                     : given.text("--field") == "eardrum" ? SoundField::eardrum
                                                          : SoundField::diffuse;
    settings.ears = given.text("--ears") == "one" ? Ears::one : Ears::both;
    settings.set = given.text("--set") == "ansi" ? NumberSet::ansi : NumberSet::iso;
    const auto answer = ear(*given.text("LINES.csv"), settings);
    if (!answer) return tl::unexpected<Error>(answer.error());
    std::string text = fmt::format("{:.4g} sone, {:.1f} phon\n{} {}; {}\n", answer->heard.loudness.sones.value(),
                                   answer->heard.loudness.phons.value(), answer->lines,
                                   answer->lines == 1 ? "line" : "lines", words(settings));
    if (answer->heard.left_out > 0) {
      text += fmt::format(
          "{} of them lie below 20 Hz or above 20 kHz, where the standard's tables end, and count "
          "nothing.\n",
          answer->heard.left_out);
    }
    return shown(std::move(text), json_text(*answer));
  };
  return c;
}

}  // namespace calcant::cli
