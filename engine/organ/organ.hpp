// One pipe organ as a value: what it has, how it is coupled, and where each figure comes from.
//
// An Organ is built once (by files/organfile), checked, and then never changed: measurements and the state of
// the day are laid over it by apply() (overlay.hpp), which gives a new Organ. Everything is held in vectors
// and referred to by index inside the program; the `id`s (lower case, unique within their kind, never
// changed) are what files refer to.
//
// Notes are counted on the 8 ft scale of the keys: key C2 is 36 on every keyboard, manual or pedal.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/quantity/bands.hpp"
#include "engine/quantity/note.hpp"
#include "engine/quantity/note_set.hpp"
#include "engine/quantity/sourced.hpp"
#include "engine/quantity/units.hpp"
#include "engine/tuning/temperament.hpp"

namespace calcant {

// Indices into the organ's own vectors.
using KeyboardIndex = int;
using DivisionIndex = int;
using ChestIndex = int;
using RankIndex = int;
using StopIndex = int;
using CouplerIndex = int;
using BoxIndex = int;

inline constexpr int max_keyboards = 6;
inline constexpr int max_boxes = 4;
inline constexpr int max_stops = 128;
inline constexpr int max_couplers = 64;
inline constexpr int max_ranks = 192;

enum class Hand { left, right };

// One pipe, by the rank it stands in and its number counted from the rank's lowest pipe, 1 upward:
// `sw-oboe/7`.
struct PipeId {
  RankIndex rank = 0;
  int number = 1;
  friend constexpr auto operator<=>(const PipeId&, const PipeId&) = default;
};

struct Keyboard {
  std::string id;
  std::string name;            // "Great"
  bool pedal = false;          // played by the feet
  NoteSet keys;                // a set, not a range: short octaves and missing sharps are real
  DivisionIndex division = 0;  // the division its own keys play
};

// A division: the notes its action has (which may run past the keys, for octave couplers) and where its pipes
// stand.
struct Division {
  std::string id;
  std::string name;
  std::optional<KeyboardIndex> keyboard;  // the keyboard that is its home
  Note low{36};                           // lowest and highest note its action can be asked for
  Note high{91};
  std::optional<BoxIndex> box;  // the swell box it stands in
};

enum class PipeOrder { chromatic, sides };  // as planted, and so as tuned: straight up, or C side then C sharp side

struct Chest {
  std::string id;
  std::string name;
  DivisionIndex division = 0;
  PipeOrder order = PipeOrder::sides;
  Sourced<Pascals> wind;          // at the pipes
  Sourced<Metres> shortest_tube;  // pneumatic tube, key to chest
  Sourced<Metres> longest_tube;
  bool grooved = true;  // all pipes of a note on one groove (a fault of a groove shows on every stop)
  std::string trunk;    // which wind trunk feeds it; chests of one trunk fall together
};

enum class Family { principal, flute, string, reed };
enum class Form { open, stopped, tapered, chimney, harmonic, reed_full, reed_half, reed_short };
enum class Material { metal, tin, zinc, wood };
[[nodiscard]] std::string_view word(Family f);  // "principal"
[[nodiscard]] std::string_view word(Form f);    // "open", "reed, full length"
[[nodiscard]] std::string_view word(Material m);

// A figure given at one note of the rank; between notes it is interpolated, beyond the ends the slope of a
// normal scale holds (diameters) or the end value stays (ratios).
struct ScaleMark {
  Note key;         // the key of the rank's own compass
  Metres diameter;  // inside, or the equal-area equivalent of a wooden pipe
};

// From this key upward the rank sounds at this length: one entry for a plain rank, several for a rank of a
// mixture that breaks. Entry 0 starts at or below the rank's lowest key.
struct Break {
  Note from;
  Feet feet;
};

struct Rank {
  std::string id;
  std::string name;
  ChestIndex chest = 0;
  Family family = Family::principal;
  Form form = Form::open;
  Material material = Material::metal;
  Note low_key{36};                    // the key of the rank's own compass that its pipe 1 belongs to
  int pipes = 56;                      // planted in a chromatic row from low_key: pipe n belongs to key low_key + n - 1
  std::vector<Break> pitch;            // never empty
  std::vector<ScaleMark> scale;        // empty: normal scale moved by half_tones
  Sourced<double> half_tones;          // wide (+) or narrow (-) of normal scale, where no diameters are given
  Sourced<double> mouth;               // mouth width as a share of the circumference, 0.25 normal
  Sourced<double> cut_up;              // height of the mouth as a share of its width, 0.25 normal
  Sourced<Decibels> loudness;          // moves the whole rank against what its kind and scale predict; 0 assumed
  Sourced<Cents> offset;               // tuned off the organ's pitch on purpose: a celeste
  std::optional<std::string> partner;  // id of the rank a celeste is tuned against

