#include "jobs/registrant.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/plan/plain_words.hpp"
#include "engine/quantity/nearest.hpp"
#include "engine/registration/colour_words.hpp"
#include "files/words/words.hpp"
#include "jobs/knobs_asked.hpp"
#include "jobs/level_words.hpp"
#include "jobs/pedal_under.hpp"
#include "jobs/reasons.hpp"
#include "jobs/saved.hpp"

namespace calcant {
namespace {

constexpr std::size_t most_kept = 3;
// In vain, and what is just heard is taken too (ours: as many as are heard in vain for a further answer).
constexpr int heard_for_sure = 128;

// To the front what fits, or what is made now; the oldest beyond `most_kept` go first, so that memory is free for it.
template <class K, class Fits, class Make>
Result<K*> kept_or_made(std::vector<std::unique_ptr<K>>& kept, const Fits& fits, const Make& make) {
  const auto found = std::find_if(kept.begin(), kept.end(), [&](const auto& k) { return fits(*k); });
  if (found != kept.end()) {
    std::rotate(kept.begin(), found, found + 1);
    return kept.front().get();
  }
  if (kept.size() >= most_kept) kept.resize(most_kept - 1);
  Result<std::unique_ptr<K>> made = make();
  if (!made) return tl::unexpected(made.error());
  kept.insert(kept.begin(), std::move(*made));
  return kept.front().get();
}

ChoiceShown show(const OrganContext& context, KeyboardIndex on, const Chosen& c, const LevelAsked& asked,
                 Colour colour) {
  ChoiceShown s;
  s.drawn = c.drawn;
  s.played = c.played;
  s.phons = c.heard.phons;
  s.acums = c.heard.acums;
  s.claim = asked.claim;
  s.points = c.points.sum();
  s.reasons = reasons_of(context, c, asked, colour);
  s.neighbours = c.neighbours;
  Occasion occasion;
  occasion.on = on;
  occasion.played = c.played;
  occasion.use = asked.manner == Manner::hymn ? Use::hymn : Use::chorus;
  occasion.soft = asked.soft;
  s.advice = advise(context.organ, c.drawn, occasion);
  return s;
}

// Where it is weighed, and what its level is held against.
void place(ChoiceShown& s, Chooser& chooser, const Chosen& c) {
  const std::vector<KeysDown>& chords = chooser.ear(c.played).chords();
  s.middle = chords[chords.size() / 2];
  s.claim.of = {c.drawn, chords};
}

// The manual whose own stops the tune is drawn from, and one for what is under it.
Result<std::pair<KeyboardIndex, KeyboardIndex>> manuals_of_solo(const Organ& organ, const Registration& solo,
                                                                std::string under) {
  KeyboardIndex solo_on = 0;
  const DivisionIndex home = organ.stops[solo.stops._Find_first()].division;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    if (organ.keyboards[k].division == home && !organ.keyboards[k].pedal) solo_on = static_cast<KeyboardIndex>(k);
  }
  for (std::size_t k = 0; k < organ.keyboards.size() && under.empty(); ++k) {
    if (!organ.keyboards[k].pedal && static_cast<KeyboardIndex>(k) != solo_on) under = organ.keyboards[k].id;
  }
  if (under.empty()) return fail("this organ has one manual: a solo needs another for its accompaniment", "--solo");
  const auto on = manual_asked(organ, under, "--under");
  if (!on) return tl::unexpected(on.error());
  return std::pair{solo_on, *on};
}

// drawn: what the tune is played on.
ChoiceShown show_solo(const OrganContext& context, KeyboardIndex solo_on, KeyboardIndex under,
                      const Registration& drawn, const SoloAnswer& a, Colour colour) {
  ChoiceShown s = show(context, under, a.accompaniment, {}, colour);
  s.drawn = a.drawn;
  s.phons = a.together_phons;
  s.points = a.points;
  s.reasons.front() = fmt::format(
      "the solo by itself {:.0f} phon, what is under it {:.0f}, together {:.0f} {}; the tune is {} at every "
      "moment tried",
      a.solo_phons, a.accompaniment_phons, a.together_phons, place_words(context), word(a.presence));
  Occasion occasion;
  occasion.on = under;
  occasion.solo_on = solo_on;
  occasion.use = Use::accompaniment;
  s.advice = advise(context.organ, a.drawn, occasion);
  const auto moments = solo_moments(context.organ, solo_on, under);
  Registration tune = a.drawn;
  tune.stops = drawn.stops;
  tune.couplers = drawn.couplers;
  Registration accompaniment = a.accompaniment.drawn;
  accompaniment.box = a.drawn.box;
  s.claim.of = {tune, moments->solo};
  s.claim.over = HeardThere{accompaniment, moments->accompaniment};
  s.claim.most = 2 * SoloWish{}.above;
  s.claim.words = fmt::format("not under its accompaniment, and no more than {:.0f} phon over it", s.claim.most);
  s.middle = moments->accompaniment[1];
  s.middle.keys[static_cast<std::size_t>(solo_on)] = moments->solo[1].keys[static_cast<std::size_t>(solo_on)];
  return s;
}

// What is asked for together and cannot be.
Result<void> asked_together(const ChooseRequest& r) {
  if (!r.solo.empty() && r.heard_on.any())
    return fail("a solo is weighed on moments of its own; leave out --chords and --passage", "--solo");
  if (!r.solo.empty() && (!r.level.empty() || r.phon))
    return fail("how loud a solo's accompaniment is follows from the solo; leave out --level and --phon", "--solo");
  if (r.solo.empty() && r.level.empty() && !r.phon)
    return fail(
        fmt::format("say what it is for: --level {}, \"enough for 40\", or --phon, or --solo", plain_level_words()),
        "--level");
  if (!r.level.empty() && r.phon) return fail("a level is asked for in words or in phon; leave out one", "--phon");
  if (!r.from.empty() && !is_step(r.level))
    return fail("only softer and louder go from what is drawn; ask for one of them, or leave it out", "--from");
  return {};
}

// A stop of the pedal, or a coupler that the pedal's keys move.
bool is_under_the_feet(const Organ& organ, Knob k) {
  const auto at = static_cast<std::size_t>(k.index);
  return std::any_of(organ.keyboards.begin(), organ.keyboards.end(), [&](const Keyboard& b) {
    return b.pedal &&
           (k.kind == Knob::Kind::stop ? organ.stops[at].division == b.division
                                       : &organ.keyboards[static_cast<std::size_t>(organ.couplers[at].from)] == &b);
  });
}

// Of the knobs that must be drawn the feet's, which the hands' keys do not reach; error: it reaches neither.
Result<Registration> feet_of(const Chooser& chooser, const Registration& must, bool hymn) {
  const Organ& organ = chooser.organ();
  const auto reaches = [](const auto& all, int index) { return std::find(all.begin(), all.end(), index) != all.end(); };
  Registration out;
  for (const Knob k : knobs(organ, must)) {
    const bool stop = k.kind == Knob::Kind::stop;
    if (stop ? reaches(chooser.space().stops(), k.index) : reaches(chooser.space().couplers(), k.index)) continue;
    const bool feet = is_under_the_feet(organ, k);
    if (feet && hymn) {
      set_drawn(out, k, true);
      continue;
    }
    return fail(
        fmt::format("{} sounds under no key of the {} that this is weighed on; leave it out{}", full_name(organ, k),
                    organ.keyboards[static_cast<std::size_t>(chooser.on())].name,
                    feet ? " (where a hymn is asked for, as \"enough for 40\", the feet are given theirs)" : ""),
        "--must");
  }
  return out;
}

// "the box", "2 knobs and the box".
std::string moved_words(const Chooser::StepTaken& t) {
  if (t.moved == 0) return "the box";
  return fmt::format("{} knob{}{}", t.moved, t.moved == 1 ? "" : "s", t.box ? " and the box" : "");
}

}  // namespace

