#include "desk/guard.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>

#include "jobs/sha256.hpp"

namespace calcant::desk {
namespace {

constexpr std::array<std::string_view, 5> methods{"GET", "HEAD", "POST", "PUT", "DELETE"};
// Headers that decide something; sent twice, two readers might take one each.
constexpr std::array<std::string_view, 7> single{"host",         "origin", "sec-fetch-site", "calcant-token",
                                                 "content-type", "cookie", "content-length"};

std::optional<Refusal> refuse(int status, std::string message, std::string where = {}) {
  return Refusal{status, {std::move(message), std::move(where)}};
}

bool alike(std::string_view a, std::string_view b) {
  return a.size() == b.size() && std::equal(a.begin(), a.end(), b.begin(), [](char x, char y) {
           return std::tolower(static_cast<unsigned char>(x)) == std::tolower(static_cast<unsigned char>(y));
         });
}

std::array<std::string, 3> own_hosts(std::uint16_t port) {
  return {fmt::format("127.0.0.1:{}", port), fmt::format("localhost:{}", port), fmt::format("[::1]:{}", port)};
}

bool own_host(const Keys& keys, std::string_view host) {
  const auto own = own_hosts(keys.port);
  return std::any_of(own.begin(), own.end(), [&](const std::string& o) { return alike(o, host); });
}

bool own_origin(const Keys& keys, std::string_view origin) {
  constexpr std::string_view scheme = "http://";
  return origin.starts_with(scheme) && own_host(keys, origin.substr(scheme.size()));
}

bool changes(std::string_view method) { return method != "GET" && method != "HEAD"; }

// "application/json; charset=utf-8" -> "application/json"
std::string_view media_type(std::string_view content_type) {
  content_type = content_type.substr(0, content_type.find(';'));
  while (!content_type.empty() && content_type.back() == ' ') content_type.remove_suffix(1);
  return content_type;
}

int hexadecimal(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

// RFC 4648, section 4.
std::string base64_of_hexadecimal(std::string_view digits) {
  constexpr std::string_view letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t i = 0; i < digits.size(); i += 6) {  // three bytes, four letters
    std::uint32_t bits = 0;
    const std::size_t here = std::min<std::size_t>(6, digits.size() - i);
    for (std::size_t k = 0; k < 6; ++k) {
      bits = bits << 4U | static_cast<std::uint32_t>(k < here ? hexadecimal(digits[i + k]) : 0);
    }
    for (std::size_t k = 0; k < 4; ++k) {
      out += k * 3 < here * 2 ? letters[bits >> (18U - 6U * k) & 63U] : '=';
    }
  }
  return out;
}

std::optional<std::string> decoded(std::string_view text, bool query) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      const int high = i + 2 < text.size() ? hexadecimal(text[i + 1]) : -1;
      const int low = i + 2 < text.size() ? hexadecimal(text[i + 2]) : -1;
      if (high < 0 || low < 0) return std::nullopt;
      out += static_cast<char>(high * 16 + low);
      i += 2;
    } else {
      out += query && text[i] == '+' ? ' ' : text[i];
    }
  }
  const bool control = std::any_of(out.begin(), out.end(), [](char c) { return static_cast<unsigned char>(c) < 32; });
  if (control || !is_utf8(out)) return std::nullopt;
  return out;
}

}  // namespace

std::string_view Head::header(std::string_view name) const {
  const auto found = headers.find(name);
  return found == headers.end() ? std::string_view{} : std::string_view{found->second};
}

std::optional<Refusal> refused_at_the_door(const Keys& keys, const Head& head, bool page) {
  for (const std::string& name : head.twice) {
    if (std::find(single.begin(), single.end(), name) != single.end())
      return refuse(400, fmt::format("The header {} was sent twice.", name), name);
  }
  if (!own_host(keys, head.header("host"))) {
    return refuse(
        421, fmt::format("This desk answers only at http://127.0.0.1:{}; it was asked by another name.", keys.port),
        "Host");
  }
  if (std::find(methods.begin(), methods.end(), head.method) == methods.end()) {
    return refuse(405, "The desk knows GET, POST, PUT and DELETE.", "method");
  }
  if (head.headers.contains("origin") && !own_origin(keys, head.header("origin"))) {
    return refuse(403, "This came from a page that is not the desk's; only its own pages may ask it anything.",
                  "Origin");
  }
  const std::string_view site = head.header("sec-fetch-site");
  const bool typed = site == "none" && page && !changes(head.method);  // an address typed in, or a bookmark
  if (head.headers.contains("sec-fetch-site") && site != "same-origin" && !typed) {
    return refuse(403,
                  site == "none" ? "This address is for the desk's own pages; open the desk itself."
                                 : "This was asked for by another site; open the desk by its own address.",
                  "Sec-Fetch-Site");
  }
  return std::nullopt;
}

