#include "jobs/prepare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <map>
#include <nlohmann/json.hpp>
#include <utility>

#include "engine/organ/sounding.hpp"
#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/plan/piece.hpp"
#include "engine/playing/windows.hpp"
#include "engine/score/lines.hpp"
#include "engine/sound/render.hpp"
#include "files/audio/writer.hpp"
#include "files/pages/cue_sheet.hpp"
#include "files/pages/pencilling.hpp"
#include "files/service/service.hpp"
#include "files/words/words.hpp"
#include "jobs/after.hpp"
#include "jobs/board.hpp"
#include "jobs/hymn_words.hpp"
#include "jobs/json.hpp"
#include "jobs/marked_copy.hpp"
#include "jobs/read_score.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"
#include "jobs/wishes.hpp"

namespace calcant {
namespace {

constexpr double longest_preview_minutes = 20;

// What the score itself says of a hymn: chords, last chord, lines, key, tempo.
// Which hand can leave at the last chord, as the windows of its notes have it.
void spare_hands(Hymn& h, const Score& score, Rational last_chord, Rational end, const Player& player) {
  const Tempo tempo(score, h.quarters_per_minute);
  h.left_spared = h.right_spared = false;
  for (const Window& w : windows(score, player, tempo)) {
    if (w.from > last_chord + Rational{1, 4} || w.to < end) continue;
    (w.hand == Hand::left ? h.left_spared : h.right_spared) = true;
  }
}

void take_from_score(Hymn& h, Score& score, std::optional<double> tempo, const Player& player) {
  score.bass = h.bass;
  if (h.tune.empty()) h.tune = score.title;
  h.chords = sampled_chords(score, 6);
  const auto all = presses(score);
  const Rational end = performed_length(score);
  Rational last{0};
  for (const Press& p : all) {
    if (p.role != Role::not_played) last = std::max(last, p.start);
  }
  h.last_chord = moment_at(score, last);
  h.last_chord_quarters = std::max(0.5, (end - last).to_double());
  spare_hands(h, score, last, end, player);
  if (const auto ends = line_ends(score); !ends.empty()) h.lines = static_cast<int>(ends.size());
  const Tempo t(score, h.quarters_per_minute, tempo);
  h.quarters_per_minute = t.quarters_per_minute(Rational{0});
  h.tempo_assumed = t.assumed();
  if (h.key.empty() && !score.bars.empty()) {
    // The key signature names two keys; the last bass note tells which.
    static constexpr const char* majors[] = {"C flat", "G flat", "D flat", "A flat", "E flat", "B flat",  "F",      "C",
                                             "G",      "D",      "A",      "E",      "B",      "F sharp", "C sharp"};
    static constexpr const char* minors[] = {"A flat",  "E flat",  "B flat",  "F",       "C",
                                             "G",       "D",       "A",       "E",       "B",
                                             "F sharp", "C sharp", "G sharp", "D sharp", "A sharp"};
    const int fifths = std::clamp(score.bars.front().fifths, -7, 7);
    const int tonic = ((fifths * 7) % 12 + 12) % 12;
    int bass = 127;
    for (const Press& p : all) {
      if (p.end == end) bass = std::min(bass, p.key.midi);
    }
    h.minor = bass % 12 == (tonic + 9) % 12;
    h.tonic = h.minor ? (tonic + 9) % 12 : tonic;
    h.key = fmt::format("{} {}", h.minor ? minors[fifths + 7] : majors[fifths + 7], h.minor ? "minor" : "major");
  }
}

// "2: soft, no pedal", "1-3: firm"
Result<void> set_words(Hymn& h, const std::string& text) {
  const auto wrong = [&] {
    return fail(
        fmt::format("'{}' does not say which verse; write \"2: soft, no pedal\" or \"1-3: firm\".", text.substr(0, 80)),
        "--word");
  };
  const auto colon = text.find(':');
  if (colon == std::string::npos) return wrong();
  if (std::string_view{text}.substr(0, colon) == "play-over") {
    h.over = parse_verse(std::string_view{text}.substr(colon + 1), h.words);
    return {};
  }
  int from = 0;
  const char* end = text.data() + colon;
  auto [stop, fault] = std::from_chars(text.data(), end, from);
  int to = from;
  if (fault != std::errc{}) return wrong();
  if (stop != end && *stop == '-') {
    const auto second = std::from_chars(stop + 1, end, to);
    if (second.ec != std::errc{}) return wrong();
    stop = second.ptr;
  }
  if (stop != end) return wrong();
  if (from < 1 || to < from || to > static_cast<int>(h.verses.size())) {
    return fail(fmt::format("There is no verse {} to {}; {} are sung.", from, to, h.verses.size()), "--word");
  }
  for (int v = from; v <= to; ++v) {
    const Verse said = parse_verse(std::string_view{text}.substr(colon + 1), h.words);
    Verse& verse = h.verses[static_cast<std::size_t>(v) - 1];
    verse.kind = said.kind;
    verse.wish = said.wish;
    verse.second = said.second;
  }
  return {};
}

// One item's score, kept for the marked copy and the preview.
struct Sounded {
  int item = 0;
  ReadScore read;
  PerformanceSettings settings;
};

class Job {
 public:
  Job(const OrganContext& context, const PrepareRequest& request, const Work& work)
      : context_(context), request_(request), work_(work), listening_(context.organ, context.condition) {}

