#include "jobs/hear.hpp"

#include <fmt/format.h>
#include <samplerate.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "engine/organ/sounding.hpp"
#include "files/audio/reader.hpp"
#include "files/audio/writer.hpp"
#include "files/planfile/planfile.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/performance.hpp"
#include "jobs/prepare.hpp"
#include "jobs/read_score.hpp"
#include "jobs/saved.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr double longest_response_s = 30;
constexpr int lowest_response_rate = 16000;
constexpr double lead_in_s = 0.1;

// A recorded response at 48 kHz, one channel to both ears or two as they are; of more, the first (the omnidirectional one
// of B-format). Its level is arbitrary, so its energy is set to what the room's own field gives at 1 kHz.
Result<StereoResponse> read_response(const std::filesystem::path& path, const Field& field, Metres distance) {
  auto reader = AudioReader::open(path);
  if (!reader) return tl::unexpected(reader.error());
  const std::string where = path.string();
  if (reader->rate() < lowest_response_rate) {
    return fail(fmt::format("a room's response at {} samples a second has no treble; {} or more are wanted",
                            reader->rate(), lowest_response_rate),
                where);
  }
  const auto channels = static_cast<std::size_t>(reader->channels());
  std::array<std::vector<float>, 2> ears;
  std::vector<float> block(channels * 8192);
  const auto longest = static_cast<std::size_t>(longest_response_s * reader->rate());
  for (;;) {
    const auto frames = reader->read(block);
    if (!frames) return tl::unexpected(frames.error());
    if (*frames == 0) break;
    for (std::size_t i = 0; i < static_cast<std::size_t>(*frames); ++i) {
      ears[0].push_back(block[i * channels]);
      ears[1].push_back(block[i * channels + (channels == 2 ? 1 : 0)]);
    }
    if (ears[0].size() > longest) {
      return fail(fmt::format("this lasts more than {:.0f} seconds: it is no room's response but a recording",
                              longest_response_s),
                  where);
    }
  }
  StereoResponse out;
  for (std::size_t e = 0; e < 2; ++e) {
    const double ratio = sample_rate_hz / reader->rate();
    std::vector<float> resampled(static_cast<std::size_t>(static_cast<double>(ears[e].size()) * ratio) + 64);
    SRC_DATA data{};
    data.data_in = ears[e].data();
    data.data_out = resampled.data();
    data.input_frames = static_cast<long>(ears[e].size());
    data.output_frames = static_cast<long>(resampled.size());
    data.src_ratio = ratio;
    if (src_simple(&data, SRC_SINC_MEDIUM_QUALITY, 1) != 0)
      return fail("the response could not be brought to 48 kHz", where);
    resampled.resize(static_cast<std::size_t>(data.output_frames_gen));
    (e == 0 ? out.left : out.right) = std::move(resampled);
  }
  double energy = 0;
  for (const float v : out.left) energy += static_cast<double>(v) * v / 2;
  for (const float v : out.right) energy += static_cast<double>(v) * v / 2;
  if (!(energy > 1e-12)) return fail("the response is silent", where);
  const double want = 4 * std::numbers::pi * decibels_to_power(field.transfer(Hertz{1000}, distance));
  const auto scale = static_cast<float>(std::sqrt(want / energy));
  for (float& v : out.left) v *= scale;
  for (float& v : out.right) v *= scale;
  return out;
}

// The music between two times, moved to begin at 0.
Performance cut(const Performance& p, double from, double to) {
  Performance out;
  for (const PipeEvent& e : p.events) {
    const double on = std::max(e.on.value(), from);
    const double off = std::min(e.off.value(), to);
    if (off > on) out.events.push_back({e.pipe, Seconds{on - from + lead_in_s}, Seconds{off - from + lead_in_s}});
  }
  std::stable_sort(out.events.begin(), out.events.end(),
                   [](const PipeEvent& a, const PipeEvent& b) { return a.on < b.on; });
  for (BoxPoint b : p.boxes) {
    b.at = Seconds{std::max(b.at.value() - from + lead_in_s, 0.0)};
    out.boxes.push_back(b);
  }
  out.tremulants = p.tremulants;
  out.length = Seconds{std::min(p.length.value(), to) - from + lead_in_s};
  return out;
}

// Pipes of the keys held from `at` on, with the boxes as drawn.
void add_chord(const Organ& organ, const Registration& drawn, const KeysDown& down, double at, double held,
               Performance& p) {
  Sounding sounding{organ};
  PipeSet pipes;
  sounding.pipes(drawn, down, pipes);
  for (std::size_t r = 0; r < pipes.ranks.size(); ++r) {
    for (const int n : pipes.ranks[r])
      p.events.push_back({{static_cast<RankIndex>(r), n}, Seconds{at}, Seconds{at + held}});
  }
  for (std::size_t b = 0; b < organ.boxes.size(); ++b) {
    p.boxes.push_back({static_cast<BoxIndex>(b), Seconds{at}, static_cast<double>(drawn.box[b])});
    p.boxes.push_back({static_cast<BoxIndex>(b), Seconds{at + held}, static_cast<double>(drawn.box[b])});
  }
  for (std::size_t a = 0; a < organ.accessories.size(); ++a) {
    const Accessory& shaking = organ.accessories[a];
    if (shaking.kind != AccessoryKind::tremulant || !drawn.accessories.test(a) || !shaking.division) continue;
    p.tremulants.push_back({*shaking.division, Seconds{at}, Seconds{at + held}});
  }
  p.length = Seconds{at + held};
}

