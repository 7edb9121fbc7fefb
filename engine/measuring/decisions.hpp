// Which stretch of the recording belongs to which key, and what was made of it: shown, corrected, given back.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "engine/quantity/note.hpp"
#include "engine/quantity/units.hpp"

namespace calcant {

// speaks: its pipe sounds. dead: the key had its turn and nothing sounded. cipher: it sounds though the key is up.
// wrong: in its turn another note was heard. unsure: nothing was heard, but neither was time left for it.
enum class NoteState { speaks, dead, cipher, wrong, unsure };
[[nodiscard]] std::string_view word(NoteState s);
[[nodiscard]] std::optional<NoteState> note_state(std::string_view word);

// What else was in the recording, and was left alone.
enum class Extra { none, repeat, false_start, other };
[[nodiscard]] std::string_view word(Extra e);

// One line of the file of decisions. `place`: position in the plan's playing order, from 0; for an extra (and for a
// cipher of a key not in its turn) there is none. A `fixed` decision was made by a person and stands: a state without
// `from` and `to` (dead, unsure), a stretch that belongs to the key, or one that belongs to none (an extra); everything
// else is solved again round it.
struct Decision {
  std::optional<int> place{};
  Note key;  // the key whose turn it was; for extras the key it sounds most like
  NoteState state = NoteState::speaks;
  Extra extra = Extra::none;
  std::optional<Seconds> from{};  // from the recording's start
  std::optional<Seconds> to{};
  std::optional<Note> heard{};  // wrong: the key it sounds most like
  bool fixed = false;

  friend bool operator==(const Decision&, const Decision&) = default;
};
using Decisions = std::vector<Decision>;

}  // namespace calcant
