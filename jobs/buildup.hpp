// A crescendo by hand asked for in words. Asked of a Registrant (registrant.hpp).
#pragma once

#include <string>

#include "engine/registration/buildup.hpp"
#include "jobs/chords_asked.hpp"
#include "jobs/context.hpp"

namespace calcant {

struct BuildUpRequest {
  std::string on;
  std::string from = "soft";
  std::string to = "full";
  int steps = 10;
  ChordsAsked heard_on;  // in place of the stated chords
  std::string must;
  std::string must_not;
};
struct BuiltUp {
  BuildUpReport report;
  std::string purpose;
  std::string remarks;  // fewer steps than asked, many knobs at once, stops not considered; sentences, or nothing
};
[[nodiscard]] std::string json_text(const OrganContext& context, const BuiltUp& b);

}  // namespace calcant
