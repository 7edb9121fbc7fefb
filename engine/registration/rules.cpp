#include "engine/registration/rules.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

// Pitch of a stop against the key, as stops are named.
constexpr int sixteen = -12;
constexpr int eight = 0;
constexpr int four = 12;
constexpr int twelfth = 19;
constexpr int two = 24;

constexpr double warm_box_kelvin = 2.0;  // R21: about 6 cents; start value, no source for the number

// What the rules look at, gathered once.
class Table {
 public:
  Table(const Organ& organ, const Registration& drawn, KeyboardIndex keyboard, int played = 0)
      : organ_(organ), heard_(heard_from(organ, drawn, keyboard)) {
    for (HeardStop& h : heard_) h.semitones += played;
  }

  [[nodiscard]] bool empty() const { return heard_.empty(); }
  [[nodiscard]] bool has(int semitones) const {
    return std::any_of(heard_.begin(), heard_.end(), [&](const HeardStop& h) { return h.semitones == semitones; });
  }
  template <class Is>
  [[nodiscard]] std::vector<StopIndex> stops(Is is) const {
    std::vector<StopIndex> out;
    for (const HeardStop& h : heard_) {
      if (is(stop(h.stop), h) && (out.empty() || out.back() != h.stop)) out.push_back(h.stop);
    }
    return out;
  }
  [[nodiscard]] const Stop& stop(StopIndex s) const { return organ_.stops[static_cast<std::size_t>(s)]; }
  [[nodiscard]] std::string names(const std::vector<StopIndex>& stops) const {
    std::string out;
    for (std::size_t i = 0; i < stops.size(); ++i) {
      out += (i == 0 ? "" : i + 1 == stops.size() ? " and " : ", ") + full_name(stop(stops[i]));
    }
    return out;
  }

 private:
  const Organ& organ_;
  std::vector<HeardStop> heard_;
};

bool is_named_for(const Stop& s, std::string_view part) {
  std::string lower = s.name;
  for (char& c : lower) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return lower.find(part) != std::string::npos;
}