  // Plans alone: of the one score that was asked for, as it is to be played.
  Result<PlannedScore> plan_one() {
    if (auto planned = plan(); !planned) return tl::unexpected<Error>(planned.error());
    if (auto filled = describe(); !filled) return tl::unexpected<Error>(filled.error());
    if (scores_.empty()) return fail("There is no score to play.");
    return PlannedScore{std::move(out_.file), std::move(scores_.front().read.score), scores_.front().settings};
  }

  Result<Prepared> run() {
    if (auto planned = plan(); !planned) return tl::unexpected<Error>(planned.error());
    for (const auto& faults : {check(context_.organ, plan_), checked_})
      for (const std::string& fault : faults) plan_.remarks.push_back("The plan's own check: " + fault);
    if (auto filled = describe(); !filled) return tl::unexpected<Error>(filled.error());
    if (work_.stop.stop_requested()) return fail("Stopped before anything was written.");
    if (auto made = make_folder(request_.out); !made) return tl::unexpected<Error>(made.error());
    if (auto sheet = write_sheet(); !sheet) return tl::unexpected<Error>(sheet.error());
    for (const Sounded& s : scores_) {
      if (auto marked = write_marked_copy(s); !marked) return tl::unexpected<Error>(marked.error());
      if (auto heard = write_preview(s); !heard) return tl::unexpected<Error>(heard.error());
    }
    return std::move(out_);
  }

 private:
  // -- planning ------------------------------------------------------------------------------------------------------
  Result<void> plan() {
    auto player = player_of(context_);
    if (!player) return tl::unexpected<Error>(player.error());
    player_ = std::move(*player);
    if (auto barred = never(); !barred) return barred;
    auto wishes = Wishes::of(context_);
    if (!wishes) return tl::unexpected<Error>(wishes.error());
    wishes_ = std::move(*wishes);
    auto said = after_services(context_);
    if (!said) return tl::unexpected<Error>(said.error());
    said_ = std::move(*said);
    if (request_.service) return plan_service();
    if (request_.hymn) {
      auto hymn = parse_hymn(*request_.hymn);
      if (!hymn) return tl::unexpected<Error>(hymn.error());
      if (auto set = overrule(*hymn); !set) return set;
      return add_hymn(*hymn);
    }
    if (request_.score) {
      auto read = read_score(*request_.score);
      if (!read) return tl::unexpected<Error>(read.error());
      if (read->score.hymn) {
        Hymn hymn;
        hymn.verses.resize(static_cast<std::size_t>(request_.verses.value_or(1)));
        if (!request_.verses)
          plan_.remarks.push_back("The number of verses was not said: one is planned (--verses 4 plans four).");
        if (auto set = overrule(hymn); !set) return set;
        return add_hymn_with_score(hymn, std::move(*read), request_.tempo);
      }
      if (request_.verses.value_or(1) > 1 || request_.bass) {
        plan_.remarks.push_back(
            "The score is not a hymn by its looks (two staves, four parts that move together), so verses and "
            "who takes the bass were passed over; it is planned as a piece.");
      }
      Piece piece;
      piece.number = request_.number.value_or("");
      piece.title = read->score.title;
      piece.tempo = request_.tempo;
      return add_piece(piece, std::move(*read));
    }
    return fail("Nothing was given to prepare: a score, --hymn or --service.");
  }

