#include "jobs/prepare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <tuple>
#include <utility>

#include "engine/plan/check.hpp"
#include "engine/plan/check_music.hpp"
#include "engine/plan/made_ready.hpp"
#include "engine/plan/piece.hpp"
#include "engine/quantity/listed.hpp"
#include "engine/quantity/typed.hpp"
#include "engine/score/lines.hpp"
#include "files/service/service.hpp"
#include "files/words/words.hpp"
#include "jobs/after.hpp"
#include "jobs/asked_score.hpp"
#include "jobs/board.hpp"
#include "jobs/boards.hpp"
#include "jobs/by_hand.hpp"
#include "jobs/hymn_from_score.hpp"
#include "jobs/hymn_words.hpp"
#include "jobs/json.hpp"
#include "jobs/lost_notes.hpp"
#include "jobs/prepare_files.hpp"
#include "jobs/psalm_words.hpp"
#include "jobs/read_score.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"
#include "jobs/wishes.hpp"

namespace calcant {
namespace {

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
    if (date_.empty()) date_ = context_.on;
    const PlannedItems planned{context_, request_, player_, listening_, plan_, scores_, heading_, date_, heard_};
    if (auto written = write_files(planned, out_, work_); !written) return tl::unexpected<Error>(written.error());
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
    wishes_ = of_folder_ = std::move(*wishes);
    auto said = after_services(context_);
    if (!said) return tl::unexpected<Error>(said.error());
    said_ = std::move(*said);
    if (request_.service) return plan_service();
    if (request_.hymn) {
      auto hymn = parse_hymn(*request_.hymn);
      if (!hymn) return tl::unexpected<Error>(hymn.error());
      if (auto set = overrule(*hymn); !set) return set;
      return add_named(std::move(*hymn));
    }
    if (request_.psalm) return plan_psalm(*request_.psalm);
    if (request_.score) {
      auto asked = read_with_staves(context_, *request_.score, request_.staves);
      if (!asked) return tl::unexpected<Error>(asked.error());
      keyboards_ = std::move(asked->keyboards);
      ReadScore* read = &asked->read;
      const bool placed =
          std::any_of(keyboards_.begin(), keyboards_.end(), [](const auto& k) { return k.has_value(); });
      if (read->score.hymn) {
        if (placed)
          return fail("A hymn's hands go where its verses want them: say --word \"2: tune on a solo stop\" instead.",
                      "--stave");
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
      if (auto on = hands_of(read->score); !on) return tl::unexpected<Error>(on.error());
      else piece.on = *on;
      return add_piece(piece, std::move(*read));
    }
    return fail("Nothing was given to prepare: a score, --hymn or --service.");
  }

  // The manuals the user has given the hands, by the staves they play.
  [[nodiscard]] Result<HandsAndFeet> hands_of(const Score& score) const {
    HandsAndFeet on;
    for (std::size_t s = 0; s < keyboards_.size(); ++s) {
      if (!keyboards_[s]) continue;
      const Role role = score.staves[s].role;
      if (role == Role::not_played) continue;
      auto& hand = role == Role::left_hand ? on.left : on.right;
      if (hand && hand != keyboards_[s])
        return fail(
            fmt::format("Stave {} would take one hand to two manuals; give the staves of a hand one manual.", s + 1),
            "--stave");
      hand = keyboards_[s];
    }
    return on;
  }

  Result<void> never() {
    for (const std::string& name : request_.never) {
      const auto r = parse_registration(context_.organ, name);
      if (!r) return fail(r.error().message, "--not");
      for (const Knob k : knobs(context_.organ, *r)) never_.push_back(k);
    }
    return {};
  }

  Result<void> plan_psalm(const std::string& typed) {
    auto item = parse_psalm(typed);
    if (!item) return tl::unexpected<Error>(item.error());
    if (request_.verses) item->verses = *request_.verses;
    auto psalm = sung_item(*item, {}, wishes_.words());
    if (!psalm) return tl::unexpected<Error>(psalm.error());
    if (auto set = overrule(*psalm); !set) return set;
    return add_named(std::move(*psalm));
  }

