// What the player has changed by hand in the plan of one day or of one piece, kept with the way back: wishes and foot marks
// in files of their own in the organ folder, so that they outlive the program and every plan keeps to them.
//
//   wishes/days/2026-11-29.toml                      of that day's service ("sunday": of the folder's own board)
//   wishes/music/voluntary-in-d.musicxml.toml        of that score, wherever it is planned
//   wishes/music/voluntary-in-d.musicxml.feet.toml   its foot marks (files/feetfile)
//   wishes/before/...                                each of these as it was before each change, the latest last
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "engine/playing/feet.hpp"
#include "files/wishes/wishes.hpp"
#include "jobs/context.hpp"
#include "jobs/read_score.hpp"

namespace calcant {

inline constexpr int most_steps_back = 200;

class ByHand {
 public:
  // of_service: "2026-11-29" or "sunday"; of_piece: the name of a file in music/. Names are as jobs/boards.hpp and
  // jobs/pieces.hpp have found them.
  [[nodiscard]] static ByHand of_service(const std::filesystem::path& folder, const std::string& service);
  [[nodiscard]] static ByHand of_piece(const std::filesystem::path& folder, const std::string& piece);
  // Of any score: nothing where it does not stand in the folder's music/.
  [[nodiscard]] static std::optional<ByHand> of_score(const std::filesystem::path& folder,
                                                      const std::filesystem::path& score);

  [[nodiscard]] const std::filesystem::path& wishes_file() const { return wishes_; }
  [[nodiscard]] const std::filesystem::path& feet_file() const { return feet_; }

  // Empty where nothing was changed; an error where the file was broken by hand.
  [[nodiscard]] Result<WishesFile> wishes() const;
  [[nodiscard]] Result<std::vector<std::string>> feet() const;
  // Everything that was changed, as text: to tell whether a plan was made before it.
  [[nodiscard]] std::string all() const;

  // Keeps the new state and the one before. Nothing is written where the text stays as it was.
  [[nodiscard]] Result<void> keep(const WishesFile& wishes) const;
  [[nodiscard]] Result<void> keep_feet(const std::vector<std::string>& marks) const;
  // How many changes can be taken back, and the latest of them taken back; refused where the file was edited since.
  [[nodiscard]] int steps() const;
  [[nodiscard]] Result<void> take_back() const;

 private:
  ByHand(const std::filesystem::path& folder, const std::filesystem::path& name);
  [[nodiscard]] std::vector<std::filesystem::path> history() const;
  [[nodiscard]] Result<void> write(const std::filesystem::path& file, const std::string& empty, const std::string& text,
                                   bool feet) const;
  std::filesystem::path wishes_;
  std::filesystem::path feet_;
  std::filesystem::path before_;
  std::string shown_;  // "wishes/days/2026-11-29": for errors
};

// The foot marks that were changed by hand in a score of the folder, found in it; none for any other score.
[[nodiscard]] Result<std::vector<FixedFoot>> feet_by_hand(const OrganContext& context,
                                                          const std::filesystem::path& score, const Score& read);

}  // namespace calcant