std::optional<Refusal> refused(const Keys& keys, const Head& head, Needs needs, Carries carries) {
  if (auto no = refused_at_the_door(keys, head, needs == Needs::page)) return no;
  if (needs == Needs::read || needs == Needs::change) {
    const bool token = same_secret(head.header("calcant-token"), keys.token);
    const bool cookie = same_secret(cookie_value(head.header("cookie"), cookie_name(keys)), keys.cookie);
    if (!token && head.headers.contains("calcant-token")) {
      return refuse(401,
                    "The desk has been started anew since this page was opened; open it by the address it printed.",
                    "Calcant-Token");
    }
    if (!token && (needs == Needs::change || !cookie)) {
      return refuse(401, "Open the desk by the address it printed when it was started.",
                    needs == Needs::change ? "Calcant-Token" : "Cookie");
    }
  }
  if (carries == Carries::nothing) {
    if (head.body) return refuse(400, "This takes no body.", "body");
    return std::nullopt;
  }
  const std::string_view wanted = carries == Carries::json ? "application/json" : "application/octet-stream";
  if (!alike(media_type(head.header("content-type")), wanted)) {
    return refuse(415, fmt::format("The body must be {}.", wanted), "Content-Type");
  }
  return std::nullopt;
}

Refusal too_large(std::uint64_t limit) {
  constexpr std::uint64_t mebibyte = 1024 * 1024;
  std::string most = limit >= 1024 * mebibyte ? fmt::format("{} GiB", limit / (1024 * mebibyte))
                     : limit >= mebibyte      ? fmt::format("{} MiB", limit / mebibyte)
                                              : fmt::format("{} bytes", limit);
  return {413, {fmt::format("This is too large; {} is the most that is taken here.", most), "body"}};
}

std::optional<Refusal> too_large(const Head& head, std::uint64_t limit) {
  if (head.length.value_or(0) <= limit) return std::nullopt;
  return too_large(limit);
}

bool same_secret(std::string_view a, std::string_view b) {
  if (b.empty()) return false;  // no secret is no secret
  unsigned difference = a.size() == b.size() ? 0 : 1;
  for (std::size_t i = 0; i < b.size(); ++i) {
    const char other = i < a.size() ? a[i] : '\0';
    difference |= static_cast<unsigned>(static_cast<unsigned char>(other) ^ static_cast<unsigned char>(b[i]));
  }
  return difference == 0;
}

std::string cookie_name(const Keys& keys) { return fmt::format("calcant-{}", keys.port); }

std::string cookie_setting(const Keys& keys) {
  return fmt::format("{}={}; Path=/api; HttpOnly; SameSite=Strict", cookie_name(keys), keys.cookie);
}

std::string_view cookie_value(std::string_view cookies, std::string_view name) {
  while (!cookies.empty()) {
    const std::size_t end = std::min(cookies.find(';'), cookies.size());
    std::string_view one = cookies.substr(0, end);
    while (!one.empty() && one.front() == ' ') one.remove_prefix(1);
    if (one.starts_with(name) && one.size() > name.size() && one[name.size()] == '=') {
      return one.substr(name.size() + 1);
    }
    cookies.remove_prefix(std::min(end + 1, cookies.size()));
  }
  return {};
}

Result<Target> parse_target(std::string_view target) {
  const auto broken = [] { return fail("This is no address of the desk.", "address"); };
  if (!target.starts_with('/')) return broken();
  const std::size_t mark = target.find('?');
  std::string_view path = target.substr(1, mark == std::string_view::npos ? mark : mark - 1);
  std::string_view query = mark == std::string_view::npos ? std::string_view{} : target.substr(mark + 1);
  Target out;
  while (!path.empty()) {
    const std::size_t end = std::min(path.find('/'), path.size());
    auto part = decoded(path.substr(0, end), false);
    if (!part || part->empty() || *part == "." || *part == ".." || part->find_first_of("/\\") != std::string::npos) {
      return broken();
    }
    out.parts.push_back(std::move(*part));
    path.remove_prefix(std::min(end + 1, path.size()));
  }
  while (!query.empty()) {
    const std::size_t end = std::min(query.find('&'), query.size());
    const std::string_view one = query.substr(0, end);
    query.remove_prefix(std::min(end + 1, query.size()));
    if (one.empty()) continue;
    const std::size_t equals = std::min(one.find('='), one.size());
    auto name = decoded(one.substr(0, equals), true);
    auto value = decoded(one.substr(std::min(equals + 1, one.size())), true);
    if (!name || !value || out.query.contains(*name)) return broken();
    out.query.emplace(std::move(*name), std::move(*value));
  }
  return out;
}

