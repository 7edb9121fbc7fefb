#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "engine/organ/longest_draw.hpp"
#include "jobs/saved.hpp"

namespace calcant::desk {
namespace {

constexpr std::size_t longest_remark = 4000;

using Saved = std::vector<SavedRegistration>;

tl::expected<Saved, Why> saved_now(const OpenOrgan& organ) {
  auto saved = saved_registrations(organ.context);
  if (!saved) return why(500, saved.error());
  return std::move(*saved);
}

// A name as it stands in an address.
std::string in_address(std::string_view name) {
  std::string out;
  for (const char c : name) {
    const auto byte = static_cast<unsigned char>(c);
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '_';
    out += plain ? std::string(1, c) : fmt::format("%{:02X}", byte);
  }
  return out;
}

std::string path_of(const std::string& name) { return "/api/saved/" + in_address(name); }

// What brings back what was there.
Json put_back(const SavedRegistration& before) {
  Json body;
  body["draw"] = before.draw;
  body["remark"] = before.remark;
  body["on"] = before.saved;
  body["replace"] = true;
  return undo_json("PUT", path_of(before.name), body.dump());
}

Answer answer_changed(Desk& desk, const OpenOrgan& organ, const Json& undo) {
  desk.changed({"saved"});
  const auto saved = saved_now(organ);
  if (!saved) return tl::unexpected<Why>(saved.error());
  Json j = Json::parse(json_text(*saved));
  j["undo"] = undo;
  return json_answer(dump(j), organ);
}

Answer get_saved(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const auto saved = saved_now(**organ);
  if (!saved) return tl::unexpected<Why>(saved.error());
  return json_answer(json_text(*saved), **organ);
}

Answer put_saved(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  SavedRegistration wanted;
  wanted.name = a.part(0);
  wanted.draw = body->required("draw", longest_draw);
  wanted.remark = body->text_or("remark", "", longest_remark);
  const bool replace = body->truth("replace").value_or(false);
  wanted.saved = body->date("on").value_or(a.desk.today());
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto saved = saved_now(**organ);
  if (!saved) return tl::unexpected<Why>(saved.error());
  const auto there = saved_as(*saved, wanted.name);
  if (there && !replace) {
    return why(409,
               fmt::format("'{}' is saved already: {}. Put this in its place, or choose another name.", there->name,
                           there->draw),
               "name");
  }
  // A name of another spelling is the same name; what was saved keeps its own.
  if (there) wanted.name = there->name;
  auto done = save_registration((*organ)->context, wanted, true);
  if (!done) {
    auto no = why(422, done.error());
    if (no.value().error.where == "NAME") no.value().error.where = "name";
    return no;
  }
  return answer_changed(a.desk, **organ, there ? put_back(*there) : undo_json("DELETE", path_of(done->now.name)));
}

Answer rename_saved(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string to = body->required("to");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto saved = saved_now(**organ);
  if (!saved) return tl::unexpected<Why>(saved.error());
  const auto was = rename_registration((*organ)->context, a.part(0), to);
  if (!was) {
    const int status = !saved_as(*saved, a.part(0)) ? 404 : saved_as(*saved, to) ? 409 : 422;
    auto no = why(status, was.error());
    if (no.value().error.where == "NAME") no.value().error.where = status == 404 ? "name" : "to";
    return no;
  }
  Json back;
  back["to"] = was->name;
  return answer_changed(a.desk, **organ, undo_json("POST", path_of(to) + "/rename", back.dump()));
}

Answer delete_saved(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  const auto organ = organ_of(a.desk);
  if (!organ) return tl::unexpected<Why>(organ.error());
  const std::lock_guard lock{a.desk.changing()};
  const auto gone = forget_registration((*organ)->context, a.part(0));
  if (!gone) {
    auto no = why(404, gone.error());
    no.value().error.where = "name";
    return no;
  }
  return answer_changed(a.desk, **organ, put_back(*gone));
}

}  // namespace

std::vector<Route> saved_routes() {
  return {{"GET", "/api/saved", get_saved},
          {"PUT", "/api/saved/{name}", put_saved, Carries::json},
          {"POST", "/api/saved/{name}/rename", rename_saved, Carries::json},
          {"DELETE", "/api/saved/{name}", delete_saved}};
}

}  // namespace calcant::desk
