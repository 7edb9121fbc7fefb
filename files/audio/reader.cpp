#include "files/audio/reader.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <cmath>
#include <cstring>

#include "files/audio/limits.hpp"

namespace calcant {

namespace {

// Beyond this no converter and no honest float file reaches (full scale is 1; some write 32768).
constexpr float absurd = 1e6F;
// libsndfile gives a frame count near 2^63 for streams whose length is not known.
constexpr std::int64_t unknown_above = std::int64_t{1} << 48;

std::string type_name(int format) {
  switch (format & SF_FORMAT_TYPEMASK) {
    case SF_FORMAT_WAV:
    case SF_FORMAT_WAVEX: return "WAV";
    case SF_FORMAT_RF64: return "RF64 WAV";
    case SF_FORMAT_W64: return "W64";
    case SF_FORMAT_AIFF: return "AIFF";
    case SF_FORMAT_FLAC: return "FLAC";
    case SF_FORMAT_OGG: return "Ogg";
    default: return {};
  }
}

std::string coding_name(int format) {
  switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8: return ", 8 bit";
    case SF_FORMAT_PCM_16: return ", 16 bit";
    case SF_FORMAT_PCM_24: return ", 24 bit";
    case SF_FORMAT_PCM_32: return ", 32 bit";
    case SF_FORMAT_FLOAT: return ", 32-bit float";
    case SF_FORMAT_DOUBLE: return ", 64-bit float";
    case SF_FORMAT_VORBIS: return " Vorbis";
    case SF_FORMAT_OPUS: return " Opus";
    default: return ", coded";
  }
}

bool is_lossless(int format) {
  switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
    case SF_FORMAT_PCM_16:
    case SF_FORMAT_PCM_24:
    case SF_FORMAT_PCM_32:
    case SF_FORMAT_FLOAT:
    case SF_FORMAT_DOUBLE: return true;
    default: return false;
  }
}

bool ending_fits(const std::string& ending, int format) {
  switch (format & SF_FORMAT_TYPEMASK) {
    case SF_FORMAT_W64: return ending == ".w64" || ending == ".wav";
    case SF_FORMAT_RF64: return ending == ".wav" || ending == ".rf64";
    case SF_FORMAT_AIFF: return ending == ".aif" || ending == ".aiff" || ending == ".aifc";
    case SF_FORMAT_FLAC: return ending == ".flac";
    case SF_FORMAT_OGG: return ending == ".ogg" || ending == ".oga" || ending == ".opus";
    default: return ending == ".wav" || ending == ".wave" || ending == ".bwf";
  }
}

}  // namespace

struct AudioReader::State {
  std::string where;
  std::string ending;
  int descriptor = -1;
  SNDFILE* file = nullptr;
  SF_INFO info{};
  std::int64_t position = 0;
  bool ended = false;
  AudioFaults faults{};

  State() = default;
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() {
    if (file != nullptr) sf_close(file);
    if (descriptor >= 0) ::close(descriptor);
  }
};

AudioReader::AudioReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
AudioReader::AudioReader(AudioReader&&) noexcept = default;
AudioReader& AudioReader::operator=(AudioReader&&) noexcept = default;
AudioReader::~AudioReader() = default;

