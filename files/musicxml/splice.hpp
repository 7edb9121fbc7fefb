// Changes of a document's text that leave every other byte as it was: where its elements and attributes lie, and what is
// put in or taken away.
#pragma once

#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace calcant::musicxml {

struct Edit {
  std::size_t at = 0;
  std::size_t cut = 0;  // bytes taken away
  std::string text;
};
// The text with all edits made; one that begins within what another has cut is left out.
[[nodiscard]] std::string applied(const std::string& text, std::vector<Edit> edits);

// Of an element or an instruction: where its name begins in the text it was parsed from.
[[nodiscard]] std::size_t offset(pugi::xml_node node);
// Where the "<" of an element stands.
[[nodiscard]] std::size_t tag_start(pugi::xml_node element);

// Behind the start tag whose name begins at `from`; a ">" within an attribute's value does not end it.
[[nodiscard]] std::size_t start_tag_end(std::string_view text, std::size_t from);

// Where an element's end tag begins, looking from inside it; comments, CDATA, instructions and attributes are passed over.
// Only for elements that never lie within one of their own name. npos when there is none.
[[nodiscard]] std::size_t end_tag(std::string_view text, std::size_t from, std::string_view name);

struct AttributePlace {
  std::size_t name = 0;   // where its name begins
  std::size_t value = 0;  // where its value begins, behind the quotation mark
  std::size_t size = 0;   // of the value
};
// Of the start tag whose name begins at `from`; nothing when it has no such attribute.
[[nodiscard]] std::optional<AttributePlace> attribute_place(std::string_view text, std::size_t from,
                                                            std::string_view name);

}  // namespace calcant::musicxml
