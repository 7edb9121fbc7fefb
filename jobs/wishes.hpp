// What the player wishes (wishes/*.toml of the organ folder), found on this organ and laid on what is to be planned.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/plan/hymn.hpp"
#include "engine/plan/piece.hpp"
#include "files/wishes/wishes.hpp"
#include "jobs/context.hpp"

namespace calcant {

class Wishes {
 public:
  // Every file wishes/*.toml of the folder, in the order of their names; none is no fault. Errors name file and line: what
  // is wrong in the file, and names this organ does not have.
  [[nodiscard]] static Result<Wishes> of(const OrganContext& context);

  [[nodiscard]] const Wordbook& words() const { return words_; }
  // Knobs forbidden everywhere or in this item (its number or its title).
  [[nodiscard]] std::vector<Knob> never(std::string_view number, std::string_view title) const;
  // Lays words, fixed registrations and changes on the verses. A wish for a verse that is not sung is an error.
  [[nodiscard]] Result<void> lay_on(Hymn& hymn) const;
  // The same for a piece: by bar. A bar the score does not have is an error.
  [[nodiscard]] Result<void> lay_on(Piece& piece, const Score& score) const;

 private:
  struct Fixed {
    WishPlace place;
    FixedState state;
    std::string where;  // file and line
  };
  struct Change {
    WishPlace place;
    LineCue cue;
    std::string where;
  };
  struct Said {
    WishPlace place;
    std::string word;
    std::string where;
  };
  struct Never {
    std::string item;
    std::vector<Knob> knobs;
  };
  Result<void> add(const Organ& organ, const WishesFile& file, const std::string& name);
  Wordbook words_;
  std::vector<Never> never_;
  std::vector<Said> said_;
  std::vector<Fixed> fixed_;
  std::vector<Change> changes_;
};

// Whether an item is meant by a name: its number, its title, or both ("247 St Anne"); upper and lower case are alike.
[[nodiscard]] bool is_meant(std::string_view name, std::string_view number, std::string_view title);

}  // namespace calcant
