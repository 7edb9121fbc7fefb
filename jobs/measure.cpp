#include "jobs/measure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <fstream>
#include <nlohmann/json.hpp>

#include "files/audio/reader.hpp"
#include "files/decisions/decisions.hpp"
#include "files/words/words.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"
#include "jobs/run_notes.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

// The first channel of a file, from any place on: read from the beginning again when asked to go back.
class FirstChannel {
 public:
  explicit FirstChannel(std::filesystem::path path) : path_(std::move(path)) {}

  Result<void> open() {
    auto opened = AudioReader::open(path_);
    if (!opened) return tl::unexpected(opened.error());
    reader_.emplace(std::move(*opened));
    at_ = 0;
    return {};
  }
  Result<std::int64_t> read(std::int64_t from, std::span<float> into) {
    if (from < at_) {
      if (auto again = open(); !again) return tl::unexpected(again.error());
    }
    const auto channels = static_cast<std::size_t>(reader_->channels());
    std::int64_t got = 0;
    while (got < static_cast<std::int64_t>(into.size())) {
      const std::int64_t wanted = from > at_ ? from - at_ : static_cast<std::int64_t>(into.size()) - got;
      block_.resize(channels * static_cast<std::size_t>(std::min<std::int64_t>(wanted, 65536)));
      const auto frames = reader_->read(block_);
      if (!frames) return tl::unexpected(frames.error());
      if (*frames == 0) break;
      if (at_ >= from) {
        for (std::int64_t i = 0; i < *frames; ++i) {
          into[static_cast<std::size_t>(got + i)] = block_[static_cast<std::size_t>(i) * channels];
        }
        got += *frames;
      }
      at_ += *frames;
    }
    return got;
  }
  [[nodiscard]] const AudioReader& reader() const { return *reader_; }

 private:
  std::filesystem::path path_;
  std::optional<AudioReader> reader_;
  std::vector<float> block_;
  std::int64_t at_ = 0;
};

Result<StopIndex> one_stop(const Organ& organ, const std::string& name) {
  const auto drawn = parse_registration(organ, name);
  if (!drawn) return fail(drawn.error().message, "--stop");
  if (drawn->stops.count() != 1) return fail("a run is of one stop: name one", "--stop");
  for (std::size_t s = 0; s < organ.stops.size(); ++s) {
    if (drawn->stops.test(s)) return static_cast<StopIndex>(s);
  }
  return fail("no stop is named", "--stop");
}

RunPlan plan_of(const Organ& organ, const Stop& stop, bool sides, Celsius temperature) {
  const Division& division = organ.divisions[static_cast<std::size_t>(stop.division)];
  std::vector<Note> keys;
  if (division.keyboard) {
    for (const int key : organ.keyboards[static_cast<std::size_t>(*division.keyboard)].keys) {
      if (!pipes_at(organ, stop, key).empty()) keys.push_back(Note{key});
    }
  }
  RunPlan plan;
  for (const Note key : sides ? by_sides(keys) : keys) {
    PlannedKey planned{key, {}};
    for (const PipeId p : pipes_at(organ, stop, key.midi)) planned.pipes.push_back(frequency(organ, p, temperature));
    plan.keys.push_back(std::move(planned));
  }
  return plan;
}

// What a person decided about this recording, where there is a file of it.
Result<Decisions> decided(const std::filesystem::path& path, const RunPlan& plan, const Stop& stop,
                          const MeasureRequest& request, StopMeasured& out) {
  std::error_code none;
  if (!std::filesystem::exists(path, none)) return Decisions{};
  const auto text = read_text_file(path, decisions_file_limit);
  if (!text) return tl::unexpected(text.error());
  std::vector<Note> order;
  for (const PlannedKey& k : plan.keys) order.push_back(k.key);
  auto file = read_decisions(*text, path.string(), order);
  if (!file) return tl::unexpected(file.error());
  if (!file->stop.empty() && file->stop != stop.id)
    return fail(
        fmt::format("these decisions are about the stop \"{}\", not \"{}\"; name another file", file->stop, stop.id),
        path.string());
  std::erase_if(file->decisions, [](const Decision& d) { return !d.fixed; });
  out.by_hand = static_cast<int>(file->decisions.size());
  const std::string recording = request.recording.filename().string();
  if (out.by_hand > 0 && !file->recording.empty() && file->recording != recording)
    out.remarks.push_back(fmt::format("The decisions were made about {}, not {}: see that their times still fit.",
                                      file->recording, recording));
  return std::move(file->decisions);
}