  Result<void> never() {
    for (const std::string& name : request_.never) {
      const auto r = parse_registration(context_.organ, name);
      if (!r) return fail(r.error().message, "--not");
      for (const Knob k : knobs(context_.organ, *r)) never_.push_back(k);
    }
    return {};
  }

  Result<void> overrule(Hymn& h) {
    if (request_.number) h.number = *request_.number;
    if (request_.verses) h.verses.resize(static_cast<std::size_t>(*request_.verses));
    if (request_.bass) h.bass = *request_.bass;
    if (request_.play_over) h.play_over = *request_.play_over;
    if (request_.singers) h.singers.count = *request_.singers;
    if (request_.tempo) {
      h.quarters_per_minute = *request_.tempo;
      h.tempo_assumed = false;
    }
    return {};
  }

  // What may be drawn for an item, on the organ of the day.
  VocabularyWish wish_for(const std::string& number, const std::string& title) const {
    VocabularyWish w;
    w.never = never_;
    for (const Knob k : wishes_.never(number, title)) w.never.push_back(k);
    return w;
  }

  Result<void> add_hymn(Hymn hymn, const Score* score = nullptr) {
    if (auto laid = wishes_.lay_on(hymn); !laid) return laid;
    for (const std::string& w : request_.words) {
      if (auto set = set_words(hymn, w); !set) return set;
    }
    const SaidBefore said = heard_of(said_, hymn.number, hymn.tune);
    lay_on(said, hymn);
    VocabularyWish wish = wish_for(hymn.number, hymn.tune);
    if (score != nullptr) wish.lost = lost_by_stop(*score);
    if (auto planned = plan_hymn(plan_, context_.organ, listening_, hymn, player_, wish, work_); !planned)
      return planned;
    const std::size_t item = plan_.items.size() - 1;
    remember(said);
    for (const auto& faults : {check_hymn(context_.organ, plan_, item, hymn, player_, score),
                               check_wishes(context_.organ, plan_, item, wish)})
      for (const std::string& f : faults) checked_.push_back(f);
    return {};
  }

  void remember(const SaidBefore& said) {
    for (const std::string& r : said.remarks) plan_.items.back().remarks.push_back(r);
    heard_.push_back(said.last);
  }

  Result<void> add_hymn_with_score(Hymn hymn, ReadScore read, std::optional<double> tempo) {
    if (!hymn.metre.empty()) {
      if (const auto metre = parse_metre(hymn.metre)) find_lines(read.score, *metre);
    }
    take_from_score(hymn, read.score, tempo, player_);
    if (auto planned = add_hymn(hymn, &read.score); !planned) return planned;
    for (const std::string& r : read.score.remarks) plan_.items.back().remarks.push_back(r);
    scores_.push_back({static_cast<int>(plan_.items.size()) - 1,
                       std::move(read),
                       {hymn.quarters_per_minute, tempo, hymn.gap_quarters}});
    return {};
  }

