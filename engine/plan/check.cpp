#include "engine/plan/check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/organ/sounding.hpp"

namespace calcant {
namespace {

class Checker {
 public:
  Checker(const Organ& organ, const Plan& plan) : organ_(organ), plan_(plan), sounding_(organ) {}

  std::vector<std::string> all() {
    order();
    Registration now = plan_.initial;
    usable(now, "At the start");
    std::size_t next = 0;
    for (std::size_t i = 0; i < plan_.items.size(); ++i) {
      const Item& item = plan_.items[i];
      for (std::size_t s = 0; s < item.sections.size(); ++s) {
        const Section& section = item.sections[s];
        const std::string here = fmt::format("{}, {}", item.title, section.label);
        for (; next < plan_.cues.size() && plan_.cues[next].item == static_cast<int>(i) &&
               plan_.cues[next].section == static_cast<int>(s);
             ++next) {
          cue(plan_.cues[next], now, here);
          now = after(now, plan_.cues[next]);
        }
        if (now != section.drawn) say("{}: the cues do not lead to what is to be drawn there.", here);
        usable(section.drawn, here);
        speaks(section, here);
      }
    }
    return std::move(faults_);
  }

 private:
  template <class... A>
  void say(fmt::format_string<A...> form, A&&... a) {
    faults_.push_back(fmt::format(form, std::forward<A>(a)...));
  }

  void order() {
    for (std::size_t c = 0; c < plan_.cues.size(); ++c) {
      const Cue& cue = plan_.cues[c];
      const bool there =
          cue.item >= 0 && cue.item < static_cast<int>(plan_.items.size()) && cue.section >= 0 &&
          cue.section < static_cast<int>(plan_.items[static_cast<std::size_t>(cue.item)].sections.size());
      if (!there) say("Cue {} leads to a section that is not there.", c + 1);
      if (c == 0) continue;
      const Cue& before = plan_.cues[c - 1];
      if (std::pair(before.item, before.section) > std::pair(cue.item, cue.section))
        say("Cue {} is out of order.", c + 1);
    }
  }

  void cue(const Cue& c, const Registration& now, const std::string& here) {
    for (const Knob k : c.draw) {
      if (!exists(k)) say("{}: a knob is to be drawn that this organ does not have.", here);
      else if (is_drawn(now, k)) say("{}: {} is to be drawn and is out already.", here, full_name(organ_, k));
    }
    for (const Knob k : c.put_in) {
      if (!exists(k)) say("{}: a knob is to be put in that this organ does not have.", here);
      else if (!is_drawn(now, k)) say("{}: {} is to be put in and is not out.", here, full_name(organ_, k));
    }
    if (c.window && c.mover != Mover::helper && c.window->needed > c.window->available) {
      say("{}: {:.1f} s are needed to move the knobs and there are {:.1f} s.", here, c.window->needed.value(),
          c.window->available.value());
    }
  }

  [[nodiscard]] bool exists(Knob k) const {
    const std::size_t count = k.kind == Knob::Kind::stop      ? organ_.stops.size()
                              : k.kind == Knob::Kind::coupler ? organ_.couplers.size()
                                                              : organ_.accessories.size();
    return k.index >= 0 && static_cast<std::size_t>(k.index) < count;
  }

  void usable(const Registration& r, const std::string& here) {
    for (std::size_t s = 0; s < organ_.stops.size(); ++s) {
      if (r.stops[s] && organ_.stops[s].out_of_use) say("{}: {} is out of use.", here, full_name(organ_.stops[s]));
    }
    for (std::size_t b = 0; b < organ_.boxes.size(); ++b) {
      const auto& hitches = organ_.boxes[b].hitches;
      if (organ_.boxes[b].pedal != SwellPedal::lever || hitches.empty()) continue;
      const bool rests =
          std::any_of(hitches.begin(), hitches.end(), [&](double h) { return std::abs(h - r.box[b]) < 1e-3; });
      if (!rests) say("{}: the lever of {} does not rest at {:.2f}.", here, organ_.boxes[b].name, r.box[b]);
    }
  }

  // Middle C of a hand's keyboard, or the pedal's tenor C, must sound something.
  void speaks(const Section& section, const std::string& here) {
    const auto one = [&](std::optional<KeyboardIndex> keyboard, const char* who) {
      if (!keyboard) return;
      if (*keyboard < 0 || static_cast<std::size_t>(*keyboard) >= organ_.keyboards.size()) {
        say("{}: {} on a keyboard this organ does not have.", here, who);
        return;
      }
      const auto& keys = organ_.keyboards[static_cast<std::size_t>(*keyboard)].keys;
      KeysDown down;
      for (const int k : keys) {
        if (k <= (keys.lowest() + keys.highest()) / 2)
          down.keys[static_cast<std::size_t>(*keyboard)] = NoteSet::range(k, k);
      }
      sounding_.pipes(section.drawn, down, pipes_);
      if (pipes_.size() == 0) {
        say("{}: nothing sounds under {} on {}.", here, who,
            organ_.keyboards[static_cast<std::size_t>(*keyboard)].name);
      }
    };
    one(section.keyboards.right, "the right hand");
    one(section.keyboards.left, "the left hand");
    one(section.keyboards.feet, "the feet");
  }

  const Organ& organ_;
  const Plan& plan_;
  Sounding sounding_;
  PipeSet pipes_;
  std::vector<std::string> faults_;
};

}  // namespace

std::vector<std::string> check(const Organ& organ, const Plan& plan) { return Checker(organ, plan).all(); }

}  // namespace calcant
