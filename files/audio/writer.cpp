#include "files/audio/writer.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <string>

#include "files/audio/limits.hpp"

namespace calcant {

Result<AudioFormat> audio_format_for(const std::filesystem::path& path) {
  std::string ending = path.extension().string();
  std::ranges::transform(ending, ending.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (ending == ".wav") return AudioFormat::wav;
  if (ending == ".flac") return AudioFormat::flac;
  return fail("sound is written as .wav or .flac; give the file one of these endings", path.string());
}

struct AudioWriter::State {
  std::filesystem::path target;
  std::string temporary;
  int descriptor = -1;
  SNDFILE* file = nullptr;
  int rate = 0;
  int channels = 0;
  std::int64_t frames = 0;
  std::int64_t clipped = 0;

  State() = default;
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() {
    if (file != nullptr) sf_close(file);
    if (descriptor >= 0) ::close(descriptor);
    if (!temporary.empty()) ::unlink(temporary.c_str());
  }
};

AudioWriter::AudioWriter(std::unique_ptr<State> state) : state_(std::move(state)) {}
AudioWriter::AudioWriter(AudioWriter&&) noexcept = default;
AudioWriter& AudioWriter::operator=(AudioWriter&&) noexcept = default;
AudioWriter::~AudioWriter() = default;

Result<AudioWriter> AudioWriter::create(const std::filesystem::path& path, AudioFormat format, int rate, int channels,
                                        const std::string& comment) {
  auto s = std::make_unique<State>();
  s->target = path;
  s->rate = rate;
  s->channels = channels;
  const std::string where = path.string();
  if (rate < audio::lowest_rate || rate > audio::highest_rate)
    return fail(fmt::format("cannot be written with {} samples a second; {} to {} are", rate, audio::lowest_rate,
                            audio::highest_rate),
                where);
  if (channels < 1 || channels > audio::most_channels_written)
    return fail(fmt::format("cannot be written with {} channels; 1 to {} are", channels, audio::most_channels_written),
                where);
  struct stat about {};
  if (::stat(path.c_str(), &about) == 0 && !S_ISREG(about.st_mode))
    return fail("is there already and is not an ordinary file; give another name", where);
  if (path.filename().empty()) return fail("has no file name; give one ending in .wav or .flac", where);

  std::string name;
  for (int n = 0; s->descriptor < 0; ++n) {
    name = (path.parent_path() / fmt::format(".{}.{}-{}.part", path.filename().string(), ::getpid(), n)).string();
    s->descriptor = ::open(name.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (s->descriptor < 0 && (errno != EEXIST || n > 999))
      return fail(fmt::format("cannot be written there: {}", std::strerror(errno)), where);
  }
  s->temporary = name;

  SF_INFO info{};
  info.samplerate = rate;
  info.channels = channels;
  info.format = (format == AudioFormat::wav ? SF_FORMAT_RF64 : SF_FORMAT_FLAC) | SF_FORMAT_PCM_24;
  s->file = sf_open_fd(s->descriptor, SFM_WRITE, &info, SF_FALSE);
  if (s->file == nullptr) return fail(fmt::format("cannot be written: {}", sf_strerror(nullptr)), where);
  // RF64 that turned out small enough is closed as plain WAV.
  if (format == AudioFormat::wav) sf_command(s->file, SFC_RF64_AUTO_DOWNGRADE, nullptr, SF_TRUE);
  sf_command(s->file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
  if (!comment.empty()) sf_set_string(s->file, SF_STR_COMMENT, comment.c_str());
  return AudioWriter(std::move(s));
}

Result<void> AudioWriter::write(std::span<const float> samples) {
  State& s = *state_;
  const auto frames = static_cast<std::int64_t>(samples.size()) / s.channels;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (!std::isfinite(samples[i]))
      return fail(fmt::format("sample {} is not a number and cannot be written",
                              s.frames * s.channels + static_cast<std::int64_t>(i)),
                  s.target.string());
    if (std::fabs(samples[i]) > 1.0F) ++s.clipped;
  }
  if ((s.frames + frames) / s.rate > audio::most_seconds)
    return fail("would be longer than 24 hours; write it in parts", s.target.string());
  if (sf_writef_float(s.file, samples.data(), frames) != frames)
    return fail(fmt::format("cannot be written on: {}; what was there before is unchanged",
                            errno != 0 ? std::strerror(errno) : sf_strerror(s.file)),
                s.target.string());
  s.frames += frames;
  return {};
}

std::int64_t AudioWriter::clipped() const { return state_->clipped; }

Result<void> AudioWriter::finish() {
  State& s = *state_;
  const auto refuse = [&](std::string_view why) {
    return fail(fmt::format("cannot be finished: {}; what was there before is unchanged", why), s.target.string());
  };
  if (s.file == nullptr) return fail("was finished already", s.target.string());
  const int closed = sf_close(s.file);
  s.file = nullptr;
  if (closed != 0) return refuse(sf_error_number(closed));
  if (::fsync(s.descriptor) != 0) return refuse(std::strerror(errno));
  if (::rename(s.temporary.c_str(), s.target.c_str()) != 0) return refuse(std::strerror(errno));
  s.temporary.clear();
  // The name is safe only when its folder is; a file system without folder sync is no fault of the sound.
  const std::filesystem::path parent = s.target.parent_path().empty() ? "." : s.target.parent_path();
  if (const int folder = ::open(parent.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC); folder >= 0) {
    ::fsync(folder);
    ::close(folder);
  }
  return {};
}

Result<void> write_audio(const std::filesystem::path& path, int rate, int channels, std::span<const float> samples) {
  const auto format = audio_format_for(path);
  if (!format) return tl::make_unexpected(format.error());
  auto writer = AudioWriter::create(path, *format, rate, channels);
  if (!writer) return tl::make_unexpected(writer.error());
  if (const auto written = writer->write(samples); !written) return written;
  return writer->finish();
}

}  // namespace calcant
