#include "jobs/knobs_asked.hpp"

#include <fmt/format.h>

#include <utility>

#include "engine/organ/knob.hpp"
#include "files/words/words.hpp"

namespace calcant {

Result<KnobsAsked> knobs_asked(const Organ& organ, const std::string& must, const std::string& must_not) {
  const auto wanted = parse_registration(organ, must);
  if (!wanted) return fail(wanted.error().message, "--must");
  const auto unwanted = parse_registration(organ, must_not);
  if (!unwanted) return fail(unwanted.error().message, "--not");
  for (const auto& [asked, where] : {std::pair{&*wanted, "--must"}, std::pair{&*unwanted, "--not"}}) {
    if (asked->box != parse_registration(organ, "")->box)
      return fail("how far a box is open is part of each answer; leave it out", where);
    for (const Knob k : knobs(organ, *asked)) {
      if (k.kind == Knob::Kind::accessory)
        return fail(fmt::format("{} is left to the player; leave it out", full_name(organ, k)), where);
    }
  }
  for (const Knob k : knobs(organ, *wanted)) {
    if (is_drawn(*unwanted, k))
      return fail(fmt::format("{} must be drawn and must not; ask for one of the two", full_name(organ, k)), "--must");
    if (k.kind == Knob::Kind::stop && organ.stops[static_cast<std::size_t>(k.index)].out_of_use)
      return fail(fmt::format("{} is out of use", full_name(organ, k)), "--must");
  }
  return KnobsAsked{*wanted, *unwanted};
}

}  // namespace calcant