  Result<void> overrule(Hymn& h) {
    if (request_.number) h.number = *request_.number;
    if (request_.verses && h.kind != ItemKind::psalm) h.verses.resize(static_cast<std::size_t>(*request_.verses));
    if (request_.bass) h.bass = *request_.bass;
    if (request_.play_over) h.play_over = *request_.play_over;
    if (request_.singers) h.singers.count = *request_.singers;
    if (request_.tempo) {
      h.quarters_per_minute = *request_.tempo;
      h.tempo_assumed = false;
    }
    return {};
  }

  // What is wished for the next item: of the folder, of its score and of the day.
  Result<void> wish_by_hand(const std::filesystem::path& score, const std::string& number, const std::string& title) {
    wishes_ = of_folder_;
    wishes_.standing(++stood_[lower(number + ' ' + title)]);
    if (const auto own = ByHand::of_score(context_.folder, score)) {
      if (auto added = wishes_.add(context_, *own, title.empty() ? number : title); !added) return added;
    }
    return day_ ? wishes_.add(context_, *day_) : Result<void>{};
  }

  // What may be drawn for an item, on the organ of the day.
  VocabularyWish wish_for(const std::string& number, const std::string& title) const {
    VocabularyWish w;
    w.never = never_;
    for (const Knob k : wishes_.never(number, title)) w.never.push_back(k);
    return w;
  }

  // Where a word for this plan alone takes the place of one in the wishes: which stands.
  std::vector<std::string> words_kept(Hymn& hymn, const Hymn& before) const {
    std::vector<std::string> out;
    const auto said = [](const Verse& v) { return std::tuple(v.kind, v.wish, v.second); };
    for (const Wishes::PassedOver& w : wishes_.words_on(hymn)) {
      const auto v = static_cast<std::size_t>(std::max(0, w.verse));
      const Verse& now = w.verse < 0 ? *hymn.over : hymn.verses[v];
      const Verse& then = w.verse < 0 ? *before.over : before.verses[v];
      if (said(now) == said(then)) continue;
      const std::string of = w.verse < 0         ? "The play-over"
                             : now.label.empty() ? fmt::format("Verse {}", w.verse + 1)
                                                 : now.label;
      const std::string stands = now.wish.empty() ? std::string{word(now.kind)} : now.wish;
      out.push_back(fmt::format("{}: \u201c{}\u201d, said for this plan, stands before \u201c{}\u201d of {}.", of,
                                stands, w.word, w.where));
    }
    return out;
  }

  // What the user both forbids and fixes is drawn where it is fixed: told with its place.
  void tell_forbidden(Item& item, const std::string& number, const std::string& title,
                      const VocabularyWish& wish) const {
    std::map<std::string, std::vector<std::string>> places;
    for (const Section& s : item.sections) {
      if (!s.fixed) continue;
      for (const Knob k : wish.never) {
        if (!is_drawn(s.drawn, k)) continue;
        const std::string where = wishes_.forbidden_in(k, number, title);
        auto& labels = places[fmt::format("{} is forbidden ({})", full_name(context_.organ, k),
                                          where.empty() ? "for this plan" : where)];
        if (std::find(labels.begin(), labels.end(), s.label) == labels.end()) labels.push_back(s.label);
      }
    }
    for (const auto& [what, labels] : places)
      item.remarks.push_back(fmt::format("{} and fixed: it is drawn at {}, where you have fixed it, and nowhere else.",
                                         what, listed(labels)));
  }