Result<KeyboardIndex> manual_asked(const Organ& organ, const std::string& name, const std::string& where) {
  std::vector<std::string> known;
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    const Keyboard& board = organ.keyboards[k];
    if (board.pedal) continue;
    if (name.empty() || board.name == name || board.id == name) return static_cast<KeyboardIndex>(k);
    known.push_back(board.name);
  }
  return fail(fmt::format("no manual is called \"{}\"{}; there {} {}", name.substr(0, 60), perhaps(name, known),
                          known.size() == 1 ? "is" : "are", fmt::join(known, ", ")),
              where);
}

Registrant::Registrant(std::shared_ptr<const OrganContext> context)
    : context_(std::move(context)),
      listening_(context_->organ, context_->condition),
      hymn_(listening_, hymn_chords(0, false, true, false)) {}

Result<Chooser*> Registrant::chooser(KeyboardIndex on, const Registration& forbidden,
                                     const std::vector<KeysDown>& chords, const Work& work) {
  const auto found = kept_or_made(
      kept_, [&](const Kept& k) { return k.on == on && k.forbidden == forbidden && k.chords == chords; },
      [&]() -> Result<std::unique_ptr<Kept>> {
        auto made = Chooser::prepare(listening_, on, chords, forbidden, work);
        if (!made) return tl::unexpected(made.error());
        return std::make_unique<Kept>(Kept{on, forbidden, chords, std::move(*made)});
      });
  if (!found) return tl::unexpected(found.error());
  return &(*found)->chooser;
}

