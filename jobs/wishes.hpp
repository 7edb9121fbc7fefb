// What the player wishes (wishes/*.toml of the organ folder), found on this organ and laid on what is to be planned.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/plan/hymn.hpp"
#include "engine/plan/piece.hpp"
#include "files/wishes/wishes.hpp"
#include "jobs/by_hand.hpp"
#include "jobs/context.hpp"

namespace calcant {

class Wishes {
 public:
  // Every file wishes/*.toml of the folder, in the order of their names; none is no fault. Errors name file and line: what
  // is wrong in the file, and names this organ does not have.
  [[nodiscard]] static Result<Wishes> of(const OrganContext& context);

  // Lays on top what was changed by hand for one day or one score; there for `item` (number or title), where that is given,
  // whatever the file calls it.
  [[nodiscard]] Result<void> add(const OrganContext& context, const ByHand& own, const std::string& item = {});

  [[nodiscard]] const Wordbook& words() const { return words_; }
  // From here on for an item that stands on the board the n-th time; 1 unless said.
  void standing(int n) { standing_ = n; }
  // Knobs forbidden everywhere or in this item (its number or its title).
  [[nodiscard]] std::vector<Knob> never(std::string_view number, std::string_view title) const;
  // File and line that forbid a knob in this item; empty where none does.
  [[nodiscard]] std::string forbidden_in(Knob knob, std::string_view number, std::string_view title) const;
  // Words of the files for an item, by verse from 0; -1: the play-over.
  struct PassedOver {
    int verse = 0;
    std::string word;
    std::string where;
  };
  [[nodiscard]] std::vector<PassedOver> words_on(Hymn& hymn) const;
  // Lays words, fixed registrations and changes on the verses; two for one place in one layer are an error; on a piece from paper by page, system and bar too: a place
  // of their own is put in where the copy has it. A wish for a verse that is not sung is an error.
  [[nodiscard]] Result<void> lay_on(Hymn& hymn) const;
  // The same for a piece: by bar. A bar or beat the score does not have is an error.
  [[nodiscard]] Result<void> lay_on(Piece& piece, const Score& score) const;
  // Foot marks for an item, found in its score. An error names what the feet do play there.
  [[nodiscard]] Result<std::vector<FixedFoot>> feet(std::string_view number, std::string_view title,
                                                    const Score& score) const;

 private:
  struct Fixed {
    WishPlace place;
    FixedState state;
    std::string where;  // file and line
    int layer = 0;      // the folder's own, then what was laid on top
  };
  struct Change {
    WishPlace place;
    int after_line = 0;
    GivenChange change;
    std::string where;
  };
  struct FootMark {
    std::string item;
    std::string mark;
    std::string where;
  };
  struct Said {
    WishPlace place;
    std::string word;
    std::string where;
    int layer = 0;
  };
  struct Never {
    std::string item;
    std::vector<Knob> knobs;
    std::string where;
  };
  // drawn_in_full: a fixed draw that names nothing of the pedal means that nothing of it is drawn.
  Result<void> add(const Organ& organ, const WishesFile& file, const std::string& name, bool drawn_in_full);
  static Result<void> change(Hymn& hymn, const Change& change);
  [[nodiscard]] bool meant(const WishPlace& place, std::string_view number, std::string_view title) const;
  template <typename Wish, typename Place>
  Result<void> only_once(const std::vector<Wish>& all, const Wish& one, const Place& is_there,
                         std::string_view what) const;
  int layer_ = 0;
  int standing_ = 1;
  Wordbook words_;
  std::vector<Never> never_;
  std::vector<Said> said_;
  std::vector<Fixed> fixed_;
  std::vector<Change> changes_;
  std::vector<FootMark> feet_;
};

// Bar and beat of a score, and which time through; an error says what the score has.
[[nodiscard]] Result<PlaceWish> bar_of(const WishPlace& place, const Score& score, const std::string& where);
// Whether that is where the music begins: nothing is drawn before it that could be changed.
[[nodiscard]] bool is_beginning(const PlaceWish& place, const Score& score);

// Whether an item is meant by a name: its number, its title, or both ("247 St Anne"); upper and lower case are alike.
[[nodiscard]] bool is_meant(std::string_view name, std::string_view number, std::string_view title);

}  // namespace calcant
