// Packed scores (.mxl): what they hold, and what of them is never done.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <zlib.h>

#include <string>
#include <vector>

#include "files/musicxml/limits.hpp"
#include "files/musicxml/musicxml.hpp"

namespace calcant {
namespace {

using testing::HasSubstr;

std::string little(std::size_t v, int size) {
  std::string s;
  for (int i = 0; i < size; ++i) s += static_cast<char>(v >> (8 * i) & 0xFF);
  return s;
}

struct File {
  std::string name;
  std::string content;
  bool deflated = false;
  int flags = 0;
};

std::string raw_deflate(const std::string& data) {
  z_stream z{};
  EXPECT_EQ(deflateInit2(&z, 9, Z_DEFLATED, -MAX_WBITS, 9, Z_DEFAULT_STRATEGY), Z_OK);
  std::string in = data;
  std::string out(deflateBound(&z, in.size()), '\0');
  z.next_in = reinterpret_cast<Bytef*>(in.data());
  z.avail_in = static_cast<uInt>(in.size());
  z.next_out = reinterpret_cast<Bytef*>(out.data());
  z.avail_out = static_cast<uInt>(out.size());
  EXPECT_EQ(deflate(&z, Z_FINISH), Z_STREAM_END);
  out.resize(out.size() - z.avail_out);
  deflateEnd(&z);
  return out;
}

std::string packed(const std::vector<File>& files) {
  std::string body;
  std::string directory;
  for (const File& f : files) {
    const std::string data = f.deflated ? raw_deflate(f.content) : f.content;
    const std::string sizes = little(0, 4) + little(data.size(), 4) + little(f.content.size(), 4);
    const std::string common = little(20, 2) + little(static_cast<std::size_t>(f.flags), 2) +
                               little(f.deflated ? 8 : 0, 2) + little(0, 4) + sizes + little(f.name.size(), 2) +
                               little(0, 2);
    directory += std::string("PK\1\2") + little(20, 2) + common + little(0, 2) + little(0, 2) + little(0, 2) +
                 little(0, 4) + little(body.size(), 4) + f.name;
    body += std::string("PK\3\4") + common + f.name + data;
  }
  return body + directory + "PK\5\6" + little(0, 4) + little(files.size(), 2) + little(files.size(), 2) +
         little(directory.size(), 4) + little(body.size(), 4) + little(0, 2);
}

const std::string music =
    "<score-partwise><part-list/><part id=\"P1\"><measure number=\"1\"><note><pitch><step>C</step>"
    "<octave>4</octave></pitch><duration>1</duration></note></measure></part></score-partwise>";
File container(const std::string& path) {
  return {"META-INF/container.xml",
          fmt::format("<container><rootfiles><rootfile full-path=\"{}\"/><rootfile full-path="
                      "\"other.pdf\" media-type=\"application/pdf\"/></rootfiles></container>",
                      path)};
}

std::string refusal(const std::string& bytes) {
  const auto s = read_musicxml(bytes, "p.mxl");
  EXPECT_FALSE(s);
  return s ? std::string{} : sentence(s.error());
}

TEST(Packed, TheFirstRootFileIsTheMusic) {
  const auto s =
      read_musicxml(packed({container("music/a.xml"), {"other.pdf", "%PDF"}, {"music/a.xml", music, true}}), "p.mxl");
  ASSERT_TRUE(s) << sentence(s.error());
  EXPECT_EQ(s->notes.size(), 1U);
}

TEST(Packed, WithoutContainerTheOnlyScoreIsTaken) {
  const auto s = read_musicxml(packed({{"a.musicxml", music}}), "p.mxl");
  ASSERT_TRUE(s);
  EXPECT_THAT(s->remarks.front(), HasSubstr("a.musicxml"));
}

TEST(Packed, RefusesWhatLeadsOutIsLockedOrBroken) {
  EXPECT_THAT(refusal(packed({container("../a.xml"), {"../a.xml", music}})), HasSubstr("leads out"));
  EXPECT_THAT(refusal(packed({{"/etc/a.xml", music}})), HasSubstr("leads out"));
  EXPECT_THAT(refusal(packed({{"a\\b.xml", music}})), HasSubstr("leads out"));
  EXPECT_THAT(refusal(packed({{"a.xml", music, false, 1}})), HasSubstr("password"));
  EXPECT_THAT(refusal(packed({container("gone.xml")})), HasSubstr("does not hold it"));
  EXPECT_THAT(refusal(packed({{"readme.txt", "x"}})), HasSubstr("no music"));
  const std::string good = packed({{"a.xml", music, true}});
  EXPECT_THAT(refusal(good.substr(0, good.size() - 30)), HasSubstr("damaged"));
  std::string bent = good;
  bent[40] = static_cast<char>(bent[40] ^ 0x55);
  EXPECT_THAT(refusal(bent), HasSubstr("p.mxl"));
}

TEST(Packed, UnpackingIsBounded) {
  // 60 MB of blanks pack to 60 kB: within the size that is read, but no score packs a thousandfold.
  const std::string bomb = packed({{"a.xml", std::string(60U << 20, ' '), true}});
  EXPECT_LT(bomb.size(), 100'000U);
  EXPECT_THAT(refusal(bomb), HasSubstr("unpacks to more than"));
  std::vector<File> many(musicxml::most_entries + 1, File{"a.xml", "x"});
  EXPECT_THAT(refusal(packed(many)), HasSubstr("at most"));
}

}  // namespace
}  // namespace calcant