Result<SoloChooser*> Registrant::solo_chooser(KeyboardIndex solo_on, KeyboardIndex under, const Work& work) {
  return kept_or_made(
      kept_solos_, [&](const SoloChooser& k) { return k.solo_on() == solo_on && k.under() == under; },
      [&]() -> Result<std::unique_ptr<SoloChooser>> {
        auto made = SoloChooser::prepare(listening_, solo_on, under, work);
        if (!made) return tl::unexpected(made.error());
        return std::make_unique<SoloChooser>(std::move(*made));
      });
}

Result<Choices> Registrant::solo(const ChooseRequest& request, const Registration& must, const Registration& must_not,
                                 const Work& work) {
  const Organ& organ = context_->organ;
  const auto drawn = parse_registration(organ, request.solo);
  if (!drawn) return fail(drawn.error().message, "--solo");
  if (drawn->stops.none()) return fail("no stop is named for the solo", "--solo");
  const auto manuals = manuals_of_solo(organ, *drawn, request.under);
  if (!manuals) return tl::unexpected(manuals.error());
  const auto [solo_on, under] = *manuals;
  for (const Knob k : knobs(organ, must)) {
    if (!is_under_the_feet(organ, k)) continue;
    return fail(fmt::format("{} is under the feet, and a solo's accompaniment is weighed under the hands; leave it out",
                            full_name(organ, k)),
                "--must");
  }
  const Registration joining = shared_couplers(organ, solo_on);
  for (std::size_t c = 0; c < organ.couplers.size(); ++c) {
    if (!(drawn->couplers | must.couplers).test(c) || !joining.couplers.test(c)) continue;
    return fail(fmt::format("{} would join the solo and what is under it (R28); leave it out", organ.couplers[c].name),
                drawn->couplers.test(c) ? "--solo" : "--must");
  }
  SoloWish wish;
  wish.solo = *drawn;
  wish.colour = request.colour;
  wish.must = must;
  wish.must_not = must_not;
  wish.limit = request.limit;
  const auto kept = solo_chooser(solo_on, under, work);
  if (!kept) return tl::unexpected(kept.error());
  const auto found = (*kept)->ask(wish, work);
  if (!found) {
    Error why = found.error();
    for (std::size_t k = 0; k < organ.keyboards.size() && request.under.empty(); ++k) {
      const Keyboard& other = organ.keyboards[k];
      if (other.pedal || static_cast<KeyboardIndex>(k) == solo_on || static_cast<KeyboardIndex>(k) == under) continue;
      why.message += fmt::format("; or ask for it on the {0}: --under {0}", other.name);
    }
    return tl::unexpected(std::move(why));
  }
  Choices out;
  out.considered = found->considered;
  out.purpose =
      fmt::format("{} on the {} over an accompaniment on the {}, {:.0f} phon under it",
                  registration_text(organ, *drawn).substr(0, registration_text(organ, *drawn).find(", Swell box")),
                  organ.keyboards[static_cast<std::size_t>(solo_on)].name,
                  organ.keyboards[static_cast<std::size_t>(under)].name, wish.above);
  for (const SoloAnswer& a : found->answers)
    out.answers.push_back(show_solo(*context_, solo_on, under, *drawn, a, request.colour));
  return out;
}