  Result<void> add_hymn(Hymn hymn, const ReadScore* read = nullptr) {
    const Score* score = read != nullptr ? &read->score : nullptr;
    const auto path = read != nullptr ? read->path : std::filesystem::path{};
    if (auto added = wish_by_hand(path, hymn.number, hymn.tune); !added) return added;
    if (auto laid = wishes_.lay_on(hymn); !laid) return laid;
    const Hymn before = hymn;
    for (const std::string& w : request_.words) {
      if (auto set = set_words(hymn, w); !set) return set;
    }
    std::vector<std::string> kept = words_kept(hymn, before);
    const SaidBefore said = heard_of(said_, hymn.number, hymn.tune);
    lay_on(said, hymn);
    VocabularyWish wish = wish_for(hymn.number, hymn.tune);
    const bool feet = hymn.bass != Bass::hands && pedalboard(context_.organ).has_value();
    const Chord wanted =
        score != nullptr ? keys_wanted(*score) : hymn_notes(hymn.tonic, hymn.minor, feet, hymn.bass == Bass::both);
    wish.lost = lost_by_stop(context_, wanted);
    if (auto planned = plan_hymn(plan_, context_.organ, listening_, hymn, player_, wish, work_); !planned)
      return planned;
    const std::size_t item = plan_.items.size() - 1;
    if (hymn.kind != ItemKind::piece) {
      const std::string of = score != nullptr || hymn.key.empty() ? "this hymn" : hymn.key;
      for (std::string& told : lost_told(context_, plan_.items[item], wanted, of))
        plan_.items[item].notes.push_back(std::move(told));
    }
    for (std::string& k : kept) plan_.items[item].remarks.push_back(std::move(k));
    for (std::string& r : made_ready(context_.organ, plan_.items[item]))
      plan_.items[item].remarks.push_back(std::move(r));
    tell_forbidden(plan_.items[item], hymn.number, hymn.tune, wish);
    remember(said);
    for (const auto& faults : {check_hymn(context_.organ, plan_, item, hymn, player_, score),
                               check_wishes(context_.organ, plan_, item, wish)})
      for (const std::string& f : faults) checked_.push_back(f);
    return {};
  }

  // A hymn without a score, by its tune's name: what is not typed may be known from a board.
  Result<void> add_named(Hymn hymn) {
    const bool known = hymn.kind == ItemKind::hymn && fill_in_known(hymn, context_.folder);
    if (auto added = add_hymn(std::move(hymn)); !added) return added;
    if (known)
      plan_.items.back().remarks.emplace_back("Key and metre are as this tune has them on a board of this organ.");
    return {};
  }

  void remember(const SaidBefore& said) {
    for (const std::string& r : said.remarks) plan_.items.back().remarks.push_back(r);
    heard_.push_back(said.last);
  }

  // Foot marks of the user's for an item; an error where they cannot be met, before anything is written.
  Result<std::vector<FixedFoot>> feet_of(const std::string& number, const std::string& title, const ReadScore& read,
                                         const Tempo& tempo) const {
    const Score& score = read.score;
    auto marks = wishes_.feet(number, title, score);
    if (!marks) return marks;
    const auto own = feet_by_hand(context_, read.path, score);
    if (!own) return tl::unexpected<Error>(own.error());
    for (const FixedFoot& f : *own) {
      std::erase_if(*marks, [&](const FixedFoot& m) { return m.note == f.note; });
      marks->push_back(f);
    }
    if (marks->empty()) return marks;
    FeetWishes wanted;
    wanted.fixed = *marks;
    if (const auto met = solve_feet(score, context_.organ, player_, tempo, wanted); !met)
      return fail(met.error().message, "foot marks of " + title);
    return marks;
  }

  Result<void> add_hymn_with_score(Hymn hymn, ReadScore read, std::optional<double> tempo) {
    if (!hymn.metre.empty()) {
      if (const auto metre = parse_metre(hymn.metre)) find_lines(read.score, *metre);
    }
    take_from_score(hymn, read.score, tempo, player_);
    if (auto planned = add_hymn(hymn, &read); !planned) return planned;
    for (const std::string& r : read.score.remarks) plan_.items.back().remarks.push_back(r);
    const auto marks_level = [](const Direction& d) {
      return d.kind == Direction::Kind::dynamics || d.kind == Direction::Kind::wedge_opens ||
             d.kind == Direction::Kind::wedge_closes;
    };
    if (std::any_of(read.score.directions.begin(), read.score.directions.end(), marks_level))
      plan_.items.back().remarks.emplace_back(
          "The score's dynamics stand for one time through and are not followed in the verses of a hymn; a word for a "
          "verse says how it is to sound.");
    auto marks = feet_of(hymn.number, hymn.tune, read, Tempo(read.score, hymn.quarters_per_minute, tempo));
    if (!marks) return tl::unexpected<Error>(marks.error());
    scores_.push_back({static_cast<int>(plan_.items.size()) - 1,
                       std::move(read),
                       {hymn.quarters_per_minute, tempo, hymn.gap_quarters},
                       std::move(*marks)});
    return {};
  }