class Adviser {
 public:
  Adviser(const Organ& organ, const Registration& drawn, const Occasion& playing)
      : organ_(organ), drawn_(drawn), playing_(playing), hands_(organ, drawn, playing.on, playing.played) {
    for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
      if (organ.keyboards[k].pedal) pedal_ = static_cast<KeyboardIndex>(k);
    }
  }

  std::vector<Advice> all() {
    if (!hands_.empty()) {
      foundation();
      upperwork();
      families();
      soft();
      special_stops();
      manual_sixteen();
      octave_couplers();
      solo();
    }
    pedal();
    wind_and_warmth();
    return std::move(out_);
  }

 private:
  void say(const char* rule, Weight weight, std::string found, const char* why, const char* source) {
    out_.push_back({rule, weight, std::move(found), why, source});
  }
  [[nodiscard]] bool chorus() const { return playing_.use == Use::chorus || playing_.use == Use::hymn; }

  void foundation() {
    if (!chorus()) return;
    if (!hands_.has(eight)) {
      say("R1", Weight::warning, "nothing sounds at 8 ft",
          "a chorus needs its pitch to stand on: 8 alone is good, 8 and 4 "
          "are good, 4 and 2 without 8 are not, unless they are played an octave lower on purpose",
          "training pages and a church musician's pages (2016)");
    }
    const auto upper = hands_.stops([](const Stop& s, const HeardStop& h) {
      return h.semitones == two || (s.mixture_ranks == 0 && h.semitones > twelfth && h.semitones % 12 != 0);
    });
    if (!upper.empty() && !hands_.has(four)) {
      say("R2", Weight::warning, fmt::format("{} with nothing at 4 ft under it", hands_.names(upper)),
          "a gap in the ladder of octaves is a colour, not a chorus", "a church musician's pages (2016)");
    }
    const auto twelfths =
        hands_.stops([](const Stop& s, const HeardStop& h) { return h.semitones == twelfth && s.mixture_ranks == 0; });
    if (!twelfths.empty() && !hands_.has(two)) {
      say("R3", Weight::against, fmt::format("{} without a 2 ft", hands_.names(twelfths)),
          "a twelfth is never drawn in the chorus without the fifteenth above it", "Dickson 1882, ch. XIII");
    }
    const auto diapasons = hands_.stops(
        [](const Stop& s, const HeardStop& h) { return h.semitones == eight && s.family == Family::principal; });
    const auto four_foot_principals = hands_.stops(
        [](const Stop& s, const HeardStop& h) { return h.semitones == four && s.family == Family::principal; });
    const auto four_foot_flutes = hands_.stops(
        [](const Stop& s, const HeardStop& h) { return h.semitones == four && s.family == Family::flute; });
    if (!diapasons.empty() && four_foot_principals.empty() && !four_foot_flutes.empty()) {
      say("R5", Weight::advice,
          fmt::format("{} on {} without a 4 ft principal", hands_.names(four_foot_flutes), hands_.names(diapasons)),
          "a silvery tone with a clear pitch that keeps unsure singers in tune", "Dickson 1882, ch. XIII");
    }
    if (playing_.use == Use::hymn && !(hands_.has(eight) && hands_.has(four))) {
      say("R36", Weight::warning, "less than 8 and 4 ft on the manual",
          "the least that leads a hymn is 8 and 4 on the "
          "manuals with 16 and 8 in the pedal",
          "training pages for organists");
    }
  }

  // R4: the Principal comes before what stands on it, and before the manual's own chorus reed. The full Swell, reed and all,
  // over another manual is practice's own exception.
  void upperwork() {
    if (!chorus() || !has_principal_four(organ_, playing_.on)) return;
    const auto above = [](const Stop& s, const HeardStop& h) {
      const bool reed = s.family == Family::reed && !s.tremulous_solo && h.semitones == eight && !h.coupled;
      return s.mixture_ranks != 0 || (s.family == Family::principal && h.semitones == two) || reed;
    };
    const auto upper = hands_.stops(above);
    const auto own = hands_.stops([&](const Stop& s, const HeardStop& h) { return above(s, h) && !h.coupled; });
    const auto principals = hands_.stops(
        [](const Stop& s, const HeardStop& h) { return s.family == Family::principal && h.semitones == four; });
    const auto full_swell = hands_.stops([](const Stop& s, const HeardStop& h) {
      return s.family == Family::reed && h.semitones == eight && h.coupled;
    });
    if (upper.empty() || !principals.empty() || (own.empty() && !full_swell.empty())) return;
    say("R4", Weight::warning, fmt::format("{} with no principal at 4 ft", hands_.names(upper)),
        "in the usual order the Principal follows the Open Diapason, 2 ft and mixtures stand on it, and reeds come "
        "after; the "
        "full Swell coupled is the exception",
        "common practice c. 1900; agrees with Dickson 1882");
  }

  // R37, R4: what a soft registration is without.
  void soft() {
    if (!playing_.soft || !chorus()) return;
    const auto without = [&](const std::vector<StopIndex>& stops) {
      if (stops.empty()) return;
      say("R37", Weight::warning, fmt::format("{} in a soft registration", hands_.names(stops)),
          "soft is 8 and 4 ft, without mixture, reed of the chorus or upperwork",
          "a church musician's pages (2016); common practice c. 1900");
    };
    without(hands_.stops([](const Stop& s, const HeardStop&) { return s.mixture_ranks != 0; }));
    without(
        hands_.stops([](const Stop& s, const HeardStop&) { return s.family == Family::reed && !s.tremulous_solo; }));
    without(hands_.stops([](const Stop& s, const HeardStop& h) { return s.mixture_ranks == 0 && h.semitones == two; }));
  }

  void families() {
    if (!chorus()) return;
    std::set<std::pair<Family, int>> seen;
    for (const Family family : {Family::principal, Family::flute, Family::string, Family::reed}) {
      for (const int pitch : {sixteen, eight, four, two}) {
        const auto same = hands_.stops([&](const Stop& s, const HeardStop& h) {
          return s.family == family && h.semitones == pitch && !h.coupled && !s.celeste && s.mixture_ranks == 0;
        });
        if (same.size() > 1) {
          say("R6", Weight::warning, fmt::format("{} are of one family and pitch on one manual", hands_.names(same)),
              "two of a kind add little and blur each other's tuning", "Grove, vol. 4, p. 180");
        }
      }
    }
    const auto strings = hands_.stops([](const Stop& s, const HeardStop& h) {
      return s.family == Family::string && h.semitones == eight && !h.coupled && !s.celeste;
    });
    const auto chorus_stops = hands_.stops([](const Stop& s, const HeardStop& h) {
      return s.family == Family::principal && (h.semitones == four || h.semitones == two) && !h.coupled;
    });
    const auto keen = [&] {
      return std::any_of(strings.begin(), strings.end(), [&](StopIndex s) { return is_keen(hands_.stop(s)); });
    };
    if (!strings.empty() && !chorus_stops.empty()) {
      say("R7", keen() ? Weight::warning : Weight::advice,
          fmt::format("{} with the diapason chorus", hands_.names(strings)),
          "a string-toned stop nearly always spoils the diapasons' tone", "Grove, vol. 4, p. 180");
    }
  }

  void special_stops() {
    const auto celestes = hands_.stops([](const Stop& s, const HeardStop&) { return s.celeste; });
    const auto company = hands_.stops([](const Stop& s, const HeardStop& h) {
      return !s.celeste && !(h.semitones == eight && (s.family == Family::string || s.family == Family::flute));
    });
    if (!celestes.empty() && !company.empty()) {
      say("R8", Weight::against, fmt::format("{} with {}", hands_.names(celestes), hands_.names(company)),
          "a celeste is tuned off to beat with its partner; with anything else it only sounds out of tune",
          "a tuner's advice page; Miller 1913");
    }
    bool shaking = false;
    for (std::size_t a = 0; a < organ_.accessories.size(); ++a) {
      shaking = shaking || (organ_.accessories[a].kind == AccessoryKind::tremulant && drawn_.accessories.test(a));
    }
    if (shaking && chorus()) {
      say("R9", Weight::warning, "the tremulant is on",
          "off in choruses and hymns, and seldom on when singers are accompanied", "The Etude, March 1900");
    }
    const auto unison_flues = hands_.stops(
        [](const Stop& s, const HeardStop& h) { return s.family != Family::reed && h.semitones == eight; });
    const auto reeds = hands_.stops(
        [](const Stop& s, const HeardStop& h) { return s.family == Family::reed && h.semitones == eight; });
    if (!reeds.empty() && unison_flues.empty() && playing_.use != Use::solo) {
      say("R10", Weight::advice, fmt::format("{} with no flue at 8 ft", hands_.names(reeds)),
          "the old rule rounds a reed with a stopped 8 ft; a regular, well-voiced reed stands alone: try it",
          "Miller 1913, ch. X");
    }
  }

  void manual_sixteen() {
    const auto low = hands_.stops([](const Stop&, const HeardStop& h) { return h.semitones == sixteen; });
    if (low.empty()) return;
    say("R11", Weight::advice, fmt::format("{} sound{} under the hands", hands_.names(low), low.size() == 1 ? "s" : ""),
        "a manual 16 ft is to be used sparingly, never to give out a fugue's subject; thick chords below tenor G turn "
        "to mud",
        "Grove, vol. 4, p. 180");
    if (!hands_.has(four) && chorus()) {
      say("R13", Weight::warning, "16 ft with nothing at 4 ft", "16 with 8, 4 and 2 is weight; 16 without 4 is mud",
          "common practice, no source");
    }
  }

  void octave_couplers() {
    for (std::size_t c = 0; c < organ_.couplers.size(); ++c) {
      const Coupler& coupler = organ_.couplers[c];
      if (!drawn_.couplers.test(c) || coupler.semitones == 0 || coupler.unison_off) continue;
      const Division& to = organ_.divisions[static_cast<std::size_t>(coupler.to)];
      const NoteSet keys = organ_.keyboards[static_cast<std::size_t>(coupler.from)].keys;
      const int beyond = coupler.semitones > 0 ? keys.highest() + coupler.semitones - to.high.midi
                                               : to.low.midi - (keys.lowest() + coupler.semitones);
      if (beyond <= 0) continue;
      say("R23", Weight::advice,
          fmt::format("{} runs out for the {} {} keys", coupler.name, coupler.semitones > 0 ? "top" : "bottom", beyond),
          "the division has no notes there: the octave is incomplete where the music goes that far",
          "Miller 1913, ch. IV; Dickson 1882");
    }
  }

  void solo() {
    if (playing_.use == Use::accompaniment && playing_.solo_on) {
      const Table solo{organ_, drawn_, *playing_.solo_on};
      const auto shared = hands_.stops([&](const Stop&, const HeardStop& h) {
        const auto there = solo.stops([&](const Stop&, const HeardStop& s) { return s.stop == h.stop; });
        return h.coupled && !there.empty();
      });
      if (!shared.empty()) {
        say("R28", Weight::warning,
            fmt::format("{} reach{} both hands", hands_.names(shared), shared.size() == 1 ? "es" : ""),
            "a solo needs the accompaniment on another manual, with no coupler between them",
            "common practice, no source");
      }
    }
    if (playing_.use == Use::hymn || playing_.use == Use::accompaniment) {
      for (std::size_t c = 0; c < organ_.couplers.size(); ++c) {
        const Coupler& coupler = organ_.couplers[c];
        if (!drawn_.couplers.test(c) || coupler.from != playing_.on || coupler.unison_off) continue;
        const auto home = organ_.keyboards[static_cast<std::size_t>(playing_.on)].division;
        if (coupler.to == home || playing_.use != Use::accompaniment) continue;
        say("R20", Weight::advice, fmt::format("{} is drawn", coupler.name),
            "couplers left drawn take away the contrast between the manuals", "Grove, vol. 4, p. 180; Dickson 1882");
      }
    }
  }

  void pedal() {
    if (!pedal_ || playing_.on == *pedal_) return;
    const Table feet{organ_, drawn_, *pedal_};
    if (!feet.empty() && feet.has(sixteen) && !feet.has(eight)) {
      say("R15", Weight::warning, "the pedal sounds at 16 ft only",
          "a line needs 16 and 8: by the pedal's own 8 ft or by a coupler", "training pages for organists");
    }
    if (!feet.empty() && playing_.manual && playing_.pedal) balance(*playing_.pedal - *playing_.manual);
    // The coupler to the pedal should come from where the lowest notes of the hands are.
    const KeyboardIndex bass = playing_.bass_on.value_or(playing_.on);
    std::vector<std::string> elsewhere;
    bool here = false;
    const auto home = organ_.keyboards[static_cast<std::size_t>(bass)].division;
    for (std::size_t c = 0; c < organ_.couplers.size(); ++c) {
      const Coupler& coupler = organ_.couplers[c];
      if (!drawn_.couplers.test(c) || coupler.from != *pedal_ || coupler.unison_off) continue;
      if (coupler.to == home) here = true;
      else elsewhere.push_back(coupler.name);
    }
    const bool hands_coupled_on =
        std::any_of(organ_.couplers.begin(), organ_.couplers.end(), [&](const Coupler& coupler) {
          const auto c = static_cast<std::size_t>(&coupler - organ_.couplers.data());
          return drawn_.couplers.test(c) && coupler.from == bass && !elsewhere.empty();
        });
    if (!here && !elsewhere.empty() && !hands_coupled_on) {
      say("R17", Weight::warning,
          fmt::format("{} on the {} but {} is drawn", bass == playing_.on ? "the hands are" : "the lower hand is",
                      organ_.keyboards[static_cast<std::size_t>(bass)].name, elsewhere.front()),
          "the pedal's coupler follows the hands", "Miller 1913, ch. VI");
    }
    if (playing_.use == Use::hymn && !feet.empty() && !(feet.has(sixteen) && feet.has(eight))) {
      say("R36", Weight::advice, "less than 16 and 8 ft in the pedal",
          "the least that leads a hymn is 8 and 4 on the manuals "
          "with 16 and 8 in the pedal",
          "training pages for organists");
    }
  }

  // R16: how far the feet are over the hands.
  void balance(Phons over) {
    if (over.value() > pedal_over_phon) {
      say("R16", Weight::warning, fmt::format("the pedal is louder than the manual by {:.0f} phon", over.value()),
          "the pedal must not exceed the manual it carries; under soft manuals the coupler gives the line, not a "
          "louder stop",
          "common practice, no source; the margin of 2 phon is ours");
    } else if (over.value() < -pedal_buried_phon) {
      say("R16", Weight::warning, fmt::format("the pedal is {:.0f} phon under the manual", -over.value()),
          "the bass is too thin to carry what is over it: it wants more of the pedal's own, or the coupler from where "
          "the sound comes",
          "common practice, no source; the margin of 10 phon is ours");
    }
  }

  void wind_and_warmth() {
    if (playing_.wind && *playing_.wind > organ_.wind.blower.value && organ_.wind.blower.value.value() > 0) {
      say("R26", Weight::warning,
          fmt::format("a full chord takes {:.0f} l/s of wind, the blower gives {:.0f} ({})", playing_.wind->value(),
                      organ_.wind.blower.value.value(), word(organ_.wind.blower.source)),
          "small pipes go flat and weak when big ones rob them", "Miller 1913, on robbing; the demand is computed");
    }
    if (playing_.box_above_room && playing_.box_above_room->value() >= warm_box_kelvin && !organ_.boxes.empty()) {
      say("R21", Weight::warning,
          fmt::format("the swell box is {:.0f} K warmer than the room", playing_.box_above_room->value()),
          "boxed and open pipes drift apart by 3 cents a kelvin: coupled, they beat",
          "Grove, vol. 4, p. 180; computed");
    }
  }

  const Organ& organ_;
  const Registration& drawn_;
  const Occasion& playing_;
  Table hands_;
  std::optional<KeyboardIndex> pedal_;
  std::vector<Advice> out_;
};

}  // namespace

