// What a person can get wrong is a value, not an exception: Result<T> is a T, or an Error that says what was wrong,
// where, and what would be right.
#pragma once

#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace calcant {

// `message` is a whole sentence for the user, ending without a line break: what was wrong and what would be right.
// `where` is the place: `organ.toml:41:9`, `bar 12, beat 3`, `--draw`; empty when there is none.
struct Error {
  std::string message;
  std::string where;

  friend bool operator==(const Error&, const Error&) = default;
};

template <class T>
using Result = tl::expected<T, Error>;

[[nodiscard]] inline tl::unexpected<Error> fail(std::string message, std::string where = {}) {
  return tl::unexpected<Error>(Error{std::move(message), std::move(where)});
}

// "where: message", or the message alone.
[[nodiscard]] inline std::string sentence(const Error& e) {
  if (e.where.empty()) return e.message;
  std::string s = e.where;
  s += ": ";
  s += e.message;
  return s;
}

}  // namespace calcant
