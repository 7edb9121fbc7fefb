// One registration weighed by ear, and the rules of practice that have something to say of it.
#pragma once

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
  std::string heard;  // "not yet heard here", or "agreed with your ear in 8 of 10 (2026-11-20)"
};
[[nodiscard]] Result<Weighing> weigh_registration(const OrganContext& context, const std::string& draw,
                                                  const std::string& keys, int draws, const Work& work);
[[nodiscard]] std::string json_text(const OrganContext& context, const Weighing& w);

// What the ear trial in the book says of the model's predictions here.
[[nodiscard]] Result<std::string> heard_here(const OrganContext& context);

struct Advised {
  Registration drawn;
  std::vector<Advice> advice;
};
// on: a keyboard by name or id; empty: the one with most of what is drawn. use: "chorus", "hymn", "solo",
// "accompaniment" or "colour".
[[nodiscard]] Result<Advised> advise_registration(const OrganContext& context, const std::string& draw,
                                                  const std::string& on, const std::string& use);
[[nodiscard]] std::string json_text(const OrganContext& context, const Advised& a);

}  // namespace calcant
