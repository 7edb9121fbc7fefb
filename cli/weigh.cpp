#include "jobs/weigh.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "files/words/words.hpp"

namespace calcant::cli {
namespace {

int order_of_kind(Family f) {
  // Loudest first (docs/accuracy/pipe.md, common practice).
  return f == Family::principal ? 0 : f == Family::reed ? 1 : f == Family::flute ? 2 : 3;
}

// With nothing measured a percentage would promise what nobody knows: the kind and the words stay.
std::string knob_line(const Organ& organ, const KnobWeight& k, bool percentages) {
  std::string out = fmt::format("  {:<28} ", full_name(organ, k.knob));
  if (!percentages) {
    out += fmt::format("{:<10} ", k.knob.kind == Knob::Kind::stop
                                      ? word(organ.stops[static_cast<std::size_t>(k.knob.index)].family)
                                      : "coupler");
  } else if (std::isfinite(k.change.loudness)) {
    out += fmt::format("{:>+6.0f} %  ", 100 * k.change.loudness);
  }
  out += verdict(k);
  return out + "\n";
}

// By what they change; with nothing measured by kind, and within a kind as the specification has them.
void put_in_order(const Organ& organ, std::vector<KnobWeight>& knobs, bool percentages) {
  const auto kind = [&](const KnobWeight& k) {
    return k.knob.kind == Knob::Kind::stop ? order_of_kind(organ.stops[static_cast<std::size_t>(k.knob.index)].family)
                                           : 4;
  };
  std::stable_sort(knobs.begin(), knobs.end(), [&](const KnobWeight& a, const KnobWeight& b) {
    return percentages ? a.change.loudness > b.change.loudness : kind(a) < kind(b);
  });
}

std::string text_of(const OrganContext& context, const Weighing& w) {
  const Organ& organ = context.organ;
  const WeighedRegistration& f = w.figures;
  std::string text = fmt::format("{}\n{}Drawn: {}\nKeys: {}, heard {}\n\n", organ.name, invented_line(organ),
                                 registration_text(organ, w.drawn), keys_text(organ, w.down),
                                 context.condition.place == PlaceKind::bench ? "at the bench" : "in the nave");
  const std::string band = w.draws > 0 ? fmt::format(", give or take {:.0f}", std::ceil(f.phon_95.value())) : "";
  text += fmt::format("Loudness {:.0f} phon{} ({:.1f} sone); brightness {:.2f} (acum-like); {} pipe{}.\n",
                      f.loudness.phons.value(), band, f.loudness.sones.value(), f.brightness.value(), f.pipes,
                      f.pipes == 1 ? "" : "s");
  if (w.draws == 0) text += "The levels were not varied: how far they may be off is not said.\n";
  text += wrapped(sentence(f.wind, "The blower"), 0);
  if (!f.beats.empty()) {
    text +=
        fmt::format("Beats between pipes that should agree: {:.1f} a second at {:.0f} Hz{}.\n", f.beats[0].rate.value(),
                    f.beats[0].frequency.value(), f.beats.size() > 1 ? " and elsewhere" : "");
  }
  text += wrapped(capitalised(w.heard) + ".", 0);
  for (const std::string& note : notes_on(f)) text += wrapped(note, 0);
  std::vector<KnobWeight> drawn;
  std::vector<KnobWeight> others;
  for (const KnobWeight& k : f.knobs) (k.drawn ? drawn : others).push_back(k);
  put_in_order(organ, drawn, !f.all_assumed);
  put_in_order(organ, others, !f.all_assumed);
  text += "\nWhat each drawn knob does (does it change the sound; is it heard as itself):\n";
  for (const KnobWeight& k : drawn) text += knob_line(organ, k, !f.all_assumed);
  if (!others.empty()) text += "\nWhat each other one would do:\n";
  for (const KnobWeight& k : others) text += knob_line(organ, k, !f.all_assumed);
  return text;
}

Use use_of(const std::string& word) {
  return word == "hymn"            ? Use::hymn
         : word == "solo"          ? Use::solo
         : word == "accompaniment" ? Use::accompaniment
         : word == "colour"        ? Use::colour
                                   : Use::chorus;
}

}  // namespace

Command weigh_command() {
  Command c;
  c.name = "weigh";
  c.summary = "Weigh a registration by ear: how loud and bright it is, and what every knob does.";
  c.about =
      "Two answers for every stop and coupler, which are not the same: does drawing it change the sound, and can it be "
      "heard as "
      "itself among the rest. The answers are for a careful listener who knows what to listen for, and are drawn again "
      "with "
      "the assumed levels varied; what flips is said to depend on them. Your ear overrules.";
  c.arguments = {organ_argument()};
  c.options = joined({{{"--draw", "REGISTRATION", "stops and couplers drawn, or a saved name", "", {}, true},
                       {"--keys", "KEYS", "keys held: \"Great:C4,E4,G4\"", "", {}, true},
                       {"--draws", "N", "how often the assumed levels are varied", "200"}},
                      place_options(),
                      day_options()});
  c.examples = {{"calcant weigh demo/village --draw \"Open Diapason 8, Principal 4\" --keys Great:C4,E4,G4",
                 "What the Principal does, and what the others would."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    const auto draws = given.whole("--draws", 0, 2000);
    if (!draws) return tl::unexpected<Error>(draws.error());
    const auto w =
        weigh_registration(*context, *given.text("--draw"), *given.text("--keys"), draws->value_or(200), console.work);
    if (!w) return tl::unexpected<Error>(w.error());
    return shown(text_of(*context, *w), json_text(*context, *w));
  };
  return c;
}

Command advise_command() {
  Command c;
  c.name = "advise";
  c.summary = "Say what rules of practice have to say of a registration, each with its source.";
  c.about =
      "Advice with a reason, never a ban: your ear decides. Hands and feet are weighed against each other on three "
      "chords of four parts, and the wind of a full chord against the blower.";
  c.arguments = {organ_argument()};
  c.options =
      joined({{{"--draw", "REGISTRATION", "stops and couplers drawn, or a saved name", "", {}, true},
               {"--on", "KEYBOARD", "where the hands are; otherwise where most is drawn", ""},
               {"--for", "USE", "what it is for", "chorus", {"chorus", "hymn", "solo", "accompaniment", "colour"}},
               {"--solo", "KEYBOARD", "of an accompaniment: where the solo is played", ""},
               {"--box-warmer", "KELVINS", "by how much the swell box is warmer than the church", ""}},
              day_options(day_beside_keyboard),
              place_options()});
  c.examples = {{"calcant advise demo/village --draw \"Open Diapason 8, Twelfth 2 2/3\" --for hymn",
                 "A twelfth without its fifteenth."}};
  c.run = [](const Given& given, Console&) -> Result<Shown> {
    const auto context = open_organ(given, day_beside_keyboard);
    if (!context) return tl::unexpected<Error>(context.error());
    AdviceRequest request;
    request.draw = *given.text("--draw");
    request.on = given.text_or("--on", "");
    request.use = use_of(given.text_or("--for", "chorus"));
    request.solo = given.text_or("--solo", "");
    const auto warmer = given.number("--box-warmer", -30, 30, "K");
    if (!warmer) return tl::unexpected<Error>(warmer.error());
    request.box_warmer_by = *warmer;
    const auto a = advise_registration(*context, request);
    if (!a) return tl::unexpected<Error>(a.error());
    const Organ& organ = context->organ;
    std::string text =
        fmt::format("{}\n{}Drawn: {}\nHands on the {}", organ.name, invented_line(organ),
                    registration_text(organ, a->drawn), organ.keyboards[static_cast<std::size_t>(a->occasion.on)].name);
    if (a->occasion.manual) text += fmt::format(", {:.0f} phon", a->occasion.manual->value());
    if (a->occasion.pedal) text += fmt::format("; feet {:.0f} phon", a->occasion.pedal->value());
    text += fmt::format(". {}.\n\n", capitalised(context->heard));
    if (a->advice.empty()) text += "No rule of practice has anything to say of this.\n";
    for (const Advice& one : a->advice) {
      text +=
          wrapped(fmt::format("{} ({}): {}: {}. {}.", one.rule, word(one.weight), one.found, one.why, one.source), 0);
    }
    text += "Your ear decides.\n";
    return shown(std::move(text), json_text(*context, *a));
  };
  return c;
}

}  // namespace calcant::cli
