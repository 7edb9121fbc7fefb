#include "jobs/hear.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "engine/organ/sounding.hpp"
#include "files/audio/writer.hpp"
#include "files/planfile/planfile.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/performance.hpp"
#include "jobs/prepare.hpp"
#include "jobs/read_score.hpp"
#include "jobs/room_response.hpp"
#include "jobs/saved.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

constexpr double lead_in_s = 0.1;

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
  for (TremulantSpan t : p.tremulants) {
    t.from = Seconds{t.from.value() - from + lead_in_s};
    t.to = Seconds{t.to.value() - from + lead_in_s};
    out.tremulants.push_back(t);
  }
  out.length = Seconds{std::min(p.length.value(), to) - from + lead_in_s};
  return out;
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

// The item of a plan that is to be heard.
Result<int> item_of(const Plan& plan, std::optional<int> wanted, const std::filesystem::path& path) {
  if (plan.items.empty()) return fail("the plan has nothing in it", path.string());
  const auto count = static_cast<int>(plan.items.size());
  std::string known;
  for (int i = 0; i < count; ++i) {
    known += fmt::format("{}{} {}", i == 0 ? "" : ", ", i + 1, plan.items[static_cast<std::size_t>(i)].title);
  }
  if (!wanted && count > 1)
    return fail(fmt::format("the plan has {} items: {}; which is this?", count, known), "--item");
  const int item = wanted.value_or(1);
  if (item > count) return fail(fmt::format("the plan has no item {}; there are {}", item, known), "--item");
  if (plan.items[static_cast<std::size_t>(item) - 1].sections.empty()) {
    return fail("the plan draws nothing for this item", "--item");
  }
  return item - 1;
}

DivisionIndex division_of(const Organ& organ, PipeId pipe) {
  const auto& rank = organ.ranks[static_cast<std::size_t>(pipe.rank)];
  return organ.chests[static_cast<std::size_t>(rank.chest)].division;
}

// What of a performance one division's pipes do.
Performance only(const Organ& organ, DivisionIndex division, Performance p) {
  std::erase_if(p.events, [&](const PipeEvent& e) { return division_of(organ, e.pipe) != division; });
  return p;
}

Result<DivisionIndex> division_called(const Organ& organ, const std::string& wanted) {
  if (const auto by_id = division_by_id(organ, wanted)) return *by_id;
  std::string known;
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    known += (d == 0 ? "" : ", ") + organ.divisions[d].name;
    if (organ.divisions[d].name == wanted) return static_cast<DivisionIndex>(d);
  }
  return fail(fmt::format("no division is called \"{}\"; there are {}", wanted, known), "--division");
}

// A performance into sound files, all with the same settings.
class Studio {
 public:
  Studio(const OrganContext& context, const HearSettings& how, const Work& work)
      : context_(context), how_(how), work_(work), listening_(context.organ, context.condition) {
    settings_.dry = how.dry;
    settings_.untidy = how.untidy;
    settings_.gain = Decibels{how.gain_db};
    settings_.full_scale = Decibels{how.full_scale_db};
  }

  Result<void> take_room() {
    if (!how_.room) return {};
    auto read =
        read_room_response(*how_.room, listening_.field(), distance_to(context_.organ, context_.condition.place, 0));
    if (!read) return tl::unexpected(read.error());
    room_ = std::move(*read);
    settings_.response = &room_;
    return {};
  }

  Result<HeardFile> write(const Performance& p, const std::filesystem::path& path, const std::string& what) const {
    const auto format = audio_format_for(path);
    if (!format) return tl::unexpected(format.error());
    HeardFile out;
    out.path = path;
    out.scale = scale(what);
    auto writer = AudioWriter::create(path, *format, static_cast<int>(sample_rate_hz), 2, out.scale);
    if (!writer) return tl::unexpected(writer.error());
    const auto rendered = render(
        p, listening_, settings_, [&](std::span<const float> block) { return writer->write(block); }, work_);
    if (!rendered) return tl::unexpected(rendered.error());
    if (rendered->peak.value() > 0) {
      const double over = std::ceil(rendered->peak.value());
      return fail(
          fmt::format("this went {:.0f} dB over what the file can hold; take the listening gain down by as much, "
                      "or give a full scale of {:.0f} dB SPL",
                      over, how_.full_scale_db + over));
    }
    if (const auto finished = writer->finish(); !finished) return tl::unexpected(finished.error());
    out.length = rendered->length;
    out.peak = rendered->peak;
    return out;
  }

