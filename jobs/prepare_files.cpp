#include "jobs/prepare_files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "engine/sound/render.hpp"
#include "files/audio/writer.hpp"
#include "files/pages/cue_sheet.hpp"
#include "files/pages/pencilling.hpp"
#include "jobs/marked_copy.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr double longest_preview_minutes = 20;

class FileWriter {
 public:
  FileWriter(const PlannedItems& planned, Prepared& out, const Work& work) : in_(planned), out_(out), work_(work) {}

  Result<void> all() {
    if (auto made = make_folder(in_.request.out); !made) return made;
    if (auto sheet = write_sheet(); !sheet) return sheet;
    for (const ScoredItem& s : in_.scores) {
      if (auto marked = write_marked_copy(s); !marked) return marked;
      if (auto heard = write_preview(s); !heard) return heard;
    }
    return {};
  }

 private:
  Result<void> write(const std::string& name, std::string_view text, std::string what) {
    const auto path = in_.request.out / name;
    if (auto written = write_text_file(path, text); !written) return written;
    out_.written.push_back({path, std::move(what)});
    return {};
  }

  Result<void> write_sheet() {
    CueSheet sheet;
    sheet.heading = in_.heading;
    sheet.date = !in_.context.day.day.empty() ? in_.context.day.day : in_.date;
    sheet.faults = out_.file.faults;
    sheet.heard = in_.context.heard;
    // Played here before only where everything on the sheet was.
    const bool heard = !in_.heard.empty() &&
                       std::none_of(in_.heard.begin(), in_.heard.end(), [](const std::string& h) { return h.empty(); });
    if (heard) {
      const std::string played =
          fmt::format("played here (last on {})", *std::max_element(in_.heard.begin(), in_.heard.end()));
      sheet.heard = sheet.heard.empty() ? played : played + "; " + sheet.heard;
    }
    const SheetSize size = sheet_size(in_.context.organ, in_.plan);
    out_.one_side = size.sides == 1;
    if (size.sides == 2)
      out_.remarks.push_back(fmt::format(
          "The cue sheet takes both sides of a sheet in {} point; the reasons have a page of their own.", size.points));
    if (size.sides > 2)
      out_.remarks.push_back("The cue sheet takes more than one sheet in 12.5 point; it is not set smaller.");
    const char* what = out_.one_side ? "cue sheet; reasons on its back" : "cue sheet, to be printed on both sides";
    if (auto w = write("cues.html", cue_sheet_html(in_.context.organ, in_.plan, sheet), what); !w) return w;
    if (!out_.one_side) {
      if (auto w = write("reasons.html", reasons_html(in_.context.organ, in_.plan, sheet), "why it is so"); !w)
        return w;
    }
    if (auto list = write_pencilling(); !list) return list;
    return write("plan.json", write_plan(in_.context.organ, out_.file), "the plan, for Calcant and other programs");
  }

  Result<void> write_pencilling() {
    std::vector<const Score*> by_item(in_.plan.items.size(), nullptr);
    for (const ScoredItem& s : in_.scores) by_item[static_cast<std::size_t>(s.item)] = &s.read.score;
    const std::vector<Pencilling> lists = pencilling(in_.context.organ, in_.plan, by_item);
    if (auto w = write("pencilling.txt", pencilling_text(lists), "what to pencil into a paper copy"); !w) return w;
    return write("pencilling.html", pencilling_html(in_.context.organ, lists), "the same, to print");
  }

  // The first file of a kind keeps the plain name; a service's further scores carry their item's number.
  [[nodiscard]] std::string file_name(const ScoredItem& s, const std::string& stem, const std::string& ending) const {
    return in_.request.service ? fmt::format("{}-{}{}", stem, s.item + 1, ending) : stem + ending;
  }

  Result<void> write_marked_copy(const ScoredItem& s) {
    if (!s.read.musicxml) {
      out_.remarks.push_back("A MIDI file has no notation to mark, so there is no marked copy.");
      return {};
    }
    const Tempo tempo(s.read.score, s.settings.quarters_per_minute, s.settings.tempo);
    const auto feet = feet_in_plan(in_.context.organ, in_.plan, s.item, s.read.score, in_.player, tempo, s.marks);
    if (feet) {
      for (const std::string& r : feet->remarks) out_.remarks.push_back("Feet: " + r);
    }
    const auto marked =
        marked_copy(in_.context.organ, in_.plan, s.item, s.read, feet ? &*feet : nullptr, in_.request.every_foot);
    if (!marked) return tl::unexpected<Error>(marked.error());
    return write(file_name(s, "marked", ".musicxml"), *marked,
                 "the score with registration, manuals and feet written in");
  }

  Result<void> write_preview(const ScoredItem& s) {
    if (!in_.request.preview) return {};
    if (in_.request.service) {
      if (&s == &in_.scores.front())
        out_.remarks.push_back("A service is not rendered as sound; prepare one of its scores by itself to hear it.");
      return {};
    }
    PerformanceSettings played = s.settings;
    played.touch = in_.player.touch;
    played.feet = feet_touch(s.read.score, in_.context.organ, in_.player, played);
    Performance performance = perform(in_.context.organ, in_.plan, s.item, s.read.score, played);
    if (performance.events.empty() || performance.length > Seconds{longest_preview_minutes * 60}) {
      out_.remarks.push_back(
          fmt::format("{} is not rendered as sound: it lasts more than {:g} minutes, or nothing of it sounds.",
                      in_.plan.items[static_cast<std::size_t>(s.item)].title, longest_preview_minutes));
      return {};
    }
    if (const auto falls = set_wind(in_.context.organ, in_.context.condition.air, false, performance))
      out_.remarks.push_back(*falls);
    const auto path = in_.request.out / file_name(s, "preview", ".flac");
    auto writer = AudioWriter::create(path, AudioFormat::flac, static_cast<int>(sample_rate_hz), 2);
    if (!writer) return tl::unexpected<Error>(writer.error());
    RenderSettings settings;
    // Listening gain: the loudest this can become is put 3 dB under full scale. Stated beside the file.
    settings.gain = Decibels{0} - predicted_peak(performance, in_.listening, settings) - Decibels{3};
    const auto rendered = render(
        performance, in_.listening, settings, [&](std::span<const float> block) { return writer->write(block); },
        work_);
    if (!rendered) return tl::unexpected<Error>(rendered.error());
    if (auto finished = writer->finish(); !finished) return finished;
    out_.written.push_back(
        {path, fmt::format("preview in the nave, listening gain {:+.0f} dB", settings.gain.value())});
    return {};
  }

  const PlannedItems& in_;
  Prepared& out_;
  const Work& work_;
};

}  // namespace

Result<void> write_files(const PlannedItems& planned, Prepared& out, const Work& work) {
  return FileWriter(planned, out, work).all();
}

}  // namespace calcant
