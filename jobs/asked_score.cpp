#include "jobs/asked_score.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <nlohmann/json.hpp>

#include "engine/score/roles.hpp"

namespace calcant {
namespace {

bool same_letters(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](unsigned char x, unsigned char y) { return std::tolower(x) == std::tolower(y); });
}

// "2=swell": stave 2 (counted from 1) is played on that keyboard. Nothing where the text names no keyboard.
std::optional<std::pair<std::size_t, KeyboardIndex>> on_keyboard(const Organ& organ, std::string_view text) {
  const auto equals = text.find('=');
  if (equals == std::string_view::npos || equals == 0 || equals > 2) return std::nullopt;
  std::size_t stave = 0;
  for (const char c : text.substr(0, equals)) {
    if (c < '0' || c > '9') return std::nullopt;
    stave = stave * 10 + static_cast<std::size_t>(c - '0');
  }
  const std::string_view where = text.substr(equals + 1);
  for (std::size_t k = 0; k < organ.keyboards.size(); ++k) {
    const Keyboard& board = organ.keyboards[k];
    if (same_letters(where, board.id) || same_letters(where, board.name)) {
      return std::pair{stave, static_cast<KeyboardIndex>(k)};
    }
  }
  return std::nullopt;
}

// "Pedal=feet" as "3=feet": a stave may be called by the name the score gives it.
Result<std::string> by_number(const std::filesystem::path& path, const std::string& text) {
  const auto equals = text.find('=');
  const std::string_view called = std::string_view{text}.substr(0, equals);
  if (equals == std::string::npos || called.empty() || called.find_first_not_of("0123456789") == std::string_view::npos)
    return text;
  const auto read = read_score(path);
  if (!read) return tl::unexpected(read.error());
  std::string names;
  for (std::size_t s = 0; s < read->score.staves.size(); ++s) {
    const std::string& name = read->score.staves[s].name;
    if (same_letters(called, name)) return fmt::format("{}{}", s + 1, text.substr(equals));
    names += fmt::format("{}{} \"{}\"", s == 0 ? "" : ", ", s + 1, name);
  }
  return fail(
      fmt::format("no stave of this score is called '{}'; there are {}", std::string{called}.substr(0, 40), names),
      "--stave");
}

std::string keyboard_ids(const Organ& organ) {
  std::string out;
  for (const Keyboard& k : organ.keyboards) out += (out.empty() ? "" : ", ") + k.id;
  return out;
}

}  // namespace

Result<AskedScore> read_with_staves(const OrganContext& context, const std::filesystem::path& path,
                                    const std::vector<std::string>& staves) {
  RoleOverrides overrides;
  std::vector<std::pair<std::size_t, KeyboardIndex>> placed;
  for (const std::string& said : staves) {
    const auto text = by_number(path, said);
    if (!text) return tl::unexpected(text.error());
    if (const auto where = on_keyboard(context.organ, *text)) {
      if (context.organ.keyboards[static_cast<std::size_t>(where->second)].pedal) {
        overrides.push_back({static_cast<int>(where->first) - 1, Role::feet});
      } else {
        placed.push_back(*where);
      }
      continue;
    }
    const auto one = parse_role_override(*text);
    if (!one) {
      return fail(
          fmt::format("{}; or with a keyboard of this organ: {}", one.error().message, keyboard_ids(context.organ)),
          "--stave");
    }
    overrides.push_back(*one);
  }
  auto read = read_score(path, overrides);
  if (!read) return tl::unexpected(read.error());
  AskedScore out{std::move(*read), {}};
  const Score& score = out.read.score;
  out.keyboards.resize(score.staves.size());
  for (const auto& [stave, keyboard] : placed) {
    if (stave == 0 || stave > score.staves.size()) {
      return fail(fmt::format("there is no stave {}; this score has {}", stave, score.staves.size()), "--stave");
    }
    if (score.staves[stave - 1].role == Role::feet) {
      return fail(fmt::format("stave {0} is the feet's; give it to a hand as well: --stave {0}=left", stave),
                  "--stave");
    }
    out.keyboards[stave - 1] = keyboard;
  }
  return out;
}

Result<AskedScore> read_asked(const OrganContext& context, const ScoreRequest& request) {
  auto out = read_with_staves(context, request.score, request.staves);
  if (!out) return out;
  Score& score = out->read.score;
  const bool pedals = std::any_of(context.organ.keyboards.begin(), context.organ.keyboards.end(),
                                  [](const Keyboard& k) { return k.pedal; });
  if (request.bass) {
    score.bass = *request.bass;
  } else if (score.hymn && pedals) {
    score.bass = Bass::feet;
    score.remarks.push_back("The feet are taken to play the hymn's bass (--bass hands or both says otherwise).");
  }
  return out;
}

Json moment_json(const Moment& m) {
  return {{"bar", m.bar},   {"bar_index", m.bar_index}, {"at", to_string(m.at)},
          {"pass", m.pass}, {"verse", m.verse},         {"line", m.line}};
}

Json remarks_json(const Score& score, const std::vector<std::string>& more) {
  Json j = score.remarks;
  for (const std::string& r : more) j.push_back(r);
  for (const Stave& s : score.staves) {
    j.push_back(fmt::format("Stave \"{}\": {} ({}).", s.name, word(s.role), s.role_reason));
  }
  return j;
}

}  // namespace calcant