  [[nodiscard]] Note high_key() const { return Note{low_key.midi + pipes - 1}; }
  [[nodiscard]] Feet feet_at(Note key) const;  // key within low_key..high_key
};

// What one stop makes of one rank over some of its keys.
struct StopPart {
  RankIndex rank = 0;
  Note from{36};
  Note to{127};
  int step = 0;  // pipe of key k is the rank's pipe of its own key k + step: +12 draws an 8 ft from a 16 ft rank
  bool borrowed = false;  // lent by another stop's rank (a grooved bass)
};

enum class Jamb { left, right, over_manual, unknown };
// Where a knob stands: which side, and its place counted from the bottom (or from the left, over a manual).
struct KnobPlace {
  Jamb jamb = Jamb::unknown;
  int column = 0;
  int row = 0;
};

struct Stop {
  std::string id;
  std::string name;        // without the length: "Open Diapason"
  std::vector<Feet> feet;  // as engraved on the knob: usually one; empty for a mixture known by its ranks
  int mixture_ranks = 0;   // "III" on the knob: 3; 0 otherwise
  DivisionIndex division = 0;
  Family family = Family::principal;
  bool celeste = false;
  bool tremulous_solo = false;  // imitative, meant for solo (rules of practice)
  std::vector<StopPart> parts;  // never empty
  KnobPlace place;
  bool out_of_use = false;       // set by an overlay
  bool from_assumption = false;  // not everything about it was said

  [[nodiscard]] Note low_own() const;  // lowest key at which it sounds a pipe that is not borrowed
  [[nodiscard]] Note low() const;      // lowest key at which it sounds
};
// "Principal 4", "Twelfth 2 2/3", "Mixture III", "Sesquialtera 2 2/3 & 1 3/5".
[[nodiscard]] std::string full_name(const Stop& s);

// A coupler takes the keys of one keyboard to a division, moved by an interval. `carries` lists the couplers
// that also act on the notes it brings: Swell to Great carrying Swell Octave means that from the Great the
// Swell sounds in octaves too.
struct Coupler {
  std::string id;
  std::string name;
  KeyboardIndex from = 0;
  DivisionIndex to = 0;
  int semitones = 0;
  bool unison_off = false;  // not a coupler but its opposite: silences the division's own unison path
  std::vector<CouplerIndex> carries;
  bool tried = false;               // the console test was done; until then `carries` is an assumption
  std::string tried_on;             // ISO 8601 date of that test, where it was written down
  std::vector<CouplerIndex> heard;  // those of which it was tried since whether this one carries them
  KnobPlace place;
};

enum class SwellPedal { balanced, lever };
struct SwellBox {
  std::string id;
  std::string name;
  SwellPedal pedal = SwellPedal::lever;
  std::vector<double> hitches;  // where a lever rests by itself, 0 shut to 1 open, rising; a balanced pedal: empty
  Sourced<Bands> attenuation;   // dB taken away when shut, per octave band
};

enum class AccessoryKind { tremulant, composition, reverser, other };
struct Accessory {
  std::string id;
  std::string name;
  AccessoryKind kind = AccessoryKind::other;
  std::optional<DivisionIndex> division;
  std::vector<std::string> draws;  // composition pedal: ids of stops and couplers it leaves drawn
  std::optional<CouplerIndex> reverses;
  bool by_foot = false;
  KnobPlace place;
};

struct Surface {
  std::string name;  // "nave floor"
  SquareMetres area;
  Bands absorption{};  // random-incidence coefficient, 0 to 1, per octave band
};

struct Room {
  Sourced<CubicMetres> volume;
  std::array<Metres, 3> size{};  // length, width, height of the box it is taken for
  std::vector<Surface> surfaces;
  Sourced<int> seats;                           // people when full
  std::optional<Sourced<Bands>> reverberation;  // measured, seconds per octave band, empty church
  Sourced<Celsius> temperature;
  Sourced<double> humidity;  // relative, 0 to 1
};

enum class PlaceKind { bench, nave };
struct Place {
  std::string id;
  std::string name;
  PlaceKind kind = PlaceKind::nave;
  std::vector<Metres> from_division;  // distance to each division's pipes, one per division
};

struct Wind {
  Sourced<LitresPerSecond> blower;  // at working pressure
  Sourced<LitresPerSecond> hand_pump;
  Sourced<CubicMetres> reservoir;
};

struct Action {
  std::string kind;                     // "tubular-pneumatic"
  Sourced<double> repeats_per_second;   // in good order
  std::vector<Sourced<Seconds>> delay;  // key to pallet, one per division
};

// The pedalboard and bench, for feet.
struct Console {
  Sourced<Metres> pedal_spacing;  // between neighbouring naturals
  bool concave = true;
  bool radiating = true;
  Sourced<Note> pedal_under_middle_d;     // the pedal that lies under the manuals' middle D (62): D3 (50), or C under C
  Sourced<Metres> lever_right_of_centre;  // where the swell pedal is
};

struct PitchStandard {
  Sourced<Hertz> a;  // frequency of A4 at `at`
  Sourced<Celsius> at;
};

struct Organ {
  std::string id;
  std::string name;
  std::string about;                // free words: the page's first line
  bool invented = false;            // a demo that says so on every page
  std::vector<Keyboard> keyboards;  // from the top of the printed specification: Great, Swell, Pedal
  std::vector<Division> divisions;
  std::vector<Chest> chests;
  std::vector<Rank> ranks;
  std::vector<Stop> stops;  // in the order of the printed specification
  std::vector<Coupler> couplers;
  std::vector<SwellBox> boxes;
  std::vector<Accessory> accessories;
  PitchStandard pitch;
  Temperament temperament;
  Room room;
  std::vector<Place> places;
  Wind wind;
  Action action;
  Console console;

