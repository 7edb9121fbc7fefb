#include "desk/fields.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace calcant::desk {
namespace {

using testing::HasSubstr;

TEST(Fields, ReadsWhatIsThere) {
  auto f = Fields::of_body(
      R"({"draw":"Oboe 8","tempo":72.5,"verses":4,"dry":true,"words":["a",""],"on":"2026-11-29","at":"bench","none":null,
          "answers":{"manual_notes":56},"items":[{"kind":"hymn"},{"kind":"psalm"}]})");
  ASSERT_TRUE(f);
  EXPECT_EQ(f->required("draw"), "Oboe 8");
  EXPECT_EQ(f->number("tempo", 10, 400), 72.5);
  EXPECT_EQ(f->whole("verses", 1, 60), 4);
  EXPECT_EQ(f->truth("dry"), true);
  EXPECT_EQ(f->texts("words", 3)->size(), 2U);
  EXPECT_EQ(f->date("on"), "2026-11-29");
  EXPECT_EQ(f->one_of("at", {"nave", "bench"}), "bench");
  EXPECT_TRUE(f->is_null("none"));
  EXPECT_FALSE(f->text("absent"));
  auto answers = f->table("answers");
  EXPECT_EQ(answers->whole("manual_notes", 1, 100), 56);
  EXPECT_TRUE(answers->finish());
  auto items = f->tables("items", 5);
  ASSERT_EQ(items->size(), 2U);
  EXPECT_EQ((*items)[1].required("kind"), "psalm");
  EXPECT_TRUE(f->finish());
}

TEST(Fields, ReadsAQuery) {
  auto f = Fields::of_query({{"tempo", "72"}, {"all", "true"}, {"bass", "feet"}, {"wrong", "7x"}});
  EXPECT_EQ(f.number("tempo", 10, 400), 72);
  EXPECT_EQ(f.truth("all"), true);
  EXPECT_EQ(f.one_of("bass", {"feet"}), "feet");
  EXPECT_TRUE(f.finish().error().message.find("wrong") != std::string::npos);  // nobody asked for it
  EXPECT_FALSE(f.number("wrong", 0, 10));
  EXPECT_THAT(f.finish().error().message, HasSubstr("from 0 to 10"));
}

TEST(Fields, TheFirstFaultIsToldWithItsPlace) {
  const auto fault = [](const char* body, auto&& ask) {
    auto f = Fields::of_body(body);
    EXPECT_TRUE(f) << body;
    ask(*f);
    const auto right = f->finish();
    return right ? std::string{} : right.error().where + ": " + right.error().message;
  };
  EXPECT_EQ(fault("{}", [](Fields& f) { (void)f.required("draw"); }), "draw: 'draw' is missing.");
  EXPECT_EQ(fault(R"({"a":1})", [](Fields& f) { (void)f.text("a"); }), "a: 'a' is text.");
  EXPECT_EQ(fault(R"({"a":"xyz"})", [](Fields& f) { (void)f.text("a", 2); }), "a: 'a' is longer than 2 letters.");
  EXPECT_THAT(fault("{\"a\":\"x\\u0000y\"}", [](Fields& f) { (void)f.text("a"); }), HasSubstr("no text"));
  EXPECT_THAT(fault(R"({"a":"72"})", [](Fields& f) { (void)f.number("a", 0, 9); }), HasSubstr("a number from 0 to 9"));
  EXPECT_THAT(fault(R"({"a":10})", [](Fields& f) { (void)f.number("a", 0, 9); }), HasSubstr("a number from 0 to 9"));
  EXPECT_THAT(fault(R"({"a":1.5})", [](Fields& f) { (void)f.whole("a", 0, 9); }), HasSubstr("whole number"));
  EXPECT_THAT(fault(R"({"a":1})", [](Fields& f) { (void)f.truth("a"); }), HasSubstr("true or false"));
  EXPECT_THAT(fault(R"({"a":"2026-02-30"})", [](Fields& f) { (void)f.date("a"); }), HasSubstr("no date"));
  EXPECT_THAT(fault(R"({"a":"loft"})",
                    [](Fields& f) {
                      (void)f.one_of("a", {"nave", "bench"});
                    }),
              HasSubstr("nave, bench"));
  EXPECT_THAT(fault(R"({"a":["x",1]})", [](Fields& f) { (void)f.texts("a", 5); }), HasSubstr("at most 5 texts"));
  EXPECT_THAT(fault(R"({"a":["x","y"]})", [](Fields& f) { (void)f.texts("a", 1); }), HasSubstr("at most 1 texts"));
  for (const char* bad : {R"({"a":["1"]})", R"({"a":[1.5]})", R"({"a":[1,2,3]})", R"({"a":7})", "{}"}) {
    EXPECT_THAT(fault(bad, [](Fields& f) { (void)f.wholes("a", 2); }), HasSubstr("at most 2 whole numbers")) << bad;
  }
  EXPECT_EQ(Fields::of_body(R"({"a":[7,-8]})")->wholes("a", 2), (std::vector<std::int64_t>{7, -8}));
  EXPECT_THAT(fault(R"({"a":[]})", [](Fields& f) { (void)f.table("a"); }), HasSubstr("is an object"));
  EXPECT_THAT(fault(R"({"a":[1]})", [](Fields& f) { (void)f.tables("a", 5); }), HasSubstr("objects"));
  EXPECT_EQ(fault(R"({"draws":1})", [](Fields& f) { (void)f.text("draw"); }),
            "draws: 'draws' is not known here; perhaps \"draw\".");
  auto outer = Fields::of_body(R"({"items":[{"kind":"hymn"},{"kind":3}]})");
  auto items = outer->tables("items", 5);
  (void)(*items)[1].text("kind");
  EXPECT_EQ((*items)[1].finish().error().where, "items[1].kind");
}

// Found by fields_fuzz: "=x" in an address has no name, and was refused without a place.
TEST(Fields, WhatHasNoNameIsRefusedWithAPlace) {
  auto f = Fields::of_query({{"", "x"}});
  const auto no = f.finish();
  ASSERT_FALSE(no);
  EXPECT_FALSE(no.error().where.empty());
}

TEST(Fields, BodiesThatAreNone) {
  EXPECT_TRUE(Fields::of_body(""));
  for (const char* bad : {"[]", "7", "\"x\"", "null", "{", "{\"a\":}", "{\"a\":1}x", "{\"a\":\"\xff\"}", "{a:1}",
                          "{\"a\":1,}", "{\"a\":1,\"a\":2}", "{\"b\":{\"a\":1,\"a\":2}}", "{\"a\":1e999}"}) {
    EXPECT_FALSE(Fields::of_body(bad)) << bad;
  }
  // Nested so deeply that copying it would take the whole stack.
  EXPECT_FALSE(Fields::of_body("{\"a\":" + std::string(500000, '[') + std::string(500000, ']') + "}"));
  EXPECT_FALSE(Fields::of_body("{\"a\":" + std::string(500000, '[')));
}

}  // namespace
}  // namespace calcant::desk