  Result<void> add_piece(Piece piece, ReadScore read) {
    if (auto laid = wishes_.lay_on(piece, read.score); !laid) return laid;
    const SaidBefore said = heard_of(said_, piece.number, piece.title);
    piece.correction = said.all;
    VocabularyWish wish = wish_for(piece.number, piece.title);
    wish.lost = lost_by_stop(read.score);
    auto planned = plan_piece(plan_, context_.organ, listening_, read.score, piece, player_, wish, work_);
    if (!planned) return planned;
    const std::size_t item = plan_.items.size() - 1;
    remember(said);
    const Tempo tempo(read.score, piece.fallback_quarters_per_minute, piece.tempo);
    for (const auto& faults : {check_piece(context_.organ, plan_, item, read.score, tempo, player_),
                               check_wishes(context_.organ, plan_, item, wish)})
      for (const std::string& f : faults) checked_.push_back(f);
    scores_.push_back({static_cast<int>(item), std::move(read), {piece.fallback_quarters_per_minute, piece.tempo, 0}});
    return {};
  }

  // By stop: how many notes of the music it has no speaking pipe for today, played from its own keyboard.
  std::vector<int> lost_by_stop(const Score& score) const {
    const bool any =
        std::any_of(context_.organ.dead.begin(), context_.organ.dead.end(), [](NoteSet dead) { return !dead.empty(); });
    if (!any) return {};
    NoteSet hands;
    NoteSet feet;
    for (const Press& p : presses(score)) {
      if (p.role != Role::not_played) (p.role == Role::feet ? feet : hands).insert(p.key.midi);
    }
    Sounding whole(context_.described);
    Sounding today(context_.organ);
    PipeSet all;
    PipeSet left;
    std::vector<int> out(context_.organ.stops.size());
    for (std::size_t s = 0; s < out.size(); ++s) {
      const auto home = context_.organ.divisions[static_cast<std::size_t>(context_.organ.stops[s].division)].keyboard;
      if (!home) continue;
      const Keyboard& keyboard = context_.organ.keyboards[static_cast<std::size_t>(*home)];
      Registration alone;
      alone.box.fill(1.0F);
      alone.stops.set(s);
      KeysDown down;
      down.keys[static_cast<std::size_t>(*home)] = (keyboard.pedal ? feet : hands) & keyboard.keys;
      whole.pipes(alone, down, all);
      today.pipes(alone, down, left);
      out[s] = all.size() - left.size();
    }
    return out;
  }

  Result<void> plan_service() {
    const auto text = read_text_file(*request_.service, service_file_limit);
    if (!text) return tl::unexpected<Error>(text.error());
    auto service = read_service(*text, request_.service->string());
    if (!service) return tl::unexpected<Error>(service.error());
    heading_ = service->name;
    date_ = service->date;
    for (const ServiceItem& i : service->items) {
      if (auto added = add_item(i, *service); !added) {
        Error e = added.error();
        e.where = fmt::format("{}:{}{}{}", request_.service->string(), i.line, e.where.empty() ? "" : ": ", e.where);
        return tl::unexpected<Error>(e);
      }
      if (work_.stop.stop_requested()) return fail("Stopped before anything was written.");
    }
    return {};
  }

  Result<void> add_item(const ServiceItem& i, const Service& service) {
    std::optional<ReadScore> read;
    if (!i.score.empty()) {
      auto r = read_score(request_.service->parent_path() / i.score);
      if (!r) return tl::unexpected<Error>(r.error());
      read = std::move(*r);
    }
    switch (i.kind) {
      case ServiceItem::Kind::hymn:
      case ServiceItem::Kind::psalm: {
        auto h = sung_item(i, service, wishes_.words());
        if (!h) return tl::unexpected<Error>(h.error());
        if (request_.singers) h->singers.count = *request_.singers;
        return read ? add_hymn_with_score(std::move(*h), std::move(*read), i.tempo) : add_hymn(std::move(*h));
      }
      case ServiceItem::Kind::voluntary: {
        if (!read) return add_hymn(unscored_item(i, wishes_.words()));
        Piece piece;
        piece.number = i.number;
        piece.title = i.title.empty() ? read->score.title : i.title;
        piece.notes = console_notes(i);
        piece.tempo = i.tempo;
        if (auto added = add_piece(piece, std::move(*read)); !added) return added;
        if (!i.when.empty())
          plan_.items.back().title += i.when == "after" ? " (after the service)" : " (before the service)";
        return {};
      }
      case ServiceItem::Kind::fill:
      case ServiceItem::Kind::note: break;
    }
    return add_hymn(unscored_item(i, wishes_.words()));
  }

