#include "jobs/ear_trial.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <map>
#include <nlohmann/json.hpp>

#include "engine/quantity/day_words.hpp"
#include "engine/quantity/typed.hpp"
#include "engine/registration/ear_trial.hpp"
#include "files/pages/ear_trial_page.hpp"
#include "files/words/words.hpp"
#include "jobs/faults.hpp"
#include "jobs/json.hpp"

namespace calcant {
namespace {

constexpr std::string_view basis = "ear trial";
constexpr std::string_view trial_place = "nave, empty";

Condition trial_condition(const Organ& organ) {
  Condition c = usual_condition(organ);
  c.place = PlaceKind::nave;
  c.people = People::empty;
  return c;
}

std::optional<EarAnswer> answer_of(std::string_view word) {
  if (word == "first") return EarAnswer::first;
  if (word == "second") return EarAnswer::second;
  if (word == "same") return EarAnswer::same;
  return std::nullopt;
}

// The newest sheet that was not taken back; no pairs where there is none.
EarTrialSheet newest(const std::vector<TrialAnswer>& all) {
  EarTrialSheet sheet;
  for (const TrialAnswer& a : all)
    if (!a.undone) sheet.date = std::max(sheet.date, a.date);
  for (const TrialAnswer& a : all)
    if (!a.undone && a.date == sheet.date) sheet.pairs.push_back(a);
  return sheet;
}

Result<std::vector<TrialAnswer>> pairs_in_book(const std::filesystem::path& folder, const Organ& organ) {
  const auto path = folder / "organ.book";
  std::error_code none;
  if (!std::filesystem::exists(path, none)) return std::vector<TrialAnswer>{};
  auto book = Book::open(path.string(), organ.id);
  if (!book) return tl::unexpected(book.error());
  return book->trial();
}

Result<std::string> read_answer(std::string_view text) {
  std::string word;
  for (const char c : text) word += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  if (word == "a" || word == "first") return "first";
  if (word == "b" || word == "second") return "second";
  if (word == "same" || word == "=") return "same";
  if (word == "-") return "";
  return fail(fmt::format("'{}' is no answer; write A, B or same, as \"1 A, 2 B, 3 same\"", text.substr(0, 30)),
              "--answers");
}

// The pair as the ear model wants it; nothing where it names what is no more.
std::optional<HeardPair> heard_pair(const Organ& organ, const TrialAnswer& a) {
  const auto first = parse_registration(organ, a.first);
  const auto second = parse_registration(organ, a.second);
  const auto keys = parse_keys(organ, a.keys);
  const auto answered = answer_of(a.answered);
  if (!first || !second || !keys || !answered) return std::nullopt;
  const EarQuestion q = a.question == word(EarQuestion::brighter) ? EarQuestion::brighter : EarQuestion::louder;
  return HeardPair{{*first, *second, *keys, q, answer_of(a.predicted).value_or(EarAnswer::same)}, *answered};
}

}  // namespace

Result<EarTrialSheet> ear_trial(const OrganContext& context, const std::string& date, const Work& work) {
  const auto all = pairs_in_book(context.folder, context.described);
  if (!all) return tl::unexpected(all.error());
  const EarTrialSheet last = newest(*all);
  const auto open = [](const TrialAnswer& a) { return a.answered.empty(); };
  if (std::any_of(last.pairs.begin(), last.pairs.end(), open)) return last;
  if (!last.pairs.empty() && last.date >= date) {
    return fail(fmt::format("the sheet of {} is answered; the next can be of a later day, or this one be taken back",
                            last.date),
                "trial");
  }
  const Listening nave{context.organ, trial_condition(context.organ)};
  const auto chosen = choose_ear_pairs(nave, ear_trial_pairs, static_cast<std::uint64_t>(all->size()) + 1, work);
  if (!chosen) return tl::unexpected(chosen.error());
  std::vector<TrialAnswer> pairs;
  for (const EarPair& p : *chosen) {
    TrialAnswer a;
    a.date = date;
    a.place = trial_place;
    a.first = registration_text(context.organ, p.first);
    a.second = registration_text(context.organ, p.second);
    a.keys = keys_text(context.organ, p.keys);
    a.question = word(p.question);
    a.predicted = word(p.predicted);
    pairs.push_back(std::move(a));
  }
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto added = book->add(pairs); !added) return tl::unexpected(added.error());
  const auto now = book->trial();
  if (!now) return tl::unexpected(now.error());
  return newest(*now);
}