std::optional<std::filesystem::path> inside(const std::filesystem::path& folder, const std::filesystem::path& name) {
  std::error_code fault;
  const auto root = std::filesystem::canonical(folder, fault);
  if (fault || name.empty() || name.is_absolute()) return std::nullopt;
  const auto place = std::filesystem::weakly_canonical(root / name, fault);
  if (fault) return std::nullopt;
  const auto [end, at] = std::mismatch(root.begin(), root.end(), place.begin(), place.end());
  if (end != root.end() || at == place.end()) return std::nullopt;
  return place;
}

std::string safe_name(std::string_view name) {
  constexpr std::size_t longest = 100;
  name.remove_prefix(std::min(name.find_last_of("/\\") + 1, name.size()));
  std::string out;
  for (const char c : name) {
    const bool plain = std::isalnum(static_cast<unsigned char>(c)) != 0 && static_cast<unsigned char>(c) < 128;
    const char next = plain || c == '_' || c == '.' ? c : '-';
    const bool doubled = !out.empty() && (next == '-' || next == '.') && (out.back() == '-' || out.back() == '.');
    if (doubled && next == '.') out.back() = '.';  // "(1615).mxl": the ending counts
    if (!doubled) out += next;
  }
  while (!out.empty() && (out.front() == '.' || out.front() == '-')) out.erase(0, 1);
  while (!out.empty() && (out.back() == '.' || out.back() == '-')) out.pop_back();
  if (out.size() > longest) {
    const std::size_t dot = out.rfind('.');
    const std::string ending = dot == std::string::npos || out.size() - dot > 12 ? "" : out.substr(dot);
    out = out.substr(0, longest - ending.size()) + ending;
  }
  return out;
}

// RFC 3629: shortest forms only, no surrogates, nothing above U+10FFFF.
bool is_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const auto lead = static_cast<unsigned char>(text[i]);
    const int more = lead < 0x80                   ? 0
                     : lead >= 0xC2 && lead < 0xE0 ? 1
                     : (lead & 0xF0U) == 0xE0      ? 2
                     : lead >= 0xF0 && lead < 0xF5 ? 3
                                                   : -1;
    if (more < 0 || i + static_cast<std::size_t>(more) >= text.size()) return false;
    std::uint32_t code = more == 0 ? lead : lead & (0x3FU >> static_cast<unsigned>(more));
    for (int k = 1; k <= more; ++k) {
      const auto next = static_cast<unsigned char>(text[i + static_cast<std::size_t>(k)]);
      if ((next & 0xC0U) != 0x80U) return false;
      code = code << 6U | (next & 0x3FU);
    }
    if ((more == 2 && (code < 0x800 || (code >= 0xD800 && code < 0xE000))) ||
        (more == 3 && (code < 0x10000 || code > 0x10FFFF))) {
      return false;
    }
    i += static_cast<std::size_t>(more) + 1;
  }
  return true;
}

std::string sheet_policy(std::string_view html) {
  constexpr std::string_view begin = "<style>";
  std::string styles;
  for (auto at = html.find(begin); at != std::string_view::npos; at = html.find(begin, at)) {
    at += begin.size();
    const auto end = html.find("</style>", at);
    if (end == std::string_view::npos) break;
    styles += fmt::format(" 'sha256-{}'", base64_of_hexadecimal(sha256(html.substr(at, end - at))));
  }
  return fmt::format(
      "default-src 'none'; style-src{}; img-src data:; frame-ancestors 'self'; base-uri 'none'; form-action 'none'",
      styles.empty() ? " 'none'" : styles);
}

Headers security_headers() {
  return {{"X-Content-Type-Options", "nosniff"},
          {"Referrer-Policy", "no-referrer"},
          {"Cross-Origin-Opener-Policy", "same-origin"},
          {"Cross-Origin-Resource-Policy", "same-origin"},
          {"Permissions-Policy", "camera=(), geolocation=(), payment=(), usb=()"}};
}

}  // namespace calcant::desk
