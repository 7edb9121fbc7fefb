#include "files/midi/events.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <deque>
#include <map>

namespace calcant::midi {
namespace {

class Bytes {
 public:
  explicit Bytes(std::string_view data) : data_(data) {}
  [[nodiscard]] bool done() const { return at_ >= data_.size(); }
  [[nodiscard]] bool failed() const { return failed_; }
  [[nodiscard]] std::size_t left() const { return data_.size() - at_; }

  int byte() {
    if (done()) {
      failed_ = true;
      return 0;
    }
    return static_cast<unsigned char>(data_[at_++]);
  }
  [[nodiscard]] int peek() const { return done() ? -1 : static_cast<unsigned char>(data_[at_]); }
  std::uint32_t big(int size) {
    std::uint32_t v = 0;
    for (int i = 0; i < size; ++i) v = v << 8 | static_cast<std::uint32_t>(byte());
    return v;
  }
  // A number of up to four bytes of seven bits.
  std::uint32_t variable() {
    std::uint32_t v = 0;
    for (int i = 0; i < 4; ++i) {
      const int b = byte();
      v = v << 7 | static_cast<std::uint32_t>(b & 0x7F);
      if (b < 0x80) return v;
    }
    failed_ = true;
    return v;
  }
  // As many bytes as there are, at most `size`.
  std::string_view take(std::size_t size) {
    if (size > left()) failed_ = true;
    const std::string_view part = data_.substr(at_, size);
    at_ += part.size();
    return part;
  }

