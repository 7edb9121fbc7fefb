// An organ of the demo, heard in its nave, for the tests of this folder.
#pragma once

#include <string>

#include "engine/listening/listening.hpp"
#include "engine/registration/rules.hpp"
#include "files/organfile/organfile.hpp"
#include "files/words/words.hpp"

namespace calcant {

struct ChurchOrgan {
  ChurchOrgan(const std::string& folder, const std::string& board)
      : organ(read_organ_folder(folder)->organ),
        nave(organ, usual_condition(organ)),
        on(*keyboard_by_id(organ, board)) {}
  [[nodiscard]] Registration draw(const std::string& words) const {
    Registration r = *parse_registration(organ, words);
    return r;
  }
  Organ organ;
  Listening nave;
  KeyboardIndex on;
};

}  // namespace calcant
