#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "jobs/ear_trial.hpp"

namespace calcant::desk {
namespace {

constexpr std::size_t longest_answers = 1000;
constexpr int most_pairs = 100;

constexpr const char* no_sheet = "There is no sheet yet; make one first.";

tl::expected<EarTrialSheet, Why> sheet_now(const OpenOrgan& organ) {
  auto sheet = newest_ear_trial(organ.context);
  if (!sheet) return why(500, sheet.error());
  return std::move(*sheet);
}

// After a change: the organ as the ear now has it, its newest sheet, and the way back.
Answer answer_changed(Desk& desk, const Json& undo, int status = 200) {
  desk.changed({"trial", "organ"});
  const auto organ = organ_of(desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto sheet = sheet_now(**organ);
  if (!sheet) return tl::unexpected<Why>(sheet.error());
  Json j = Json::parse(json_text((*organ)->context, *sheet));
  if (!undo.is_null()) j["undo"] = undo;
  return json_answer(dump(j), **organ, status);
}

// "1 A, 2 -": the answers as they were to those pairs.
std::string answers_before(const EarTrialSheet& before, const EarTrialSheet& now) {
  std::string out;
  for (std::size_t i = 0; i < before.pairs.size() && i < now.pairs.size(); ++i) {
    const std::string& was = before.pairs[i].answered;
    if (was == now.pairs[i].answered) continue;
    out += fmt::format("{}{} {}", out.empty() ? "" : ", ", i + 1, was.empty() ? "-" : was);
  }
  return out;
}

Answer get_trial(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto sheet = sheet_now(**organ);
  if (!sheet) return tl::unexpected<Why>(sheet.error());
  return json_answer(json_text((*organ)->context, *sheet), **organ);
}

Answer get_sheet(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto sheet = sheet_now(**organ);
  if (!sheet) return tl::unexpected<Why>(sheet.error());
  if (sheet->pairs.empty()) return why(404, no_sheet, "trial");
  return sheet_answer(ear_trial_html((*organ)->context, *sheet));
}

Answer post_trial(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const auto on = body->date("on");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto before = sheet_now(**organ);
  if (!before) return tl::unexpected<Why>(before.error());
  for (const TrialAnswer& p : before->pairs) {
    if (p.answered.empty())
      return why(409, fmt::format("The sheet of {} still waits for answers.", before->date), "trial");
  }
  const auto made = ear_trial((*organ)->context, on.value_or(a.desk.today()), {.threads = a.desk.settings().threads});
  if (!made) return why(422, made.error());
  return answer_changed(a.desk, undo_json("DELETE", "/api/trial"), 201);
}

Answer post_answers(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string answers = body->required("answers", longest_answers);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto before = sheet_now(**organ);
  if (!before) return tl::unexpected<Why>(before.error());
  if (before->pairs.empty()) return why(409, no_sheet, "trial");
  const auto now = answer_ear_trial((*organ)->context, answers);
  if (!now) return why(422, now.error());
  Json undo;
  if (const std::string was = answers_before(*before, *now); !was.empty()) {
    Json again;
    again["answers"] = was;
    undo = undo_json("POST", "/api/trial/answers", again.dump());
  }
  return answer_changed(a.desk, undo);
}

Answer delete_trial(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto gone = undo_ear_trial((*organ)->context);
  if (!gone) return why(404, "There is no ear trial to take back.", "trial");
  Json pairs = Json::array();
  for (const TrialAnswer& p : gone->pairs) pairs.push_back(p.id);
  Json again;
  again["pairs"] = pairs;
  return answer_changed(a.desk, undo_json("POST", "/api/trial/restore", again.dump()));
}

Answer post_restore(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const auto pairs = body->wholes("pairs", most_pairs);
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto again = restore_ear_trial((*organ)->context, pairs);
  if (!again) return why(409, again.error());
  return answer_changed(a.desk, undo_json("DELETE", "/api/trial"));
}

}  // namespace

std::vector<Route> trial_routes() {
  return {{"GET", "/api/trial", get_trial},
          {"POST", "/api/trial", post_trial, Carries::json},
          {"DELETE", "/api/trial", delete_trial},
          {"GET", "/api/trial/sheet", get_sheet},
          {"POST", "/api/trial/answers", post_answers, Carries::json},
          {"POST", "/api/trial/restore", post_restore, Carries::json}};
}

}  // namespace calcant::desk