 private:
  std::string_view data_;
  std::size_t at_ = 0;
  bool failed_ = false;
};

// Names are Latin-1 by custom, UTF-8 of late.
std::string utf8(std::string_view text) {
  bool valid = true;
  for (std::size_t i = 0; i < text.size() && valid;) {
    const auto c = static_cast<unsigned char>(text[i]);
    const std::size_t more = c < 0x80 ? 0 : c >= 0xC2 && c < 0xE0 ? 1 : c >= 0xE0 && c < 0xF0 ? 2 : 9;
    valid = more < 9 && text.size() - i > more;
    for (std::size_t k = 1; valid && k <= more; ++k) valid = (static_cast<unsigned char>(text[i + k]) & 0xC0) == 0x80;
    i += more + 1;
  }
  std::string out;
  for (const char ch : text) {
    const auto c = static_cast<unsigned char>(ch);
    if (c < ' ') out += ' ';
    else if (valid || c < 0x80) out += ch;
    else {
      out += static_cast<char>(0xC0 | c >> 6);
      out += static_cast<char>(0x80 | (c & 0x3F));
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

class TrackReader {
 public:
  TrackReader(std::string_view data, std::int64_t begin, File& file) : in_(data), now_(begin), file_(file) {}

  Track go() {
    int status = 0;
    bool ended = false;
    while (!in_.done() && !ended) {
      now_ += in_.variable();
      if (in_.peek() >= 0x80) status = in_.byte();
      if (in_.failed() || status == 0) {
        file_.cut_off = true;
        break;
      }
      if (status == 0xFF) ended = meta();
      else if (status >= 0xF0) in_.take(in_.variable());
      else channel(status);
      // Meta events and system messages end the running status.
      if (status >= 0xF0) status = 0;
    }
    if (in_.failed()) file_.cut_off = true;
    for (auto& [where, starts] : sounding_) {
      for (const std::int64_t from : starts) {
        ++file_.unended;
        if (now_ > from) track_.notes.push_back({from, now_, where.first, where.second});
      }
    }
    track_.end = now_;
    return std::move(track_);
  }

 private:
  // Whether it was the end of the track.
  bool meta() {
    const int type = in_.byte();
    const std::string_view data = in_.take(in_.variable());
    const auto byte = [&](std::size_t i) { return i < data.size() ? static_cast<unsigned char>(data[i]) : 0; };
    if (type == 0x2F) return true;
    if (type == 0x03 && track_.name.empty()) track_.name = utf8(data.substr(0, 200));
    if (type == 0x51 && data.size() >= 3) {
      const int micro = byte(0) << 16 | byte(1) << 8 | byte(2);
      if (micro > 0) file_.tempos.push_back({now_, micro});
    }
    if (type == 0x58 && data.size() >= 2 && byte(0) > 0 && byte(1) <= 8) {
      file_.times.push_back({now_, byte(0), 1 << byte(1)});
    }
    if (type == 0x59 && data.size() >= 2) {
      const int fifths = static_cast<signed char>(byte(0));
      if (fifths >= -7 && fifths <= 7) file_.keys.push_back({now_, fifths});
    }
    return false;
  }

  void channel(int status) {
    const int kind = status >> 4;
    const int first = in_.byte();
    if (kind == 0xC || kind == 0xD) return;
    const int second = in_.byte();
    if (in_.failed() || (kind != 0x8 && kind != 0x9)) return;
    const std::pair<int, int> where{status & 0xF, first & 0x7F};
    auto& starts = sounding_[where];
    if (kind == 0x9 && second > 0) {
      if (!starts.empty()) ++file_.overlapping;
      starts.push_back(now_);
      return;
    }
    if (starts.empty()) return;
    if (now_ > starts.front()) track_.notes.push_back({starts.front(), now_, where.first, where.second});
    starts.pop_front();
  }

  Bytes in_;
  std::int64_t now_;
  File& file_;
  Track track_;
  std::map<std::pair<int, int>, std::deque<std::int64_t>> sounding_;
};

}  // namespace

Result<File> events(std::string_view bytes, std::string_view filename) {
  const std::string where(filename);
  if (bytes.size() > most_bytes) {
    return fail(fmt::format("the file has {} MB; no MIDI file of a piece needs more than {}", bytes.size() >> 20,
                            most_bytes >> 20),
                where);
  }
  // Some programs wrap the file once more.
  if (bytes.size() > 20 && bytes.substr(0, 4) == "RIFF" && bytes.substr(8, 4) == "RMID") bytes.remove_prefix(20);
  Bytes in(bytes);
  if (in.take(4) != "MThd") return fail("this is no Standard MIDI file: it does not begin with MThd", where);
  const std::uint32_t head = in.big(4);
  Bytes header(in.take(head));
  if (head < 6 || in.failed()) return fail("the MIDI file ends within its first few bytes", where);
  File file;
  file.format = static_cast<int>(header.big(2));
  header.big(2);
  const auto division = static_cast<int>(header.big(2));
  if (file.format > 2)
    return fail(fmt::format("MIDI files of format {} are not known; 0, 1 and 2 are", file.format), where);
  if ((division & 0x8000) != 0) {
    const int frames = 256 - (division >> 8);
    const int ticks = division & 0xFF;
    if (ticks == 0 || (frames != 24 && frames != 25 && frames != 29 && frames != 30)) {
      return fail("the MIDI file counts time in frames that no standard knows", where);
    }
    // 29 stands for 29.97 frames a second. Half a second is a quarter.
    const Rational second_a_frame = frames == 29 ? Rational{1001, 30000} : Rational{1, frames};
    file.quarters_a_tick = second_a_frame * Rational{2, ticks};
    file.clock_time = true;
  } else {
    if (division == 0) return fail("the MIDI file gives 0 ticks to a quarter", where);
    file.quarters_a_tick = Rational{1, division};
  }
  std::int64_t begin = 0;
  std::size_t notes = 0;
  while (in.left() >= 8) {
    const std::string_view kind = in.take(4);
    const std::uint32_t size = in.big(4);
    if (size > in.left()) file.cut_off = true;
    const std::string_view data = in.take(size);
    if (kind != "MTrk") continue;
    if (static_cast<int>(file.tracks.size()) == most_tracks) {
      return fail(fmt::format("the MIDI file has more than {} tracks", most_tracks), where);
    }
    file.tracks.push_back(TrackReader(data, begin, file).go());
    notes += file.tracks.back().notes.size();
    if (notes > most_notes) return fail(fmt::format("the MIDI file has more than {} notes", most_notes), where);
    if (file.format == 2) begin = file.tracks.back().end;
  }
  if (file.tracks.empty()) return fail("the MIDI file has no tracks", where);
  return file;
}

}  // namespace calcant::midi