std::string_view word(Weight w) {
  switch (w) {
    case Weight::against: return "against practice";
    case Weight::warning: return "warning";
    case Weight::advice: break;
  }
  return "advice";
}

bool has_principal_four(const Organ& organ, KeyboardIndex keyboard) {
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(keyboard)].division;
  return std::any_of(organ.stops.begin(), organ.stops.end(), [&](const Stop& s) {
    return s.division == home && !s.out_of_use && s.family == Family::principal && s.mixture_ranks == 0 &&
           s.feet.size() == 1 && s.feet.front().semitones() == four;
  });
}

bool is_keen(const Stop& s) { return s.family == Family::string && is_named_for(s, "gamba"); }

std::vector<HeardStop> heard_from(const Organ& organ, const Registration& drawn, KeyboardIndex keyboard) {
  std::set<std::tuple<StopIndex, int, bool>> found;
  const DivisionIndex home = organ.keyboards[static_cast<std::size_t>(keyboard)].division;
  for (const int key : {48, 60, 72}) {
    if (!organ.keyboards[static_cast<std::size_t>(keyboard)].keys.contains(key)) continue;
    KeysDown down;
    down.keys[static_cast<std::size_t>(keyboard)].insert(key);
    for (const SoundingPipe& p : explain(organ, drawn, down).pipes) {
      const int semitones = sounding_note(organ, p.pipe).midi - key;
      for (const SoundingPipe::From& from : p.from) {
        const bool coupled = !from.through.empty() || organ.stops[static_cast<std::size_t>(from.stop)].division != home;
        found.emplace(from.stop, semitones, coupled);
      }
    }
  }
  std::vector<HeardStop> out;
  for (const auto& [stop, semitones, coupled] : found) {
    const bool by_itself = coupled && found.count({stop, semitones, false}) != 0;
    if (!by_itself) out.push_back({stop, semitones, coupled});
  }
  return out;
}

std::vector<Advice> advise(const Organ& organ, const Registration& drawn, const Occasion& playing) {
  return Adviser{organ, drawn, playing}.all();
}

}  // namespace calcant