// A plan of one section: the hands on one manual, the feet on the pedals, one registration throughout.
Result<Plan> one_registration(const OrganContext& context, const std::string& draw, const std::string& on) {
  const Organ& organ = context.organ;
  const auto drawn = drawn_registration(context, draw);
  if (!drawn) return fail(drawn.error().message, "--draw");
  Section section;
  section.drawn = *drawn;
  std::string known;
  Sounding sounding{organ};
  PipeSet pipes;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    const auto index = static_cast<KeyboardIndex>(k);
    if (organ.keyboards[k].pedal) {
      section.keyboards.feet = index;
      continue;
    }
    known += (known.empty() ? "" : ", ") + organ.keyboards[k].name;
    KeysDown middle;
    middle.keys[k].insert(middle_c.midi);
    sounding.pipes(*drawn, middle, pipes);
    const bool wanted = on.empty() ? pipes.size() > 0 : organ.keyboards[k].name == on || organ.keyboards[k].id == on;
    if (wanted && !section.keyboards.right) section.keyboards.right = section.keyboards.left = index;
  }
  if (!section.keyboards.right && !on.empty()) {
    return fail(fmt::format("no manual is called \"{}\"; there are {}", on, known), "--manual");
  }
  Plan plan;
  plan.initial = *drawn;
  Item item;
  item.kind = ItemKind::piece;
  item.sections.push_back(std::move(section));
  plan.items.push_back(std::move(item));
  return plan;
}

Result<void> keep_division(const Organ& organ, const std::string& wanted, Performance& p) {
  std::optional<DivisionIndex> division = division_by_id(organ, wanted);
  std::string known;
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    known += (d == 0 ? "" : ", ") + organ.divisions[d].name;
    if (organ.divisions[d].name == wanted) division = static_cast<DivisionIndex>(d);
  }
  if (!division) return fail(fmt::format("no division is called \"{}\"; there are {}", wanted, known), "--division");
  std::erase_if(p.events, [&](const PipeEvent& e) {
    const auto& rank = organ.ranks[static_cast<std::size_t>(e.pipe.rank)];
    return organ.chests[static_cast<std::size_t>(rank.chest)].division != *division;
  });
  if (p.events.empty()) return fail(fmt::format("nothing of the {} sounds here", wanted), "--division");
  return {};
}

Result<HeardFile> write(const OrganContext& context, Performance p, const HearSettings& how, const Work& work) {
  const auto format = audio_format_for(how.out);
  if (!format) return tl::unexpected(format.error());
  if (how.division) {
    if (const auto kept = keep_division(context.organ, *how.division, p); !kept) return tl::unexpected(kept.error());
  }
  const Listening listening{context.organ, context.condition};
  RenderSettings settings;
  settings.dry = how.dry;
  settings.untidy = how.untidy;
  settings.gain = Decibels{how.gain_db};
  settings.full_scale = Decibels{how.full_scale_db};
  StereoResponse response;
  if (how.room) {
    auto read = read_response(*how.room, listening.field(), distance_to(context.organ, context.condition.place, 0));
    if (!read) return tl::unexpected(read.error());
    response = std::move(*read);
    settings.response = &response;
  }
  HeardFile out;
  out.path = how.out;
  out.scale = fmt::format(
      "Calcant preview, computed, not recorded: {}{}. Full scale = {:.0f} dB SPL peak; listening gain {:+.0f} dB; "
      "{}, church {}, {:.1f} C{}.",
      context.organ.name, context.organ.invented ? " (an invented organ)" : "", how.full_scale_db, how.gain_db,
      context.condition.place == PlaceKind::bench ? "at the bench" : "in the nave",
      context.condition.people == People::full   ? "full"
      : context.condition.people == People::half ? "half full"
                                                 : "empty",
      context.condition.air.temperature.value(), how.dry ? "; dry, no room" : "");
  auto writer = AudioWriter::create(how.out, *format, static_cast<int>(sample_rate_hz), 2, out.scale);
  if (!writer) return tl::unexpected(writer.error());
  const auto rendered = render(
      p, listening, settings, [&](std::span<const float> block) { return writer->write(block); }, work);
  if (!rendered) return tl::unexpected(rendered.error());
  if (const auto finished = writer->finish(); !finished) return tl::unexpected(finished.error());
  out.length = rendered->length;
  out.peak = rendered->peak;
  return out;
}

}  // namespace