 private:
  // Written into the file.
  [[nodiscard]] std::string scale(const std::string& what) const {
    return fmt::format(
        "Calcant preview, computed, not recorded: {}{}{}. Full scale = {:.0f} dB SPL peak; listening gain {:+.0f} dB; "
        "{}, church {}, {:.1f} °C{}.",
        context_.organ.name, context_.organ.invented ? " (an invented organ)" : "", what, how_.full_scale_db,
        how_.gain_db, context_.condition.place == PlaceKind::bench ? "at the bench" : "in the nave",
        context_.condition.people == People::full   ? "full"
        : context_.condition.people == People::half ? "half full"
                                                    : "empty",
        context_.condition.air.temperature.value(),
        how_.dry    ? "; dry, no room"
        : how_.room ? "; room as recorded in " + how_.room->filename().string()
                    : "");
  }

  const OrganContext& context_;
  const HearSettings& how_;
  const Work& work_;
  Listening listening_;
  RenderSettings settings_;
  StereoResponse room_;
};

Result<HeardFile> write(const OrganContext& context, Performance p, const HearSettings& how, const Work& work) {
  if (const auto format = audio_format_for(how.out); !format) return tl::unexpected(format.error());
  Studio studio{context, how, work};
  if (const auto taken = studio.take_room(); !taken) return tl::unexpected(taken.error());
  const Organ& organ = context.organ;
  if (how.by_hand && !(organ.wind.hand_pump.value.value() > 0)) {
    return fail("this organ's file has no pump handle; say hand_pump_l_per_s under [wind]", "--by-hand");
  }
  const auto falls = set_wind(organ, context.condition.air, how.by_hand, p);
  const auto name_of = [&](DivisionIndex d) { return organ.divisions[static_cast<std::size_t>(d)].name; };
  if (how.division) {
    const auto division = division_called(organ, *how.division);
    if (!division) return tl::unexpected(division.error());
    const Performance one = only(organ, *division, p);
    if (one.events.empty()) return fail(fmt::format("nothing of the {} sounds here", name_of(*division)), "--division");
    auto out = studio.write(one, how.out, ", the " + name_of(*division) + " alone");
    if (out && falls) out->remarks.push_back(*falls);
    return out;
  }
  auto out = studio.write(p, how.out, "");
  if (out && falls) out->remarks.push_back(*falls);
  if (!out || !how.apart) return out;
  for (std::size_t d = 0; d < organ.divisions.size(); ++d) {
    const Performance one = only(organ, static_cast<DivisionIndex>(d), p);
    if (one.events.empty()) continue;
    std::filesystem::path path = how.out;
    path.replace_filename(how.out.stem().string() + "-" + organ.divisions[d].id + how.out.extension().string());
    const auto written = studio.write(one, path, ", the " + organ.divisions[d].name + " alone");
    if (!written) return tl::unexpected(written.error());
    out->apart.push_back(path);
  }
  return out;
}

}  // namespace

Result<HeardFile> hear_chord(const OrganContext& context, const std::string& draw, const std::string& keys,
                             Seconds held, const HearSettings& how, const Work& work) {
  const auto drawn = drawn_registration(context, draw);
  if (!drawn) return tl::unexpected(drawn.error());
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected(down.error());
  PipesInTime pipes(context.organ);
  pipes.keys(*drawn, *down, lead_in_s, lead_in_s + held.value());
  pipes.accessories(*drawn, lead_in_s, lead_in_s + held.value());
  return write(context, pipes.done(lead_in_s + held.value()), how, work);
}

