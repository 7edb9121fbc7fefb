#include "desk/handed_over.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "desk/fields.hpp"
#include "jobs/text_file.hpp"

namespace calcant::desk {
namespace {

namespace fs = std::filesystem;
constexpr std::string_view ending = ".measuring.json";
constexpr std::size_t note_limit = 16 * 1024;

fs::path note_of(const fs::path& recording) { return recording.string() + std::string{ending}; }

std::optional<HandedOver> read_note(const fs::path& note) {
  const auto text = read_text_file(note, note_limit);
  if (!text) return std::nullopt;
  auto fields = Fields::of_body(*text);
  if (!fields) return std::nullopt;
  HandedOver h;
  h.request.stop = fields->required("stop");
  h.request.sides = fields->truth("sides").value_or(false);
  h.request.close = fields->truth("close").value_or(false);
  h.request.place = fields->text_or("place", "");
  h.request.keep_on = fields->date("keep_on");
  if (const auto c = fields->number("temperature", -20, 50)) h.temperature = Celsius{*c};
  const std::string desk = fields->required("desk");
  if (!fields->finish()) return std::nullopt;
  h.desk = std::strtoull(desk.c_str(), nullptr, 10);
  std::string recording = note.string();
  recording.resize(recording.size() - ending.size());
  h.request.recording = recording;
  return h;
}

}  // namespace

Result<void> note_down(const HandedOver& h) {
  Json j;
  j["stop"] = h.request.stop;
  j["sides"] = h.request.sides;
  j["close"] = h.request.close;
  j["place"] = h.request.place;
  if (h.request.keep_on) j["keep_on"] = *h.request.keep_on;
  if (h.temperature) j["temperature"] = h.temperature->value();
  j["desk"] = std::to_string(h.desk);
  return write_text_file(note_of(h.request.recording), dump(j));
}

void cross_out(const fs::path& recording) {
  std::error_code none;
  fs::remove(note_of(recording), none);
}

std::vector<HandedOver> not_finished(const fs::path& recordings, std::uint64_t this_desk) {
  std::vector<HandedOver> out;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(recordings, none)) {
    if (!entry.path().filename().string().ends_with(ending)) continue;
    auto handed = read_note(entry.path());
    if (handed && handed->desk != this_desk && fs::exists(handed->request.recording, none))
      out.push_back(std::move(*handed));
  }
  std::ranges::sort(out, {}, [](const HandedOver& h) { return h.request.recording; });
  return out;
}

}  // namespace calcant::desk