Result<Choices> Registrant::step(Chooser& chooser, const ChooseRequest& request, const Registration& must,
                                 const Registration& must_not, const Work& work) {
  if (request.from.empty()) {
    return fail(fmt::format("\"{}\" than what? Give what is drawn now with --from", request.level), "--level");
  }
  const auto present = drawn_registration(*context_, request.from);
  if (!present) return tl::unexpected(present.error());
  Chooser::StepWish wish;
  wish.present = *present;
  wish.louder = is_louder(request.level);
  wish.colour = request.colour;
  wish.must = must;
  wish.must_not = must_not;
  wish.limit = request.limit;
  const auto found = chooser.step(wish, work);
  if (!found) return tl::unexpected(found.error());
  Choices out;
  out.purpose = fmt::format("{}{} than {} by an audible step, {}", request.level, and_colour(wish.colour),
                            registration_text(context_->organ, *present),
                            wish.colour == Colour::any ? "the fewest knobs moved" : "few knobs moved");
  for (const Chooser::StepTaken& t : *found) {
    ChoiceShown s = show(*context_, chooser.on(), t.chosen, {}, request.colour);
    s.claim.over = HeardThere{*present, chooser.ear().chords()};
    s.claim.least = wish.louder ? 1 : -std::numeric_limits<double>::infinity();
    s.claim.most = wish.louder ? std::numeric_limits<double>::infinity() : -1;
    s.claim.words = request.level + " by an audible step";
    place(s, chooser, t.chosen);
    s.reasons.insert(s.reasons.begin(), fmt::format("{:.1f} phon {}, by {}", t.step, request.level, moved_words(t)));
    out.answers.push_back(std::move(s));
  }
  return out;
}

Result<RegistrationMap> Registrant::map(const std::string& keyboard, const Work& work) {
  const auto on = manual_asked(context_->organ, keyboard, "manual");
  if (!on) return tl::unexpected(on.error());
  const auto kept = chooser(*on, {}, {}, work);
  if (!kept) return tl::unexpected(kept.error());
  return registration_map(**kept, work);
}

bool Registrant::map_at_once(const std::string& keyboard) const {
  const auto on = manual_asked(context_->organ, keyboard, "manual");
  if (!on) return true;
  return std::any_of(kept_.begin(), kept_.end(), [&](const auto& k) {
    return k->on == *on && k->forbidden == Registration{} && k->chooser.mapped();
  });
}

bool Registrant::at_once(const ChooseRequest& request) const {
  const Organ& organ = context_->organ;
  if (!knobs_asked(organ, request.must, request.must_not)) return true;
  if (request.solo.empty()) {
    return (request.level.empty() && !request.phon) || map_at_once(request.on);
  }
  const auto drawn = parse_registration(organ, request.solo);
  if (!drawn || drawn->stops.none()) return true;
  const auto manuals = manuals_of_solo(organ, *drawn, request.under);
  if (!manuals) return true;
  return std::any_of(kept_solos_.begin(), kept_solos_.end(),
                     [&](const auto& k) { return k->solo_on() == manuals->first && k->under() == manuals->second; });
}

