#include "jobs/room_response.hpp"

#include <fmt/format.h>
#include <samplerate.h>

#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "engine/sound/render.hpp"
#include "files/audio/reader.hpp"

namespace calcant {
namespace {

constexpr double longest_s = 30;
constexpr int lowest_rate = 16000;

using Channels = std::array<std::vector<float>, 2>;

Error too_long(const std::string& where) {
  return {fmt::format("this lasts more than {:.0f} seconds: it is no room's response but a recording", longest_s),
          where};
}

Result<Channels> read_channels(AudioReader& reader, const std::string& where) {
  const auto channels = static_cast<std::size_t>(reader.channels());
  const auto longest = static_cast<std::size_t>(longest_s * reader.rate());
  if (const auto frames = reader.frames(); frames && *frames > static_cast<std::int64_t>(longest)) {
    return tl::unexpected(too_long(where));
  }
  Channels out;
  std::vector<float> block(channels * 8192);
  for (;;) {
    const auto frames = reader.read(block);
    if (!frames) return tl::unexpected(frames.error());
    if (*frames == 0) break;
    for (std::size_t i = 0; i < static_cast<std::size_t>(*frames); ++i) {
      out[0].push_back(block[i * channels]);
      out[1].push_back(block[i * channels + (channels == 2 ? 1 : 0)]);
    }
    if (out[0].size() > longest) return tl::unexpected(too_long(where));
  }
  if (reader.faults().not_numbers > 0) {
    return fail(fmt::format("{} of its samples are no numbers; write the response again", reader.faults().not_numbers),
                where);
  }
  return out;
}

double energy(const std::vector<float>& x) {
  double sum = 0;
  for (const float v : x) sum += static_cast<double>(v) * v;
  return sum;
}

Result<std::vector<float>> resampled(const std::vector<float>& x, int rate, const std::string& where) {
  const double ratio = sample_rate_hz / rate;
  if (ratio == 1.0) return x;
  std::vector<float> out(static_cast<std::size_t>(static_cast<double>(x.size()) * ratio) + 64);
  SRC_DATA data{};
  data.data_in = x.data();
  data.data_out = out.data();
  data.input_frames = static_cast<long>(x.size());
  data.output_frames = static_cast<long>(out.size());
  data.src_ratio = ratio;
  if (src_simple(&data, SRC_SINC_MEDIUM_QUALITY, 1) != 0) {
    return fail("the response could not be brought to 48 kHz", where);
  }
  out.resize(static_cast<std::size_t>(data.output_frames_gen));
  return out;
}

}  // namespace

Result<RecordedResponse> read_recorded_response(const std::filesystem::path& path) {
  auto reader = AudioReader::open(path);
  if (!reader) return tl::unexpected(reader.error());
  auto channels = read_channels(*reader, path.string());
  if (!channels) return tl::unexpected(channels.error());
  return RecordedResponse{std::move((*channels)[0]), Hertz{static_cast<double>(reader->rate())}, reader->channels()};
}

Result<StereoResponse> read_room_response(const std::filesystem::path& path, const Field& field, Metres distance) {
  auto reader = AudioReader::open(path);
  if (!reader) return tl::unexpected(reader.error());
  const std::string where = path.string();
  if (reader->rate() < lowest_rate) {
    return fail(fmt::format("a room's response at {} samples a second has no treble; {} or more are wanted",
                            reader->rate(), lowest_rate),
                where);
  }
  const auto channels = read_channels(*reader, where);
  if (!channels) return tl::unexpected(channels.error());
  if (energy((*channels)[0]) + energy((*channels)[1]) < 1e-12) return fail("the response is silent", where);
  StereoResponse out;
  for (std::size_t ear = 0; ear < 2; ++ear) {
    auto at_48_kHz = resampled((*channels)[ear], reader->rate(), where);
    if (!at_48_kHz) return tl::unexpected(at_48_kHz.error());
    (ear == 0 ? out.left : out.right) = std::move(*at_48_kHz);
  }
  const double want = 4 * std::numbers::pi * decibels_to_power(field.transfer(Hertz{1000}, distance));
  const auto scale = static_cast<float>(std::sqrt(want / ((energy(out.left) + energy(out.right)) / 2)));
  for (auto* ear : {&out.left, &out.right}) {
    for (float& v : *ear) v *= scale;
  }
  return out;
}

}  // namespace calcant