  Result<void> add_piece(Piece piece, ReadScore read) {
    if (auto added = wish_by_hand(read.path, piece.number, piece.title); !added) return added;
    if (auto laid = wishes_.lay_on(piece, read.score); !laid) return laid;
    const Tempo tempo(read.score, piece.fallback_quarters_per_minute, piece.tempo);
    auto marks = feet_of(piece.number, piece.title, read, tempo);
    if (!marks) return tl::unexpected<Error>(marks.error());
    piece.feet = std::move(*marks);
    const SaidBefore said = heard_of(said_, piece.number, piece.title);
    piece.correction = said.all;
    VocabularyWish wish = wish_for(piece.number, piece.title);
    wish.lost = lost_by_stop(context_, keys_wanted(read.score));
    auto planned = plan_piece(plan_, context_.organ, listening_, read.score, piece, player_, wish, work_);
    if (!planned) return planned;
    const std::size_t item = plan_.items.size() - 1;
    for (std::string& told : lost_told(context_, plan_.items[item], read.score))
      plan_.items[item].notes.push_back(std::move(told));
    for (std::string& r : made_ready(context_.organ, plan_.items[item]))
      plan_.items[item].remarks.push_back(std::move(r));
    tell_forbidden(plan_.items[item], piece.number, piece.title, wish);
    remember(said);
    for (const auto& faults : {check_piece(context_.organ, plan_, item, read.score, tempo, player_),
                               check_wishes(context_.organ, plan_, item, wish)})
      for (const std::string& f : faults) checked_.push_back(f);
    scores_.push_back({static_cast<int>(item),
                       std::move(read),
                       {piece.fallback_quarters_per_minute, piece.tempo, 0},
                       std::move(piece.feet)});
    return {};
  }

  Result<void> plan_service() {
    const auto text = read_text_file(*request_.service, service_file_limit);
    if (!text) return tl::unexpected<Error>(text.error());
    auto service = read_service(*text, request_.service->string());
    if (!service) return tl::unexpected<Error>(service.error());
    heading_ = service->name;
    date_ = service->date;
    day_ = ByHand::of_service(context_.folder, request_.service->stem().string());
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
        return read ? add_hymn_with_score(std::move(*h), std::move(*read), i.tempo) : add_named(std::move(*h));
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
      const ScoredItem& s = scores_.front();
      f.score_name = s.read.path.filename().string();
      f.score_hash = sha256(s.read.bytes);
      const HandsAndFeet on = plan_.items.front().sections.back().keyboards;
      for (std::size_t i = 0; i < s.read.score.staves.size(); ++i) {
        const Stave& stave = s.read.score.staves[i];
        const auto keyboard = on.of(stave.role);
        const bool given = i < keyboards_.size() && keyboards_[i];
        f.staves.push_back({static_cast<int>(i) + 1, stave.name, std::string{word(stave.role)},
                            given ? stave.role_reason + "; the keyboard is yours" : stave.role_reason,
                            keyboard ? context_.organ.keyboards[static_cast<std::size_t>(*keyboard)].id : ""});
      }
    }
    for (const std::string& n : context_.notes) plan_.remarks.push_back(n);
    f.plan = plan_;
    return {};
  }

  const OrganContext& context_;
  const PrepareRequest& request_;
  const Work& work_;
  Player player_;
  Listening listening_;
  std::vector<Knob> never_;
  Wishes of_folder_;
  std::optional<ByHand> day_;         // what was changed by hand for the service
  Wishes wishes_;                     // for the item that is planned
  std::map<std::string, int> stood_;  // items of the board so far, by number and title
  std::vector<AfterService> said_;
  std::vector<std::string> heard_;    // by item: when it was last spoken of; empty: never
  std::vector<std::string> checked_;  // what the separate check of each item found
  Plan plan_;
  std::vector<ScoredItem> scores_;
  std::vector<std::optional<KeyboardIndex>> keyboards_;  // by stave of the one score, where the user says so
  std::string heading_;
  std::string date_;
  Prepared out_;
};

}  // namespace

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