Result<HeardFile> hear_two(const OrganContext& context, const std::string& first, const std::string& second,
                           const std::string& keys, Seconds held, const HearSettings& how, const Work& work) {
  const auto down = parse_keys(context.organ, keys);
  if (!down) return tl::unexpected(down.error());
  PipesInTime pipes(context.organ);
  double at = lead_in_s;
  std::size_t before = 0;
  for (const std::string& draw : {first, second}) {
    const auto drawn = drawn_registration(context, draw);
    if (!drawn) return tl::unexpected(drawn.error());
    pipes.keys(*drawn, *down, at, at + held.value());
    pipes.accessories(*drawn, at, at + held.value());
    const std::size_t events = pipes.done(at).events.size();
    if (events == before) return fail(fmt::format("nothing sounds with \"{}\" on these keys", draw), "--draw");
    before = events;
    at += held.value() + 1.0;
  }
  return write(context, pipes.done(at), how, work);
}

Result<HeardFile> hear_score(const OrganContext& context, const HearScore& what, const HearSettings& how,
                             const Work& work) {
  PlannedScore planned;
  std::vector<std::string> remarks;
  int item = 0;
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
    const auto chosen = item_of(planned.file.plan, what.item, *what.plan);
    if (!chosen) return tl::unexpected(chosen.error());
    item = *chosen;
    if (!planned.file.score_hash.empty() && planned.file.score_hash != sha256(read->bytes)) {
      remarks.push_back("The plan was made for another state of this score; its cues stand at the same bars.");
    }
    // A hymn's bass goes where the plan has the feet.
    const Section& first = planned.file.plan.items[static_cast<std::size_t>(item)].sections.at(0);
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
  PerformanceSettings& settings = planned.settings;
  const auto player = player_of(context);
  if (!player) return tl::unexpected(player.error());
  settings.touch = player->touch;
  if (what.touch) {
    const auto touch = parse_touch(*what.touch, player->touch);
    if (!touch) return fail(touch.error().message, "--touch");
    settings.touch = *touch;
  }
  settings.feet = feet_touch(score, context.organ, *player, settings);
  Performance p = perform(context.organ, planned.file.plan, item, score, settings);
  const Tempo tempo{score, settings.quarters_per_minute, settings.tempo};
  double from = 0;
  double to = p.length.value();
  if (what.from_bar || what.to_bar) {
    const auto bar_index = [&](const std::string& label, const char* option) -> Result<int> {
      for (std::size_t b = 0; b < score.bars.size(); ++b) {
        if (score.bars[b].label == label) return static_cast<int>(b);
      }
      return fail(fmt::format("there is no bar \"{}\"; the bars go from {} to {}", label, score.bars.front().label,
                              score.bars.back().label),
                  option);
    };
    if (what.from_bar) {
      const auto bar = bar_index(*what.from_bar, "--from");
      if (!bar) return tl::unexpected(bar.error());
      for (const Turn& t : score.turns) {
        if (t.bar == *bar) {
          from = tempo.at(t.start).value();
          break;
        }
      }
    }
    if (what.to_bar) {
      const auto bar = bar_index(*what.to_bar, "--to");
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
  auto heard = write(context, p, how, work);
  if (!heard) return heard;
  heard->remarks.insert(heard->remarks.begin(), remarks.begin(), remarks.end());
  const auto& sections = planned.file.plan.items[static_cast<std::size_t>(item)].sections;
  if (std::none_of(sections.begin(), sections.end(), [](const Section& s) { return s.from.verse > 0; })) {
    for (const Turn& t : score.turns) {
      const double at = tempo.at(t.start).value();
      if (from <= at && at < to) heard->bars.push_back({t.bar, Seconds{at - from}});
    }
  }
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
  for (const auto& path : heard.apart) j["apart"].push_back(path.string());
  j["bars"] = Json::array();
  for (const HeardBar& b : heard.bars)
    j["bars"].push_back({{"bar_index", b.bar_index}, {"at_s", rounded(b.at.value(), 3)}});
  j["remarks"] = heard.remarks;
  return dump(j);
}

}  // namespace calcant
