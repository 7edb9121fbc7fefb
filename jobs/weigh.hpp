// One registration weighed by ear, and the rules of practice that have something to say of it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/registration/rules.hpp"
#include "engine/registration/weigh.hpp"
#include "jobs/context.hpp"

namespace calcant {

struct Weighing {
  Registration drawn;
  KeysDown down;
  WeighedRegistration figures;
  std::string heard;  // as in OrganContext
  int draws = 0;      // 0: the levels were not varied
};
[[nodiscard]] Result<Weighing> weigh_registration(const OrganContext& context, const std::string& draw,
                                                  const std::string& keys, int draws, const Work& work);
// Everything; where `all_assumed` the percentages in it are for computing with, not for showing to people.
[[nodiscard]] std::string json_text(const OrganContext& context, const Weighing& w);
// What must be said beside the figures, in whole sentences: the bass among the room's resonances, nothing measured.
[[nodiscard]] std::vector<std::string> notes_on(const WeighedRegistration& w);

struct AdviceRequest {
  std::string draw;
  std::string on;  // the hands' keyboard by name or id; empty: the one with most of what is drawn
  Use use = Use::chorus;
  std::string solo;                     // an accompaniment's: where the solo is played
  std::optional<double> box_warmer_by;  // kelvins the swell box is over the church
};
struct Advised {
  Registration drawn;
  Occasion occasion;  // with what was computed for it at the place asked for
  std::vector<Advice> advice;
};
// Loudness of hands and feet is the mean over three chords of four parts, their bass in the feet; wind is that of a chord
// of six keys with a pedal note.
[[nodiscard]] Result<Advised> advise_registration(const OrganContext& context, const AdviceRequest& request);
[[nodiscard]] std::string json_text(const OrganContext& context, const Advised& a);

}  // namespace calcant