Result<EarTrialSheet> newest_ear_trial(const OrganContext& context) {
  const auto all = pairs_in_book(context.folder, context.described);
  if (!all) return tl::unexpected(all.error());
  return newest(*all);
}

Result<EarTrialSheet> answer_ear_trial(const OrganContext& context, std::string_view answers) {
  const auto all = pairs_in_book(context.folder, context.described);
  if (!all) return tl::unexpected(all.error());
  const EarTrialSheet sheet = newest(*all);
  if (sheet.pairs.empty()) return fail("there is no sheet yet; 'calcant trial' without --answers makes one", "trial");
  std::map<int, std::string> given;
  for (std::size_t at = 0; at <= answers.size();) {
    const std::size_t end = std::min(answers.find_first_of(",;\n", at), answers.size());
    const std::string_view one = trimmed(answers.substr(at, end - at));
    at = end + 1;
    if (one.empty()) continue;
    int number = 0;
    const auto [rest, fault] = std::from_chars(one.data(), one.data() + one.size(), number);
    if (fault != std::errc{} || number < 1 || number > static_cast<int>(sheet.pairs.size())) {
      return fail(fmt::format("'{}' begins with no number of a pair; the sheet has 1 to {}, as \"1 A, 2 B, 3 same\"",
                              one.substr(0, 30), sheet.pairs.size()),
                  "--answers");
    }
    const auto word = read_answer(trimmed({rest, static_cast<std::size_t>(one.data() + one.size() - rest)}));
    if (!word) return tl::unexpected(word.error());
    if (given.contains(number) && given[number] != *word)
      return fail(fmt::format("pair {} is answered twice, and not alike", number), "--answers");
    given[number] = *word;
  }
  if (given.empty()) return fail("no answer was given; write them as \"1 A, 2 B, 3 same\"", "--answers");
  std::vector<Book::Answered> rows;
  for (const auto& [number, word] : given) rows.push_back({sheet.pairs[static_cast<std::size_t>(number - 1)].id, word});
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto written = book->answer(rows); !written) return tl::unexpected(written.error());
  const auto now = book->trial();
  if (!now) return tl::unexpected(now.error());
  return newest(*now);
}

Result<EarTrialSheet> undo_ear_trial(const OrganContext& context) {
  const auto all = pairs_in_book(context.folder, context.described);
  if (!all) return tl::unexpected(all.error());
  EarTrialSheet sheet = newest(*all);
  if (sheet.pairs.empty()) return fail("there is no ear trial to take back", "trial");
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto undone = book->undo_trial(sheet.date); !undone) return tl::unexpected(undone.error());
  return sheet;
}

Result<EarTrialSheet> restore_ear_trial(const OrganContext& context, const std::vector<EntryId>& pairs) {
  const auto all = pairs_in_book(context.folder, context.described);
  if (!all) return tl::unexpected(all.error());
  EarTrialSheet sheet;
  for (const TrialAnswer& a : *all) {
    if (a.undone && std::find(pairs.begin(), pairs.end(), a.id) != pairs.end()) sheet.pairs.push_back(a);
  }
  const auto other_day = [&](const TrialAnswer& a) { return a.date != sheet.pairs.front().date; };
  if (sheet.pairs.empty() || sheet.pairs.size() != pairs.size() ||
      std::any_of(sheet.pairs.begin(), sheet.pairs.end(), other_day)) {
    return fail("these are not the pairs of one sheet that was taken back", "pairs");
  }
  sheet.date = sheet.pairs.front().date;
  const EarTrialSheet last = newest(*all);
  if (!last.pairs.empty() && last.date >= sheet.date) {
    return fail(fmt::format("there is a sheet of {} by now; take that one back first", last.date), "pairs");
  }
  auto book = open_book(context);
  if (!book) return tl::unexpected(book.error());
  if (const auto again = book->restore_trial(pairs); !again) return tl::unexpected(again.error());
  for (TrialAnswer& a : sheet.pairs) a.undone = false;
  return sheet;
}

