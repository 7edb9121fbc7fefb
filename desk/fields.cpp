#include "desk/fields.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "desk/guard.hpp"
#include "engine/quantity/nearest.hpp"
#include "jobs/context.hpp"

namespace calcant::desk {
namespace {
constexpr int deepest = 12;
}

struct Fields::State {
  Json object = Json::object();
  bool query = false;    // every value is text
  std::string within{};  // "items[2]."
  std::set<std::string> asked{};
  std::optional<Error> first{};
};

Fields::Fields(std::unique_ptr<State> state) : state_(std::move(state)) {}
Fields::Fields(Fields&&) noexcept = default;
Fields& Fields::operator=(Fields&&) noexcept = default;
Fields::~Fields() = default;

Result<Fields> Fields::of_body(std::string_view json) {
  auto state = std::make_unique<State>();
  if (!json.empty()) {
    // The library keeps the last of two members of one name; two readers might take one each.
    std::vector<std::set<std::string>> names;
    bool twice = false;
    bool deep = false;  // copies follow nesting by recursion
    const auto watch = [&](int depth, Json::parse_event_t event, Json& parsed) {
      deep = deep || depth > deepest;
      if (event == Json::parse_event_t::object_start) names.emplace_back();
      if (event == Json::parse_event_t::object_end) names.pop_back();
      if (event == Json::parse_event_t::key && !names.back().insert(parsed.get<std::string>()).second) twice = true;
      return !deep;
    };
    try {
      state->object = Json::parse(json, watch);
    } catch (const Json::parse_error& e) {
      return fail(fmt::format("The body is no JSON from byte {} on.", e.byte), "body");
    } catch (const Json::exception&) {
      return fail("A number in the body is beyond all measure.", "body");
    }
    if (deep) return fail(fmt::format("The body is nested more than {} deep.", deepest), "body");
    if (twice) return fail("A member stands twice in the body.", "body");
    if (!state->object.is_object()) return fail("The body must be a JSON object.", "body");
  }
  return Fields{std::move(state)};
}

Fields Fields::of_query(const std::map<std::string, std::string, std::less<>>& query) {
  auto state = std::make_unique<State>();
  state->query = true;
  for (const auto& [name, value] : query) state->object[name] = value;
  return Fields{std::move(state)};
}

const Json* Fields::find(const std::string& name) {
  state_->asked.insert(name);
  const auto found = state_->object.find(name);
  return found == state_->object.end() ? nullptr : &*found;
}

bool Fields::has(const std::string& name) { return find(name) != nullptr; }

bool Fields::is_null(const std::string& name) {
  const Json* value = find(name);
  return value != nullptr && value->is_null();
}

void Fields::fault(std::string message, std::string where) {
  if (!state_->first) state_->first = Error{std::move(message), state_->within + where};
}

std::optional<std::string> Fields::text(const std::string& name, std::size_t most) {
  const Json* value = find(name);
  if (value == nullptr) return std::nullopt;
  if (!value->is_string()) {
    fault(fmt::format("'{}' is text.", name), name);
    return std::nullopt;
  }
  auto out = value->get<std::string>();
  if (out.size() > most) {
    fault(fmt::format("'{}' is longer than {} letters.", name, most), name);
    return std::nullopt;
  }
  if (out.find('\0') != std::string::npos) {
    fault(fmt::format("'{}' holds what is no text.", name), name);
    return std::nullopt;
  }
  return out;
}

std::string Fields::text_or(const std::string& name, std::string otherwise, std::size_t most) {
  return text(name, most).value_or(std::move(otherwise));
}

std::string Fields::required(const std::string& name, std::size_t most) {
  if (!has(name)) fault(fmt::format("'{}' is missing.", name), name);
  return text_or(name, "", most);
}

std::optional<std::string> Fields::one_of(const std::string& name, const std::vector<std::string>& words) {
  auto out = text(name);
  if (out && std::find(words.begin(), words.end(), *out) == words.end()) {
    fault(fmt::format("'{}' is one of: {}.", name, fmt::join(words, ", ")), name);
    return std::nullopt;
  }
  return out;
}

std::optional<double> Fields::number(const std::string& name, double low, double high) {
  const Json* value = find(name);
  if (value == nullptr) return std::nullopt;
  double out = std::nan("");
  if (state_->query) {
    const auto text = value->get<std::string>();
    const auto [end, wrong] = std::from_chars(text.data(), text.data() + text.size(), out);
    if (wrong != std::errc{} || end != text.data() + text.size()) out = std::nan("");
  } else if (value->is_number()) {
    out = value->get<double>();
  }
  if (!(out >= low && out <= high)) {
    fault(fmt::format("'{}' is a number from {:g} to {:g}.", name, low, high), name);
    return std::nullopt;
  }
  return out;
}

std::optional<int> Fields::whole(const std::string& name, int low, int high) {
  const auto out = number(name, low, high);
  if (!out) return std::nullopt;
  if (*out != std::floor(*out)) {
    fault(fmt::format("'{}' is a whole number.", name), name);
    return std::nullopt;
  }
  return static_cast<int>(*out);
}

std::optional<bool> Fields::truth(const std::string& name) {
  const Json* value = find(name);
  if (value == nullptr) return std::nullopt;
  if (state_->query) {
    const auto text = value->get<std::string>();
    if (text == "true" || text == "false") return text == "true";
  } else if (value->is_boolean()) {
    return value->get<bool>();
  }
  fault(fmt::format("'{}' is true or false.", name), name);
  return std::nullopt;
}

std::optional<std::string> Fields::date(const std::string& name) {
  const auto typed = text(name);
  if (!typed) return std::nullopt;
  const auto read = parse_date(*typed);
  if (!read) {
    fault(read.error().message, name);
    return std::nullopt;
  }
  return *read;
}

std::optional<std::vector<std::string>> Fields::texts(const std::string& name, std::size_t most, std::size_t longest) {
  const Json* value = find(name);
  if (value == nullptr) return std::nullopt;
  std::vector<std::string> out;
  bool right = value->is_array() && value->size() <= most;
  if (right) {
    for (const Json& one : *value) {
      right = right && one.is_string() && one.get_ref<const std::string&>().size() <= longest;
      if (right) out.push_back(one.get<std::string>());
    }
  }
  if (!right) {
    fault(fmt::format("'{}' is a list of at most {} texts of {} letters.", name, most, longest), name);
    return std::nullopt;
  }
  return out;
}

std::vector<std::int64_t> Fields::wholes(const std::string& name, std::size_t most) {
  const Json* value = find(name);
  std::vector<std::int64_t> out;
  bool right = value != nullptr && value->is_array() && value->size() <= most;
  if (right) {
    for (const Json& one : *value) {
      right = right && one.is_number_integer();
      if (right) out.push_back(one.get<std::int64_t>());
    }
  }
  if (!right) fault(fmt::format("'{}' is a list of at most {} whole numbers.", name, most), name);
  return out;
}

std::optional<Fields> Fields::table(const std::string& name) {
  const Json* value = find(name);
  if (value == nullptr) return std::nullopt;
  if (!value->is_object()) {
    fault(fmt::format("'{}' is an object.", name), name);
    return std::nullopt;
  }
  auto state = std::make_unique<State>();
  state->object = *value;
  state->within = state_->within + name + ".";
  return Fields{std::move(state)};
}

std::optional<std::vector<Fields>> Fields::tables(const std::string& name, std::size_t most) {
  const Json* value = find(name);
  if (value == nullptr) return std::nullopt;
  bool right = value->is_array() && value->size() <= most;
  std::vector<Fields> out;
  if (right) {
    for (const Json& one : *value) {
      right = right && one.is_object();
      auto state = std::make_unique<State>();
      state->object = one;
      state->within = fmt::format("{}{}[{}].", state_->within, name, out.size());
      out.push_back(Fields{std::move(state)});
    }
  }
  if (!right) {
    fault(fmt::format("'{}' is a list of at most {} objects.", name, most), name);
    return std::nullopt;
  }
  return out;
}

Result<void> Fields::finish() {
  if (state_->first) return tl::unexpected<Error>(*state_->first);
  const std::vector<std::string> known(state_->asked.begin(), state_->asked.end());
  for (const auto& member : state_->object.items()) {
    if (state_->asked.contains(member.key())) continue;
    const std::string shown = member.key().substr(0, 60);
    if (shown.empty()) return fail("What is sent must have a name.", state_->within + "(no name)");
    return fail(fmt::format("'{}' is not known here{}.", shown, perhaps(member.key(), known)), state_->within + shown);
  }
  return {};
}

}  // namespace calcant::desk