  // The plan obeys the organ of the day: where the music wants a pipe that does not speak, it says which and how often.
  void lost_notes() {
    if (out_.file.faults.empty()) return;
    Sounding whole(context_.described);
    Sounding today(context_.organ);
    PipeSet all;
    PipeSet left;
    for (const Sounded& s : scores_) {
      Item& item = plan_.items[static_cast<std::size_t>(s.item)];
      std::map<PipeId, int> wanted;
      for (const Section& section : item.sections) {
        if (item.kind != ItemKind::piece && section.from.verse == 0) continue;
        const Rational from =
            item.kind == ItemKind::piece ? performed_at(s.read.score, section.from).value_or(Rational{0}) : Rational{0};
        for (const Press& p : presses(s.read.score)) {
          if (item.kind == ItemKind::piece && (p.start < from || section_at(item, s.read.score, p.start) != &section))
            continue;
          const auto keyboard = section.keyboards.of(p.role);
          if (!keyboard) continue;
          KeysDown down;
          down.keys[static_cast<std::size_t>(*keyboard)].insert(p.key.midi);
          whole.pipes(section.drawn, down, all);
          today.pipes(section.drawn, down, left);
          for (std::size_t r = 0; r < all.ranks.size(); ++r) {
            for (const int n : all.ranks[r] - left.ranks[r]) ++wanted[{static_cast<RankIndex>(r), n}];
          }
        }
      }
      for (const auto& [pipe, times] : wanted) {
        const Rank& rank = context_.organ.ranks[static_cast<std::size_t>(pipe.rank)];
        item.remarks.push_back(
            fmt::format("{}, {} does not speak today and is wanted {} time{}; other stops would have cost more. --not "
                        "with the stop's name plans without it.",
                        rank.name, name(key_of(context_.organ, pipe)), times, times == 1 ? "" : "s"));
      }
    }
  }

  // The section of a piece that holds at a performed time.
  static const Section* section_at(const Item& item, const Score& score, Rational t) {
    const Section* holds = &item.sections.front();
    for (const Section& s : item.sections) {
      if (performed_at(score, s.from).value_or(Rational{0}) <= t) holds = &s;
    }
    return holds;
  }

  // -- what it was made from -----------------------------------------------------------------------------------------
  Result<void> describe() {
    PlanFile& f = out_.file;
    const auto organ_text = read_text_file(context_.folder / "organ.toml", std::size_t{4} << 20);
    if (!organ_text) return tl::unexpected<Error>(organ_text.error());
    f.organ_hash = sha256(*organ_text);
    if (const auto day = read_text_file(context_.folder / "day.toml", std::size_t{4} << 20))
      f.overlay_hash = sha256(*day);
    f.organ_id = context_.organ.id;
    f.organ_name = context_.organ.name;
    f.invented = context_.organ.invented;
    f.day = context_.day.day;
    f.day_origin = context_.day.origin;
    f.faults = faults_of_the_day(context_);
    if (!scores_.empty() && !request_.service) {
      const Sounded& s = scores_.front();
      f.score_name = s.read.path.filename().string();
      f.score_hash = sha256(s.read.bytes);
      const HandsAndFeet on = plan_.items.front().sections.back().keyboards;
      for (std::size_t i = 0; i < s.read.score.staves.size(); ++i) {
        const Stave& stave = s.read.score.staves[i];
        const auto keyboard = on.of(stave.role);
        f.staves.push_back({static_cast<int>(i) + 1, stave.name, std::string{word(stave.role)}, stave.role_reason,
                            keyboard ? context_.organ.keyboards[static_cast<std::size_t>(*keyboard)].id : ""});
      }
    }
    lost_notes();
    for (const std::string& n : context_.notes) plan_.remarks.push_back(n);
    f.plan = plan_;
    return {};
  }