Result<Choices> Registrant::choose(const ChooseRequest& request, const Work& work) {
  auto found = answers(request, work);
  if (!found || request.draws == 0) return found;
  WeighSettings settings;
  settings.draws = request.draws;
  settings.others = false;
  LevelDraws draws{listening_, request.draws};
  for (ChoiceShown& a : found->answers) {
    const auto share = level_holds(draws, a.claim, {work.threads, work.stop});
    if (!share) return tl::unexpected(share.error());
    a.level_holds = *share;
    auto weighed = weigh(listening_, a.drawn, a.middle, settings, {work.threads, work.stop});
    if (!weighed) return tl::unexpected(weighed.error());
    a.weighed = std::move(*weighed);
    const auto done = static_cast<double>(&a - found->answers.data() + 1);
    work.tell(done / static_cast<double>(found->answers.size()), "weighing each answer with the assumed levels varied");
    a.reasons.push_back(level_verdict(a.claim, *share));
    for (std::string& reason : weighed_reasons(context_->organ, *a.weighed)) a.reasons.push_back(std::move(reason));
  }
  return found;
}

void Registrant::add_pedals(ChoiceShown& answer, KeyboardIndex on, const Registration& must,
                            const Registration& must_not) {
  const auto under = pedal_under(hymn_, answer.drawn, on, must, must_not);
  if (!under) return;
  answer.drawn.stops |= under->knobs.stops;
  answer.drawn.couplers |= under->knobs.couplers;
  std::string names;
  for (const Knob k : knobs(context_->organ, under->knobs)) {
    names += (names.empty() ? "" : ", ") + full_name(context_->organ, k);
  }
  const double over = (under->feet - under->hands).value();
  answer.reasons.push_back(fmt::format("in the pedals {}: {:.0f} phon {} the hands (R15 to R17){}", names,
                                       std::abs(over), over < 0 ? "under" : "over",
                                       under->buried() ? ", and no other pedal here gives more bass" : ""));
}

// "Full": first everything that is heard; then, where fewer knobs are as loud, those.
Choices Registrant::full_and_as_loud(Chooser& chooser, const Chosen& all, const LevelAsked& level, Wish wish,
                                     const Work& work) {
  Choices out;
  const auto add = [&](const Chosen& c, std::string why) {
    ChoiceShown s = show(*context_, chooser.on(), c, level, wish.colour);
    place(s, chooser, c);
    s.reasons.insert(s.reasons.begin(), std::move(why));
    out.answers.push_back(std::move(s));
  };
  const auto count = [](const Registration& r) { return r.stops.count() + r.couplers.count(); };
  add(all,
      "everything that is heard: a knob more, celestes, gambas and octave couplers apart, would change nothing or hide "
      "another");
  if (wish.limit > 1) {
    wish.limit = 1;
    if (const auto found = chooser.look(wish, work); found && *found) {
      out.considered = (*found)->considered;
      out.searched = (*found)->searched;
      out.at_least = (*found)->at_least;
      const Chosen& fewer = (*found)->answers.front();
      const auto less = static_cast<int>(count(all.drawn)) - static_cast<int>(count(fewer.drawn));
      if (less > 0)
        add(fewer, fmt::format("as loud as anything here is, with {} knob{} fewer", less, less == 1 ? "" : "s"));
    }
  }
  return out;
}