Result<TrialKnowledge> known_by_trial(const std::filesystem::path& folder, const Organ& in_order,
                                      const std::string& on) {
  auto all = pairs_in_book(folder, in_order);
  if (!all) return tl::unexpected(all.error());
  std::erase_if(*all,
                [&](const TrialAnswer& a) { return a.undone || a.answered.empty() || (!on.empty() && a.date > on); });
  TrialKnowledge out;
  if (all->empty()) return out;
  const EarTrialSheet last = newest(*all);
  const auto agreed = std::count_if(last.pairs.begin(), last.pairs.end(),
                                    [](const TrialAnswer& a) { return a.answered == a.predicted; });
  out.heard = fmt::format("agreed with your ear in {} of {} ({})", agreed, last.pairs.size(), date_in_words(last.date));

  const Listening nave{in_order, trial_condition(in_order)};
  std::vector<HeardPair> heard;
  for (const TrialAnswer& a : *all) {
    const auto pair = heard_pair(in_order, a);
    if (pair && predicted_difference(nave, pair->pair)) heard.push_back(*pair);
    else
      out.notes.push_back(
          fmt::format("A pair of the ear trial of {} names what this organ no longer has, and counts no "
                      "more: \"{}\" against \"{}\".",
                      a.date, a.first, a.second));
  }
  const auto levels = levels_heard(nave, heard);
  if (!levels) return tl::unexpected(levels.error());
  for (const HeardLevel& l : *levels) {
    const Rank& rank = in_order.ranks[static_cast<std::size_t>(l.rank)];
    Sourced<double> figure;
    figure.value = rank.loudness.value.value() + l.moved.value();
    figure.source = Source::computed;
    figure.half_width_95 = l.half_width_95;
    figure.date = last.date;
    figure.basis = basis;
    figure.conditions = trial_place;
    out.levels.push_back({rank.id, std::move(figure)});
  }
  return out;
}

std::string json_text(const OrganContext& context, const EarTrialSheet& sheet) {
  Json j;
  j["date"] = sheet.date;
  j["pairs"] = Json::array();
  for (std::size_t i = 0; i < sheet.pairs.size(); ++i) {
    const TrialAnswer& a = sheet.pairs[i];
    Json pair{{"number", i + 1},    {"question", a.question},
              {"keys", a.keys},     {"first", a.first},
              {"second", a.second}, {"answered", a.answered.empty() ? Json(nullptr) : Json(a.answered)}};
    if (!a.answered.empty()) pair["predicted"] = a.predicted;
    j["pairs"].push_back(std::move(pair));
  }
  j["heard"] = context.heard;
  j["levels"] = Json::array();
  for (const Overlay::RankFigure& f : context.by_ear) {
    const auto rank = rank_by_id(context.described, f.rank);
    if (!rank) continue;
    const double before = context.described.ranks[static_cast<std::size_t>(*rank)].loudness.value.value();
    j["levels"].push_back({{"rank", f.rank},
                           {"name", context.described.ranks[static_cast<std::size_t>(*rank)].name},
                           {"was_db", rounded(before, 2)},
                           {"now_db", rounded(f.value.value, 2)},
                           {"give_or_take_db", rounded(f.value.half_width_95.value_or(0), 2)}});
  }
  return dump(j);
}

std::string ear_trial_html(const OrganContext& context, const EarTrialSheet& sheet) {
  EarTrialPage page;
  page.organ = context.described.name;
  page.invented = context.described.invented;
  page.date = sheet.date;
  for (const TrialAnswer& a : sheet.pairs) page.pairs.push_back({a.keys, a.first, a.second, a.question});
  return ear_trial_page(page);
}

}  // namespace calcant
