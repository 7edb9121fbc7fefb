#include "files/musicxml/archive.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <cstdint>

#include "files/musicxml/limits.hpp"

namespace calcant::musicxml {
namespace {

// Little-endian numbers; 0 beyond the end.
std::size_t number(std::string_view bytes, std::size_t at, int size) {
  if (at > bytes.size() || bytes.size() - at < static_cast<std::size_t>(size)) return 0;
  std::size_t v = 0;
  for (int i = size - 1; i >= 0; --i) v = v << 8 | static_cast<unsigned char>(bytes[at + static_cast<std::size_t>(i)]);
  return v;
}

constexpr std::size_t end_size = 22;
constexpr std::size_t directory_size = 46;
constexpr std::size_t local_size = 30;

bool bad_name(const std::string& name) {
  if (name.empty() || name.front() == '/' || name.find('\\') != std::string::npos) return true;
  if (name.find('\0') != std::string::npos) return true;
  return name == ".." || name.rfind("../", 0) == 0 || name.find("/../") != std::string::npos ||
         (name.size() > 2 && name.compare(name.size() - 3, 3, "/..") == 0);
}

}  // namespace

bool is_archive(std::string_view bytes) { return bytes.substr(0, 2) == "PK"; }

Result<std::vector<Entry>> entries(std::string_view archive) {
  const auto broken = [] { return fail("the packed score is damaged: its list of contents cannot be read"); };
  // The end record stands last, before a comment of at most 65535 bytes.
  if (archive.size() < end_size) return broken();
  std::size_t end = std::string_view::npos;
  const std::size_t furthest = archive.size() - end_size;
  for (std::size_t back = 0; back <= 65535 && back <= furthest; ++back) {
    if (archive.substr(furthest - back, 4) == std::string_view("PK\5\6", 4)) {
      end = furthest - back;
      break;
    }
  }
  if (end == std::string_view::npos) return broken();
  const std::size_t count = number(archive, end + 10, 2);
  std::size_t at = number(archive, end + 16, 4);
  if (count > most_entries) {
    return fail(fmt::format("the packed score holds {} files; at most {} are read", count, most_entries));
  }
  std::vector<Entry> list;
  for (std::size_t i = 0; i < count; ++i) {
    if (at > archive.size() || archive.substr(at, 4) != std::string_view("PK\1\2", 4)) return broken();
    Entry e;
    e.locked = (number(archive, at + 8, 2) & 1) != 0;
    e.method = static_cast<int>(number(archive, at + 10, 2));
    e.packed = number(archive, at + 20, 4);
    e.unpacked = number(archive, at + 24, 4);
    const std::size_t name = number(archive, at + 28, 2);
    e.header = number(archive, at + 42, 4);
    if (archive.size() - at < directory_size + name) return broken();
    e.name = std::string(archive.substr(at + directory_size, name));
    if (bad_name(e.name)) return fail("the packed score holds a file whose name leads out of it; it is not read");
    at += directory_size + name + number(archive, at + 30, 2) + number(archive, at + 32, 2);
    list.push_back(std::move(e));
  }
  return list;
}

Result<std::string> unpacked(std::string_view archive, const Entry& entry) {
  const auto broken = [&] { return fail(fmt::format("\"{}\" in the packed score is damaged", entry.name)); };
  if (entry.locked) return fail("the packed score is locked with a password; save it without one");
  if (entry.method != 0 && entry.method != 8) {
    return fail(
        fmt::format("\"{}\" is packed by method {}, which .mxl does not use; save it again", entry.name, entry.method));
  }
  if (entry.header > archive.size() || archive.substr(entry.header, 4) != std::string_view("PK\3\4", 4))
    return broken();
  const std::size_t from =
      entry.header + local_size + number(archive, entry.header + 26, 2) + number(archive, entry.header + 28, 2);
  if (from > archive.size() || archive.size() - from < entry.packed) return broken();
  const std::string_view packed = archive.substr(from, entry.packed);
  if (entry.method == 0) {
    if (packed.size() > most_bytes) return fail("the packed score is too large");
    return std::string(packed);
  }
  const std::size_t most = std::min(most_bytes, (std::size_t{1} << 20) + packed.size() * most_ratio);
  z_stream stream{};
  if (inflateInit2(&stream, -MAX_WBITS) != Z_OK) return broken();
  // zlib does not write through next_in; its type is older than const.
  stream.next_in = const_cast<Bytef*>(reinterpret_cast<const Bytef*>(packed.data()));
  stream.avail_in = static_cast<uInt>(packed.size());
  std::string out;
  int state = Z_OK;
  while (state == Z_OK && out.size() <= most) {
    const std::size_t had = out.size();
    out.resize(had + 65536);
    stream.next_out = reinterpret_cast<Bytef*>(out.data() + had);
    stream.avail_out = 65536;
    state = inflate(&stream, Z_NO_FLUSH);
    out.resize(out.size() - stream.avail_out);
    if (state == Z_BUF_ERROR) break;
  }
  inflateEnd(&stream);
  if (out.size() > most) {
    return fail(fmt::format("\"{}\" unpacks to more than {} MB; no score is that large", entry.name, most >> 20));
  }
  if (state != Z_STREAM_END) return broken();
  return out;
}

}  // namespace calcant::musicxml
