#include "jobs/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "engine/score/roles.hpp"
#include "files/musicxml/marked.hpp"
#include "files/words/words.hpp"
#include "jobs/json.hpp"
#include "jobs/saved.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

Json moment_json(const Moment& m) {
  return {{"bar", m.bar},   {"bar_index", m.bar_index}, {"at", to_string(m.at)},
          {"pass", m.pass}, {"verse", m.verse},         {"line", m.line}};
}

Result<ReadScore> read_asked(const OrganContext& context, const ScoreRequest& request) {
  RoleOverrides overrides;
  for (const std::string& text : request.staves) {
    const auto one = parse_role_override(text);
    if (!one) return fail(one.error().message, "--stave");
    overrides.push_back(*one);
  }
  auto read = read_score(request.score, overrides);
  if (!read) return read;
  Score& score = read->score;
  const bool pedals = std::any_of(context.organ.keyboards.begin(), context.organ.keyboards.end(),
                                  [](const Keyboard& k) { return k.pedal; });
  if (request.bass) {
    score.bass = *request.bass;
  } else if (score.hymn && pedals) {
    score.bass = Bass::feet;
    score.remarks.push_back("The feet are taken to play the hymn's bass (--bass hands or both says otherwise).");
  }
  return read;
}

Json remarks_json(const Score& score, const std::vector<std::string>& more) {
  Json j = score.remarks;
  for (const std::string& r : more) j.push_back(r);
  for (const Stave& s : score.staves) {
    j.push_back(fmt::format("Stave \"{}\": {} ({}).", s.name, word(s.role), s.role_reason));
  }
  return j;
}

}  // namespace

std::string spelling(const Score& score, NoteId note) {
  const WrittenNote& n = score.notes[note];
  std::string out{n.step};
  for (int i = 0; i < std::abs(n.alter); ++i) out += n.alter > 0 ? '#' : 'b';
  return out + fmt::format("{}", (n.note.midi - n.alter) / 12 - 1);
}

Result<FitResult> fit_score(const OrganContext& context, const ScoreRequest& request, const std::string& draw) {
  FitResult out;
  FitWishes wishes;
  if (!draw.empty()) {
    const auto drawn = drawn_registration(context, draw);
    if (!drawn) return fail(drawn.error().message, "--draw");
    out.drawn = wishes.drawn = *drawn;
  }
  auto read = read_asked(context, request);
  if (!read) return tl::unexpected(read.error());
  const auto player = player_of(context);
  if (!player) return tl::unexpected(player.error());
  const Tempo tempo{read->score, feet_tempo, request.tempo};
  out.fit = fit(read->score, context.organ, *player, tempo, wishes);
  if (tempo.assumed()) {
    out.fit.remarks.push_back(
        fmt::format("No tempo was given: {:g} crotchets a minute are assumed (--tempo).", feet_tempo));
  }
  out.read = std::move(*read);
  return out;
}

std::string json_text(const OrganContext& context, const FitResult& f) {
  Json j;
  j["organ"] = context.organ.id;
  j["score"] = f.read.score.title;
  j["fits"] = f.fit.fits;
  j["findings"] = Json::array();
  for (const FitFinding& one : f.fit.findings) {
    Json o;
    o["kind"] = word(one.kind);
    o["moment"] = moment_json(one.moment);
    o["note"] = one.note ? Json(name(*one.note)) : Json(nullptr);
    if (one.note) o["midi"] = one.note->midi;
    o["times"] = one.times;
    o["hinders"] = one.hinders;
    o["message"] = one.message;
    o["remedies"] = one.remedies;
    j["findings"].push_back(std::move(o));
  }
  j["remarks"] = remarks_json(f.read.score, f.fit.remarks);
  return dump(j);
}

Result<FeetResult> feet_of_score(const OrganContext& context, const ScoreRequest& request,
                                 std::optional<FeetStyle> style) {
  auto read = read_asked(context, request);
  if (!read) return tl::unexpected(read.error());
  const auto player = player_of(context);
  if (!player) return tl::unexpected(player.error());
  const Tempo tempo{read->score, feet_tempo, request.tempo};
  FeetWishes wishes;
  wishes.style = style;
  auto pedalling = solve_feet(read->score, context.organ, *player, tempo, wishes);
  if (!pedalling) return tl::unexpected(pedalling.error());
  if (tempo.assumed()) {
    pedalling->remarks.push_back(
        fmt::format("No tempo was given: {:g} crotchets a minute are assumed (--tempo).", feet_tempo));
  }
  return FeetResult{std::move(*read), std::move(*pedalling)};
}

std::string json_text(const OrganContext& context, const FeetResult& f) {
  Json j;
  j["organ"] = context.organ.id;
  j["score"] = f.read.score.title;
  j["style"] = word(f.pedalling.style);
  j["marks"] = Json::array();
  for (const FootMark& m : f.pedalling.marks) {
    if (m.held && !m.becomes) continue;  // tied over: no stroke of its own
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

Result<void> write_feet(const FeetResult& f, bool all, const std::filesystem::path& out) {
  if (!f.read.musicxml)
    return fail("a MIDI file has no page to write feet on; give the score as MusicXML", f.read.path.string());
  std::vector<musicxml::Mark> marks;
  const auto add = [&marks](NoteId note, FootUse use, bool change) {
    musicxml::Mark mark;
    mark.kind = musicxml::Mark::Kind::foot;
    mark.note = note;
    mark.foot = use.foot == Foot::left ? WrittenNote::Foot::left : WrittenNote::Foot::right;
    mark.foot_part = use.part == FootPart::heel ? WrittenNote::Part::heel : WrittenNote::Part::toe;
    mark.foot_change = change;
    marks.push_back(std::move(mark));
  };
  for (const FootMark& m : f.pedalling.marks) {
    if (!m.held && (all || !m.obvious)) add(m.note, m.use, false);
    if (m.becomes) add(m.note, *m.becomes, true);
  }
  const auto marked = musicxml::write_marked(f.read.bytes, marks);
  if (!marked) return tl::unexpected(marked.error());
  return write_text_file(out, *marked);
}

}  // namespace calcant