Result<Choices> Registrant::answers(const ChooseRequest& request, const Work& work) {
  const Organ& organ = context_->organ;
  if (const auto possible = asked_together(request); !possible) return tl::unexpected(possible.error());
  auto asked = knobs_asked(organ, request.must, request.must_not);
  if (!asked) return tl::unexpected(asked.error());
  auto& [must, must_not] = *asked;
  if (!request.solo.empty()) return solo(request, must, must_not, work);
  const auto on = manual_asked(organ, request.on, "--on");
  if (!on) return tl::unexpected(on.error());
  const auto chords = chords_asked(*context_, request.heard_on, *on);
  if (!chords) return tl::unexpected(chords.error());
  const auto kept = chooser(*on, {}, *chords, work);
  if (!kept) return tl::unexpected(kept.error());
  Chooser& chooser = **kept;
  // The feet's own are drawn under what the hands are given.
  const auto feet = feet_of(chooser, must, request.level.starts_with("enough for"));
  if (!feet) return tl::unexpected(feet.error());
  must.stops &= ~feet->stops;
  must.couplers &= ~feet->couplers;
  if (!request.phon && is_step(request.level)) {
    return step(chooser, request, must, must_not, work);
  }
  LevelAsked level;
  if (request.phon) {
    level.level = Phons{*request.phon};
    level.purpose = fmt::format("{:.0f} phon", *request.phon);
    level.claim.least = *request.phon - 1;
    level.claim.most = *request.phon + 1;
    level.claim.words = "within a phon of what was asked";
  } else {
    Singers singers;
    singers.each = Decibels{request.singer_db};
    singers.band = request.singer_band;
    auto in_words = level_asked(*context_, chooser, request.level, singers, Manner::free, *asked, work);
    if (!in_words) return tl::unexpected(in_words.error());
    level = std::move(*in_words);
  }
  const Colour colour = request.colour != Colour::any ? request.colour : level.colour;
  Wish wish;
  wish.level = level.level;
  wish.colour = colour;
  wish.manner = level.manner;
  wish.must = must;
  wish.must_not = must_not;
  wish.limit = request.limit;
  wish.soft = level.soft;
  Choices out;
  out.purpose = level.purpose;
  if (level.full) {
    const auto all = chooser.everything(wish, work);
    if (all) out.purpose += fmt::format("; everything that is heard makes {:.0f}", all->heard.phons);
    if (all && wish.colour == Colour::any) {
      Choices full = full_and_as_loud(chooser, *all, level, wish, work);
      full.purpose = std::move(out.purpose);
      return full;
    }
    // With a colour, what is as loud as that and as full a player would draw.
    if (all) wish.level = std::min(wish.level, Phons{all->heard.phons});
    const Registration beyond = beyond_full(organ);
    wish.must_not.stops |= beyond.stops & ~must.stops;
    wish.must_not.couplers |= beyond.couplers & ~must.couplers;
    if (work.stop.stop_requested()) return fail("stopped before the registrations were compared");
  }
  // A hymn's bass is to be heard (R16), where the pedal has one.
  if (level.manner == Manner::hymn) {
    wish.fits = [&](const Registration& r) {
      const auto under = pedal_under(hymn_, r, *on, *feet, must_not);
      return !under || !under->buried();
    };
  }
  // What is just heard, or has no bass, is given where nothing better is near at hand at this level; and in words, which are
  // no figure, what is nearest to the level.
  wish.sure = true;
  wish.patience = heard_for_sure;
  auto found = chooser.look(wish, work);
  const auto else_with = [&](const auto& yield) {
    if (!found || *found) return;
    yield();
    found = chooser.look(wish, work);
  };
  else_with([&] {
    wish.sure = false;
    wish.patience = std::numeric_limits<int>::max();
  });
  if (wish.fits) else_with([&] { wish.fits = nullptr; });
  if (found && !*found && level.leeway > 0) {
    if (const auto nearest = chooser.nearest_level(wish, level.leeway, work)) {
      out.purpose +=
          fmt::format("; nothing comes within {:.0f} phon of {:.1f}, and these are the nearest, at {:.1f} phon",
                      wish.band, wish.level.value(), nearest->value());
      else_with([&] { wish.level = *nearest; });
    }
  }
  if (!found) return tl::unexpected(found.error());
  if (!*found) return tl::unexpected(chooser.nothing_fits(wish, work));
  const Choice& choice = **found;
  out.considered = choice.considered;
  out.searched = choice.searched;
  out.at_least = choice.at_least;
  for (const Chosen& c : choice.answers) {
    ChoiceShown s = show(*context_, *on, c, level, colour);
    place(s, chooser, c);
    if (level.manner == Manner::hymn) add_pedals(s, *on, *feet, must_not);
    out.answers.push_back(std::move(s));
  }
  return out;
}

}  // namespace calcant