Result<void> write_decided(const std::filesystem::path& path, const Stop& stop, const MeasureRequest& request,
                           const Decisions& decisions) {
  const std::string text = write_decisions({stop.id, request.recording.filename().string(), decisions});
  std::error_code failed;
  if (std::filesystem::exists(path, failed)) {
    const auto before = read_text_file(path, decisions_file_limit);
    if (before && *before == text) return {};
    std::filesystem::copy_file(path, path.string() + ".before", std::filesystem::copy_options::overwrite_existing,
                               failed);
    if (failed)
      return fail("the decisions there before cannot be kept: " + failed.message(), path.string() + ".before");
  }
  return write_text_file(path, text);
}

template <class Tag>
Json number(const std::optional<Quantity<Tag>>& q, int places) {
  return q ? Json(rounded(q->value(), places)) : Json(nullptr);
}

Json note_json(const MeasuredNote& n) {
  Json j;
  j["midi"] = n.key.midi;
  j["note"] = name(n.key);
  j["state"] = word(n.state);
  j["start_s"] = number(n.start, 3);
  j["hz"] = n.pitch ? Json(rounded(n.pitch->hertz.value(), 5)) : Json(nullptr);
  j["cents"] = number(n.cents, 3);
  j["cents_95"] = number(n.cents_95, 3);
  j["in_run_cents"] = number(n.in_run, 3);
  j["in_run_cents_95"] = number(n.in_run_95, 3);
  j["ruled_by"] = word(n.ruled_by);
  j["rise_ms"] = n.speech ? Json(rounded(1000 * n.speech->rise.value(), 1)) : Json(nullptr);
  j["speech_ms"] = n.speech ? Json(rounded(1000 * n.speech->speech.value(), 1)) : Json(nullptr);
  j["speech_periods"] = n.speech ? Json(rounded(n.speech->speech_periods, 1)) : Json(nullptr);
  j["room_limited"] = n.speech && n.speech->room_limited;
  j["level_db"] = number(n.level, 2);
  j["evenness_db"] = number(n.evenness, 2);
  j["wind_noise_db"] = number(n.wind_noise, 1);
  j["chiff_db"] = n.speech ? number(n.speech->chiff, 1) : Json(nullptr);
  j["late_ms"] = n.late ? Json(rounded(1000 * n.late->value(), 0)) : Json(nullptr);
  j["pipes_heard"] = n.pipes_heard;
  if (n.beat) {
    j["beat"] = {{"per_second", rounded(n.beat->rate.value(), 3)}, {"cents_apart", rounded(n.beat->apart.value(), 2)}};
  }
  if (!n.mixture.empty()) {
    j["pipes"] = Json::array();
    for (const HeardPipe& p : n.mixture) {
      j["pipes"].push_back({{"expected_hz", rounded(p.expected.value(), 3)},
                            {"hz", number(p.hertz, 3)},
                            {"cents", number(p.cents, 1)},
                            {"level_db", number(p.level, 1)},
                            {"shared", p.shared}});
    }
  }
  if (n.heard) j["heard_midi"] = n.heard->midi;
  if (n.sounds_at != 1.0) j["sounds_at"] = n.sounds_at;
  if (n.pitch) {
    j["drift_cents_per_s"] = rounded(n.pitch->drift_per_second.value(), 3);
    j["unsteady_cents"] = rounded(n.pitch->unsteadiness.value(), 3);
    j["harmonics_db"] = Json::array();
    for (const Decibels d : n.pitch->harmonics) j["harmonics_db"].push_back(rounded(d.value(), 1));
  }
  if (n.clipped) j["clipped"] = true;
  if (!n.remark.empty()) j["remark"] = n.remark;
  return j;
}

