#include "tests/case_runner.hpp"

#include <fmt/format.h>
#include <sys/wait.h>

#include <charconv>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

namespace calcant::acceptance {
namespace {

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> lines;
  while (!text.empty()) {
    const auto end = text.find('\n');
    std::string_view line = text.substr(0, end);
    while (!line.empty() && (line.back() == ' ' || line.back() == '\r')) line.remove_suffix(1);
    lines.emplace_back(line);
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return lines;
}

// One line against a pattern in which "..." stands for any text.
bool line_matches(std::string_view pattern, std::string_view line) {
  const auto gap = pattern.find("...");
  if (gap == std::string_view::npos) return pattern == line;
  if (line.substr(0, gap) != pattern.substr(0, gap)) return false;
  pattern.remove_prefix(gap + 3);
  line.remove_prefix(gap);
  for (std::size_t i = 0; i <= line.size(); ++i)
    if (line_matches(pattern, line.substr(i))) return true;
  return false;
}

std::string read(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream all;
  all << in.rdbuf();
  return all.str();
}

std::string in_out_folder(std::string text, const std::string& out_folder) {
  for (auto at = text.find("$OUT"); at != std::string::npos; at = text.find("$OUT", at + out_folder.size()))
    text.replace(at, 4, out_folder);
  return text;
}

// "path verb rest": the path ends at the first space.
struct Claim {
  std::string path;
  std::string verb;
  std::string rest;
};
Claim split(const std::string& text) {
  Claim c;
  std::istringstream in(text);
  in >> c.path >> c.verb;
  std::getline(in >> std::ws, c.rest);
  return c;
}

std::string json_fault(const std::string& text, const nlohmann::json& whole) {
  using nlohmann::json;
  const Claim claim = split(text);
  const json::json_pointer pointer(claim.path == "/" ? "" : claim.path);
  const bool here = whole.contains(pointer);
  if (claim.verb == "absent") return here ? fmt::format("{} is there", claim.path) : "";
  if (!here) return fmt::format("there is no {}", claim.path);
  const json& value = whole.at(pointer);
  if (claim.verb == "exists") return "";
  const std::string is = fmt::format("{} is {}", claim.path, value.dump());
  if (claim.verb == "count") return fmt::format("{}", value.size()) == claim.rest ? "" : is;
  if (claim.verb == "has") return value.dump().find(claim.rest) != std::string::npos ? "" : is;
  const auto tolerance = claim.rest.find("+-");
  if (tolerance == std::string::npos) return value == json::parse(claim.rest) ? "" : is;
  const double wanted = std::stod(claim.rest.substr(0, tolerance));
  const double within = std::stod(claim.rest.substr(tolerance + 2));
  return value.is_number() && std::abs(value.get<double>() - wanted) <= within ? "" : is;
}

std::string file_fault(const std::string& text, const std::string& out_folder) {
  const Claim claim = split(text);
  const std::string path = in_out_folder(claim.path, out_folder);
  std::error_code unreadable;
  if (!std::filesystem::is_regular_file(path, unreadable)) return fmt::format("{} was not made", claim.path);
  if (claim.verb.empty()) return std::filesystem::file_size(path) > 0 ? "" : fmt::format("{} is empty", claim.path);
  const bool held = read(path).find(claim.rest) != std::string::npos;
  if (held == (claim.verb == "has")) return "";
  return fmt::format("{} {} \"{}\"", claim.path, held ? "holds" : "does not hold", claim.rest);
}

std::string shown(std::string_view text) {
  if (text.empty()) return "        (nothing)\n";
  std::string s;
  int count = 0;
  for (const auto& line : lines_of(text)) {
    if (++count > 30) return s + "        ...\n";
    s += fmt::format("        {}\n", line);
  }
  return s;
}

bool good_claim(std::string_view kind, const std::string& text) {
  const Claim claim = split(text);
  if (kind == "file")
    return claim.verb.empty() || ((claim.verb == "has" || claim.verb == "lacks") && !claim.rest.empty());
  if (claim.path.empty() || claim.path.front() != '/') return false;
  if (claim.verb == "exists" || claim.verb == "absent") return claim.rest.empty();
  if (claim.rest.empty()) return false;
  if (claim.verb == "count" || claim.verb == "has") return true;
  if (claim.verb != "=") return false;
  const auto tolerance = claim.rest.find("+-");
  if (tolerance == std::string::npos) return nlohmann::json::accept(claim.rest);
  return nlohmann::json::accept(claim.rest.substr(0, tolerance)) &&
         nlohmann::json::accept(claim.rest.substr(tolerance + 2));
}

}  // namespace

Result<Case> parse_case(std::string_view text, std::string_view name) {
  Case c;
  int number = 0;
  for (const std::string& line : lines_of(text)) {
    const std::string where = fmt::format("{}:{}", name, ++number);
    const auto rest = [&](std::size_t skip) { return line.size() > skip ? line.substr(skip) : std::string(); };
    if (line.empty() || line[0] == '#') continue;
    if (line.rfind("needs: ", 0) == 0) {
      c.needs.push_back(rest(7));
      continue;
    }
    if (line.rfind("$ ", 0) == 0) {
      c.steps.emplace_back().command = {number, rest(2)};
      continue;
    }
    if (c.steps.empty())
      return fail("a case begins with remarks (#), what it needs (needs: ...) and a command ($ ...)", where);
    Step& step = c.steps.back();
    if (line[0] == '>' && (line.size() == 1 || line[1] == ' ')) {
      step.out.push_back({number, rest(2)});
    } else if (line[0] == '!' && (line.size() == 1 || line[1] == ' ')) {
      step.err.push_back({number, rest(2)});
    } else if (line == "exit: not 0") {
      step.any_failure = true;
    } else if (line.rfind("exit: ", 0) == 0) {
      const auto [end, bad] = std::from_chars(line.data() + 6, line.data() + line.size(), step.exit);
      if (bad != std::errc{} || end != line.data() + line.size())
        return fail("an exit status is a number, or \"not 0\"", where);
    } else if (line.rfind("json: ", 0) == 0 && good_claim("json", rest(6))) {
      step.json.push_back({number, rest(6)});
    } else if (line.rfind("file: ", 0) == 0 && good_claim("file", rest(6))) {
      step.files.push_back({number, rest(6)});
    } else {
      return fail(fmt::format("\"{}\" is no check; tests/case_runner.hpp lists those there are", line), where);
    }
  }
  if (c.steps.empty()) return fail("a case needs a command ($ ...)", std::string(name));
  return c;
}

bool matches(const std::vector<Line>& patterns, std::string_view text) {
  const std::vector<std::string> lines = lines_of(text);
  // reach[i]: the patterns so far can have taken exactly the first i lines.
  std::vector<bool> reach(lines.size() + 1, false);
  reach[0] = true;
  for (const Line& pattern : patterns) {
    std::vector<bool> next(lines.size() + 1, false);
    if (pattern.text == "...") {
      bool open = false;
      for (std::size_t i = 0; i <= lines.size(); ++i) next[i] = open = open || reach[i];
    } else {
      for (std::size_t i = 0; i < lines.size(); ++i) next[i + 1] = reach[i] && line_matches(pattern.text, lines[i]);
    }
    reach = std::move(next);
  }
  return reach.back();
}

std::vector<std::string> faults(const Step& step, const Answer& answer, const std::string& out_folder) {
  std::vector<std::string> found;
  const auto fault = [&](int line, const std::string& what) { found.push_back(fmt::format("{}: {}", line, what)); };
  if (step.any_failure ? answer.exit == 0 : answer.exit != step.exit)
    fault(step.command.number,
          fmt::format("exit status {}, not {}; standard error:\n{}", answer.exit,
                      step.any_failure ? "something else" : std::to_string(step.exit), shown(answer.err)));
  if (!step.out.empty() && !matches(step.out, answer.out))
    fault(step.out.front().number, "it printed something else:\n" + shown(answer.out));
  if (!step.err.empty() && !matches(step.err, answer.err))
    fault(step.err.front().number, "it printed something else on standard error:\n" + shown(answer.err));
  if (!step.json.empty()) {
    const auto whole = nlohmann::json::parse(answer.out, nullptr, false);
    if (whole.is_discarded()) {
      fault(step.json.front().number, "it did not print JSON:\n" + shown(answer.out));
    } else {
      for (const Line& claim : step.json)
        if (const std::string wrong = json_fault(claim.text, whole); !wrong.empty()) fault(claim.number, wrong);
    }
  }
  for (const Line& claim : step.files)
    if (const std::string wrong = file_fault(claim.text, out_folder); !wrong.empty()) fault(claim.number, wrong);
  return found;
}

Answer run(const std::string& command, const std::string& program_folder, const std::string& out_folder) {
  const std::string out = out_folder + ".stdout";
  const std::string err = out_folder + ".stderr";
  const char* path = std::getenv("PATH");
  setenv("PATH", fmt::format("{}:{}", program_folder, path == nullptr ? "" : path).c_str(), 1);
  setenv("OUT", out_folder.c_str(), 1);
  const int status = std::system(fmt::format("( {}\n) >'{}' 2>'{}' </dev/null", command, out, err).c_str());
  if (path != nullptr) setenv("PATH", std::string(path).c_str(), 1);
  Answer answer{WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), read(out), read(err)};
  std::filesystem::remove(out);
  std::filesystem::remove(err);
  return answer;
}

}  // namespace calcant::acceptance
