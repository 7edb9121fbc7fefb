// What to draw for a purpose: the registrations of one keyboard that come nearest to a wish, far enough from one another
// to be worth knowing, with figures from the full model and what every knob nearby would do.
//
// The objective and the constraints of every purpose are written down in docs/design/choosing.md; `points` below is that
// objective, one point being one step of brightness that can just be told. Prepared once for a keyboard, a Chooser
// answers one wish after another from the same map (or, where the organ is too large for one, by search).
#pragma once

#include <functional>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/organ/knob.hpp"
#include "engine/registration/chord_ear.hpp"
#include "engine/registration/map.hpp"
#include "engine/registration/practice.hpp"
#include "engine/registration/search.hpp"

namespace calcant {

enum class Colour { any, darker, brighter };

struct Wish {
  Phons level;        // the mean over the chords at the place
  double band = 1.0;  // phon either way that is still that level
  Colour colour = Colour::any;
  Manner manner = Manner::free;
  Registration must;      // knobs that are drawn
  Registration must_not;  // knobs that are not
  int limit = 8;          // answers, 1 to 50
  bool soft = false;      // what practice has against more than foundations in something soft counts (R37, R4)
  // Every knob is heard twice as plainly as can just be told, so that levels a little off leave it heard.
  bool sure = false;
  // So many are heard in vain before it is said that nothing fits; more than any map has: until all were.
  int patience = std::numeric_limits<int>::max();
  // Asked last of all, of what would be an answer; empty: nothing more is asked.
  std::function<bool(const Registration&)> fits{};
};

struct PointsParts {
  double knobs = 0;       // 1 each
  double warnings = 0;    // 2 for each rule of practice that warns
  double makeshifts = 0;  // 12 for each makeshift (practice.hpp)
  double soft = 0;        // 4 times what practice has against it as something soft, where that is asked for
  double level = 0;       // 1 a phon from the level asked
  double colour = 0;      // 1 for every 0.06 acum the wrong way (less than nothing the right way)
  double played = 0;      // 1 where the hands move an octave
  [[nodiscard]] double sum() const { return practice() + knobs + level + colour + played; }
  [[nodiscard]] double practice() const { return warnings + makeshifts + soft; }
};
[[nodiscard]] PointsParts points(const Wish& wish, int knobs, const PracticeAgainst& against, double phons,
                                 double acums, int played);

// One knob put in or drawn from an answer.
struct Neighbour {
  Knob knob;
  bool drawn = false;  // in the answer
  double phons = 0;    // change of the mean when it is moved
  double acums = 0;
  Difference difference = Difference::none;  // the greatest on any chord
};

struct Chosen {
  Registration drawn;
  int played = 0;  // semitones the hands move
  PointsParts points;
  HeardOn heard;
  std::vector<Neighbour> neighbours;  // drawn ones first
  std::optional<double>
      brighter_than;       // share of the allowed registrations of this level that are darker; from the map
  double box_reserve = 0;  // phon that opening the boxes adds
};

struct Choice {
  std::vector<Chosen> answers;  // best first
  double considered = 0;        // registrations weighed, or that a search went through
  bool searched = false;        // not every one was weighed
  double at_least = 0;          // no allowed registration has fewer points than this
};

// What does not belong to a full organ: celestes beat, gambas spoil the chorus (R7, R8), octave couplers come after
// everything else (R4, R25) and would hide much of it.
[[nodiscard]] Registration beyond_full(const Organ& organ);

class Chooser {
 public:
  // chords: what a level means; empty: the stated chords, at pitch and, where the keyboard reaches, an octave lower and
  // higher. forbidden: knobs no wish will ask for. mapped_up_to: of more states than this no map is made, they are
  // searched (of more than a map can hold always). listening must outlive it. Refuses what Space::make refuses; stopped
  // work.
  [[nodiscard]] static Result<Chooser> prepare(const Listening& listening, KeyboardIndex on,
                                               const std::vector<KeysDown>& chords, const Registration& forbidden,
                                               const Work& work, double mapped_up_to = most_mapped);
  static constexpr double most_mapped = 1 << 25;

  // Refuses a wish that nothing fulfils, saying what comes nearest; a limit out of range; stopped work.
  [[nodiscard]] Result<Choice> ask(const Wish& wish, const Work& work);
  // The same where it is no fault that nothing fulfils it.
  [[nodiscard]] Result<std::optional<Choice>> look(const Wish& wish, const Work& work);
  // Of such a wish: what there is instead.
  [[nodiscard]] Error nothing_fits(const Wish& wish, const Work& work);
  // The nearest level at which something fulfils the wish, a phon at a time, softer first, up to `within` phon away;
  // nothing where nothing does.
  [[nodiscard]] std::optional<Phons> nearest_level(const Wish& wish, double within, const Work& work);