Result<EntryId> keep(const OrganContext& context, const MeasureRequest& request, const StopMeasured& m) {
  const Organ& organ = context.described;
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  return book->add(run_of(context, request, m), run_notes(organ, organ.stops[static_cast<std::size_t>(m.stop)], m.run));
}

}  // namespace

Result<RunPlan> plan_of_stop(const OrganContext& context, const std::string& stop, Celsius temperature, bool sides) {
  const auto s = stop_by_id(context.described, stop);
  if (!s) return fail(fmt::format("the organ has no stop \"{}\"", stop));
  return plan_of(context.described, context.described.stops[static_cast<std::size_t>(*s)], sides, temperature);
}

Result<StopMeasured> measure_stop(const OrganContext& context, const MeasureRequest& request,
                                  std::optional<Celsius> temperature, const Work& work) {
  const Organ& organ = context.described;
  const auto stop = one_stop(organ, request.stop);
  if (!stop) return tl::unexpected(stop.error());
  StopMeasured out;
  out.stop = *stop;
  out.temperature_given = temperature.has_value();
  out.temperature = temperature.value_or(organ.pitch.at.value);
  const RunPlan plan = plan_of(organ, organ.stops[static_cast<std::size_t>(*stop)], request.sides, out.temperature);
  FirstChannel channel{request.recording};
  if (const auto opened = channel.open(); !opened) return tl::unexpected(opened.error());
  if (const auto told = channel.reader().mislabelled()) out.remarks.push_back(*told);
  if (channel.reader().lossy())
    out.remarks.push_back("The recording is of a lossy kind; wind noise and speech cannot be trusted.");
  if (!temperature) {
    out.remarks.push_back(
        fmt::format("No temperature was given: {:.4g} °C, at which the organ stands at its pitch, is assumed; "
                    "pitches against the organ's own are only as good as that.",
                    out.temperature.value()));
  }
  Recording recording;
  recording.rate = channel.reader().rate();
  recording.read = [&channel](std::int64_t from, std::span<float> into) { return channel.read(from, into); };
  Decisions fixed = request.by_hand;
  out.by_hand = static_cast<int>(fixed.size());
  const Stop& of = organ.stops[static_cast<std::size_t>(*stop)];
  if (request.decisions) {
    auto read = decided(*request.decisions, plan, of, request, out);
    if (!read) return tl::unexpected(read.error());
    fixed = std::move(*read);
  }
  auto run = measure_run(recording, plan, fixed, work);
  if (!run) {
    Error e = run.error();
    if (e.where.empty()) e.where = request.recording.string();
    return tl::unexpected(e);
  }
  out.run = std::move(*run);
  if (request.decisions) {
    const auto written = write_decided(*request.decisions, of, request, out.run.decisions);
    if (!written) return tl::unexpected(written.error());
  }
  if (request.keep_on) {
    const auto kept = keep(context, request, out);
    if (!kept) return tl::unexpected(kept.error());
    out.kept = *kept;
  }
  return out;
}

Json findings_json(const std::vector<Finding>& findings) {
  Json all = Json::array();
  for (const Finding& f : findings) {
    Json o;
    o["kind"] = word(f.kind);
    o["keys"] = Json::array();
    for (const Note key : f.keys) o["keys"].push_back(key.midi);
    o["shared"] = f.shared;
    o["amount"] = rounded(f.amount, 2);
    o["sentence"] = f.sentence;
    o["causes"] = f.causes;
    o["tests"] = Json::array();
    for (const SeparatingTest& t : f.tests) o["tests"].push_back({{"what", t.what}, {"who", word(t.who)}});
    o["who"] = word(f.who);
    all.push_back(std::move(o));
  }
  return all;
}

