#include "desk/pages.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "jobs/sha256.hpp"

namespace calcant::desk {
namespace {

constexpr std::array<std::pair<std::string_view, std::string_view>, 15> types{
    {{".html", "text/html; charset=utf-8"},
     {".js", "text/javascript; charset=utf-8"},
     {".mjs", "text/javascript; charset=utf-8"},
     {".css", "text/css; charset=utf-8"},
     {".svg", "image/svg+xml"},
     {".png", "image/png"},
     {".ico", "image/x-icon"},
     {".woff2", "font/woff2"},
     {".wasm", "application/wasm"},
     {".json", "application/json"},
     {".webmanifest", "application/manifest+json"},
     {".txt", "text/plain; charset=utf-8"},
     {".map", "application/json"},
     {".xml", "application/xml"},
     {".musicxml", "application/vnd.recordare.musicxml+xml"}}};

std::string_view type_of(std::string_view name) {
  for (const auto& [ending, type] : types) {
    if (name.ends_with(ending)) return type;
  }
  return "application/octet-stream";
}

bool takes_gzip(const Head& head) {
  const std::string_view accepted = head.header("accept-encoding");
  return accepted.find("gzip") != std::string_view::npos;
}

// For programs that take nothing packed. The bytes are our own, so they are whole.
std::string unpacked(std::string_view gzip) {
  std::string out;
  z_stream z{};
  if (inflateInit2(&z, 16 + MAX_WBITS) != Z_OK) return out;
  z.next_in =
      reinterpret_cast<Bytef*>(const_cast<char*>(gzip.data()));  // zlib takes no const, and writes nothing there
  z.avail_in = static_cast<uInt>(gzip.size());
  std::array<char, 65536> block{};
  int status = Z_OK;
  while (status == Z_OK) {
    z.next_out = reinterpret_cast<Bytef*>(block.data());
    z.avail_out = static_cast<uInt>(block.size());
    status = inflate(&z, Z_NO_FLUSH);
    out.append(block.data(), block.size() - z.avail_out);
  }
  inflateEnd(&z);
  return out;
}

Response html(int status, std::string_view title, std::string_view text) {
  Response r;
  r.status = status;
  r.body = fmt::format(
      "<!doctype html>\n<html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width\">\n<title>{0}</title>\n<style>body{{font:18px/1.5 serif;max-width:34em;margin:4em "
      "auto;padding:0 1em}}</style>\n<h1>{0}</h1>\n<p>{1}</p>\n",
      title, text);
  r.headers = {{"Content-Type", "text/html; charset=utf-8"},
               {"Cache-Control", "no-store"},
               {"Content-Security-Policy", sheet_policy(r.body)}};
  return r;
}

}  // namespace

Response page_answer(std::span<const Page> pages, const std::vector<std::string>& path, const Head& head) {
  if (pages.empty()) {
    return html(
        200, "The desk's pages are not in this program",
        "It was built without them: <code>./run</code> builds them first (web/), and then the program. What the "
        "desk does can be had from the command line meanwhile: <code>calcant --help</code>.");
  }
  std::string name;
  for (const std::string& part : path) name += (name.empty() ? "" : "/") + part;
  const bool application = path.empty() || path.back().find('.') == std::string::npos;
  if (application) name = "index.html";
  const auto found = std::find_if(pages.begin(), pages.end(), [&](const Page& p) { return p.name == name; });
  if (found == pages.end()) return html(404, "There is no such page", "<a href=\"/\">To the desk</a>");

  Response r;
  const std::string tag = fmt::format("\"{}\"", sha256(found->gzip).substr(0, 16));
  r.headers = {{"Content-Type", std::string{type_of(name)}},
               {"Vary", "Accept-Encoding"},
               {"ETag", tag},
               {"Content-Security-Policy", std::string{page_policy}},
               {"Cache-Control", name.starts_with("assets/") ? "public, max-age=31536000, immutable" : "no-cache"}};
  if (head.header("if-none-match").find(tag) != std::string_view::npos) {
    r.status = 304;
    return r;
  }
  if (takes_gzip(head)) {
    r.headers.emplace_back("Content-Encoding", "gzip");
    r.fixed = found->gzip;
  } else {
    r.body = unpacked(found->gzip);
  }
  return r;
}

}  // namespace calcant::desk