Result<HeardFile> hear_chord(const OrganContext& context, const std::string& draw, const std::string& keys,
                             Seconds held, const HearSettings& how, const Work& work) {
  const auto drawn = drawn_registration(context, draw);
  if (!drawn) return tl::unexpected(drawn.error());
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected(down.error());
  Performance p;
  add_chord(context.organ, *drawn, *down, lead_in_s, held.value(), p);
  return write(context, std::move(p), how, work);
}

Result<HeardFile> hear_two(const OrganContext& context, const std::string& first, const std::string& second,
                           const std::string& keys, Seconds held, const HearSettings& how, const Work& work) {
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected(down.error());
  Performance p;
  double at = lead_in_s;
  for (const std::string& draw : {first, second}) {
    const auto drawn = drawn_registration(context, draw);
    if (!drawn) return tl::unexpected(drawn.error());
    const std::size_t before = p.events.size();
    add_chord(context.organ, *drawn, *down, at, held.value(), p);
    if (p.events.size() == before) return fail(fmt::format("nothing sounds with \"{}\" on these keys", draw), "--draw");
    at += held.value() + 1.0;
  }
  return write(context, std::move(p), how, work);
}

Result<HeardFile> hear_score(const OrganContext& context, const HearScore& what, const HearSettings& how,
                             const Work& work) {
  PlannedScore planned;
  std::vector<std::string> remarks;
  if (what.draw) {
    auto read = read_score(what.score);
    if (!read) return tl::unexpected(read.error());
    auto plan = one_registration(context, *what.draw, what.on);
    if (!plan) return tl::unexpected(plan.error());
    planned.score = std::move(read->score);
    planned.score.bass = what.bass.value_or(planned.score.bass);
    planned.file.plan = std::move(*plan);
    planned.settings.tempo = what.tempo;
  } else if (what.plan) {
    auto read = read_score(what.score);
    if (!read) return tl::unexpected(read.error());
    planned.score = std::move(read->score);
    const auto text = read_text_file(*what.plan, plan_file_limit);
    if (!text) return tl::unexpected(text.error());
    auto file = read_plan(*text, what.plan->filename().string(), context.organ);
    if (!file) return tl::unexpected(file.error());
    planned.file = std::move(*file);
    planned.settings.tempo = what.tempo;
    if (planned.file.plan.items.empty()) return fail("the plan has nothing in it", what.plan->string());
    if (!planned.file.score_hash.empty() && planned.file.score_hash != sha256(read->bytes)) {
      remarks.push_back("The plan was made for another state of this score; its cues stand at the same bars.");
    }
    // A hymn's bass goes where the plan has the feet.
    const Section& first = planned.file.plan.items[0].sections.at(0);
    planned.score.bass = what.bass.value_or(first.keyboards.feet ? Bass::feet : Bass::hands);
  } else {
    PrepareRequest request;
    request.score = what.score;
    request.verses = what.verses;
    request.bass = what.bass;
    request.tempo = what.tempo;
    auto made = plan_score(context, request, work);
    if (!made) return tl::unexpected(made.error());
    planned = std::move(*made);
  }
  const Score& score = planned.score;
  const PerformanceSettings& settings = planned.settings;
  Performance p = perform(context.organ, planned.file.plan, 0, score, settings);
  if (what.from_bar || what.to_bar) {
    const Tempo tempo{score, settings.quarters_per_minute, settings.tempo};
    const auto bar_index = [&](const std::string& label) -> Result<int> {
      for (std::size_t b = 0; b < score.bars.size(); ++b) {
        if (score.bars[b].label == label) return static_cast<int>(b);
      }
      return fail(fmt::format("there is no bar \"{}\"; the bars go from {} to {}", label, score.bars.front().label,
                              score.bars.back().label),
                  "--from");
    };
    double from = 0;
    double to = p.length.value();
    if (what.from_bar) {
      const auto bar = bar_index(*what.from_bar);
      if (!bar) return tl::unexpected(bar.error());
      for (const Turn& t : score.turns) {
        if (t.bar == *bar) {
          from = tempo.at(t.start).value();
          break;
        }
      }
    }
    if (what.to_bar) {
      const auto bar = bar_index(*what.to_bar);
      if (!bar) return tl::unexpected(bar.error());
      for (const Turn& t : score.turns) {
        const double end = tempo.at(t.start + score.bars[static_cast<std::size_t>(t.bar)].length).value();
        if (t.bar == *bar && end > from) {
          to = end;
          break;
        }
      }
    }
    if (to <= from) return fail("no music lies between these bars; give the earlier one after --from", "--to");
    p = cut(p, from, to);
  }
  auto heard = write(context, std::move(p), how, work);
  if (heard) heard->remarks = std::move(remarks);
  return heard;
}

std::string json_text(const OrganContext& context, const HeardFile& heard) {
  Json j;
  j["organ"] = context.organ.id;
  j["invented"] = context.organ.invented;
  j["file"] = heard.path.string();
  j["seconds"] = rounded(heard.length.value(), 3);
  j["peak_db"] = rounded(heard.peak.value(), 1);
  j["scale"] = heard.scale;
  j["remarks"] = heard.remarks;
  return dump(j);
}

}  // namespace calcant
