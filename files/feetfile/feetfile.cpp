#include "files/feetfile/feetfile.hpp"

#include <fmt/format.h>

#include "files/toml/checked.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest_mark = 200;

std::vector<FeetFileMark> marks(toml_library::Checked& in, const toml::table& top) {
  std::vector<FeetFileMark> out;
  const toml::node* n = top.get("marks");
  if (n == nullptr) return out;
  const toml::array* list = n->as_array();
  if (list == nullptr || list->size() > most_feet_marks) {
    in.fault(n->source().begin,
             fmt::format("'marks' is a list of at most {} marks, each between quotes.", most_feet_marks));
    return out;
  }
  for (const toml::node& one : *list) {
    if (one.is_string() && one.as_string()->get().size() <= longest_mark)
      out.push_back({one.as_string()->get(), in.place(one.source().begin)});
    else in.fault(one.source().begin, "A mark is text between quotes: \"bar 12, beat 2: left toe\".");
  }
  return out;
}

}  // namespace

Result<std::vector<FeetFileMark>> read_feet_file(std::string_view text, std::string_view name) {
  if (text.size() > feet_file_limit) return fail("A feet file is at most 256 kB.", std::string{name});
  toml_library::Checked in{name};
  std::vector<FeetFileMark> out;
  in.parse(text, "none in a feet file, only 'version' and 'marks'", [&](const toml::table& top) {
    in.known(top, {"version", "marks"});
    in.version(top, feet_file_version);
    out = marks(in, top);
  });
  if (const auto faults = in.faults()) return tl::unexpected<Error>(*faults);
  return out;
}

}  // namespace calcant