  // What the day lays over it (overlay.hpp): pipes that do not speak, and figures known pipe by pipe.
  std::vector<NoteSet> dead;  // by rank: numbers of pipes that do not speak; empty vector when none
  struct PipeFigures {
    PipeId pipe;
    std::optional<Sourced<Decibels>> level;                  // against the rank's own modelled level
    std::optional<Sourced<Cents>> cents;                     // against where it should be
    std::optional<Sourced<std::vector<double>>> spectrum{};  // levels of its partials 1, 2, 3 ..., dB of any origin
  };
  std::vector<PipeFigures> pipe_figures;  // sorted by pipe
};

[[nodiscard]] std::optional<StopIndex> stop_by_id(const Organ& o, std::string_view id);
[[nodiscard]] std::optional<RankIndex> rank_by_id(const Organ& o, std::string_view id);
[[nodiscard]] std::optional<CouplerIndex> coupler_by_id(const Organ& o, std::string_view id);
[[nodiscard]] std::optional<DivisionIndex> division_by_id(const Organ& o, std::string_view id);
[[nodiscard]] std::optional<KeyboardIndex> keyboard_by_id(const Organ& o, std::string_view id);

// The key of its rank's own compass that a pipe belongs to, and the note it sounds at its own length: key C4
// of a 4 ft rank sounds C5, of a twelfth G5 (the nearest tempered note for a mutation; clipped to 0..127).
[[nodiscard]] Note key_of(const Organ& o, PipeId p);
[[nodiscard]] Note sounding_note(const Organ& o, PipeId p);

// The true frequency of a pipe in tune at `now` (in order, as the tuner would leave it), tuning offset and
// measured deviation laid over. Flues follow the speed of sound; a reed follows it only in part: `reed_share`
// of a flue's movement by resonator (full 0.35, half 0.15, short 0.05: assumed, learnt later from two
// measurings).
[[nodiscard]] Hertz frequency(const Organ& o, PipeId p, Celsius now);
// What is known of one pipe alone; nullptr where nothing is.
[[nodiscard]] const Organ::PipeFigures* pipe_figures(const Organ& o, PipeId p);

// Everything an Organ must keep to for the engine's functions to hold (indices within their vectors,
// compasses within 0..127, limits above); a sentence for each breach. A reader of organ files reports the
// same with lines; this is the last guard, and what tests hold made-up organs to.
[[nodiscard]] std::vector<std::string> breaches(const Organ& o);

}  // namespace calcant