Result<AudioReader> AudioReader::open(const std::filesystem::path& path) {
  auto s = std::make_unique<State>();
  s->where = path.string();
  s->ending = path.extension().string();
  std::ranges::transform(s->ending, s->ending.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });

  // Not blocking, so that a named pipe without a writer is refused below instead of waited for.
  s->descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (s->descriptor < 0) return fail(fmt::format("cannot be opened: {}", std::strerror(errno)), s->where);
  struct stat about {};
  if (::fstat(s->descriptor, &about) != 0 || !S_ISREG(about.st_mode))
    return fail("is not an ordinary file; a recording must be a WAV, FLAC or Ogg file on the disk", s->where);
  if (about.st_size == 0)
    return fail("is empty: the recorder has written nothing into it; copy the recording again", s->where);

  s->file = sf_open_fd(s->descriptor, SFM_READ, &s->info, SF_FALSE);
  if (s->file == nullptr)
    return fail(
        fmt::format("is not a recording that can be read ({}); WAV, FLAC or Ogg is needed", sf_strerror(nullptr)),
        s->where);
  if (type_name(s->info.format).empty())
    return fail("is a sound file, but not WAV, FLAC or Ogg; save it as one of these", s->where);
  if (s->info.channels < 1 || s->info.channels > audio::most_channels_read)
    return fail(fmt::format("has {} channels; 1 to {} are read", s->info.channels, audio::most_channels_read),
                s->where);
  if (s->info.samplerate < audio::lowest_rate || s->info.samplerate > audio::highest_rate)
    return fail(fmt::format("says {} samples a second; {} to {} are read", s->info.samplerate, audio::lowest_rate,
                            audio::highest_rate),
                s->where);
  if (s->info.frames == 0) return fail("holds no sound: its length is nought", s->where);
  if (s->info.frames < unknown_above && s->info.frames / s->info.samplerate > audio::most_seconds)
    return fail("is longer than 24 hours; cut it into shorter recordings", s->where);
  return AudioReader(std::move(s));
}

int AudioReader::rate() const { return state_->info.samplerate; }
int AudioReader::channels() const { return state_->info.channels; }

std::optional<std::int64_t> AudioReader::frames() const {
  if (state_->info.frames < 0 || state_->info.frames >= unknown_above) return std::nullopt;
  return state_->info.frames;
}

std::string AudioReader::format() const { return type_name(state_->info.format) + coding_name(state_->info.format); }

bool AudioReader::lossy() const { return !is_lossless(state_->info.format); }

std::optional<std::string> AudioReader::mislabelled() const {
  if (ending_fits(state_->ending, state_->info.format)) return std::nullopt;
  return fmt::format("{}: is named \"{}\" but holds {}; it was read as what it holds", state_->where, state_->ending,
                     format());
}

Result<std::int64_t> AudioReader::read(std::span<float> samples) {
  State& s = *state_;
  const auto wanted = static_cast<std::int64_t>(samples.size()) / s.info.channels;
  if (s.ended || wanted == 0) return 0;
  const std::int64_t got = std::max<std::int64_t>(0, sf_readf_float(s.file, samples.data(), wanted));
  if (got < wanted) {
    s.ended = true;
    if (const int error = sf_error(s.file); error != SF_ERR_NO_ERROR && s.position + got == 0)
      return fail(fmt::format("is damaged and gives no sound ({})", sf_error_number(error)), s.where);
    if (const auto promised = frames())
      s.faults.missing_frames = std::max<std::int64_t>(0, *promised - s.position - got);
    if (s.position + got == 0) return fail("holds no sound, though its header promises some", s.where);
  }
  for (std::int64_t i = 0; i < got * s.info.channels; ++i) {
    float& x = samples[static_cast<std::size_t>(i)];
    if (std::isfinite(x) && std::fabs(x) <= absurd) continue;
    x = 0.0F;
    ++s.faults.not_numbers;
    if (!s.faults.first_at)
      s.faults.first_at = Seconds{static_cast<double>(s.position + i / s.info.channels) / s.info.samplerate};
  }
  s.position += got;
  if (s.position / s.info.samplerate > audio::most_seconds)
    return fail("goes on beyond 24 hours; cut it into shorter recordings", s.where);
  return got;
}

Result<void> AudioReader::seek(std::int64_t frame) {
  State& s = *state_;
  if (frame == s.position && !s.ended) return {};
  if (const auto all = frames(); all && frame >= *all) {
    s.ended = true;
    return {};
  }
  if (frame < 0 || sf_seek(s.file, frame, SEEK_SET) != frame)
    return fail(fmt::format("cannot be wound to {:.1f} s", static_cast<double>(frame) / s.info.samplerate), s.where);
  s.position = frame;
  s.ended = false;
  return {};
}

const AudioFaults& AudioReader::faults() const { return state_->faults; }

}  // namespace calcant