Run run_of(const OrganContext& context, const MeasureRequest& request, const StopMeasured& m) {
  Run run;
  run.stop = context.described.stops[static_cast<std::size_t>(m.stop)].id;
  run.date = request.keep_on.value_or("");
  if (m.temperature_given) run.temperature = m.temperature;
  run.place = request.place;
  run.close = request.close;
  run.recording = request.recording.filename().string();
  run.fingerprint = fingerprint(request.recording);
  run.sides = request.sides;
  run.decisions = write_decisions({run.stop, run.recording, m.run.decisions});
  for (const auto* remarks : {&m.remarks, &m.run.remarks})
    for (const std::string& r : *remarks) run.remark += (run.remark.empty() ? "" : "\n") + r;
  return run;
}

std::string fingerprint(const std::filesystem::path& recording) {
  std::error_code fault;
  const auto size = std::filesystem::file_size(recording, fault);
  std::ifstream file{recording, std::ios::binary};
  std::string beginning(std::min<std::uintmax_t>(fault ? 0 : size, std::size_t{1} << 20), '\0');
  if (fault || !file.read(beginning.data(), static_cast<std::streamsize>(beginning.size()))) return {};
  return fmt::format("{} {}", size, sha256(beginning));
}

std::string json_text(const OrganContext& context, const StopMeasured& m) {
  const Stop& stop = context.described.stops[static_cast<std::size_t>(m.stop)];
  Json j;
  j["organ"] = context.described.id;
  j["invented"] = context.described.invented;
  j["stop"] = stop.id;
  j["name"] = full_name(stop);
  j["celsius"] = m.temperature.value();
  j["celsius_given"] = m.temperature_given;
  j["seconds"] = rounded(m.run.length.value(), 2);
  j["off_plan_cents"] = rounded(m.run.off_plan.value(), 2);
  j["drift_cents"] = rounded(m.run.drift.value(), 2);
  j["notes"] = Json::array();
  for (const MeasuredNote& n : m.run.notes) j["notes"].push_back(note_json(n));
  j["findings"] = findings_json(m.run.findings);
  j["pair_limit"] = {{"slowest_per_second", pair_limit.slowest.value()},
                     {"fastest_per_second", pair_limit.fastest.value()},
                     {"db_softer", pair_limit.softer.value()},
                     {"told", pair_limit.told},
                     {"note_s", pair_limit.note.value()}};
  j["decided_by_hand"] = m.by_hand;
  j["remarks"] = m.remarks;
  for (const std::string& r : m.run.remarks) j["remarks"].push_back(r);
  if (m.kept) j["kept"] = *m.kept;
  return dump(j);
}

std::string measuring_instructions() {
  return "Measuring one stop\n"
         "\n"
         "Before\n"
         "  - Wind on for half an hour. Note the temperature at the pipes, and where the blower draws its air.\n"
         "  - The recorder: automatic level, noise and echo removal off; WAV or FLAC; a level that never clips.\n"
         "  - Where it stands decides what can be told: anywhere in the church for pitch; near the mouths, if that can "
         "be had\n"
         "    without entering the case, for how a pipe speaks. Leave it where it is for the whole run.\n"
         "  - Every other stop, all couplers and the tremulant off; the box open. Tell somebody that you are there "
         "alone, and\n"
         "    protect your ears beside a loud rank.\n"
         "The run\n"
         "  - Start the recorder, wait 5 seconds.\n"
         "  - Play three notes of the Principal, then the stop from bottom to top, every key: 4 seconds on, 2 off (16 "
         "ft: 6 on).\n"
         "    Replay the three Principal notes in the middle and at the end (a run of their own).\n"
         "  - A note that does not speak gets its 4 seconds too. Talk as little as you can; what you say between notes "
         "does no harm.\n"
         "  - Wait 5 seconds, stop the recorder.\n"
         "Nothing inside the case is touched: that is the builder's.\n";
}

}  // namespace calcant