  // -- files ---------------------------------------------------------------------------------------------------------
  Result<void> write(const std::string& name, std::string_view text, std::string what) {
    const auto path = request_.out / name;
    if (auto written = write_text_file(path, text); !written) return written;
    out_.written.push_back({path, std::move(what)});
    return {};
  }

  Result<void> write_sheet() {
    CueSheet sheet;
    sheet.heading = heading_;
    sheet.date = !context_.day.day.empty() ? context_.day.day : date_;
    sheet.faults = out_.file.faults;
    sheet.heard = context_.heard;
    // Played here before only where everything on the sheet was.
    const bool heard =
        !heard_.empty() && std::none_of(heard_.begin(), heard_.end(), [](const std::string& h) { return h.empty(); });
    if (heard) {
      const std::string played =
          fmt::format("played here (last on {})", *std::max_element(heard_.begin(), heard_.end()));
      sheet.heard = sheet.heard.empty() ? played : played + "; " + sheet.heard;
    }
    const Density d = density(context_.organ, plan_);
    out_.one_side = d == Density::full || d == Density::abbreviated;
    if (d == Density::both_sides)
      out_.remarks.push_back(
          "The cue sheet takes both sides of a sheet in 12.5 point; the reasons have a page of their own.");
    if (d == Density::overflowing)
      out_.remarks.push_back("The cue sheet takes more than one sheet in 12.5 point; it is not set smaller.");
    const char* what = out_.one_side ? "cue sheet; reasons on its back" : "cue sheet, to be printed on both sides";
    if (auto w = write("cues.html", cue_sheet_html(context_.organ, plan_, sheet), what); !w) return w;
    if (!out_.one_side) {
      if (auto w = write("reasons.html", reasons_html(context_.organ, plan_, sheet), "why it is so"); !w) return w;
    }
    if (auto list = write_pencilling(); !list) return list;
    return write("plan.json", write_plan(context_.organ, out_.file), "the plan, for Calcant and other programs");
  }

  Result<void> write_pencilling() {
    std::vector<const Score*> by_item(plan_.items.size(), nullptr);
    for (const Sounded& s : scores_) by_item[static_cast<std::size_t>(s.item)] = &s.read.score;
    const std::vector<Pencilling> lists = pencilling(context_.organ, plan_, by_item);
    if (auto w = write("pencilling.txt", pencilling_text(lists), "what to pencil into a paper copy"); !w) return w;
    return write("pencilling.html", pencilling_html(context_.organ, lists), "the same, to print");
  }

  // The first file of a kind keeps the plain name; a service's further scores carry their item's number.
  [[nodiscard]] std::string file_name(const Sounded& s, const std::string& stem, const std::string& ending) const {
    return request_.service ? fmt::format("{}-{}{}", stem, s.item + 1, ending) : stem + ending;
  }

  Result<void> write_marked_copy(const Sounded& s) {
    if (!s.read.musicxml) {
      out_.remarks.push_back("A MIDI file has no notation to mark, so there is no marked copy.");
      return {};
    }
    const Tempo tempo(s.read.score, s.settings.quarters_per_minute, s.settings.tempo);
    const auto feet = feet_in_plan(context_.organ, plan_, s.item, s.read.score, player_, tempo);
    if (feet) {
      for (const std::string& r : feet->remarks) out_.remarks.push_back("Feet: " + r);
    }
    const auto marked =
        marked_copy(context_.organ, plan_, s.item, s.read, feet ? &*feet : nullptr, request_.every_foot);
    if (!marked) return tl::unexpected<Error>(marked.error());
    return write(file_name(s, "marked", ".musicxml"), *marked,
                 "the score with registration, manuals and feet written in");
  }

