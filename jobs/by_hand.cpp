#include "jobs/by_hand.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "files/feetfile/feetfile.hpp"
#include "jobs/fixed_foot.hpp"
#include "jobs/sha256.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;
constexpr const char* head = "What was changed by hand at the desk, which keeps this file.";
constexpr std::size_t hash_letters = 12;

std::string wishes_text(const WishesFile& wishes) { return fmt::format("# {}\n", head) + write_wishes(wishes); }

std::string feet_text(const std::vector<std::string>& marks) {
  std::string out = fmt::format("# {}\nversion = {}\nmarks = [\n", head, feet_file_version);
  for (const std::string& m : marks) out += fmt::format("  \"{}\",\n", m);
  return out + "]\n";
}

std::string text_or(const fs::path& file, const std::string& otherwise) {
  std::error_code none;
  if (!fs::exists(file, none)) return otherwise;
  const auto text = read_text_file(file, wishes_file_limit);
  return text ? *text : otherwise;
}

std::string short_hash(const std::string& text) { return sha256(text).substr(0, hash_letters); }

}  // namespace

ByHand::ByHand(const fs::path& folder, const fs::path& name)
    : wishes_(folder / "wishes" / (name.string() + ".toml")),
      feet_(folder / "wishes" / (name.string() + ".feet.toml")),
      before_(folder / "wishes" / "before" / name),
      shown_("wishes/" + name.string()) {}

ByHand ByHand::of_service(const fs::path& folder, const std::string& service) {
  return {folder, fs::path{"days"} / service};
}
ByHand ByHand::of_piece(const fs::path& folder, const std::string& piece) {
  return {folder, fs::path{"music"} / piece};
}
std::optional<ByHand> ByHand::of_score(const fs::path& folder, const fs::path& score) {
  if (score.empty()) return std::nullopt;
  std::error_code none;
  const bool there =
      fs::equivalent(score.parent_path().empty() ? fs::path{"."} : score.parent_path(), folder / "music", none);
  return there && !none ? std::optional{of_piece(folder, score.filename().string())} : std::nullopt;
}

Result<WishesFile> ByHand::wishes() const {
  std::error_code none;
  if (!fs::exists(wishes_, none)) return WishesFile{};
  const auto text = read_text_file(wishes_, wishes_file_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  return read_wishes(*text, shown_ + ".toml");
}

Result<std::vector<std::string>> ByHand::feet() const {
  std::vector<std::string> out;
  std::error_code none;
  if (!fs::exists(feet_, none)) return out;
  const auto text = read_text_file(feet_, feet_file_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  const auto marks = read_feet_file(*text, shown_ + ".feet.toml");
  if (!marks) return tl::unexpected<Error>(marks.error());
  for (const FeetFileMark& m : *marks) out.push_back(m.text);
  return out;
}

std::string ByHand::all() const { return text_or(wishes_, "") + "\n" + text_or(feet_, ""); }

// Numbers, and the hash of what came after: "0007-3f0a….toml", "0008-….feet.toml".
std::vector<fs::path> ByHand::history() const {
  std::vector<fs::path> out;
  std::error_code none;
  for (const auto& entry : fs::directory_iterator(before_, none)) {
    if (entry.is_regular_file(none) && entry.path().extension() == ".toml") out.push_back(entry.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

int ByHand::steps() const { return static_cast<int>(history().size()); }

Result<void> ByHand::write(const fs::path& file, const std::string& empty, const std::string& text, bool feet) const {
  const std::string was = text_or(file, empty);
  if (was == text) return {};
  for (const fs::path& place : {file.parent_path(), before_}) {
    if (auto made = make_folder(place); !made) return made;
  }
  const auto past = history();
  const int number = past.empty() ? 1 : std::atoi(past.back().filename().c_str()) + 1;
  // The way back first: a change without one is worse than a step back to the same.
  const auto back = before_ / fmt::format("{:06}-{}{}.toml", number, short_hash(text), feet ? ".feet" : "");
  if (auto kept = write_text_file(back, was); !kept) return kept;
  if (past.size() >= most_steps_back) {
    std::error_code none;
    fs::remove(past.front(), none);
  }
  return write_text_file(file, text);
}

Result<void> ByHand::keep(const WishesFile& wishes) const {
  const std::string text = wishes_text(wishes);
  // Never a file that could not be read again.
  if (const auto right = read_wishes(text, shown_ + ".toml"); !right) return tl::unexpected<Error>(right.error());
  return write(wishes_, wishes_text({}), text, false);
}

Result<void> ByHand::keep_feet(const std::vector<std::string>& marks) const {
  const std::string text = feet_text(marks);
  if (const auto right = read_feet_file(text, shown_ + ".feet.toml"); !right)
    return tl::unexpected<Error>(right.error());
  return write(feet_, feet_text({}), text, true);
}

Result<void> ByHand::take_back() const {
  auto past = history();
  while (!past.empty()) {
    const fs::path last = past.back();
    const std::string name = last.filename().string();
    const fs::path& file = name.ends_with(".feet.toml") ? feet_ : wishes_;
    const auto was = read_text_file(last, wishes_file_limit);
    if (!was) return tl::unexpected<Error>(was.error());
    const std::string now = text_or(file, "");
    std::error_code fault;
    // Ended in the middle of a change: its way back leads to what is there.
    if (now == *was) {
      fs::remove(last, fault);
      past.pop_back();
      continue;
    }
    if (name.find("-" + short_hash(now)) == std::string::npos)
      return fail("This file was edited since it was last changed here, so nothing is taken back.", shown_ + ".toml");
    fs::rename(last, file, fault);
    if (fault) return fail(fmt::format("It cannot be taken back: {}.", fault.message()), shown_ + ".toml");
    return {};
  }
  return fail("There is nothing to take back.", shown_ + ".toml");
}

Result<std::vector<FixedFoot>> feet_by_hand(const OrganContext& context, const fs::path& score, const Score& read) {
  std::vector<FixedFoot> out;
  const auto own = ByHand::of_score(context.folder, score);
  if (!own) return out;
  const auto marks = own->feet();
  if (!marks) return tl::unexpected<Error>(marks.error());
  for (const std::string& text : *marks) {
    const auto one = parse_fixed_foot(read, text);
    if (!one) return tl::unexpected<Error>(one.error());
    out.push_back(*one);
  }
  return out;
}

}  // namespace calcant
