// An organ's specification as printed in a leaflet or on a concert programme: read from pasted text, made
// into a first organ.toml, and printed again from an organ.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/organ/organ.hpp"
#include "engine/quantity/result.hpp"

namespace calcant {

// One line of the pasted text as a stop.
struct DraftStop {
  std::string name;           // "Open Diapason", without the length
  std::vector<Feet> feet;     // empty where the line gives none
  std::string mixture;        // "15.19.22", where the intervals are printed
  int mixture_ranks = 0;      // "III" -> 3
  std::optional<Note> from;   // "from tenor C"
  std::optional<int> pipes;   // "44 pipes"
  std::string bass_from;      // "bass from Stopped Diapason": the lender's name
  std::string rank_of;        // "extension of Bourdon", "from Bourdon": whose pipes it uses
  std::string material;       // "wood", "metal", where it is printed
  std::string remark;         // what else stood in brackets
  bool prepared_for = false;  // no pipes yet: listed, but not made a stop
  int line = 0;               // of the pasted text, from 1
};
struct DraftDivision {
  std::string name;  // "Great"
  bool pedal = false;
  bool enclosed = false;
  std::optional<int> notes;  // "56 notes"
  std::vector<DraftStop> stops;
  bool tremulant = false;
  int line = 0;
};
struct DraftCoupler {
  std::string name;  // "Swell to Great"
  std::string from;  // division or keyboard as printed: "Great"
  std::string to;    // "Swell"
  int semitones = 0;
  bool unison_off = false;
  int line = 0;
};
struct UnreadLine {
  int line = 0;
  std::string text;
  friend bool operator==(const UnreadLine&, const UnreadLine&) = default;
};
struct Draft {
  std::string title;  // lines before the first division, joined; may be empty
  std::vector<DraftDivision> divisions;
  std::optional<int> manual_notes;  // where one line says it for all manuals
  std::optional<int> pedal_notes;
  std::optional<SwellPedal> swell_pedal;  // "lever swell pedal", "balanced swell pedal"
  std::vector<DraftCoupler> couplers;
  std::vector<std::string> accessories;  // as printed: "3 composition pedals to Great"
  std::vector<UnreadLine> unread;
};

// Longer texts are refused.
inline constexpr std::size_t specification_limit = 256U * 1024U;
// An error only where there is no division with a stop in it, or the text is too long.
[[nodiscard]] Result<Draft> read_specification(std::string_view text);

// The six things a printed specification leaves open. What is not answered is assumed, and the organ file
// says so.
struct SixAnswers {
  std::optional<int> manual_notes;  // 54, 56, 58, 61: from C2 upward
  std::optional<int> pedal_notes;   // 30, 32
  std::optional<std::vector<std::string>>
      from_tenor_c;                      // names of stops that begin at tenor C ("Swell: Gamba" or "Gamba")
  std::optional<bool> couplers_carry;    // do octave couplers act through Swell to Great?
  std::optional<bool> octaves_extended;  // has the chest an octave of pipes above the keys?
  std::optional<SwellPedal> swell_pedal;
  std::optional<Hertz> pitch;  // A4
  std::optional<Celsius> pitch_at;
  std::optional<CubicMetres> room;
};

// A complete, commented organ.toml in which everything the draft and the answers do not say is marked
// assumed. Reading it back (files/organfile) always succeeds. `invented` marks it as such.
[[nodiscard]] std::string write_organ_toml(const Draft& draft, const SixAnswers& answers, bool invented = false);

// Whether a word is, or has in it, a name stops go by in the trade ("Trombone"), on this organ or not.
[[nodiscard]] bool names_a_stop(std::string_view word);

// The specification as organists print it: divisions, stops with their lengths, couplers, accessories,
// compass.
[[nodiscard]] std::string print_specification(const Organ& organ);

}  // namespace calcant
