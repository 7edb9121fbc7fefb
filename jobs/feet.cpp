#include <fmt/format.h>

#include <cstdlib>
#include <nlohmann/json.hpp>

#include "files/feetfile/feetfile.hpp"
#include "files/musicxml/marked.hpp"
#include "jobs/asked_score.hpp"
#include "jobs/by_hand.hpp"
#include "jobs/fit.hpp"
#include "jobs/fixed_foot.hpp"
#include "jobs/foot_marks.hpp"
#include "jobs/json.hpp"
#include "jobs/text_file.hpp"

namespace calcant {

std::string spelling(const Score& score, NoteId note) {
  const WrittenNote& n = score.notes[note];
  std::string out{n.step};
  for (int i = 0; i < std::abs(n.alter); ++i) out += n.alter > 0 ? '#' : 'b';
  return out + fmt::format("{}", (n.note.midi - n.alter) / 12 - 1);
}

Result<FeetResult> feet_of_score(const OrganContext& context, const ScoreRequest& request,
                                 std::optional<FeetStyle> style, const std::vector<std::string>& fixed) {
  auto asked = read_asked(context, request);
  if (!asked) return tl::unexpected(asked.error());
  const auto player = player_of(context);
  if (!player) return tl::unexpected(player.error());
  const Score& score = asked->read.score;
  const Tempo tempo{score, assumed_tempo, request.tempo};
  FeetWishes wishes;
  wishes.style = style;
  auto kept = feet_by_hand(context, request.score, score);
  if (!kept) return tl::unexpected(kept.error());
  wishes.fixed = std::move(*kept);
  for (const std::string& text : fixed) {
    const auto one = parse_fixed_foot(score, text);
    if (!one) return tl::unexpected(one.error());
    // What is asked now overrules what was changed before.
    std::erase_if(wishes.fixed, [&](const FixedFoot& f) { return f.note == one->note; });
    wishes.fixed.push_back(*one);
  }
  auto pedalling = solve_feet(score, context.organ, *player, tempo, wishes);
  if (!pedalling) return tl::unexpected(pedalling.error());
  if (tempo.assumed()) {
    pedalling->remarks.push_back(
        fmt::format("No tempo was given: {:g} crotchets a minute are assumed (--tempo).", assumed_tempo));
  }
  return FeetResult{std::move(asked->read), std::move(*pedalling)};
}

std::string json_text(const OrganContext& context, const FeetResult& f) {
  Json j;
  j["organ"] = context.organ.id;
  j["score"] = f.read.score.title;
  j["style"] = word(f.pedalling.style);
  j["marks"] = Json::array();
  for (const FootMark& m : f.pedalling.marks) {
    Json o;
    o["moment"] = moment_json(m.moment);
    o["onset_quarters"] = m.onset.to_double();
    o["midi"] = m.key.midi;
    o["note"] = spelling(f.read.score, m.note);
    o["id"] = fmt::format("n{}", m.note);
    o["foot"] = word(m.use.foot);
    o["part"] = word(m.use.part);
    o["obvious"] = m.obvious;
    if (m.held) o["held"] = true;
    if (m.becomes) o["becomes"] = {{"foot", word(m.becomes->foot)}, {"part", word(m.becomes->part)}};
    if (m.crossing != Crossing::none) o["crossing"] = word(m.crossing);
    if (m.slide) o["slide"] = true;
    if (m.lets_go) o["lets_go"] = true;
    if (m.booked) o["booked"] = true;
    if (m.fixed) o["fixed"] = true;
    if (!m.why.empty()) o["why"] = m.why;
    o["others"] = Json::array();
    for (const FootMark::Other& other : m.others) {
      o["others"].push_back(
          {{"foot", word(other.use.foot)}, {"part", word(other.use.part)}, {"dearer", rounded(other.dearer, 3)}});
    }
    j["marks"].push_back(std::move(o));
  }
  j["left_out"] = Json::array();
  for (const NoteId n : f.pedalling.left_out) j["left_out"].push_back(fmt::format("n{}", n));
  j["remarks"] = remarks_json(f.read.score, f.pedalling.remarks);
  return dump(j);
}

Result<std::vector<std::string>> marks_of_file(const std::filesystem::path& path) {
  const auto text = read_text_file(path, feet_file_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  const auto marks = read_feet_file(*text, path.filename().string());
  if (!marks) return tl::unexpected<Error>(marks.error());
  std::vector<std::string> out;
  for (const FeetFileMark& m : *marks) out.push_back(m.text);
  return out;
}

std::vector<musicxml::Mark> foot_marks(const Pedalling& pedalling, bool all) {
  std::vector<musicxml::Mark> marks;
  const auto add = [&marks](const FootMark& m, FootUse use, bool change) {
    musicxml::Mark mark;
    mark.kind = musicxml::Mark::Kind::foot;
    mark.note = m.note;
    mark.foot = use.foot == Foot::left ? WrittenNote::Foot::left : WrittenNote::Foot::right;
    mark.foot_part = use.part == FootPart::heel ? WrittenNote::Part::heel : WrittenNote::Part::toe;
    mark.foot_change = change;
    const std::string sign = use.part == FootPart::heel ? "\xE2\x88\xAA" : "\xE2\x88\xA7";
    if (change) mark.text = "\xE2\x80\x93" + sign;
    else if (m.crossing != Crossing::none) mark.text = fmt::format("{} {}", sign, word(m.crossing));
    marks.push_back(std::move(mark));
  };
  for (const FootMark& m : pedalling.marks) {
    // On a tied note only what changes there is printed.
    if (m.held ? !m.obvious : all || !m.obvious) add(m, m.use, m.held);
    if (m.becomes) add(m, *m.becomes, true);
  }
  return marks;
}

Result<std::string> marked_feet(const FeetResult& f, bool all) {
  if (!f.read.musicxml)
    return fail("a MIDI file has no page to write feet on; give the score as MusicXML", f.read.path.string());
  return musicxml::write_marked(f.read.bytes, foot_marks(f.pedalling, all));
}

Result<void> write_feet(const FeetResult& f, bool all, const std::filesystem::path& out) {
  const auto marked = marked_feet(f, all);
  if (!marked) return tl::unexpected(marked.error());
  return write_text_file(out, *marked);
}

}  // namespace calcant
