// A document read: the score, and the element behind each of its notes.
#pragma once

#include <memory>
#include <vector>

#include "engine/score/roles.hpp"
#include "engine/score/score.hpp"
#include "files/musicxml/document.hpp"
#include "files/musicxml/text.hpp"

namespace calcant::musicxml {

struct Reading {
  Text text;
  Document document;
  Score score;
  std::vector<pugi::xml_node> nodes;  // by NoteId
};

[[nodiscard]] Result<std::unique_ptr<Reading>> read(Text text, std::string_view filename,
                                                    const RoleOverrides& overrides);

}  // namespace calcant::musicxml
