#include "desk/guard.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <map>

namespace calcant::desk {
namespace {

const Keys keys{8417, "0123456789abcdef0123456789abcdef", "fedcba9876543210fedcba9876543210"};

Head head(std::string method, std::map<std::string, std::string, std::less<>> headers) {
  headers.emplace("host", "127.0.0.1:8417");
  return {std::move(method), "/api/faults", std::move(headers)};
}
Head with_token(std::string method, std::map<std::string, std::string, std::less<>> headers = {}) {
  headers.emplace("calcant-token", keys.token);
  return head(std::move(method), std::move(headers));
}
int status(const std::optional<Refusal>& r) { return r ? r->status : 200; }

TEST(Guard, OwnPagesPass) {
  EXPECT_EQ(status(refused(keys, head("GET", {}), Needs::page, Carries::nothing)), 200);
  EXPECT_EQ(status(refused(keys, head("GET", {{"sec-fetch-site", "none"}}), Needs::page, Carries::nothing)), 200);
  Head post = with_token("POST", {{"origin", "http://localhost:8417"},
                                  {"sec-fetch-site", "same-origin"},
                                  {"content-type", "application/json; charset=utf-8"}});
  post.body = true;
  EXPECT_EQ(status(refused(keys, post, Needs::change, Carries::json)), 200);
  post.headers["content-type"] = "Application/Octet-Stream";
  EXPECT_EQ(status(refused(keys, post, Needs::change, Carries::bytes)), 200);
}

// A name that somebody else's server gives for 127.0.0.1 (DNS rebinding) arrives as the Host.
TEST(Guard, OnlyItsOwnHost) {
  for (const char* own : {"127.0.0.1:8417", "localhost:8417", "LocalHost:8417", "[::1]:8417"}) {
    Head h = head("GET", {});
    h.headers["host"] = own;
    EXPECT_EQ(status(refused(keys, h, Needs::page, Carries::nothing)), 200) << own;
  }
  for (const char* foreign :
       {"", "127.0.0.1", "127.0.0.1:8418", "localhost", "desk.example:8417", "127.0.0.1:8417.example",
        "example:127.0.0.1:8417", "127.0.0.1:08417", "0.0.0.0:8417", "[::1]"}) {
    Head h = head("GET", {});
    h.headers["host"] = foreign;
    EXPECT_EQ(status(refused(keys, h, Needs::page, Carries::nothing)), 421) << foreign;
  }
  Head none = head("GET", {});
  none.headers.erase("host");
  EXPECT_EQ(status(refused(keys, none, Needs::page, Carries::nothing)), 421);
}

TEST(Guard, OnlyItsOwnOrigin) {
  for (const char* foreign : {"null", "", "http://example", "https://127.0.0.1:8417", "http://127.0.0.1:8418",
                              "http://127.0.0.1:8417.example", "http://127.0.0.1", "file://"}) {
    Head h = with_token("GET", {{"origin", foreign}});
    const auto no = refused(keys, h, Needs::read, Carries::nothing);
    EXPECT_EQ(status(no), 403) << foreign;
    EXPECT_EQ(no->error.where, "Origin");
  }
}

TEST(Guard, OnlyItsOwnSite) {
  for (const char* site : {"cross-site", "same-site", "", "anything"}) {
    EXPECT_EQ(status(refused(keys, with_token("GET", {{"sec-fetch-site", site}}), Needs::read, Carries::nothing)), 403);
    EXPECT_EQ(status(refused(keys, head("GET", {{"sec-fetch-site", site}}), Needs::page, Carries::nothing)), 403)
        << site;
  }
  // An address typed by hand opens pages, not the API, and changes nothing.
  EXPECT_EQ(status(refused(keys, with_token("GET", {{"sec-fetch-site", "none"}}), Needs::read, Carries::nothing)), 403);
  EXPECT_EQ(status(refused(keys, head("POST", {{"sec-fetch-site", "none"}}), Needs::page, Carries::nothing)), 403);
}

TEST(Guard, OtherMethodsAreRefused) {
  for (const char* method : {"OPTIONS", "TRACE", "CONNECT", "PATCH", "get", ""}) {
    EXPECT_EQ(status(refused(keys, with_token(method), Needs::read, Carries::nothing)), 405) << method;
  }
}

TEST(Guard, ReadingWantsCookieOrTokenAndChangingTheToken) {
  const std::string cookie = "other=1; calcant-8417=" + keys.cookie;
  EXPECT_EQ(status(refused(keys, head("GET", {}), Needs::read, Carries::nothing)), 401);
  EXPECT_EQ(status(refused(keys, head("GET", {{"cookie", cookie}}), Needs::read, Carries::nothing)), 200);
  EXPECT_EQ(status(refused(keys, with_token("GET"), Needs::read, Carries::nothing)), 200);
  EXPECT_EQ(
      status(refused(keys, head("GET", {{"cookie", "calcant-8417=" + keys.token}}), Needs::read, Carries::nothing)),
      401);
  EXPECT_EQ(
      status(refused(keys, head("GET", {{"cookie", "calcant-8418=" + keys.cookie}}), Needs::read, Carries::nothing)),
      401);

  EXPECT_EQ(status(refused(keys, head("DELETE", {{"cookie", cookie}}), Needs::change, Carries::nothing)), 401);
  EXPECT_EQ(status(refused(keys, with_token("DELETE"), Needs::change, Carries::nothing)), 200);
  EXPECT_EQ(status(refused(keys, head("DELETE", {{"calcant-token", keys.cookie}}), Needs::change, Carries::nothing)),
            401);
  // A page of an earlier run is told that the desk was started anew, also where its cookie would do.
  const auto old = refused(keys, head("GET", {{"cookie", cookie}, {"calcant-token", std::string(32, '0')}}),
                           Needs::read, Carries::nothing);
  EXPECT_EQ(status(old), 401);
  EXPECT_THAT(old->error.message, testing::HasSubstr("started anew"));
  // Handing in the token wants neither, but comes from nowhere else either.
  Head session = head("POST", {{"content-type", "application/json"}});
  EXPECT_EQ(status(refused(keys, session, Needs::session, Carries::json)), 200);
  session.headers["origin"] = "http://example";
  EXPECT_EQ(status(refused(keys, session, Needs::session, Carries::json)), 403);
}

// What a form of a foreign page can send without asking first (Fetch standard, CORS-safelisted content types).
TEST(Guard, FormsAreNoJson) {
  for (const char* type :
       {"", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "application/jsonx"}) {
    EXPECT_EQ(status(refused(keys, with_token("POST", {{"content-type", type}}), Needs::change, Carries::json)), 415)
        << type;
  }
  Head h = with_token("DELETE");
  h.body = true;
  EXPECT_EQ(status(refused(keys, h, Needs::change, Carries::nothing)), 400);
}

TEST(Guard, WhatDecidesIsNotSentTwice) {
  for (const char* name :
       {"host", "origin", "cookie", "calcant-token", "content-type", "sec-fetch-site", "content-length"}) {
    Head h = with_token("GET");
    h.twice = {"accept", name};
    EXPECT_EQ(status(refused(keys, h, Needs::read, Carries::nothing)), 400) << name;
  }
  Head h = with_token("GET");
  h.twice = {"accept"};
  EXPECT_EQ(status(refused(keys, h, Needs::read, Carries::nothing)), 200);
}

TEST(Guard, RefusalsAreSentences) {
  Head foreign = head("GET", {});
  foreign.headers["host"] = "desk.example";
  for (const auto& no :
       {refused(keys, foreign, Needs::page, Carries::nothing),
        refused(keys, head("GET", {{"origin", "null"}}), Needs::page, Carries::nothing),
        refused(keys, head("PATCH", {}), Needs::page, Carries::nothing),
        refused(keys, head("GET", {}), Needs::read, Carries::nothing), std::optional{too_large(1024)}}) {
    ASSERT_TRUE(no);
    EXPECT_THAT(no->error.message, testing::MatchesRegex("[A-Z0-9].*\\."));
  }
}

TEST(Guard, Lengths) {
  Head h;
  EXPECT_FALSE(too_large(h, 10));
  h.length = 10;
  EXPECT_FALSE(too_large(h, 10));
  h.length = 11;
  EXPECT_EQ(status(too_large(h, 10)), 413);
  EXPECT_THAT(too_large(std::uint64_t{2} << 30).error.message, testing::HasSubstr("2 GiB"));
  EXPECT_THAT(too_large(std::uint64_t{32} << 20).error.message, testing::HasSubstr("32 MiB"));
  EXPECT_THAT(too_large(500).error.message, testing::HasSubstr("500 bytes"));
}

TEST(Guard, SecretsAndCookies) {
  EXPECT_TRUE(same_secret("abc", "abc"));
  EXPECT_FALSE(same_secret("abd", "abc"));
  EXPECT_FALSE(same_secret("ab", "abc"));
  EXPECT_FALSE(same_secret("abcd", "abc"));
  EXPECT_FALSE(same_secret("", ""));
  EXPECT_EQ(cookie_value("a=1; calcant-1=x; b=2", "calcant-1"), "x");
  EXPECT_EQ(cookie_value("a=1;calcant-1=x", "calcant-1"), "x");
  EXPECT_EQ(cookie_value("calcant-10=x", "calcant-1"), "");
  EXPECT_EQ(cookie_value("xcalcant-1=x", "calcant-1"), "");
  EXPECT_EQ(cookie_value("", "calcant-1"), "");
  EXPECT_EQ(cookie_value("calcant-1", "calcant-1"), "");
  EXPECT_EQ(cookie_setting(keys), "calcant-8417=" + keys.cookie + "; Path=/api; HttpOnly; SameSite=Strict");
}

TEST(Guard, TargetsAreTakenApart) {
  const auto t = parse_target("/api/pieces/Old%20100th.mxl/fit?draw=Open+Diapason%208%2C+Oboe&tempo=72&");
  ASSERT_TRUE(t);
  EXPECT_EQ(t->parts, (std::vector<std::string>{"api", "pieces", "Old 100th.mxl", "fit"}));
  EXPECT_EQ(t->query.at("draw"), "Open Diapason 8, Oboe");
  EXPECT_EQ(t->query.at("tempo"), "72");
  EXPECT_TRUE(parse_target("/").value().parts.empty());
  EXPECT_EQ(parse_target("/api/x?flag").value().query.at("flag"), "");
}

TEST(Guard, TargetsThatLeadAstrayAreRefused) {
  for (const char* astray : {"",
                             "api",
                             "http://127.0.0.1/",
                             "*",
                             "/..",
                             "/../etc/passwd",
                             "/api/../x",
                             "/api/./x",
                             "/api//x",
                             "/%2e%2e/x",
                             "/a%2fb",
                             "/a%5Cb",
                             "/a\\b",
                             "/a%",
                             "/a%2",
                             "/a%zz",
                             "/a%00b",
                             "/a%0d%0aSet-Cookie",
                             "/%ff",
                             "/%c0%ae%c0%ae/",
                             "/%ed%a0%80",
                             "/a?x=1&x=2",
                             "/a?%ff=1",
                             "/a?x=%0"}) {
    EXPECT_FALSE(parse_target(astray)) << astray;
  }
}

// RFC 3629, sections 3 and 10, and the well-known stress cases of shortest form, surrogates and range.
TEST(Guard, Utf8) {
  for (const char* good : {"", "abc", "\u00e9", "\u20ac", "\U0001D11E", "\uFFFF"}) EXPECT_TRUE(is_utf8(good)) << good;
  EXPECT_TRUE(is_utf8("\xF4\x8F\xBF\xBF"));
  for (const char* bad : {"\x80", "\xC3", "\xC0\xAF", "\xC1\xBF", "\xE0\x80\xAF", "\xED\xA0\x80", "\xF0\x80\x80\xAF",
                          "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFF", "\xE2\x82", "a\xE2(\xA1"}) {
    EXPECT_FALSE(is_utf8(bad));
  }
}

TEST(Guard, NamesOfUploadsAreMadeSafe) {
  EXPECT_EQ(safe_name("dundee.musicxml"), "dundee.musicxml");
  EXPECT_EQ(safe_name("Dundee (1615).mxl"), "Dundee-1615.mxl");
  EXPECT_EQ(safe_name("../../etc/passwd"), "passwd");
  EXPECT_EQ(safe_name("C:\\music\\tune.mid"), "tune.mid");
  EXPECT_EQ(safe_name(".hidden"), "hidden");
  EXPECT_EQ(safe_name("..."), "");
  EXPECT_EQ(safe_name("a/"), "");
  EXPECT_EQ(safe_name("na\u00efve.xml"), "na-ve.xml");
  EXPECT_EQ(safe_name("a\"b\r\nc.xml"), "a-b-c.xml");
  const std::string longest = safe_name(std::string(500, 'x') + ".musicxml");
  EXPECT_EQ(longest.size(), 100U);
  EXPECT_TRUE(longest.ends_with(".musicxml"));
  for (const char* odd : {"a..b", "-a-", "a b  c", "x.tar.gz", "(1).mid"})
    EXPECT_EQ(safe_name(safe_name(odd)), safe_name(odd));
}

class InFolder : public testing::Test {
 protected:
  InFolder() {
    root_ = std::filesystem::temp_directory_path() / ("calcant-guard-" + std::to_string(getpid()));
    std::filesystem::create_directories(root_ / "organ" / "music");
    std::filesystem::create_directories(root_ / "organ-else");
    std::ofstream{root_ / "secret"} << "x";
    std::filesystem::create_symlink(root_ / "secret", root_ / "organ" / "link");
    std::filesystem::create_symlink(root_, root_ / "organ" / "up");
  }
  ~InFolder() override { std::filesystem::remove_all(root_); }
  std::filesystem::path root_;
};

TEST_F(InFolder, NothingLeadsOut) {
  const auto organ = root_ / "organ";
  EXPECT_EQ(inside(organ, "music/a.xml"), std::filesystem::canonical(organ) / "music" / "a.xml");
  EXPECT_TRUE(inside(organ, "music/../music/a.xml"));
  for (const char* out : {"", ".", "..", "../secret", "../organ-else/x", "music/../../secret", "link", "up/secret",
                          "up/organ-else/x", "/etc/passwd"}) {
    EXPECT_FALSE(inside(organ, out)) << out;
  }
  EXPECT_FALSE(inside(root_ / "nowhere", "x"));
}

// The directives of a policy (CSP level 3): name -> what it lets in.
std::map<std::string, std::string> directives(std::string_view policy) {
  std::map<std::string, std::string> out;
  while (!policy.empty()) {
    std::string_view one = policy.substr(0, policy.find(';'));
    policy.remove_prefix(std::min(policy.size(), one.size() + 1));
    while (one.starts_with(' ')) one.remove_prefix(1);
    const std::size_t space = std::min(one.find(' '), one.size());
    out[std::string{one.substr(0, space)}] = one.substr(std::min(one.size(), space + 1));
  }
  return out;
}

TEST(Guard, PagesRunAndLookLikeOnlyWhatWasBuiltIn) {
  const std::map<std::string, std::string> wanted{
      {"default-src", "'self'"},     {"script-src", "'self' 'wasm-unsafe-eval'"},
      {"style-src", "'self'"},       {"img-src", "'self' data: blob:"},
      {"media-src", "'self' blob:"}, {"connect-src", "'self'"},
      {"object-src", "'none'"},      {"frame-ancestors", "'none'"},
      {"base-uri", "'none'"},        {"form-action", "'none'"}};
  EXPECT_EQ(directives(page_policy), wanted);
}

// The digest is that of printf 'p{color:red}' | openssl dgst -sha256 -binary | base64.
TEST(Guard, SheetsRunNothingAndLookOnlyAsTheyWereMade) {
  auto of = directives(sheet_policy("<!doctype html><style>p{color:red}</style><p>x</p><style></style>"));
  EXPECT_EQ(
      of["style-src"],
      "'sha256-p0bF+un5yUb9MBO6xRb8kPHlY2BdpHVtLiFkDrZPF64=' 'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
  EXPECT_EQ(of["default-src"], "'none'");
  EXPECT_EQ(of["frame-ancestors"], "'self'");
  EXPECT_FALSE(of.contains("script-src"));
  for (const char* none : {"", "<p>", "<style>never ended", "<STYLE>p{}</STYLE>"}) {
    EXPECT_EQ(directives(sheet_policy(none))["style-src"], "'none'") << none;
  }
}

TEST(Guard, EveryAnswerCarriesTheHeadersThatKeepOthersOut) {
  const auto headers = security_headers();
  const auto has = [&](const char* name, const char* value) {
    return std::find(headers.begin(), headers.end(), std::pair<std::string, std::string>{name, value}) != headers.end();
  };
  EXPECT_TRUE(has("X-Content-Type-Options", "nosniff"));
  EXPECT_TRUE(has("Referrer-Policy", "no-referrer"));
  EXPECT_TRUE(has("Cross-Origin-Opener-Policy", "same-origin"));
  EXPECT_TRUE(has("Cross-Origin-Resource-Policy", "same-origin"));
  for (const auto& [name, value] : headers) EXPECT_THAT(name, testing::Not(testing::HasSubstr("Access-Control")));
}

}  // namespace
}  // namespace calcant::desk
