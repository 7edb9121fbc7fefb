// The registrant: who stands at the console and knows what this organ can do. Opened once for an organ of one day heard at
// one place, he keeps what he has weighed, so that a changed wish (another level, another colour, a stop that must or must
// not be drawn) is answered without weighing the organ again.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "engine/plan/scales.hpp"
#include "engine/registration/solo.hpp"
#include "jobs/buildup.hpp"
#include "jobs/choose.hpp"
#include "jobs/context.hpp"
#include "jobs/level_words.hpp"
#include "jobs/registration_map.hpp"

namespace calcant {

// The keyboard of this name or id; empty: the first manual. `where` names the option in errors.
[[nodiscard]] Result<KeyboardIndex> manual_asked(const Organ& organ, const std::string& name, const std::string& where);

// Answers are the same to the byte whatever was asked before. Not thread-safe: one caller at a time. What he keeps is
// bounded: a few keyboards' maps (each under 256 MB for each octave the hands can move, usually a tenth of that) and the
// registrations last heard. Stays where it was made: what is kept points into it.
class Registrant {
 public:
  // The context holds the day, the place and the people; saved registrations are read from its book when they are named.
  explicit Registrant(std::shared_ptr<const OrganContext> context);
  Registrant(const Registrant&) = delete;
  Registrant& operator=(const Registrant&) = delete;

  // What `context` was opened for cannot change: another day or place is another registrant.
  [[nodiscard]] const OrganContext& context() const { return *context_; }

  // Errors: words that mean nothing here with the nearest that do; what nothing fulfils, with the nearest level; stopped
  // work, after which the same may be asked again.
  [[nodiscard]] Result<Choices> choose(const ChooseRequest& request, const Work& work);
  [[nodiscard]] Result<BuiltUp> build_up(const BuildUpRequest& request, const Work& work);
  [[nodiscard]] Result<RegistrationMap> map(const std::string& keyboard, const Work& work);
  // Whether `choose` would answer, or refuse, from what is kept: nothing is weighed first and nothing searched.
  [[nodiscard]] bool at_once(const ChooseRequest& request) const;
  [[nodiscard]] bool map_at_once(const std::string& keyboard) const;

 private:
  // What the feet draw under the hands' answer, with why.
  void add_pedals(ChoiceShown& answer, KeyboardIndex on, const Registration& must, const Registration& must_not);
  [[nodiscard]] Result<Choices> answers(const ChooseRequest& request, const Work& work);
  struct Kept {
    KeyboardIndex on = 0;
    Registration forbidden;
    std::vector<KeysDown> chords;  // empty: the stated ones
    Chooser chooser;
  };
  [[nodiscard]] Result<Chooser*> chooser(KeyboardIndex on, const Registration& forbidden,
                                         const std::vector<KeysDown>& chords, const Work& work);
  [[nodiscard]] Result<SoloChooser*> solo_chooser(KeyboardIndex solo_on, KeyboardIndex under, const Work& work);
  [[nodiscard]] Result<Choices> solo(const ChooseRequest& request, const Registration& must,
                                     const Registration& must_not, const Work& work);
  [[nodiscard]] Choices full_and_as_loud(Chooser& chooser, const Chosen& all, const LevelAsked& level, Wish wish,
                                         const Work& work);
  [[nodiscard]] Result<Choices> step(Chooser& chooser, const ChooseRequest& request, const Registration& must,
                                     const Registration& must_not, const Work& work);

  std::shared_ptr<const OrganContext> context_;
  Listening listening_;
  Scales hymn_;                              // what pedals are weighed on
  std::vector<std::unique_ptr<Kept>> kept_;  // the latest first
  std::vector<std::unique_ptr<SoloChooser>> kept_solos_;
};

}  // namespace calcant