  // The points of one registration, or why it is not allowed: the objective evaluated directly.
  [[nodiscard]] Result<PointsParts> judge(const Wish& wish, const Registration& drawn, int played = 0);

  // The softest and the loudest that practice allows in this manner.
  struct Range {
    Registration softest;
    Registration loudest;
    Phons low;
    Phons high;
  };
  // Of what has all that must be drawn and nothing that must not.
  [[nodiscard]] Result<Range> range(Manner manner, const Work& work, const Registration& must = {},
                                    const Registration& must_not = {});

  // Full, as a player means it: boxes open, of stops (no celeste, no gamba) and couplers (no octaves) as many as are each
  // heard among the others, the manual's own chorus kept first (docs/design/choosing.md). Level and colour of the wish
  // count nothing. Refuses where practice forbids that; stopped work.
  [[nodiscard]] Result<Chosen> everything(const Wish& wish, const Work& work);

  // Softer or louder than what is drawn by an audible step, with the fewest knobs moved.
  struct StepWish {
    Registration present;
    bool louder = true;
    double step = 2.0;  // phon wanted
    Colour colour = Colour::any;
    Registration must;      // drawn if it is not; that counts as moved
    Registration must_not;  // likewise put in
    int limit = 8;
  };
  struct StepTaken {
    Chosen chosen;
    int moved = 0;  // knobs
    bool box = false;
    double step = 0;  // phon
  };
  [[nodiscard]] Result<std::vector<StepTaken>> step(const StepWish& wish, const Work& work);

  [[nodiscard]] ChordEar& ear(int played = 0);
  [[nodiscard]] KeyboardIndex on() const { return on_; }
  [[nodiscard]] const Organ& organ() const { return listening_->organ(); }
  // Of the ground at pitch.
  [[nodiscard]] const Space& space() const;
  [[nodiscard]] const Practice& practice() const;
  [[nodiscard]] bool mapped() const;
  [[nodiscard]] const Map* map() const;
  [[nodiscard]] const std::vector<BoxPositions>& boxes() const { return boxes_; }

  ~Chooser();
  Chooser(Chooser&&) noexcept;
  Chooser& operator=(Chooser&&) noexcept;

 private:
  struct Ground;  // the keyboard played at one place
  struct Candidate;
  struct Sifted;
  struct Allowed;  // what of a map a wish allows
  struct Taken;
  struct ColourLimits;
  Chooser(const Listening& listening, KeyboardIndex on);
  // The best `keep` by the screen, those left out that share too much with what is taken.
  // `allowed`, by ground, is filled at the first call for a wish and saves the later ones a walk through the map.
  [[nodiscard]] Result<Sifted> candidates(const Wish& wish, const std::vector<Taken>& taken, std::size_t keep,
                                          std::vector<Allowed>& allowed, const Work& work);
  // All that is taken, and what of the screen's finds it is out of. Nothing taken is no error.
  struct Found;
  [[nodiscard]] Result<Found> find(const Wish& wish, const Work& work);
  // Whether it gave up looking for another.
  [[nodiscard]] Result<bool> walk(const Wish& wish, const Sifted& sifted, std::vector<Taken>& taken, const Work& work);
  void sift_map(std::size_t ground, const Wish& wish, const std::vector<Taken>& taken, std::size_t keep,
                Allowed& allowed, Sifted& into, const Work& work);
  [[nodiscard]] Result<void> sift_search(std::size_t ground, const Wish& wish, const std::vector<Taken>& taken,
                                         std::size_t keep, Sifted& into, const Work& work);
  [[nodiscard]] static std::vector<Space::State> states_of(const std::vector<Taken>& taken, const Ground& ground);
  // Whether it would be worth knowing beside those taken, whatever it sounds like.
  [[nodiscard]] bool worth_knowing(const Wish& wish, const std::vector<Taken>& taken, const Ground& ground,
                                   std::size_t linking, StopMask stops) const;
  [[nodiscard]] bool every_knob_is_heard(Ground& ground, const Wish& wish, const Registration& drawn, const Work& work);
  [[nodiscard]] std::vector<Knob> knobs_nearby(const Ground& ground, const Registration& drawn) const;
  [[nodiscard]] Chosen describe(Ground& ground, const Wish& wish, const Registration& drawn, const Work& work);
  [[nodiscard]] const std::vector<ColourLimits>& colour_limits(Ground& ground, const Work& work);
  [[nodiscard]] double bound(const Wish& wish, const Work& work);
  [[nodiscard]] static double colour_bound(const Wish& wish, const Ear& ear, const std::vector<ColourLimits>& limits,
                                           const std::vector<const Heard*>& most);

  const Listening* listening_;
  KeyboardIndex on_;
  std::vector<BoxPositions> boxes_;
  std::vector<std::unique_ptr<Ground>> grounds_;
};

}  // namespace calcant