  Result<void> write_preview(const Sounded& s) {
    if (!request_.preview) return {};
    if (request_.service) {
      if (&s == &scores_.front())
        out_.remarks.push_back("A service is not rendered as sound; prepare one of its scores by itself to hear it.");
      return {};
    }
    PerformanceSettings played = s.settings;
    played.touch = player_.touch;
    played.feet = feet_touch(s.read.score, context_.organ, player_, played);
    Performance performance = perform(context_.organ, plan_, s.item, s.read.score, played);
    if (performance.events.empty() || performance.length > Seconds{longest_preview_minutes * 60}) {
      out_.remarks.push_back(
          fmt::format("{} is not rendered as sound: it lasts more than {:g} minutes, or nothing of it sounds.",
                      plan_.items[static_cast<std::size_t>(s.item)].title, longest_preview_minutes));
      return {};
    }
    if (const auto falls = set_wind(context_.organ, context_.condition.air, false, performance))
      out_.remarks.push_back(*falls);
    const auto path = request_.out / file_name(s, "preview", ".flac");
    auto writer = AudioWriter::create(path, AudioFormat::flac, static_cast<int>(sample_rate_hz), 2);
    if (!writer) return tl::unexpected<Error>(writer.error());
    RenderSettings settings;
    // Listening gain: the loudest this can become is put 3 dB under full scale. Stated beside the file.
    settings.gain = Decibels{0} - predicted_peak(performance, listening_, settings) - Decibels{3};
    const auto rendered = render(
        performance, listening_, settings, [&](std::span<const float> block) { return writer->write(block); }, work_);
    if (!rendered) return tl::unexpected<Error>(rendered.error());
    if (auto finished = writer->finish(); !finished) return finished;
    out_.written.push_back(
        {path, fmt::format("preview in the nave, listening gain {:+.0f} dB", settings.gain.value())});
    return {};
  }

  const OrganContext& context_;
  const PrepareRequest& request_;
  const Work& work_;
  Player player_;
  Listening listening_;
  std::vector<Knob> never_;
  Wishes wishes_;
  std::vector<AfterService> said_;
  std::vector<std::string> heard_;    // by item: when it was last spoken of; empty: never
  std::vector<std::string> checked_;  // what the separate check of each item found
  Plan plan_;
  std::vector<Sounded> scores_;
  std::string heading_;
  std::string date_;
  Prepared out_;
};

}  // namespace

std::vector<std::string> faults_of_the_day(const OrganContext& context) {
  std::vector<std::string> out = context.allowed_for;
  const auto told = [&out](const std::string& what) {
    return std::any_of(out.begin(), out.end(), [&](const std::string& t) { return t.starts_with(what); });
  };
  for (const auto& d : context.day.dead) {
    const auto rank = rank_by_id(context.organ, d.rank);
    if (!rank || (!d.note.empty() && told(d.note))) continue;
    const Rank& r = context.organ.ranks[static_cast<std::size_t>(*rank)];
    out.push_back(fmt::format("{}, {}: {}", r.name, name(Note{r.low_key.midi + d.number - 1}),
                              d.note.empty() ? "does not speak" : d.note));
  }
  for (const Stop& s : context.organ.stops) {
    if (s.out_of_use && !told(full_name(s) + " is out of use")) {
      out.push_back(fmt::format("{} {}: out of use", context.organ.divisions[static_cast<std::size_t>(s.division)].name,
                                full_name(s)));
    }
  }
  return out;
}

Result<Prepared> prepare(const OrganContext& context, const PrepareRequest& request, const Work& work) {
  return Job(context, request, work).run();
}

Result<PlannedScore> plan_score(const OrganContext& context, const PrepareRequest& request, const Work& work) {
  return Job(context, request, work).plan_one();
}

std::string json_text(const OrganContext& context, const Prepared& p) {
  Json j;
  j["organ"] = context.organ.id;
  j["invented"] = context.organ.invented;
  j["files"] = Json::array();
  for (const auto& w : p.written) j["files"].push_back({{"path", w.path.string()}, {"what", w.what}});
  j["one_side"] = p.one_side;
  j["heard"] = context.heard;
  j["remarks"] = p.remarks;
  j["plan"] = Json::parse(write_plan(context.organ, p.file));
  return dump(j);
}

}  // namespace calcant
