#include "jobs/knobs_asked.hpp"

#include <fmt/format.h>

#include "engine/organ/knob.hpp"
#include "files/words/words.hpp"

namespace calcant {

Result<KnobsAsked> knobs_asked(const Organ& organ, const std::string& must, const std::string& must_not) {
  const auto wanted = parse_registration(organ, must);
  if (!wanted) return fail(wanted.error().message, "--must");
  const auto unwanted = parse_registration(organ, must_not);
  if (!unwanted) return fail(unwanted.error().message, "--not");
  for (const Knob k : knobs(organ, *wanted)) {
    if (is_drawn(*unwanted, k))
      return fail(fmt::format("{} must be drawn and must not; ask for one of the two", full_name(organ, k)), "--must");
    if (k.kind == Knob::Kind::stop && organ.stops[static_cast<std::size_t>(k.index)].out_of_use)
      return fail(fmt::format("{} is out of use", full_name(organ, k)), "--must");
  }
  return KnobsAsked{*wanted, *unwanted};
}

}  // namespace calcant
