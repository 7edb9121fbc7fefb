#include <fmt/format.h>

#include <cmath>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "engine/quantity/day_words.hpp"
#include "files/pages/ear_trial_page.hpp"
#include "jobs/ear_trial.hpp"
#include "jobs/text_file.hpp"

namespace calcant::cli {
namespace {

std::string sheet_text(const EarTrialSheet& sheet) {
  std::string text = "FOR THE HELPER\n";
  for (const std::string& line : for_the_helper()) text += wrapped(line, 0);
  for (std::size_t i = 0; i < sheet.pairs.size(); ++i) {
    const TrialAnswer& a = sheet.pairs[i];
    text += fmt::format("{:>3}  {}\n", i + 1, a.keys);
    text += wrapped("A: " + a.first, 5) + wrapped("B: " + a.second, 5);
  }
  text += "\nFOR THE LISTENER\n";
  for (const std::string& line : for_the_listener()) text += wrapped(line, 0);
  for (std::size_t i = 0; i < sheet.pairs.size(); ++i)
    text += fmt::format("{:>3}  Which was {:<9}  [ ] A   [ ] B   [ ] the same\n", i + 1, sheet.pairs[i].question + "?");
  return text + "\nThen type what was marked, all or some: 'calcant trial ... --answers \"1 A, 2 B, 3 same\"'.\n";
}

// How answers move levels (docs/accuracy/registration.md), in a few words.
constexpr const char* method =
    "Each assumed level has moved to where its assumed spread and the answers together are most probable, and never "
    "out "
    "of its band; a level that was measured or given stays.";

std::string answers_text(const OrganContext& context, const EarTrialSheet& sheet) {
  std::string text;
  for (std::size_t i = 0; i < sheet.pairs.size(); ++i) {
    const TrialAnswer& a = sheet.pairs[i];
    if (a.answered.empty()) continue;
    const auto letter = [](const std::string& w) { return w == "first" ? "A" : w == "second" ? "B" : "the same"; };
    text +=
        fmt::format("{:>3}  {}: you heard {}, {}\n", i + 1, a.question, letter(a.answered),
                    a.answered == a.predicted ? "as computed" : fmt::format("{} was computed", letter(a.predicted)));
  }
  text += fmt::format("The model {}.\n", context.heard);
  if (!context.by_ear.empty()) text += "Levels that were assumed, now nearer to your ear (dB, give or take):\n";
  for (const Overlay::RankFigure& f : context.by_ear) {
    const auto rank = rank_by_id(context.described, f.rank);
    if (!rank) continue;
    const Rank& r = context.described.ranks[static_cast<std::size_t>(*rank)];
    text += fmt::format("  {:<24} {:>+5.1f}, was {:+.1f} ({:.1f})\n", r.name, std::round(10 * f.value.value) / 10 + 0.0,
                        r.loudness.value.value(), f.value.half_width_95.value_or(0));
  }
  if (!context.by_ear.empty()) text += wrapped(method, 0);
  return text + "'calcant trial --undo' takes all of it back.\n";
}

}  // namespace

Command trial_command() {
  Command c;
  c.name = "trial";
  c.summary = "A blind ear trial: ten pairs that a helper draws while you listen in the nave.";
  c.about =
      "Prints ten pairs of registrations chosen for what they tell of levels that are only assumed: one side for the "
      "helper at the keys, one for the listener, who marks which was louder or brighter and sees no names. With "
      "--answers they are kept in the book, the assumed levels move within their bands to what was heard, and every "
      "figure says from then on how often the model agreed. --undo takes the newest trial back. A trial that waits for "
      "answers is printed again.";
  c.arguments = {organ_argument()};
  c.options = {{"--answers", "ANSWERS", "\"1 A, 2 B, 3 same\": all or some of them; \"4 -\" takes one back", ""},
               {"--undo", "", "take the newest trial back"},
               {"--out", "FILE", "the two sides as HTML to print", ""},
               {"--on", "DATE", "the day; otherwise today", ""}};
  c.examples = {{"calcant trial demo/village --out trial.html", "The helper's side and the listener's slip."},
                {"calcant trial demo/village --answers \"1 A, 2 B, 3 same\"", "What was heard."}};
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto context = open_organ(given);
    if (!context) return tl::unexpected<Error>(context.error());
    if (given.has("--undo") && given.has("--answers")) return fail("--undo and --answers exclude one another", "trial");
    const std::string head = context->organ.name + "\n" + invented_line(context->organ);
    if (given.has("--undo")) {
      const auto gone = undo_ear_trial(*context);
      if (!gone) return tl::unexpected<Error>(gone.error());
      const auto now = open_organ(given);
      if (!now) return tl::unexpected<Error>(now.error());
      return shown(
          head + fmt::format("The ear trial of {} is taken back. Now: {}.\n", date_in_words(gone->date), now->heard),
          json_text(*now, {gone->date, {}}));
    }
    if (given.has("--answers")) {
      const auto sheet = answer_ear_trial(*context, *given.text("--answers"));
      if (!sheet) return tl::unexpected<Error>(sheet.error());
      const auto now = open_organ(given);
      if (!now) return tl::unexpected<Error>(now.error());
      return shown(head + answers_text(*now, *sheet), json_text(*now, *sheet));
    }
    const auto sheet = ear_trial(*context, given.text_or("--on", today()), console.work);
    if (!sheet) return tl::unexpected<Error>(sheet.error());
    std::string text = head + sheet_text(*sheet);
    if (given.has("--out")) {
      const std::string out = *given.text("--out");
      const auto written = write_text_file(out, ear_trial_html(*context, *sheet));
      if (!written) return tl::unexpected<Error>(written.error());
      text = head + fmt::format("Two sides to print: {}\n", out);
    }
    return shown(std::move(text), json_text(*context, *sheet));
  };
  return c;
}

}  // namespace calcant::cli
