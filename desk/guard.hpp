// Who may ask what of the desk: pure functions of what a request says of itself, before any of its body is read.
//
// The desk listens on this computer only, but every page in the browser, wherever it comes from, can send requests there,
// and so can every program and every other user of the computer. What keeps them out: the Host must be this desk's own
// (against names that are made to point here, RFC 9110 section 7.2), Origin and Sec-Fetch-Site, where the browser sends
// them, must be its own pages' (W3C, Fetch Metadata Request Headers), reading wants the cookie or the token of this run,
// changing wants the token. No header ever allows another origin (no CORS), so no answer can be read from elsewhere.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/quantity/result.hpp"

namespace calcant::desk {

// What this run of the desk goes by. token and cookie are different secrets of 32 hexadecimal digits.
struct Keys {
  std::uint16_t port = 0;
  std::string token;   // behind '#' in the start address; sent as the header Calcant-Token
  std::string cookie;  // reads only: cookies go to every port of a computer
};

// A request without its body. Names of headers are in small letters; a header that came twice stands in `twice`.
struct Head {
  std::string method;
  std::string target;  // as sent: "/api/faults?all=true"
  std::map<std::string, std::string, std::less<>> headers{};
  std::vector<std::string> twice{};
  std::optional<std::uint64_t> length{};  // of the body, where it was said
  bool body = false;                      // some body comes: a length above 0, or in pieces

  [[nodiscard]] std::string_view header(std::string_view name) const;  // empty: was not sent
};

struct Refusal {
  int status = 400;
  Error error;
};

enum class Needs {
  page,     // the pages themselves: nothing secret
  session,  // handing in the token
  read,     // cookie or token
  change    // token
};
enum class Carries { nothing, json, bytes };

// Why a request is turned away; nothing when it may pass.
[[nodiscard]] std::optional<Refusal> refused(const Keys& keys, const Head& head, Needs needs, Carries carries);
// The checks of the above that need no route: Host, method, origin, headers sent twice.
[[nodiscard]] std::optional<Refusal> refused_at_the_door(const Keys& keys, const Head& head, bool page);
// A body of a stated length above the limit.
[[nodiscard]] std::optional<Refusal> too_large(const Head& head, std::uint64_t limit);
[[nodiscard]] Refusal too_large(std::uint64_t limit);

// Takes as long for a wrong guess as for a right one.
[[nodiscard]] bool same_secret(std::string_view a, std::string_view b);
// "calcant-8417": two desks on one computer keep their cookies apart.
[[nodiscard]] std::string cookie_name(const Keys& keys);
// Set-Cookie for a tab that has handed in the token.
[[nodiscard]] std::string cookie_setting(const Keys& keys);
// The value of one cookie in a Cookie header; empty where it is not there.
[[nodiscard]] std::string_view cookie_value(std::string_view cookies, std::string_view name);

// A target taken apart: percent signs resolved, path in its parts.
struct Target {
  std::vector<std::string> parts;  // "/api/faults" -> {"api", "faults"}; "/" -> {}
  std::map<std::string, std::string, std::less<>> query;
};
// Refuses what no page of ours sends: no leading slash, broken percent signs, empty or dotted parts, control characters,
// slashes or backslashes in disguise, text that is no UTF-8, a name twice in the query.
[[nodiscard]] Result<Target> parse_target(std::string_view target);

// `name` below `folder`, or nothing when it leads elsewhere (by "..", a link, an absolute path). The folder must exist.
[[nodiscard]] std::optional<std::filesystem::path> inside(const std::filesystem::path& folder,
                                                          const std::filesystem::path& name);
// What a file handed in is called here: its last part, letters, digits, - _ and . only, no leading dot, at most 100;
// "Dundee (1615).mxl" -> "Dundee-1615.mxl". Empty where nothing is left.
[[nodiscard]] std::string safe_name(std::string_view name);
[[nodiscard]] bool is_utf8(std::string_view text);

using Headers = std::vector<std::pair<std::string, std::string>>;
// On every answer.
[[nodiscard]] Headers security_headers();
// Pages run and look like only what was built in: no script and no style that is written into them
// ('wasm-unsafe-eval': the engraver is WebAssembly).
inline constexpr std::string_view page_policy =
    "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; "
    "media-src 'self' blob:; connect-src 'self'; object-src 'none'; frame-ancestors 'none'; base-uri 'none'; "
    "form-action 'none'";
// A sheet made by the program carries its style inside: let in are the <style> elements it has, by what they hold
// (CSP level 3, section 6.7.3.3: the SHA-256 of their text), and nothing else. It runs nothing; the pages may frame it.
[[nodiscard]] std::string sheet_policy(std::string_view html);

}  // namespace calcant::desk
