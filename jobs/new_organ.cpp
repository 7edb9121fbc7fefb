#include "jobs/new_organ.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "files/organfile/organfile.hpp"
#include "jobs/json.hpp"
#include "jobs/spec.hpp"
#include "jobs/text_file.hpp"

namespace calcant {

Result<Draft> read_specification_file(const std::filesystem::path& path) {
  const auto text = read_text_file(path, specification_limit);
  if (!text) return tl::unexpected<Error>(text.error());
  auto draft = read_specification(*text);
  if (!draft && draft.error().where.empty()) return fail(draft.error().message, path.string());
  return draft;
}

Result<NewOrgan> new_organ(const std::filesystem::path& folder, const Draft& draft, const SixAnswers& answers,
                           bool invented) {
  NewOrgan made;
  made.file = folder / "organ.toml";
  std::error_code fault;
  if (std::filesystem::exists(made.file, fault)) {
    return fail("There is an organ file here already, and no program rewrites one; choose another folder.",
                made.file.string());
  }
  if (auto ready = make_folder(folder); !ready) return tl::unexpected<Error>(ready.error());
  if (auto written = write_text_file(made.file, write_organ_toml(draft, answers, invented)); !written) {
    return tl::unexpected<Error>(written.error());
  }
  auto read = read_organ_folder(folder);
  if (!read) return tl::unexpected<Error>(as_error(read.error()));
  made.organ = std::move(read->organ);
  made.notes = std::move(read->notes);
  made.unread = draft.unread;
  return made;
}

std::string json_text(const NewOrgan& made) {
  Json j;
  j["file"] = made.file.string();
  j["unread"] = Json::array();
  for (const UnreadLine& u : made.unread) j["unread"].push_back({{"line", u.line}, {"text", u.text}});
  j["organ"] = Json::parse(specification_json(made.organ, made.notes));
  return dump(j);
}

}  // namespace calcant
